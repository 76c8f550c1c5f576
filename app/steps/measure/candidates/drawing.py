"""A candidate's rim over the old one: the old a thin broken line, the candidate's full, and where they differ most."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from PySide6.QtCore import QLineF, QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QFontMetricsF, QPainter, QPaintEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.drawing.base.camera import Camera
from app.drawing.base.paths import outline_path
from app.drawing.base.pens import THIN, Pencil, arrowhead, draw_arrowheads
from app.drawing.base.texts import draw_text
from app.widgets.theme import ink
from core.words.lengths import show_length

if TYPE_CHECKING:
    from app.steps.measure.candidates.state import CandidatesState
    from core.fit.gaps import GapProfile

_AIR: Final = 0.9  # round the rims, in heights of the text
_EVEN_MM: Final = 1e-4  # differences all round that nobody could see apart


class RimDrawing(QWidget):
    """Both rims, and two notes: the greatest and the least distance from the old rim outward."""

    def __init__(self, state: CandidatesState, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._state = state
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setAccessibleName("Rim over the old rim")
        state.changed.connect(self._refresh)
        state.chose.connect(self._refresh)
        self._refresh()

    def notes(self) -> tuple[tuple[tuple[float, float], str], ...]:
        """Places on the old rim [mm] and how far outward the candidate's rim reaches there, in words."""
        candidate = self._state.candidate
        if candidate is None or candidate.outgrown is None:
            return ()
        profile = candidate.outgrown
        least, greatest = float(profile.gap.min()), float(profile.gap.max())
        if greatest - least < _EVEN_MM:
            words = "the same rim" if abs(greatest) < _EVEN_MM else f"{self._signed(greatest)} all round"
            return ((_first(profile, greatest - _EVEN_MM), words),)
        return (
            (_first(profile, greatest - _EVEN_MM), f"greatest {self._signed(greatest)}"),
            (_first(profile, least, is_least=True), f"least {self._signed(least)}"),
        )

    def sizeHint(self) -> QSize:
        line = self.fontMetrics().height()
        return QSize(line * 16, line * 11)

    def minimumSizeHint(self) -> QSize:
        line = self.fontMetrics().height()
        return QSize(line * 11, line * 8)

    def _signed(self, mm: float) -> str:
        return show_length(mm, self._state.session.project.style, signed=True)

    def _refresh(self) -> None:
        said = "; ".join(words for _, words in self.notes())
        self.setAccessibleDescription(f"Distance from the old rim, outward: {said}" if said else "")
        self.update()

    def paintEvent(self, _event: QPaintEvent) -> None:
        inks = ink(self.palette())
        with QPainter(self) as painter:
            painter.fillRect(self.rect(), inks.paper)
            comparison, candidate = self._state.comparison, self._state.candidate
            if comparison is None or candidate is None:
                return
            pencil = Pencil(inks, self.devicePixelRatioF())
            painter.setRenderHint(QPainter.RenderHint.Antialiasing)
            metrics = QFontMetricsF(self.font())
            line = metrics.height()
            room = QRectF(self.rect()).adjusted(_AIR * line, _AIR * line, -_AIR * line, -2.4 * line)
            bounds = [comparison.old_rims[0].bounds]
            if candidate.rims is not None:
                bounds.append(candidate.rims[0].bounds)
            camera = Camera()
            camera.fit(
                (
                    min(b[0] for b in bounds),
                    min(b[1] for b in bounds),
                    max(b[2] for b in bounds),
                    max(b[3] for b in bounds),
                ),
                room,
            )
            if self._state.is_stale:
                painter.setOpacity(0.45)
            painter.setTransform(camera.transform)
            if candidate.rims is not None:
                ring = outline_path(*candidate.rims)
                painter.fillPath(ring, inks.insert_fill)
                painter.strokePath(ring, pencil.outline)
            painter.strokePath(outline_path(*comparison.old_rims), pencil.ghost)
            painter.resetTransform()
            self._write(painter, pencil, camera)

    def _write(self, painter: QPainter, pencil: Pencil, camera: Camera) -> None:
        metrics = QFontMetricsF(self.font())
        line = metrics.height()
        notes = sorted(self.notes(), key=lambda note: -note[0][1])  # the upper place above: no leader crosses a text
        middle = camera.to_widget((0.0, 0.0))
        for i, (place, words) in enumerate(notes):  # stacked inside the ring, where they can't meet
            wide = metrics.horizontalAdvance(words)
            centre = middle + QPointF(0.0, (i - (len(notes) - 1) / 2.0) * line * 1.9)
            box = QRectF(centre.x() - wide / 2.0, centre.y() - line / 2.0, wide, line)
            at, near = camera.to_widget(place), box.adjusted(-line * 0.3, -line * 0.15, line * 0.3, line * 0.15)
            corner = QPointF(min(max(at.x(), near.left()), near.right()), min(max(at.y(), near.top()), near.bottom()))
            painter.setPen(pencil.pen(pencil.ink.dimension, THIN))
            painter.drawLine(QLineF(corner, at))
            draw_arrowheads(painter, pencil.ink.dimension, [arrowhead(at, at - corner)])
            start = QPointF(box.left(), box.top() + metrics.ascent())
            draw_text(painter, start, words, pencil.ink.text, pencil.ink.paper)
        base = QPointF(line * 0.5, self.height() - line * 0.5 - metrics.descent())
        wide = self.width() - line
        candidate = self._state.candidate
        assert candidate is not None
        title = metrics.elidedText(f"Base rim of {candidate.insert.name}", Qt.TextElideMode.ElideRight, wide)
        under = "impossible: only the old rim" if candidate.rims is None else "old rim broken; + outside"
        under = metrics.elidedText(under, Qt.TextElideMode.ElideRight, wide)
        draw_text(painter, base - QPointF(0.0, line), title, pencil.ink.text, None)
        draw_text(painter, base, under, pencil.ink.quiet, None)


def _first(profile: GapProfile, beyond: float, *, is_least: bool = False) -> tuple[float, float]:
    """The first station, from the +X axis on, where the distance is its greatest or its least."""
    hits = profile.gap <= beyond + _EVEN_MM if is_least else profile.gap >= beyond
    at = int(hits.argmax())
    return float(profile.rim[at, 0]), float(profile.rim[at, 1])
