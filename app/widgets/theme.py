"""The inks of `core.words.colours` on the system's palette, and the marks of the three verdicts."""

from __future__ import annotations

from functools import lru_cache

from msgspec import Struct
from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QPainter, QPainterPath, QPalette

from core.words import colours
from core.words.colours import VERDICT_INKS
from core.words.verdicts import Verdict


class Ink(Struct, frozen=True):
    """The colours of drawings and verdicts on one paper.

    Attributes:
        paper: what the drawing is on.
        line: new outlines.
        ghost: old outlines, and what moved away.
        insert_fill: the insert, a warm flat fill.
        machine: what is fixed to the machine.
        keep_out: hatching of what the outside must not enter.
        tight, neutral, loose: the gap's diverging scale, from interference to too wide.
        highlight: what was pointed at, or has the focus.
        moved: marks what the last edit moved.
        go, marginal, no_go: the verdicts; they reach the contrast of text.
        dimension: dimension lines and their texts.
        text, quiet: texts on the paper, and texts that only accompany.
    """

    paper: QColor
    line: QColor
    ghost: QColor
    insert_fill: QColor
    machine: QColor
    keep_out: QColor
    tight: QColor
    loose: QColor
    neutral: QColor
    highlight: QColor
    moved: QColor
    go: QColor
    marginal: QColor
    no_go: QColor
    dimension: QColor
    text: QColor
    quiet: QColor

    def of(self, verdict: Verdict) -> QColor:
        """The colour of a verdict."""
        color: QColor = getattr(self, VERDICT_INKS[verdict])
        return color


def ink(palette: QPalette) -> Ink:
    """The inks on the paper of a palette, light or dark."""
    text = palette.color(QPalette.ColorRole.Text)
    return _ink_on(_paper(palette).rgba(), text.rgba(), dark=is_dark(palette))


@lru_cache(maxsize=8)
def _ink_on(paper_rgba: int, text_rgba: int, *, dark: bool) -> Ink:
    """All parts of the window ask for the inks, and palettes seldom change: mixing anew took a third of the start."""
    paper = QColor.fromRgba(paper_rgba)
    text = _reaching(QColor.fromRgba(text_rgba), paper, 7.0)

    def mixed(recipe: colours.Ink) -> QColor:
        color = text
        if recipe.hue is not None:
            color = QColor.fromHslF(recipe.hue[0] / 360.0, recipe.hue[1], colours.LIGHTNESS[dark])
        for other, part in ((text, recipe.text), (paper, recipe.paper[dark])):
            color = _mixed(color, other, part) if part else color
        return _reaching(color, paper, recipe.contrast)

    return Ink(paper=paper, **{name: mixed(recipe) for name, recipe in colours.INKS.items()})


def is_dark(palette: QPalette) -> bool:
    """Whether the palette writes light on dark."""
    base, text = palette.color(QPalette.ColorRole.Base), palette.color(QPalette.ColorRole.Text)
    return luminance(base) < luminance(text)


def luminance(color: QColor) -> float:
    """Relative luminance, 0 to 1 (WCAG 2.1, definition of relative luminance)."""

    def linear(c: float) -> float:
        return c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4

    return 0.2126 * linear(color.redF()) + 0.7152 * linear(color.greenF()) + 0.0722 * linear(color.blueF())


def contrast(a: QColor, b: QColor) -> float:
    """Contrast ratio, 1 to 21 (WCAG 2.1)."""
    lighter, darker = sorted((luminance(a), luminance(b)), reverse=True)
    return (lighter + 0.05) / (darker + 0.05)


def paint_mark(painter: QPainter, rect: QRectF, verdict: Verdict, ink: Ink) -> None:
    """Draw the shape of a verdict, as large as the rectangle allows: a disc, a triangle or a barred square."""
    side = min(rect.width(), rect.height())
    box = QRectF(rect.center().x() - side / 2, rect.center().y() - side / 2, side, side)
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(ink.of(verdict))
    painter.drawPath(_shape(box, verdict))
    painter.restore()


def _shape(box: QRectF, verdict: Verdict) -> QPainterPath:
    """Disc for go, triangle for marginal, barred square for no-go: told apart without any colour."""
    path = QPainterPath()
    if verdict is Verdict.GO:
        path.addEllipse(box)
        return path
    if verdict is Verdict.MARGINAL:
        path.moveTo(box.center().x(), box.top())
        path.lineTo(box.right(), box.bottom() - box.height() * 0.06)
        path.lineTo(box.left(), box.bottom() - box.height() * 0.06)
        path.closeSubpath()
        return path
    inner = box.adjusted(box.width() * 0.05, box.height() * 0.05, -box.width() * 0.05, -box.height() * 0.05)
    path.addRect(inner)
    bar = QPainterPath()
    w = inner.width() * 0.13
    a, b = inner.bottomLeft(), inner.topRight()
    bar.moveTo(a + QPointF(-w, 0))
    bar.lineTo(b + QPointF(0, -w))
    bar.lineTo(b + QPointF(w, 0))
    bar.lineTo(a + QPointF(0, w))
    bar.closeSubpath()
    return path.subtracted(bar)


def _paper(palette: QPalette) -> QColor:
    """A drawing board's paper: the base colour, warmed a little; never pure black."""
    base = palette.color(QPalette.ColorRole.Base)
    if is_dark(palette):
        # A drawing on black glares; the board is the window's own dark, a shade warmer.
        lifted = _mixed(base, QColor.fromHslF(35 / 360, 0.10, 0.24), 0.55)
        return lifted if luminance(lifted) > luminance(base) else base
    return _mixed(base, QColor.fromHslF(44 / 360, 0.55, 0.93), 0.40)


def _mixed(a: QColor, b: QColor, part: float) -> QColor:
    """Colour ``part`` of the way from ``a`` to ``b``."""
    return QColor.fromRgbF(
        a.redF() + (b.redF() - a.redF()) * part,
        a.greenF() + (b.greenF() - a.greenF()) * part,
        a.blueF() + (b.blueF() - a.blueF()) * part,
    )


def _reaching(color: QColor, paper: QColor, ratio: float) -> QColor:
    """The colour, moved as little as need be towards black or white to reach a contrast with the paper."""
    end = QColor(Qt.GlobalColor.white if luminance(paper) < 0.18 else Qt.GlobalColor.black)
    steps = 50
    for i in range(steps + 1):
        tried = _mixed(color, end, i / steps)
        if contrast(tried, paper) >= ratio:
            return tried
    return end
