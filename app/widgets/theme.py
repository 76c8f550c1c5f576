"""The inks of `core.words.colours` by the system's palette, and the marks of the three verdicts."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING, Final

from msgspec import Struct, structs
from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QPainter, QPainterPath, QPalette

from core.words import colours
from core.words.colours import VERDICT_INKS
from core.words.verdicts import Verdict

if TYPE_CHECKING:
    from collections.abc import Iterable

_OWN: Final = (QPalette.ColorRole.Window, QPalette.ColorRole.Base, QPalette.ColorRole.Text)
_TOP: Final = 5.0  # of black or white with a ground: a little room over what texts must reach
_MIDDLE: Final = 0.179  # the luminance that black and white are equally far from
_GREYISH: Final = 16  # of 255, between the largest and the least of red, green and blue
_LIGHTEST, _DARKEST = 0.65, 0.06  # least luminance of a usual light ground, greatest of a usual dark one


class Ink(Struct, frozen=True):
    """The colours of the window, its drawings and verdicts.

    Attributes:
        ground, paper, field: what words, drawings, and what is typed or chosen stand on.
        lit: the field that has the focus, the row that is chosen.
        insert_fill: the insert, a warm flat fill.
        neutral: hair lines that part, and the middle of the gap's scale.
        ghost: edges of fields and buttons, old outlines, and what moved away.
        line: new outlines.
        text, quiet: texts, and texts that only accompany.
        highlight: what has the focus or was pointed at, and words that do something.
        go, marginal, no_go: the verdicts.
        machine: what is fixed to the machine.
        keep_out: hatching of what the outside must not enter.
        dimension: dimension lines and their texts.
        moved: marks what the last edit moved.
        tight, loose: the ends of the gap's diverging scale, interference and too wide.
    """

    ground: QColor
    paper: QColor
    field: QColor
    lit: QColor
    insert_fill: QColor
    neutral: QColor
    ghost: QColor
    line: QColor
    text: QColor
    quiet: QColor
    highlight: QColor
    go: QColor
    marginal: QColor
    no_go: QColor
    machine: QColor
    keep_out: QColor
    dimension: QColor
    moved: QColor
    tight: QColor
    loose: QColor

    def of(self, verdict: Verdict) -> QColor:
        """The colour of a verdict."""
        color: QColor = getattr(self, VERDICT_INKS[verdict])
        return color


def ink(palette: QPalette) -> Ink:
    """The inks of a palette: the table's own where it is a usual light or dark one, else mixed towards them."""
    window, base, text = (palette.color(QPalette.ColorGroup.Active, role).rgba() for role in _OWN)
    return _ink_on(window, base, text)


def is_dark(palette: QPalette) -> bool:
    """Whether white is further from the palette's ground than black."""
    return luminance(palette.color(QPalette.ColorRole.Base)) < _MIDDLE


@lru_cache(maxsize=2)
def table_ink(*, dark: bool) -> Ink:
    """The inks as the table has them."""
    return Ink(**{name: QColor(one.dark if dark else one.light) for name, one in colours.INKS.items()})


@lru_cache(maxsize=8)
def _ink_on(window_rgba: int, base_rgba: int, text_rgba: int) -> Ink:
    """All parts of the window ask for the inks, and palettes seldom change: mixing anew took a third of the start."""
    window, base, text = (QColor.fromRgba(c) for c in (window_rgba, base_rgba, text_rgba))
    dark = luminance(base) < _MIDDLE
    table = table_ink(dark=dark)
    if _is_usual(window, base, dark=dark):
        return table
    end = QColor(Qt.GlobalColor.white if dark else Qt.GlobalColor.black)
    paper = _mixed(base, table.paper, 0.4)
    grounds = {"paper": paper, "field": base, "ground": window if contrast(end, window) >= _TOP else paper}
    fills = {name: _mixed(paper, getattr(table, name), 0.6) for name in ("lit", "insert_fill", "neutral")}
    start = structs.replace(table, text=text, line=text, quiet=_mixed(text, table.quiet, 0.6))

    def reached(name: str, ratio: float) -> QColor:
        color: QColor = getattr(start, name)
        return _reaching(color, (*grounds.values(), fills["lit"]), ratio, end)

    inks = {name: reached(name, one.contrast) for name, one in colours.INKS.items() if one.contrast}
    return Ink(**grounds, **fills, **inks)


def _is_usual(window: QColor, base: QColor, *, dark: bool) -> bool:
    """Whether these are the near-greys of a system's own light or dark.

    Coloured ones are somebody's choice, and so are those of most contrast, whose ground is black or white itself.
    """
    if window in (QColor(Qt.GlobalColor.black), QColor(Qt.GlobalColor.white)):
        return False
    for color in (window, base):
        channels = (color.red(), color.green(), color.blue())
        shade = luminance(color)
        if max(channels) - min(channels) > _GREYISH or (shade > _DARKEST if dark else shade < _LIGHTEST):
            return False
    return True


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


def _mixed(a: QColor, b: QColor, part: float) -> QColor:
    """Colour ``part`` of the way from ``a`` to ``b``."""
    return QColor.fromRgbF(
        a.redF() + (b.redF() - a.redF()) * part,
        a.greenF() + (b.greenF() - a.greenF()) * part,
        a.blueF() + (b.blueF() - a.blueF()) * part,
    )


def _reaching(color: QColor, grounds: Iterable[QColor], ratio: float, end: QColor) -> QColor:
    """The colour, moved as little as need be towards black or white to reach a contrast with every ground."""
    steps = 50
    tries = (_mixed(color, end, i / steps) for i in range(steps + 1))
    return next((tried for tried in tries if all(contrast(tried, ground) >= ratio for ground in grounds)), end)
