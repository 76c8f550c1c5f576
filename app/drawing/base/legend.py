"""The legend: a sample of everything that the drawings are made of, drawn by the very functions that draw them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from msgspec import Struct
from PySide6.QtCore import QLineF, QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QFontMetricsF, QPainter, QPainterPath
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.drawing.base.pens import (
    ARROW,
    FULL,
    HAIR,
    HEAVY,
    RINGS,
    THIN,
    Pencil,
    arrowhead,
    draw_arrowheads,
    draw_machine_ring,
    faded,
    hatch,
    mixed,
)
from app.drawing.base.texts import draw_text
from app.widgets.theme import ink, paint_mark
from core.words.ends import Side
from core.words.verdicts import Verdict

if TYPE_CHECKING:
    from collections.abc import Callable

    from PySide6.QtGui import QPaintEvent, QResizeEvent

    from app.session.session import Session

    Draw = Callable[[QPainter, Pencil, QRectF], None]

_SAMPLE: Final = 2.4  # width of a sample, in heights of the text
_SCALE: Final = 7.0  # width of the gap's scale


class Sample(Struct, frozen=True):
    """One entry: its words, what draws it, and how wide it is in heights of the text."""

    words: str
    draw: Draw
    width: float = _SAMPLE


class Legend(QWidget):
    """Samples with a word or two each, in as many rows as the width asks for."""

    def __init__(self, session: Session, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self._factor = 0
        self.setAccessibleName("Legend")
        policy = QSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Minimum)
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)
        self.setAttribute(Qt.WidgetAttribute.WA_OpaquePaintEvent)
        session.changed.connect(self._changed)
        self._changed(None)

    def set_gap_factor(self, factor: int) -> None:
        """Say how many times wider than true the plan draws the gap now; the plan signals it."""
        if factor != self._factor:
            self._factor = factor
            self._changed(None)

    def samples(self) -> tuple[Sample, ...]:
        """The entries, in reading order."""
        # Until the plan has said it, the legend claims nothing.
        wide = {0: "gap", 1: "gap, true width"}.get(self._factor, f"gap, {self._factor} times as wide")
        lid = "cut metal, base" if self._session.result.after.lid is not None else "cut metal"
        entries = [
            Sample("as built", _ghost),
            Sample("new", _new),
            Sample("edge at another height", _edge),
            Sample("insert", _insert),
            Sample("free rim", _free),
            Sample("fixed to the machine", _machine, 1.5),
            Sample("keep-out", _keep_out),
            Sample(wide, self._gap_scale, self._scale_width()),
            Sample("interference", _interference),
            Sample(lid, _cut_base),
        ]
        if self._session.result.after.lid is not None:
            entries.append(Sample("lid", _cut_lid))
        entries += [
            Sample("section line", _section_line),
            Sample("dimension", _dimension),
            Sample("thinnest metal", _thinnest, 3.2),
            Sample("moved by the last edit", _moved),
            Sample("pointed at", _lit),
            *(Sample(_WORDS[v], _verdict(v), 1.2) for v in Verdict),
        ]
        return tuple(entries)

    def hasHeightForWidth(self) -> bool:
        return True

    def heightForWidth(self, width: int) -> int:
        return round(self._rows(width)[1])

    def sizeHint(self) -> QSize:
        width = 48 * self.fontMetrics().height()
        return QSize(width, self.heightForWidth(width))

    def minimumSizeHint(self) -> QSize:
        width = max(self.width(), 16 * self.fontMetrics().height())
        return QSize(16 * self.fontMetrics().height(), self.heightForWidth(width))

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self.updateGeometry()  # another width, another number of rows

    def _rows(self, width: float) -> tuple[list[tuple[Sample, QPointF]], float]:
        """The samples with their upper left corners, and the height they need."""
        metrics = QFontMetricsF(self.font())
        line = metrics.height()
        pad, air, pitch = 0.6 * line, 1.1 * line, 1.45 * line
        x, y = pad, 0.45 * line
        placed: list[tuple[Sample, QPointF]] = []
        for sample in self.samples():
            needed = sample.width * line + 0.4 * line + metrics.horizontalAdvance(sample.words)
            if x > pad and x + needed > width - pad:
                x, y = pad, y + pitch
            placed.append((sample, QPointF(x, y)))
            x += needed + air
        return placed, y + pitch + 0.15 * line

    def _scale_width(self) -> float:
        metrics = QFontMetricsF(self.font())
        figures = sum(metrics.horizontalAdvance(text) for text in self._gap_ends())
        return figures / metrics.height() + _SCALE - 1.0

    def _gap_ends(self) -> tuple[str, str]:
        """What stands at the ends of the ribbon's scale: the limits, or words where each wall has its own."""
        limits, show = self._session.project.limits, self._session.show_length
        least, greatest = limits.gap(Side.OUTER)
        return (show(least), show(greatest)) if limits.gap(Side.INNER) == (least, greatest) else ("tight", "loose")

    def _gap_scale(self, painter: QPainter, pencil: Pencil, box: QRectF) -> None:
        """The ribbon's colours between the wanted least and greatest gap, which stand at its ends."""
        metrics = QFontMetricsF(painter.font())
        texts = self._gap_ends()
        base = box.center().y() + metrics.capHeight() / 2.0
        draw_text(painter, QPointF(box.left(), base), texts[0], pencil.ink.text, None)
        right = box.right() - metrics.horizontalAdvance(texts[1])
        draw_text(painter, QPointF(right, base), texts[1], pencil.ink.text, None)
        bar = QRectF(box)
        bar.setLeft(box.left() + metrics.horizontalAdvance(texts[0]) + 0.4 * metrics.height())
        bar.setRight(right - 0.4 * metrics.height())
        bar.adjust(0.0, bar.height() * 0.18, 0.0, -bar.height() * 0.18)
        step = bar.width() / (2 * RINGS + 1)
        for i in range(-RINGS, RINGS + 1):
            cell = QRectF(bar.left() + (i + RINGS) * step, bar.top(), step + 0.5, bar.height())
            painter.fillRect(cell, pencil.gap_color(i / RINGS))
        painter.setPen(pencil.pen(mixed(pencil.ink.line, pencil.ink.paper, 0.3), HAIR))
        painter.drawRect(bar)

    def paintEvent(self, _event: QPaintEvent) -> None:
        pencil = Pencil(ink(self.palette()), self.devicePixelRatioF())
        with QPainter(self) as painter:
            painter.setRenderHint(QPainter.RenderHint.Antialiasing)
            painter.fillRect(self.rect(), pencil.ink.paper)
            metrics = QFontMetricsF(painter.font())
            line = metrics.height()
            for sample, at in self._rows(self.width())[0]:
                box = QRectF(at.x(), at.y(), sample.width * line, line)
                painter.save()
                sample.draw(painter, pencil, box)
                painter.restore()
                start = QPointF(box.right() + 0.4 * line, at.y() + metrics.ascent())
                draw_text(painter, start, sample.words, pencil.ink.text, None)

    def _changed(self, _: object) -> None:
        self.setAccessibleDescription(", ".join(sample.words for sample in self.samples()))
        self.updateGeometry()
        self.update()


_WORDS: Final = {Verdict.GO: "go", Verdict.MARGINAL: "marginal", Verdict.NO_GO: "no-go"}


def _level(box: QRectF) -> QLineF:
    return QLineF(box.left(), box.center().y(), box.right(), box.center().y())


def _area(box: QRectF) -> QPainterPath:
    path = QPainterPath()
    path.addRect(box.adjusted(1.0, box.height() * 0.12, -1.0, -box.height() * 0.12))
    return path


def _ghost(painter: QPainter, pencil: Pencil, box: QRectF) -> None:
    painter.setPen(pencil.ghost)
    painter.drawLine(_level(box))


def _new(painter: QPainter, pencil: Pencil, box: QRectF) -> None:
    painter.fillRect(QRectF(box.left(), box.center().y(), box.width(), box.height() / 2.0), pencil.metal)
    painter.setPen(pencil.outline)
    painter.drawLine(_level(box))


def _edge(painter: QPainter, pencil: Pencil, box: QRectF) -> None:
    painter.setPen(pencil.edge)
    painter.drawLine(_level(box))


def _insert(painter: QPainter, pencil: Pencil, box: QRectF) -> None:
    painter.fillPath(_area(box), pencil.ink.insert_fill)
    painter.strokePath(_area(box), pencil.pen(pencil.insert_line, THIN))


def _free(painter: QPainter, pencil: Pencil, box: QRectF) -> None:
    painter.strokePath(_area(box), pencil.free)


def _machine(painter: QPainter, pencil: Pencil, box: QRectF) -> None:
    draw_machine_ring(painter, pencil, box.center(), box.height() * 0.36)


def _keep_out(painter: QPainter, pencil: Pencil, box: QRectF) -> None:
    hatch(painter, _area(box), pencil.pen(faded(pencil.ink.keep_out, 0.65), HAIR), box.topLeft())
    painter.strokePath(_area(box), pencil.pen(pencil.ink.keep_out, THIN))


def _interference(painter: QPainter, pencil: Pencil, box: QRectF) -> None:
    painter.fillPath(_area(box), pencil.gap_color(-1.0))
    hatch(painter, _area(box), pencil.pen(pencil.ink.line, 1.2), box.topLeft(), gap=3.5, rising=False)


def _cut(painter: QPainter, pencil: Pencil, box: QRectF, *, rising: bool) -> None:
    painter.fillPath(_area(box), pencil.cut_metal)
    pen = pencil.pen(mixed(pencil.ink.line, pencil.ink.paper, 0.35), HAIR)
    hatch(painter, _area(box), pen, box.topLeft(), rising=rising)
    painter.strokePath(_area(box), pencil.outline)


def _cut_base(painter: QPainter, pencil: Pencil, box: QRectF) -> None:
    _cut(painter, pencil, box, rising=True)


def _cut_lid(painter: QPainter, pencil: Pencil, box: QRectF) -> None:
    _cut(painter, pencil, box, rising=False)


def _section_line(painter: QPainter, pencil: Pencil, box: QRectF) -> None:
    line = _level(box)
    painter.setPen(pencil.chain)
    painter.drawLine(line)
    painter.setPen(pencil.pen(pencil.ink.dimension, HEAVY))
    painter.drawLine(QLineF(line.p1(), line.pointAt(0.3)))


def _dimension(painter: QPainter, pencil: Pencil, box: QRectF) -> None:
    line = _level(box)
    painter.setPen(pencil.pen(pencil.ink.dimension, THIN))
    painter.drawLine(line)
    along = QPointF(1.0, 0.0)
    draw_arrowheads(painter, pencil.ink.dimension, [arrowhead(line.p1(), -along), arrowhead(line.p2(), along)])


def _thinnest(painter: QPainter, pencil: Pencil, box: QRectF) -> None:
    color, middle = pencil.ink.go, box.center()
    along = QPointF(1.0, 0.0)
    a, b = middle - along * 5.0, middle + along * 5.0
    painter.setPen(pencil.pen(color, FULL))
    painter.drawLines(
        [QLineF(box.left(), a.y(), a.x() - ARROW, a.y()), QLineF(b.x() + ARROW, b.y(), box.right(), b.y())]
    )
    draw_arrowheads(painter, color, [arrowhead(a, along, ARROW * 1.2), arrowhead(b, -along, ARROW * 1.2)])


def _moved(painter: QPainter, pencil: Pencil, box: QRectF) -> None:
    painter.setPen(pencil.pen(faded(pencil.ink.moved, 0.35), 9.0))
    painter.drawLine(_level(box))
    painter.setPen(pencil.pen(pencil.ink.moved, FULL))
    painter.drawLine(_level(box))


def _lit(painter: QPainter, pencil: Pencil, box: QRectF) -> None:
    painter.setPen(pencil.pen(faded(pencil.ink.highlight, 0.25), 10.0))
    painter.drawLine(_level(box))
    painter.setPen(pencil.pen(pencil.ink.highlight, FULL))
    painter.drawLine(_level(box))


def _verdict(verdict: Verdict) -> Draw:
    def draw(painter: QPainter, pencil: Pencil, box: QRectF) -> None:
        paint_mark(painter, box.adjusted(0.0, box.height() * 0.1, 0.0, -box.height() * 0.1), verdict, pencil.ink)

    return draw
