"""The insert with everything that is read off it, in plan and from the side; the row that is typed in is lit up."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from PySide6.QtCore import QEvent, QLineF, QMarginsF, QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QFontMetricsF, QHelpEvent
from PySide6.QtWidgets import QToolTip

from app.drawing.base.board import Board
from app.drawing.base.paths import outline_path
from app.drawing.base.pens import HAIR, THIN, draw_arrowheads, faded, mixed
from app.drawing.base.sheet import draw_caption, draw_scale_bar
from app.drawing.base.texts import draw_text
from app.steps.measure.readings.marks import ball, lay_marks
from app.steps.measure.readings.scene import Scene, scene
from app.widgets.plain import tip
from core.measure.readings.kinds import KIND_WORDS, row_name
from core.part.readings import ReadingKind
from core.words.ends import End

if TYPE_CHECKING:
    from collections.abc import Iterable

    from PySide6.QtGui import QColor, QMouseEvent, QPainter
    from PySide6.QtWidgets import QWidget

    from app.drawing.base.pens import Pencil
    from app.steps.measure.readings.desk import Desk
    from app.steps.measure.readings.marks import LaidMark

_CLICK_REACH: Final = 4.0
_ROOMY: Final = 9.2  # the least room for figures, in widths of the widest
_SIDE_WORDS: Final = "half of it from the side"
_SIDE_KINDS: Final = (ReadingKind.HEIGHT, ReadingKind.RIM_THICKNESS)


class InsertDrawing(Board):
    """Plan and half side view of the desk's insert."""

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._desk = desk
        self._hovered = -1
        self._pressed_at: QPointF | None = None
        self._laid: tuple[object, list[LaidMark]] | None = None
        self.setAccessibleName("Insert with its readings")
        self.setAccessibleDescription("Where each reading is taken. A click on a dimension goes to its row.")
        self._scene = scene(desk.insert)
        desk.session.changed.connect(self._rebuild)
        desk.turned.connect(self._rebuild)
        desk.lit.connect(self._light)

    @property
    def scene(self) -> Scene:
        """What is drawn."""
        return self._scene

    def sizeHint(self) -> QSize:
        line = self.fontMetrics().height()
        return QSize(36 * line, 18 * line)

    def bounds(self) -> tuple[float, float, float, float]:
        return self._scene.bounds

    def margins(self) -> QMarginsF:
        line, rows = self.line_height, self._desk.readings.rows
        counts = [sum(row.kind is kind for row in rows) for kind in (ReadingKind.WIDTH, ReadingKind.LENGTH)]
        heights = sum(row.kind in _SIDE_KINDS for row in rows)
        has_tape = any(row.kind in (ReadingKind.TAPE, ReadingKind.ROLL) for row in rows)
        figure = self._figure_width()
        left = line * 1.9 + (figure if counts[0] else 0.0) + line * 1.75 * max(counts[0] - 1, 0)
        right = line * 1.6 + (figure if heights else 0.0) + line * 1.3 * max(heights - 1, 0)
        below = max(2.4 + 1.75 * counts[1], 2.0)
        return QMarginsF(left, line * (2.4 if has_tape else 1.2), right, line * (1.6 + below))

    def _figure_width(self) -> float:
        metrics = QFontMetricsF(self.font())
        texts = [figure for figure in self._figures() if figure]
        return max((metrics.horizontalAdvance(text) for text in texts), default=0.0) + ball(metrics)

    def _figures(self) -> tuple[str, ...]:
        """Of all rows; none where there is too little room for them: the table below has them."""
        show = self._desk.session.show_figure
        figures = tuple("" if r.mean is None else show(r.mean) for r in self._desk.study.rows)
        metrics = QFontMetricsF(self.font())
        widest = max((metrics.horizontalAdvance(figure) for figure in figures), default=0.0) + ball(metrics)
        return figures if self.width() > _ROOMY * widest else ("",) * len(figures)

    def laid(self) -> list[LaidMark]:
        """The rows with their places in the widget, as they are drawn."""
        figures = self._figures()
        key = (self.view_key(), self._scene, figures, self.font().key())
        if self._laid is None or self._laid[0] != key:
            metrics = QFontMetricsF(self.font())
            words = (self._side_words(), self._caption())
            self._laid = key, lay_marks(self._scene, self.camera, metrics, QRectF(self.rect()), figures, words)
        return self._laid[1]

    def row_at(self, at: QPointF) -> int:
        """The row whose dimension is under a place of the widget; -1 for none."""
        laid = self.laid()
        boxed = next((mark.row for mark in laid if mark.box.contains(at)), -1)
        return boxed if boxed >= 0 else next((mark.row for mark in laid if mark.is_near(at)), -1)

    def lit_rows(self) -> tuple[int, ...]:
        """The rows that stand out."""
        return tuple(dict.fromkeys(row for row in (self._desk.row, self._hovered) if row >= 0))

    # Drawing

    def draw(self, painter: QPainter, pencil: Pencil) -> None:
        self._draw_plan(painter, pencil)
        self._draw_side(painter, pencil)
        quiet = mixed(pencil.ink.dimension, pencil.ink.paper, 0.22)
        self._draw_marks(painter, pencil, self.laid(), quiet, is_lit=False)
        room = QRectF(self.rect())
        title = f"{self._desk.spoken.capitalize()}, {self._desk.insert.family.kind.words}"
        more = "numbers as in the table" if self._desk.readings.rows else ""
        draw_caption(painter, pencil, room, self._desk.session.project.style, title, more)
        draw_scale_bar(painter, pencil, room, self._desk.session.project.style, self.camera.scale)

    def draw_over(self, painter: QPainter, pencil: Pencil) -> None:
        rows = self.lit_rows()
        lit = [mark for mark in self.laid() if mark.row in rows]
        self._draw_marks(painter, pencil, lit, pencil.ink.highlight, is_lit=True)

    def _draw_plan(self, painter: QPainter, pencil: Pencil) -> None:
        painter.save()
        painter.setTransform(self.camera.transform, combine=True)
        painter.setPen(pencil.pen(pencil.insert_line, THIN))
        painter.setBrush(pencil.ink.insert_fill)
        painter.drawPath(outline_path(*self._scene.rims))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(pencil.outline)
        painter.drawPath(outline_path(self._scene.oval))
        painter.restore()
        painter.setPen(pencil.pen(pencil.ink.ghost, HAIR, [14.0, 4.0, 3.0, 4.0]))
        x0, y0, x1, y1 = self._scene.oval.bounds
        to = self.camera.to_widget
        painter.drawLines([QLineF(to((x0, 0.0)), to((x1, 0.0))), QLineF(to((0.0, y0)), to((0.0, y1)))])

    def _draw_side(self, painter: QPainter, pencil: Pencil) -> None:
        s, to = self._scene, self.camera.to_widget
        half = s.height / 2.0
        painter.setPen(pencil.pen(mixed(pencil.insert_line, pencil.ink.paper, 0.35), HAIR))
        painter.setBrush(faded(pencil.ink.insert_fill, 0.4))
        painter.drawRect(QRectF(to((s.side_x, half)), to((s.side_x + s.half, -half))))
        painter.setPen(pencil.pen(pencil.insert_line, THIN))
        painter.setBrush(pencil.ink.insert_fill)
        for end in End:
            x0, x1, low, high = s.rim_band(end)
            painter.drawRect(QRectF(to((x0, high)), to((x1, low))))
        if s.plate:
            painter.setBrush(pencil.cut_metal)
            painter.setPen(pencil.pen(pencil.ink.line, THIN))
            painter.drawRect(QRectF(to((s.side_x, half + s.plate)), to((s.side_x + s.half * 1.12, half))))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(pencil.chain)
        past = QPointF(0.0, self.line_height * 0.5)
        painter.drawLine(QLineF(to((s.side_x, half + s.plate)) - past, to((s.side_x, -half)) + past))
        box = self._side_words()
        base = QPointF(box.left(), box.top() + QFontMetricsF(painter.font()).ascent())
        draw_text(painter, base, _SIDE_WORDS, pencil.ink.quiet, pencil.ink.paper)

    def _side_words(self) -> QRectF:
        """Where it says what the side view is."""
        metrics, s = QFontMetricsF(self.font()), self._scene
        width, line = metrics.horizontalAdvance(_SIDE_WORDS), metrics.height()
        at = self.camera.to_widget((s.side_x + s.half / 2.0, -s.height / 2.0))
        left = min(at.x() - width / 2.0, self.width() - width - line * 0.5)
        return QRectF(left, at.y() + line * 1.2, width, line)

    def _caption(self) -> QRectF:
        """The lower edge, where caption and scale bar stand."""
        tall = self.line_height * 1.7
        return QRectF(0.0, self.height() - tall, self.width(), tall)

    def _draw_marks(
        self, painter: QPainter, pencil: Pencil, marks: Iterable[LaidMark], color: QColor, *, is_lit: bool
    ) -> None:
        for mark in marks:
            painter.setPen(pencil.pen(color, THIN if is_lit else HAIR))
            painter.drawLines(mark.extensions)
            if mark.leader is not None:
                painter.drawLine(mark.leader)
            painter.setPen(pencil.pen(color, 2.0 if is_lit else THIN))
            painter.drawLines(mark.lines)
            painter.setPen(pencil.pen(color, 2.0 if is_lit else THIN, [6.0, 3.0]))
            for path in mark.paths:
                painter.drawPath(path)
            draw_arrowheads(painter, color, mark.heads)
        for mark in marks:
            self._draw_figure(painter, pencil, mark, color, is_lit=is_lit)

    def _draw_figure(self, painter: QPainter, pencil: Pencil, mark: LaidMark, color: QColor, *, is_lit: bool) -> None:
        metrics = QFontMetricsF(painter.font())
        side = ball(metrics)
        ring = QRectF(mark.box.left(), mark.box.top(), side, side)
        painter.setPen(pencil.pen(color, THIN))
        painter.setBrush(color if is_lit else pencil.ink.paper)
        painter.drawEllipse(ring.adjusted(0.5, 0.5, -0.5, -0.5))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(pencil.ink.paper if is_lit else color)
        painter.drawText(ring, Qt.AlignmentFlag.AlignCenter, str(mark.row + 1))
        base = mark.box.center().y() + (metrics.ascent() - metrics.descent()) / 2.0
        at = QPointF(ring.right() + metrics.height() * 0.25, base)
        draw_text(painter, at, mark.figure, color if is_lit else pencil.ink.dimension, pencil.ink.paper)

    # What the desk says

    def _rebuild(self) -> None:
        insert = self._desk.insert
        if insert == self._scene.insert and self._laid is not None:
            self.redraw()  # the unit may be another one
            return
        was, self._scene = self._scene, scene(insert)
        self._laid, self._hovered = None, -1
        is_same = [r.kind for r in was.insert.readings.rows] == [r.kind for r in insert.readings.rows]
        if self.is_fitted and not (is_same and was.bounds == self._scene.bounds):
            self.fit()
        self.redraw()

    def _light(self, _row: int) -> None:
        self.update()

    # The pointer

    def take_press(self, event: QMouseEvent) -> bool:
        self._pressed_at = event.position()
        return self.row_at(event.position()) >= 0

    def take_move(self, event: QMouseEvent) -> None:
        found = self.row_at(event.position())
        if found != self._hovered:
            self._hovered = found
            self.update()
        if found < 0:
            self.unsetCursor()
        else:
            self.setCursor(Qt.CursorShape.PointingHandCursor)

    def take_release(self, event: QMouseEvent) -> None:
        pressed, self._pressed_at = self._pressed_at, None
        if pressed is None or (event.position() - pressed).manhattanLength() > _CLICK_REACH:
            return
        found = self.row_at(event.position())
        if found >= 0:
            self._desk.ask_for(found)

    def event(self, event: QEvent) -> bool:
        if isinstance(event, QHelpEvent) and event.type() == QEvent.Type.ToolTip:
            row = self.row_at(QPointF(event.pos()))
            if row < 0:
                QToolTip.hideText()
            else:
                reading = self._desk.readings.rows[row]
                name = row_name(reading, self._desk.session.project.style).capitalize()
                QToolTip.showText(event.globalPos(), tip(f"{name}. {KIND_WORDS[reading.kind].how}"), self)
            return True
        return super().event(event)
