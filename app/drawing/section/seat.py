"""One seat of the cut, as large as a narrow column allows, under a small picture of the whole cut that tells which."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from msgspec.structs import replace
from PySide6.QtCore import QMarginsF, QPointF, QRectF, Qt
from PySide6.QtGui import QFontMetricsF, QPainterPath, QPolygonF

from app.drawing.base.camera import Camera
from app.drawing.base.pens import FULL, HAIR, THIN, faded, mixed
from app.drawing.base.texts import draw_text
from app.drawing.section.view import SectionView
from app.widgets.fonts import bold
from core.metal.section.dimensions import Measure
from core.words.ends import End

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from PySide6.QtGui import QKeyEvent, QMouseEvent, QPainter
    from PySide6.QtWidgets import QWidget

    from app.drawing.base.dimensions import Dimension
    from app.drawing.base.pens import Pencil
    from app.session.session import Session
    from core.metal.section.dimensions import Cell, SectionDimension

_KEY_LINES: Final = 5.2  # height of the small picture, in heights of the text
_HEAD_LINES: Final = 2.6
_BESIDE_MM: Final = 5.0  # seen past wall and lip
_ELSEWHERE: Final = frozenset({Measure.STUD, Measure.HEIGHT})
"""What is measured far from the seats."""


class SeatCut(SectionView):
    """The cut at one seat; arrow keys, or a click into the small picture, go to another one."""

    def __init__(self, session: Session, parent: QWidget | None = None) -> None:
        self._number = 0
        super().__init__(session, parent)
        self.setAccessibleName("Cut, one seat enlarged")
        self.setAccessibleDescription("The cut at one seat. Left and right go from seat to seat, F fits.")

    # Which seat

    def seats(self) -> tuple[Cell, ...]:
        """Where the cut meets rims of one piece, from the left."""
        rims = self.section.rims
        end = next((rim.end for rim in rims if rim.end is End.BASE), rims[0].end if rims else End.BASE)
        return tuple(sorted((c for rim in rims if rim.end is end for c in rim.cells), key=lambda cell: cell.s0))

    @property
    def number(self) -> int:
        """Which of `seats` is enlarged."""
        return min(self._number, max(len(self.seats()) - 1, 0))

    def choose(self, number: int) -> None:
        """Enlarge another seat."""
        self._number = min(max(number, 0), max(len(self.seats()) - 1, 0))
        self._build()
        self.fit()
        self.redraw()

    def seen_from(self) -> tuple[float, float]:
        """From where to where along the cut is seen [mm]; all of it where it meets no rim."""
        x0, _, x1, _ = self.section.bounds
        seats = self.seats()
        if not seats:
            return x0, x1
        seat = seats[self.number]
        piece = self._session.result.after.housing.base
        beside = max(piece.wall, piece.lip.width) + _BESIDE_MM
        return max(x0, seat.s0 - beside - _BESIDE_MM), min(x1, seat.s1 + beside + _BESIDE_MM)

    def bounds(self) -> tuple[float, float, float, float]:
        _, y0, _, y1 = self.section.bounds
        a, b = self.seen_from()
        return a, y0, b, y1

    def margins(self) -> QMarginsF:
        margins, line = super().margins(), self.line_height
        return QMarginsF(
            margins.left(), margins.top() + line * (_KEY_LINES + _HEAD_LINES), margins.right(), margins.bottom()
        )  # fmt: skip

    def _chosen(self, found: Iterable[SectionDimension]) -> Iterator[Dimension]:
        """Those of this seat; heights are measured beside it, wherever the cut has them."""
        a, b = self.seen_from()
        here: list[SectionDimension] = []
        for d in found:
            if d.measure in _ELSEWHERE:
                continue
            if d.is_upright:
                s = min(max(d.a[0], a), b)
                here.append(replace(d, a=(s, d.a[1]), b=(s, d.b[1])))
            elif a <= min(d.a[0], d.b[0]) and max(d.a[0], d.b[0]) <= b:
                here.append(d)
        return super()._chosen(here)

    # Drawing

    @property
    def heading(self) -> tuple[str, str]:
        """Which cut, and which seat of it."""
        seats, number = self.seats(), self.number
        title, _, where = self.title.partition(", ")
        if not seats:
            return title, where
        names = {1: ("the seat",), 2: ("left seat", "right seat")}.get(len(seats))
        which = names[number] if names else f"seat {number + 1} of {len(seats)}"
        return title, f"{which}, enlarged; {where}"

    def draw(self, painter: QPainter, pencil: Pencil) -> None:
        if self.section.is_empty or not self.seats():
            super().draw(painter, pencil)
            return
        self._draw_head(painter, pencil)
        self._draw_key(painter, pencil)
        painter.save()
        a, y0, b, y1 = self.bounds()
        seen = QRectF(self.place_to_widget(a, y1), self.place_to_widget(b, y0)).adjusted(0.0, -4.0, 0.0, 4.0)
        painter.setClipRect(seen)
        self.draw_cut(painter, pencil)
        painter.restore()
        self._draw_breaks(painter, pencil, seen)
        self.draw_dimensions(painter, pencil)

    def _draw_head(self, painter: QPainter, pencil: Pencil) -> None:
        line, plain = self.line_height, painter.font()
        (title, more), heavy = self.heading, bold(plain)
        at = QPointF(line, line * 1.6)
        painter.setFont(heavy)
        draw_text(painter, at, title, pencil.ink.text, None)
        wide = QFontMetricsF(heavy).horizontalAdvance(title) + line * 0.6
        painter.setFont(plain)
        metrics = QFontMetricsF(plain)
        for text in (more, more.partition(";")[0]):  # half a word says nothing
            if at.x() + wide + metrics.horizontalAdvance(text) <= self.width() - line * 0.5:
                draw_text(painter, at + QPointF(wide, 0.0), text, pencil.ink.quiet, None)
                break

    def _key_room(self) -> QRectF:
        line = self.line_height
        return QRectF(line, line * _HEAD_LINES, self.width() - 2.0 * line, line * _KEY_LINES)

    def _key_camera(self) -> Camera:
        camera = Camera()
        camera.fit(self.section.bounds, self._key_room().adjusted(4.0, 4.0, -4.0, -4.0))
        return camera

    def _draw_key(self, painter: QPainter, pencil: Pencil) -> None:
        """The whole cut small, and a frame round what is enlarged."""
        camera = self._key_camera()
        for piece in self.section.pieces:
            area = QPainterPath()
            area.setFillRule(Qt.FillRule.WindingFill)
            for cell in piece.cells:
                area.addRect(QRectF(camera.to_widget((cell.s0, cell.h1)), camera.to_widget((cell.s1, cell.h0))))
            painter.fillPath(area.simplified(), pencil.cut_metal)
            painter.setPen(pencil.pen(mixed(pencil.ink.line, pencil.ink.paper, 0.2), THIN))
            for one, other in piece.edges:
                painter.drawLine(camera.to_widget(one), camera.to_widget(other))
        painter.setPen(pencil.pen(pencil.insert_line, HAIR))
        painter.setBrush(pencil.ink.insert_fill)
        for rim in self.section.rims:
            for cell in rim.cells:
                painter.drawRect(QRectF(camera.to_widget((cell.s0, cell.h1)), camera.to_widget((cell.s1, cell.h0))))
        a, y0, b, y1 = self.bounds()
        frame = QRectF(camera.to_widget((a, y1)), camera.to_widget((b, y0))).adjusted(-4.0, -4.0, 4.0, 4.0)
        painter.setBrush(faded(pencil.ink.highlight, 0.12))
        painter.setPen(pencil.pen(pencil.ink.highlight, FULL))
        painter.drawRect(frame)
        painter.setBrush(Qt.BrushStyle.NoBrush)

    def _draw_breaks(self, painter: QPainter, pencil: Pencil, seen: QRectF) -> None:
        """Where metal runs on past what is seen, its edge is a broken line."""
        a, b = self.seen_from()
        painter.setPen(pencil.pen(pencil.ink.line, THIN))
        for s, x in ((a, seen.left()), (b, seen.right())):
            for piece in self.section.pieces:
                for cell in piece.cells:
                    if cell.s0 < s < cell.s1:
                        top = self.place_to_widget(s, cell.h1).y()
                        foot = self.place_to_widget(s, cell.h0).y()
                        painter.drawPolyline(_zigzag(x, top, foot, self.line_height * 0.3))

    # What the user does

    def take_release(self, event: QMouseEvent) -> None:
        if self._key_room().contains(event.position()) and self.seats():
            s = self._key_camera().to_mm(event.position())[0]
            seats = self.seats()
            self.choose(min(range(len(seats)), key=lambda k: abs((seats[k].s0 + seats[k].s1) / 2.0 - s)))
            return
        super().take_release(event)

    def take_press(self, event: QMouseEvent) -> bool:
        return super().take_press(event) or self._key_room().contains(event.position())

    def keyPressEvent(self, event: QKeyEvent) -> None:
        step = {Qt.Key.Key_Left: -1, Qt.Key.Key_Right: 1}.get(Qt.Key(event.key()))
        if step is not None and not event.modifiers():
            self.choose(self.number + step)
        else:
            super().keyPressEvent(event)


def _zigzag(x: float, top: float, foot: float, size: float) -> QPolygonF:
    middle = (top + foot) / 2.0
    size = min(size, abs(foot - top) / 3.0)
    return QPolygonF(
        [
            QPointF(x, top),
            QPointF(x, middle - size),
            QPointF(x + size, middle - size / 3.0),
            QPointF(x - size, middle + size / 3.0),
            QPointF(x, middle + size),
            QPointF(x, foot),
        ]
    )
