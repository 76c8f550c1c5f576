"""The plan under pointer and keys: what is pointed at stands out, and the section line is dragged and turned."""

from __future__ import annotations

from math import hypot
from typing import TYPE_CHECKING, Final

from PySide6.QtCore import QPointF, Qt

from app.drawing.gap.reading import nearest_gap
from app.drawing.plan.paint import MARK_OFFSET
from app.drawing.plan.picture import PlanPicture
from app.drawing.plan.section_line import Drag, Grip, dragged, shifted, turned
from core.words.ends import End
from core.words.lengths import nudge_step

if TYPE_CHECKING:
    from PySide6.QtCore import QEvent
    from PySide6.QtGui import QHideEvent, QKeyEvent, QMouseEvent

    from app.drawing.base.dimensions import Dimension
    from app.drawing.gap.reading import GapReading
    from app.drawing.plan.marks import Mark

_MARK_REACH: Final = 10.0
_GAP_REACH: Final = 12.0
_CLICK_REACH: Final = 4.0


class PlanView(PlanPicture):
    """The plan of the piece that the session shows."""

    _pressed_at: QPointF | None = None

    def gap_reading_at(self, at: QPointF) -> GapReading | None:
        """The gap at the station that a place of the widget is nearest to; None away from the rim."""
        return nearest_gap(self._scene.gaps, self.camera.to_mm(at), self._factor, _GAP_REACH / self.camera.scale)

    def dimension_at(self, at: QPointF) -> Dimension | None:
        """The dimension under a place of the widget."""
        return next((laid.dimension for laid in self.laid_dimensions() if laid.is_near(at)), None)

    def mark_at(self, at: QPointF) -> Mark | None:
        """The uppermost mark under a place of the widget."""
        for mark in reversed(self.marks if self._session.is_judged else ()):
            seen = self.place_to_widget(*mark.at) + MARK_OFFSET
            if hypot(seen.x() - at.x(), seen.y() - at.y()) < _MARK_REACH:
                return mark
        return None

    def take_press(self, event: QMouseEvent) -> bool:
        at = event.position()
        self._pressed_at = at
        if event.modifiers() & Qt.KeyboardModifier.ShiftModifier:
            self._drag = Drag(Grip.NEW, self._session.cut, self.camera.to_mm(at))
            return True
        if self.mark_at(at) is not None or self.dimension_at(at) is not None:
            return True
        grip = self._grip_at(at)
        if grip is not None:
            self._drag = Drag(grip, self.shown_cut(), self.camera.to_mm(at))
            self.update()
            return True
        self._session.point_at(None)
        return False

    def take_move(self, event: QMouseEvent) -> None:
        at = event.position()
        if self._drag is not None:
            cut = dragged(self._drag, self.camera.to_mm(at), self.camera.scale)
            if cut is not None:
                self._session.set_cut(*cut)
            return
        self._hover(at)

    def take_release(self, event: QMouseEvent) -> None:
        at, pressed = event.position(), self._pressed_at
        drag, self._drag, self._pressed_at = self._drag, None, None
        if drag is not None:
            if drag.grip is Grip.NEW and self._session.cut != drag.cut:
                self._session.set_cut(*self._through(self._session.cut))
            self.update()
            return
        if pressed is None or (at - pressed).manhattanLength() > _CLICK_REACH:
            return
        mark, dimension = self.mark_at(at), self.dimension_at(at)
        if mark is not None and mark.place.path:
            self._session.ask_for(mark.place.path)
        elif dimension is not None and dimension.paths:
            self._session.ask_for(dimension.paths[0])

    def _hover(self, at: QPointF) -> None:
        mark = self.mark_at(at)
        dimension = None if mark is not None else self.dimension_at(at)
        grip = None if mark is not None or dimension is not None else self._grip_at(at)
        reading = None if mark is not None or dimension is not None or grip is not None else self.gap_reading_at(at)
        if (mark, dimension) != (self._hovered_mark, self._hovered):
            self._hovered_mark, self._hovered = mark, dimension
            self.update()
        if dimension is not None or mark is not None:
            self.setCursor(Qt.CursorShape.PointingHandCursor)
        elif grip is not None:
            self.setCursor(Qt.CursorShape.SizeAllCursor)
        else:
            self.unsetCursor()
        station = None if reading is None else reading.station
        if station != self._station:
            self._session.hover(station)

    def leaveEvent(self, event: QEvent) -> None:
        super().leaveEvent(event)
        self._hovered, self._hovered_mark = None, None
        if self._station is not None:
            self._session.hover(None)
        self.update()

    def hideEvent(self, event: QHideEvent) -> None:
        super().hideEvent(event)
        self._fading.stop()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        session, key = self._session, event.key()
        back = bool(event.modifiers() & Qt.KeyboardModifier.ShiftModifier)
        nudge = nudge_step(session.project.style, big=True)
        if event.modifiers() & ~Qt.KeyboardModifier.ShiftModifier:
            super().keyPressEvent(event)
        elif key == Qt.Key.Key_B:
            session.show_end(End.BASE)
        elif key == Qt.Key.Key_L:
            session.show_end(End.LID)
        elif key == Qt.Key.Key_R:
            session.set_cut(*turned(session.cut, -15.0 if back else 15.0))
        elif key in (Qt.Key.Key_BracketLeft, Qt.Key.Key_BracketRight):
            session.set_cut(*shifted(session.cut, nudge if key == Qt.Key.Key_BracketLeft else -nudge))
        elif key == Qt.Key.Key_Escape and self._drag is not None:
            session.set_cut(*self._drag.cut)
            self._drag = None
        else:
            super().keyPressEvent(event)
