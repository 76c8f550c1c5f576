"""The plan as it is drawn: one piece from above, as built and new, with the insert in its seat and the gap round it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from msgspec.structs import replace
from PySide6.QtCore import QMarginsF, QPointF, QRectF, QVariantAnimation, Signal
from PySide6.QtGui import QFontMetricsF

from app.drawing.base.board import Board
from app.drawing.base.dimensions import lay_out, shelf_height
from app.drawing.plan.dimensions import further_dimensions, overall_dimensions
from app.drawing.plan.labels import Drawn, plan_labels
from app.drawing.plan.layers import feature_outlines, moved_paths, plan_scene, ribbon, ribbon_factor
from app.drawing.plan.marks import plan_marks, thinnest
from app.drawing.plan.paint import PlanPainter
from app.drawing.plan.section_line import Drag, Grip, grip_at, through
from app.widgets.theme import ink
from core.words.ends import Side

if TYPE_CHECKING:
    from PySide6.QtGui import QPainter
    from PySide6.QtWidgets import QWidget

    from app.drawing.base.dimensions import Dimension, Laid
    from app.drawing.base.labels import Label
    from app.drawing.base.pens import Pencil
    from app.drawing.gap.reading import Station
    from app.drawing.plan.layers import PlanScene, RibbonPart, Strokes
    from app.drawing.plan.marks import Mark, Thinnest
    from app.drawing.plan.section_line import Cut
    from app.session.session import Session
    from core.geometry.lines.outline import Outline
    from core.metal.slabs import ResolvedPiece
    from core.words.verdicts import Place

MARKED_MS: Final = 1500
"""How long what moved stays marked."""
_CUT_PAST: Final = 1.5  # how far the section line's ends stand off the part, in heights of the text
_OF_HOUSING: Final = ("choices.", "housing.")
_RIBBON_ROOM: Final = 1.35  # of wall or lip: the greatest wanted gap may stand out a little, the usual one doesn't
_INTERFERENCE_PX: Final = 6.0  # interference is at least so wide, or its pattern could not be seen
_RIBBON_LEAST: Final = 0.5  # of the rim's width: a thin lip must not hide the gap beside it


class PlanPicture(Board):
    """The plan of the piece that the session shows.

    Attributes:
        gap_factor_changed: how many times wider than true the gap is drawn now; the legend says so.
    """

    gap_factor_changed = Signal(int)

    def __init__(self, session: Session, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self.setAccessibleName("Plan")
        self.setAccessibleDescription(
            "Plan of the shown piece. B and L show base or lid, F fits, + and - zoom, arrows move, "
            "R turns the section line, brackets shift it."
        )
        self._drag: Drag | None = None
        self._hovered: Dimension | None = None
        self._hovered_mark: Mark | None = None
        self._station: Station | None = None
        self._focus_path = ""
        self._lit: Place | None = None
        self._factor = 1
        self._has_cut = True
        self._made_of: object = None
        self._pieces: tuple[ResolvedPiece | None, ...] = (None, None)
        self._ribbons_for = 0.0
        self._ribbons: tuple[RibbonPart, ...] = ()
        self._moved: Strokes = ()
        self._marks: tuple[Mark, ...] | None = None  # as long as the verdicts are not known
        self._thinnest: Thinnest | None = None
        self._more: tuple[Dimension, ...] | None = None
        self._labels: list[Label] = []
        self._labels_for: tuple[object, PlanScene, object] | None = None
        self._fading = QVariantAnimation(self)
        self._fading.setStartValue(1.0)
        self._fading.setEndValue(0.0)
        self._fading.setDuration(MARKED_MS)
        self._fading.valueChanged.connect(self.update)
        self._build()
        session.changed.connect(self._changed)
        session.judged.connect(self._judged)
        session.remedied.connect(self._mark)
        session.shown_end_changed.connect(self._end_changed)
        session.pointed.connect(self._pointed)
        session.stationed.connect(self._stationed)
        session.focused.connect(self._focused)
        session.cut_changed.connect(self.update)

    # What is drawn

    def bounds(self) -> tuple[float, float, float, float]:
        return self._scene.bounds

    def margins(self) -> QMarginsF:
        font, line = self.font(), self.line_height
        beside = shelf_height(font, tiers=2)
        past = line * (_CUT_PAST + 0.4)
        return QMarginsF(past + line * 0.4, shelf_height(font, rows=1), beside + past, beside + line * 1.7)

    @property
    def gap_factor(self) -> int:
        """How many times wider than true the gap is drawn."""
        return self._factor

    @property
    def marks(self) -> tuple[Mark, ...]:
        """Findings and conflicts at their places; asking for them before the session does computes them."""
        if self._marks is None:
            self._mark()
        assert self._marks is not None
        return self._marks

    @property
    def is_marking(self) -> bool:
        """Whether what the last edit moved is still marked."""
        return self._fading.state() is QVariantAnimation.State.Running

    def stop_marking(self) -> None:
        """Take the marks of the last edit away."""
        self._fading.stop()
        self._moved = ()
        self.update()

    def laid_dimensions(self) -> list[Laid]:
        """The dimensions with their places in the widget, as they are drawn."""
        return lay_out(self._shown_dimensions(), self.camera, self._drawn(), QRectF(self.rect()), self.font())

    def _shown_dimensions(self) -> tuple[Dimension, ...]:
        """Those of insert and outside, and what the field with the focus, or the place that is pointed at, is about."""
        further = tuple(d for d in self._further() if self._lit_paths().intersection(d.paths))
        shown = (*self._dimensions, *further)
        tiers = sorted({d.tier for d in shown if d.tier is not None})
        return tuple(d if d.tier is None else replace(d, tier=tiers.index(d.tier)) for d in shown)

    def _lit_paths(self) -> set[str]:
        return {path for path in (self._focus_path, self._lit.path if self._lit else "") if path}

    def _further(self) -> tuple[Dimension, ...]:
        """What is only shown on request is only worked out then."""
        session = self._session
        if not any(path.startswith(_OF_HOUSING) or "rim." in path for path in self._lit_paths()):
            return ()
        if self._more is None:
            self._more = further_dimensions(session.result, session.shown_end, session.show_figure)
        return self._more

    def lit_dimensions(self) -> tuple[Dimension, ...]:
        """The dimensions that stand out: that of the field with the focus, of the place, and under the pointer."""
        paths = self._lit_paths()
        return tuple(d for d in self._shown_dimensions() if paths.intersection(d.paths) or d == self._hovered)

    def lit_outlines(self) -> tuple[Outline, ...]:
        """The outlines of the place that was pointed at: its own, or those of the feature that it names."""
        if self._lit is None:
            return ()
        if self._lit.outline is not None:
            return (self._lit.outline,)
        if self._lit.point is not None or not self._lit.feature:
            return ()
        piece = self._session.result.after.piece(self._scene.end)
        return () if piece is None else feature_outlines(piece, self._lit.feature)

    def _build(self) -> bool:
        """Build what is drawn of the metal; whether it is another drawing than before."""
        session = self._session
        result, end, style = session.result, session.shown_end, session.project.style
        self._marks, self._thinnest, self._hovered, self._hovered_mark = None, None, None, None
        limits = session.project.limits
        made_of = (end, style, result.after.housing.keep_outs, *(limits.gap(side) for side in Side))
        pieces = result.after.piece(end), result.before.piece(end)
        if made_of == self._made_of and all(a is b for a, b in zip(pieces, self._pieces, strict=True)):
            return False
        self._made_of, self._pieces = made_of, pieces
        self._scene = plan_scene(result, end)
        # ISO 129: the unit is stated once, beside the drawing.
        self._dimensions, self._more = overall_dimensions(result, end, session.show_figure), None
        self._tie_ribbons()
        return True

    def _mark(self) -> None:
        """Mark the places of the verdicts."""
        session = self._session
        self._marks = plan_marks(session.result, session.shown_end, session.show_length)
        self._thinnest = thinnest(session.result, session.shown_end)
        self._hovered_mark = None
        self.update()

    def _tie_ribbons(self) -> None:
        limits, factor = self._session.project.limits, self._wanted_factor()
        seen = _INTERFERENCE_PX / self.camera.scale
        self._ribbons_for = self.camera.scale
        self._ribbons = tuple(
            part for profile in self._scene.gaps for part in ribbon(profile, factor, *limits.gap(profile.side), seen)
        )
        if factor != self._factor:
            self._factor = factor
            self.gap_factor_changed.emit(factor)

    def _wanted_factor(self) -> int:
        piece = self._session.result.after.housing.piece(self._scene.end)
        assert piece is not None
        rim = self._session.result.after.insert.rim_at(self._scene.end)
        room = max(_RIBBON_ROOM * min(piece.wall, piece.lip.width), _RIBBON_LEAST * rim.width)
        limits = self._session.project.limits
        return ribbon_factor(max(limits.gap(side)[1] for side in Side), room, self.camera.scale)

    def labels(self) -> list[Label]:
        """The words that are put where they cover least, at their places in the widget."""
        cut, room = self.shown_cut(), QRectF(self.rect()).adjusted(4.0, 4.0, -4.0, -1.7 * self.line_height)
        looks = self.font().key(), self.palette().cacheKey()
        key = (self.view_key(), self._scene, (cut, looks, self.marks, self._thinnest))
        if self._labels_for != key:
            self._labels_for = key
            drawn = Drawn(self._scene, self.marks, self._thinnest, self.laid_dimensions(), cut)
            metrics, inks = QFontMetricsF(self.font()), ink(self.palette())
            self._labels = plan_labels(drawn, self.camera, room, metrics, inks, self._session.show_length)
        return self._labels

    def _names(self) -> list[Label]:
        """The neighbours' names where they stood, for as long as the verdicts are not known."""
        if self._labels_for is None:
            return []
        view, scene, _ = self._labels_for
        is_same = view == self.view_key() and scene.keep_outs == self._scene.keep_outs
        return self._labels[: len(scene.keep_outs)] if is_same else []

    def show_cut(self, *, is_shown: bool) -> None:
        """Draw the section line, or leave it out while nobody looks at the cut."""
        self._has_cut = is_shown
        self.update()

    def _grip_at(self, at: QPointF) -> Grip | None:
        return grip_at(self.shown_cut(), self.camera, at) if self._has_cut else None

    def shown_cut(self) -> Cut:
        """The section line as it is drawn: its ends past the part, since the cut goes through all of it."""
        return self._through(self._session.cut)

    def _through(self, cut: Cut) -> Cut:
        return through(cut, self._scene.part, _CUT_PAST * self.line_height / self.camera.scale)

    def _drawn(self) -> QRectF:
        """Where the part is in the widget, with the ends of a level section line beside it."""
        x0, y0, x1, y1 = self._scene.bounds
        beside = self.line_height * (_CUT_PAST + 0.4)
        return QRectF(self.place_to_widget(x0, y1), self.place_to_widget(x1, y0)).adjusted(0.0, 0.0, beside, 0.0)

    def draw(self, painter: QPainter, pencil: Pencil) -> None:
        is_rescaled = self._ribbons_for != self.camera.scale and any(part.is_interference for part in self._ribbons)
        if is_rescaled or self._factor != self._wanted_factor():
            self._tie_ribbons()
        drawing, scene = self._painter(painter, pencil), self._scene
        # An edit of the new insert leaves these two as they are, and dashes and hatches take long.
        self.draw_layer(
            painter, pencil, "keep-outs", scene.keep_outs, lambda p: self._painter(p, pencil).keep_outs(scene.keep_outs)
        )
        drawing.metal(scene)
        self.draw_layer(
            painter, pencil, "as built", scene.ghost, lambda p: self._painter(p, pencil).as_built(scene.ghost)
        )
        drawing.edges(scene, self._ribbons)
        drawing.dimensions(self.laid_dimensions(), ())
        drawing.caption(self._scene)
        drawing.scale_bar()

    def _painter(self, painter: QPainter, pencil: Pencil) -> PlanPainter:
        return PlanPainter(painter, pencil, self.camera, self._session, QRectF(self.rect()))

    def draw_over(self, painter: QPainter, pencil: Pencil) -> None:
        drawing = self._painter(painter, pencil)
        if self._session.is_judged:
            verdicts = (self.marks, self._thinnest, self.labels())
            self.draw_layer(painter, pencil, "verdicts", verdicts, lambda p: self._draw_verdicts(p, pencil))
        else:
            drawing.labels(self._names())
        if self._moved and self.is_marking:
            painter.setOpacity(float(self._fading.currentValue()))
            self.draw_layer(
                painter, pencil, "moved", self._moved, lambda p: self._painter(p, pencil).moved(self._moved)
            )
            painter.setOpacity(1.0)
        drawing.lit(self._lit, self.lit_outlines())
        if self._has_cut:
            drawing.section_line(self.shown_cut(), is_held=self._drag is not None)
        lit = self.lit_dimensions()
        drawing.dimensions([laid for laid in self.laid_dimensions() if laid.dimension in lit] if lit else [], lit)
        if self._hovered_mark is not None:
            drawing.note(self._hovered_mark.at, self._hovered_mark.note)
        elif self._station is not None and self._station[0] is self._scene.end:
            drawing.station(self._scene.gaps, self._station)

    def _draw_verdicts(self, painter: QPainter, pencil: Pencil) -> None:
        drawing = self._painter(painter, pencil)
        drawing.thinnest(self._thinnest)
        drawing.marks(self.marks)
        drawing.labels(self.labels())

    # What the session says

    def _changed(self, _result: object) -> None:
        self._lit = None
        self._station = None
        self.stop_marking()
        if self._build():
            self.keep_in_view()

    def _judged(self) -> None:
        """The verdicts are known; what moved is marked with them, as neither is needed in the edit's first frame."""
        session = self._session
        self._mark()
        if session.previous is not None:
            self._moved = moved_paths(session.previous, session.result, session.shown_end)
            if self._moved and self.isVisible():
                self._fading.start()

    def _end_changed(self, _end: object) -> None:
        self.stop_marking()
        self._station = None
        if self._build():
            self.keep_in_view()
        if self._session.is_judged:
            self._mark()

    def _pointed(self, place: Place | None) -> None:
        self._lit = place
        if place is not None:
            self._bring_into_view(place)
        self.update()

    def _bring_into_view(self, place: Place) -> None:
        points = [p for p in (place.point, place.other) if p is not None]
        is_measured = len(points) == 2
        if not points:
            boxes = [outline.bounds for outline in self.lit_outlines()]
            points = [corner for b in boxes for corner in ((b[0], b[1]), (b[2], b[3]))]
        if points:
            self.bring_into_view(points, is_measured=is_measured)

    def _stationed(self, station: Station | None) -> None:
        if station != self._station:
            self._station = station
            self.update()

    def _focused(self, path: str) -> None:
        self._focus_path = path
        self.update()
