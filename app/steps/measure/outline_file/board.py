"""The board of the outline file: the drawing itself, its loops by number, its faults, and the chosen loop's oval."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Final

from PySide6.QtCore import QMarginsF, QPointF, QRectF, Qt, Signal
from PySide6.QtGui import QFontMetricsF

from app.drawing.base.board import Board
from app.drawing.base.sheet import draw_caption, draw_scale_bar, round_length
from app.steps.measure.outline_file.paint import DrawingPainter, loop_labels
from app.steps.measure.outline_file.scene import drawing_scene, laid_oval, nearest_oval, residual
from app.widgets.theme import ink
from core.measure.drawing.words import off_words

if TYPE_CHECKING:
    from PySide6.QtGui import QDragEnterEvent, QDropEvent, QKeyEvent, QMouseEvent, QPainter
    from PySide6.QtWidgets import QWidget

    from app.drawing.base.labels import Label
    from app.drawing.base.pens import Pencil
    from app.steps.measure.outline_file.scene import Residual
    from app.steps.measure.outline_file.state import OpenDrawing
    from core.measure.drawing.results import Recovered, Trouble

_CLICK_REACH: Final = 4.0
_LOOP_REACH: Final = 8.0
_EXAGGERATED: Final = 2.5  # heights of the text that the worst distance is drawn at, at most
_EMPTY: Final = (
    "An old outline, as a drawing file or as points",
    "DXF, or a text file with one point x, y a line.",
    "Open it on the left, or drop it here.",
)
_KEYS: Final = "The opened outline file. Brackets go from outline to outline, F fits, + and - zoom, arrows move."
_NOTHING_MM: Final = 1e-3  # closer to its oval than this a loop is drawn as the oval
_NO_SIZE: Final = (-100.0, -60.0, 100.0, 60.0)


class DrawingBoard(Board):
    """The opened file.

    Attributes:
        dropped: path of a file that was dropped here.
    """

    dropped = Signal(object)

    def __init__(self, state: OpenDrawing, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._state = state
        self._scene = drawing_scene(state)
        self._looked = state.looked
        self._lit: Trouble | None = None
        self._pressed_at: QPointF | None = None
        self._labels: list[Label] = []
        self._labels_for: object = None
        self._against: tuple[object, Recovered, Residual] | None = None
        self.setAccessibleName("Outline file")
        self.setAccessibleDescription(_KEYS)
        self.setAcceptDrops(True)
        state.changed.connect(self._changed)
        state.chosen_changed.connect(self._chosen_changed)
        state.pointed.connect(self._pointed)
        state.exaggerated.connect(lambda _: self._off_changed())

    def bounds(self) -> tuple[float, float, float, float]:
        return _NO_SIZE if self._scene is None else self._scene.bounds

    def margins(self) -> QMarginsF:
        line = self.line_height
        return QMarginsF(2.0 * line, 1.8 * line, 2.0 * line, 3.4 * line)

    @property
    def labels(self) -> list[Label]:
        """The loops' numbers at their places in the widget."""
        if self._scene is None:
            return []
        key = self.view_key()
        if self._labels_for != key:
            self._labels_for = key
            room = QRectF(self.rect()).adjusted(4.0, 4.0, -4.0, -1.7 * self.line_height)
            metrics, inks = QFontMetricsF(self.font()), ink(self.palette())
            self._labels = loop_labels(self._scene, self._state.troubles, self.camera, room, metrics, inks)
        return self._labels

    def loop_at(self, at: QPointF) -> int | None:
        """The loop under a place of the widget."""
        if self._scene is None:
            return None
        return self._scene.loop_at(self.camera.to_mm(at), _LOOP_REACH / self.camera.scale)

    @property
    def off(self) -> tuple[Recovered, Residual] | None:
        """The oval that the chosen loop is held against, and how far it is off it; None where there is none."""
        loop, found = self._state.chosen_loop, self._state.recovered(self._state.chosen)
        if loop is None or found is None:
            return None
        if self._against is None or self._against[0] is not found:
            assert self._state.sorted is not None
            oval = nearest_oval(loop, found, self._state.sorted.tolerance)
            self._against = (found, oval, residual(loop, oval))
        return self._against[1:]

    @property
    def factor(self) -> float:
        """How many times wider than true the distance from the oval is drawn; 0 where there is none to draw."""
        off = self.off if self._state.is_exaggerated else None
        if off is None:
            return 0.0
        worst = abs(float(off[1].off[off[1].worst]))
        if worst < _NOTHING_MM:
            return 0.0
        return max(1.0, round_length(_EXAGGERATED * self.line_height / (worst * self.camera.scale)))

    # Drawing

    def draw(self, painter: QPainter, pencil: Pencil) -> None:
        drawing = DrawingPainter(painter, pencil, self.camera, QRectF(self.rect()))
        if self._scene is None:
            drawing.empty(_EMPTY)
            return
        drawing.sheet(self._scene)
        drawing.labels(self.labels)
        drawing.faults(self._state.troubles)
        draw_scale_bar(painter, pencil, QRectF(self.rect()), self._state.style, self.camera.scale)

    def draw_over(self, painter: QPainter, pencil: Pencil) -> None:
        state = self._state
        if self._scene is None:
            return
        drawing = DrawingPainter(painter, pencil, self.camera, QRectF(self.rect()))
        chosen, found = self._scene.drawn(state.chosen), state.recovered(state.chosen)
        if chosen is not None:
            drawing.chosen(chosen)
        if found is not None:
            off = self.off if self.factor else None
            drawing.oval(laid_oval(found if off is None else off[0]))
            if off is not None:
                drawing.residual(off[1], self.factor, self.worst_words())
        if self._lit is not None:
            drawing.lit(self._lit)
        room = QRectF(self.rect())
        draw_caption(painter, pencil, room, self._state.style, self._title(), self._more())

    def worst_words(self) -> str:
        """How far the chosen loop is off the oval that is drawn over it, where it is worst."""
        off = self.off
        if off is None:
            return ""
        found, far = off
        loop = self._state.chosen_loop
        worst = abs(float(far.off[far.worst])) + (0.0 if loop is None else loop.off)  # and what joining its ends cost
        return f"{off_words(worst, self._state.style)} off the {found.oval.family.kind.words}"

    def _title(self) -> str:
        looked = self._state.looked
        return "" if looked is None else looked.path.name

    def _more(self) -> str:
        if self.factor:
            return f"distance from the oval ×{self.factor:,.0f}"
        if self._state.is_exaggerated and self.off is not None:
            return "on its oval within a thousandth of a millimetre"
        return "broken: its oval" if self._state.recovered(self._state.chosen) is not None else ""

    # What the state says

    def _changed(self) -> None:
        looked = self._state.looked
        is_other = looked is not None and (self._looked is None or looked.drawing is not self._looked.drawing)
        is_resized = looked is not None and self._looked is not None and looked.unit is not self._looked.unit
        self._looked, self._lit = looked, None
        self._scene = drawing_scene(self._state)
        self._labels_for = None
        self._off_changed()
        self.redraw()
        if is_other or is_resized or self.is_fitted:
            self.fit()

    def _chosen_changed(self) -> None:
        loop = self._state.chosen_loop
        if loop is not None and not self.is_fitted:
            x0, y0, x1, y1 = loop.outline.bounds
            room = QRectF(self.rect())
            seen = QRectF(self.place_to_widget(x0, y1), self.place_to_widget(x1, y0))
            if not room.intersects(seen):
                self.bring_into_view([(x0, y0), (x1, y1)], is_measured=False)
        self._off_changed()

    def _off_changed(self) -> None:
        self.setAccessibleDescription(" ".join(part for part in (self._more(), self.worst_words(), _KEYS) if part))
        self.update()

    def _pointed(self, trouble: Trouble | None) -> None:
        self._lit = trouble
        if trouble is not None:
            self.bring_into_view([trouble.at], is_measured=False)
        self.update()

    # Pointer, keys, drops

    def mousePressEvent(self, event: QMouseEvent) -> None:
        self._pressed_at = event.position() if event.button() is Qt.MouseButton.LeftButton else None
        super().mousePressEvent(event)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        super().mouseReleaseEvent(event)
        pressed, self._pressed_at = self._pressed_at, None
        if pressed is not None and (event.position() - pressed).manhattanLength() <= _CLICK_REACH:
            self._state.choose(self.loop_at(event.position()))

    def take_move(self, event: QMouseEvent) -> None:
        is_over = self.loop_at(event.position()) is not None
        if is_over:
            self.setCursor(Qt.CursorShape.PointingHandCursor)
        else:
            self.unsetCursor()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        key, numbers = event.key(), [loop.number for loop in self._state.loops]
        if key in (Qt.Key.Key_BracketLeft, Qt.Key.Key_BracketRight) and numbers:
            step = 1 if key == Qt.Key.Key_BracketRight else -1
            chosen = self._state.chosen
            now = numbers.index(chosen) if chosen in numbers else -1
            self._state.choose(numbers[(now + step) % len(numbers)])
        elif key == Qt.Key.Key_Escape and (self._lit is not None or self._state.chosen is not None):
            self._state.point_at(None)
            self._state.choose(None)
        else:
            super().keyPressEvent(event)

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        urls = event.mimeData().urls()
        if len(urls) == 1 and urls[0].isLocalFile():
            event.acceptProposedAction()

    def dropEvent(self, event: QDropEvent) -> None:
        self.dropped.emit(Path(event.mimeData().urls()[0].toLocalFile()))
        event.acceptProposedAction()
