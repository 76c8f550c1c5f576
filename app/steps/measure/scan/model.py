"""The scan on the board: one owner of its state; form, picture and chart show it and ask it for changes."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Final

from msgspec.structs import replace
from PySide6.QtCore import QObject, QTimer, Signal

from app.session.background import Job
from app.session.words import spoken
from core.measure.scan.answer import answer
from core.measure.scan.opened import open_picture
from core.measure.scan.picture.corners import found_corners
from core.measure.scan.picture.edges import find_edges
from core.measure.scan.picture.looked import same_edge
from core.measure.scan.results import ScanError
from core.measure.scan.state import POINTS, Part, Pick, ScanState
from core.measure.scan.taken import taken
from core.measure.scan.words import short
from core.words.errors import UserError

if TYPE_CHECKING:
    from collections.abc import Callable

    from app.session.background import Tick
    from app.session.session import Session
    from core.geometry.lines.outline import Point
    from core.geometry.ovals.ovals import Family
    from core.measure.scan.answer import Answer
    from core.measure.scan.opened import Opened
    from core.measure.scan.results import Edge


_PATIENCE_MS: Final = 250
"""A half-typed figure, or a slider that moves, asks for nothing yet."""


class ScanModel(QObject):
    """What is scanned, and the work on it beside the window.

    Attributes:
        changed: the state is another one.
        progressed: the part of the reading, the search or the fit that is done, 0 to 1.
        asked: the picture waits for a click.
    """

    changed = Signal()
    asked = Signal()
    progressed = Signal(float)

    def __init__(self, session: Session, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self.state = ScanState()
        self._reading = Job(self, self._opened, self._unread)
        self._searching = Job(self, self._found, lambda error: self._failed(Part.EDGE, error))
        self._fitting = Job(self, self._answered, lambda error: self._failed(Part.SHAPE, error))
        self._jobs = (self._reading, self._searching, self._fitting)
        self._reading_for = Part.PICTURE
        self._rest = QTimer(self, singleShot=True, interval=_PATIENCE_MS)
        self._rest.timeout.connect(self._rested)
        for job in self._jobs:
            job.progressed.connect(self.progressed)
        session.refused.connect(self._refused)

    # What can be asked for

    def open(self, path: Path) -> None:
        """Read a picture, and start anew with it."""
        self._read(Part.PICTURE, lambda tick: open_picture(path, tick))

    def open_turned(self, path: Path) -> None:
        """Read the scan of the part turned by half a turn."""
        edge = self.state.picked_edge(Pick.EDGE)
        self._read(Part.TURNED, lambda tick: open_picture(path, tick, edge))

    def forget_turned(self) -> None:
        """Do without the second scan."""
        self._put(turned=None, refusals=self._without(Part.TURNED))
        self._fit()

    def stop(self) -> None:
        """Call off what is being read, searched or fitted."""
        self._rest.stop()
        for job in self._jobs:
            job.cancel()
        self._put(busy=frozenset())

    def set_level(self, level: float | None) -> None:
        """Another grey level between dark and light; None is the automatic one."""
        opened = self.state.opened
        if opened is None or level == self.state.level:
            return
        self._fitting.cancel()
        self._searching.cancel()
        self._rest.start()
        self._put(
            level=level,
            busy=self._busy(Part.EDGE, but=Part.SHAPE),
            refusals=self._without(Part.EDGE, Part.SHAPE, Part.TURNED, Part.TAKE),
        )

    def choices(self, pick: Pick) -> tuple[int, ...]:
        """Indices of the edges that can be picked for something; of a pencil's line, only one side counts."""
        pencil = self.state.pencil
        if not pencil.is_traced or pick is Pick.REFERENCE:
            return tuple(range(len(self.state.edges)))
        return tuple(i for i, edge in enumerate(self.state.edges) if pencil.can_be(edge))

    def pick_edge(self, pick: Pick, index: int) -> None:
        """Choose an edge for something; asked for next is the edge itself again."""
        kept = tuple((own, i) for own, i in self.state.picked if own is not pick and i != index)
        self._put(picked=(*kept, (pick, index)), pick=Pick.EDGE)
        self._choose_edge()
        self._fit()

    def next_edge(self, pick: Pick, step: int) -> None:
        """Choose the next or the previous edge, and stay with it."""
        others = {index for own, index in self.state.picked if own is not pick}
        choices = [index for index in self.choices(pick) if index not in others]
        if not choices:
            return
        now = self.state.picked_index(pick)
        at = choices.index(now) + step if now in choices else (0 if step > 0 else -1)
        self.pick_edge(pick, choices[at % len(choices)])
        self.set_pick(pick)

    def ask_for_pick(self, pick: Pick) -> None:
        """Wait for a click for something, or, when that is waited for already, no longer."""
        is_new = self.state.pick is not pick
        self.set_pick(pick if is_new else Pick.EDGE)
        if is_new:
            self.asked.emit()

    def set_pick(self, pick: Pick) -> None:
        """What the next click in the picture is for; picking points starts anew."""
        points = self.state.points
        if pick in POINTS and len(self.state.picked_points(pick)) == POINTS[pick]:
            points = tuple((own, p) for own, p in points if own is not pick)
        self._put(pick=pick, points=points)

    def add_point(self, pick: Pick, at: Point) -> None:
        """One more place; once all are there, the edge is asked for again."""
        points = (*self.state.picked_points(pick), at)
        others = tuple((own, p) for own, p in self.state.points if own is not pick)
        is_done = len(points) == POINTS[pick]
        self._put(points=(*others, (pick, points)), pick=Pick.EDGE if is_done else pick)
        if is_done:
            self._fit()

    def find_corners(self) -> None:
        """The corners of the largest edge that is a rectangle's; the part's edge is then another one."""
        self._put(refusals=self._without(Part.SCALE))
        try:
            sheet, corners = found_corners(self.state.edges)
        except ScanError as error:
            self._put(refusals=(*self._without(Part.SCALE), (Part.SCALE, self._said(error))))
            return
        others = tuple((own, p) for own, p in self.state.points if own is not Pick.CORNERS)
        self._put(points=(*others, (Pick.CORNERS, corners)), pick=Pick.EDGE)
        free = [i for i in self.choices(Pick.EDGE) if i != sheet]
        if self.state.picked_index(Pick.EDGE) == sheet and free:
            self.pick_edge(Pick.EDGE, free[0])
        else:
            self._fit()

    def set_scaling(self, **changes: object) -> None:
        """Other figures for the scale, by name of `Scaling`'s."""
        scaling = replace(self.state.scaling, **changes)
        if scaling != self.state.scaling:
            pick = self.state.pick if scaling.how is self.state.scaling.how else Pick.EDGE
            self._put(scaling=scaling, pick=pick)
            self._fit(at_rest=True)

    def set_pencil(self, **changes: object) -> None:
        """Other figures for a traced line, by name of `Pencil`'s; edges of the other side are no longer picked."""
        pencil = replace(self.state.pencil, **changes)
        if pencil == self.state.pencil:
            return
        self._put(pencil=pencil)
        kept = tuple((pick, index) for pick, index in self.state.picked if index in self.choices(pick))
        if not pencil.is_traced:
            kept = tuple((pick, index) for pick, index in kept if pick is not Pick.TRACED)
        self._put(picked=kept)
        self._choose_edge()
        self._fit(at_rest=True)

    def set_allowances(self, **changes: float) -> None:
        """Other limits of what the picture can't tell, by name of `Allowances`'s [mm]."""
        allowances = replace(self.state.allowances, **changes)
        if allowances != self.state.allowances:
            self._put(allowances=allowances, fitted=None)
            self._fit(at_rest=True)

    def set_family(self, family: Family | None) -> None:
        """Fit one family, or with None the one that fits best."""
        if family is not self.state.family:
            self._put(family=family)
            self._fit()

    def take(self, owner: str) -> bool:
        """Use what was fitted for an insert, ``old_insert`` or ``new_insert``; False when it was refused."""
        fitted, opened = self.state.fitted, self.state.opened
        if fitted is None or opened is None:
            return False
        self._put(refusals=self._without(Part.TAKE))
        name = opened.picture.name
        label = f"{spoken(self._session.wanted, owner)}: sizes from a scan"
        return self._session.change(label, lambda p: taken(p, owner, fitted, name), path=_take_path(owner))

    def close(self) -> None:
        """Wait for whatever runs beside the window."""
        self._rest.stop()
        for job in self._jobs:
            job.close()

    # What comes back

    def _read(self, part: Part, work: Callable[[Tick], Opened]) -> None:
        self._reading_for = part
        self._reading.submit(work)
        self._put(busy=self._busy(part), refusals=self._without(part))

    def _opened(self, opened: Opened) -> None:
        if self._reading_for is Part.TURNED:
            self._put(turned=opened, busy=self._busy(but=Part.TURNED))
            self._fit()
            return
        self._rest.stop()
        self._searching.cancel()
        self._fitting.cancel()
        before, dpi = self.state, opened.picture.dpi or (None, None)
        self.state = ScanState(
            opened=opened,
            edges=opened.edges,
            scaling=replace(before.scaling, dpi_across=dpi[0], dpi_down=dpi[1]),
            pencil=before.pencil,
            allowances=before.allowances,
            family=before.family,
        )
        self._choose_edge()
        self._fit()

    def _unread(self, error: Exception) -> None:
        self._failed(self._reading_for, error)

    def _found(self, edges: tuple[Edge, ...]) -> None:
        before = self.state
        picked: list[tuple[Pick, int]] = []
        for pick, index in before.picked:
            found = same_edge(before.edges[index], edges)
            if found is not None and found not in [i for _, i in picked]:
                picked.append((pick, found))
        self._put(edges=edges, picked=tuple(picked), busy=self._busy(but=Part.EDGE))
        self._choose_edge()
        self._fit()

    def _choose_edge(self) -> None:
        """The largest edge is most likely the one meant, as long as none was picked."""
        if self.state.picked_index(Pick.EDGE) is None:
            free = [i for i in self.choices(Pick.EDGE) if i not in {index for _, index in self.state.picked}]
            if free:
                self._put(picked=(*self.state.picked, (Pick.EDGE, free[0])))

    def _fit(self, *, at_rest: bool = False) -> None:
        """Ask for scale and oval anew, at once or when the typing rests."""
        state = self.state
        self._fitting.cancel()
        if Part.EDGE in state.busy:
            return  # the fit follows the search
        refusals = self._without(Part.SCALE, Part.SHAPE, Part.TURNED, Part.TAKE)
        is_wanted = state.opened is not None and not state.lacks
        self._put(fitted=None, view=None, refusals=refusals, busy=self._busy(but=Part.SHAPE))
        if is_wanted:
            self._put(busy=self._busy(Part.SHAPE))
            if at_rest:
                self._rest.start()
            else:
                self._rested()

    def _rested(self) -> None:
        """Ask for what is waited for: edges at another threshold, or scale and oval."""
        self._rest.stop()
        state = self.state
        if Part.EDGE in state.busy and state.opened is not None:
            picture, level = state.opened.picture, state.shown_level
            self._searching.submit(lambda tick: find_edges(picture, level, tick=tick))
        elif Part.SHAPE in state.busy and (asked := state.asked) is not None:
            self._fitting.submit(lambda tick: answer(asked, tick))

    def _answered(self, found: Answer) -> None:
        said = tuple((Part(stage.value), self._said(error)) for stage, error in found.refused)
        self._put(
            view=found.view, fitted=found.fitted, refusals=self.state.refusals + said, busy=self._busy(but=Part.SHAPE)
        )

    def _failed(self, part: Part, error: Exception) -> None:
        if not isinstance(error, UserError):
            self._put(busy=self._busy(but=part))
            return
        gone = {"edges": (), "picked": (), "fitted": None} if part is Part.EDGE else {}
        self._put(busy=self._busy(but=part), refusals=(*self._without(part), (part, self._said(error))), **gone)

    def _refused(self, path: str, message: str) -> None:
        if path in (_take_path("old_insert"), _take_path("new_insert")):
            self._put(refusals=(*self._without(Part.TAKE), (Part.TAKE, message)))

    # The state

    def _said(self, error: UserError) -> str:
        text = error.message(self._session.show_length)
        # A form is too narrow for a whole path.
        text = text.replace(error.where, short(Path(error.where).name), 1)
        is_file = bool(Path(error.where).suffix)
        return text if is_file else text[:1].upper() + text[1:]

    def _busy(self, *parts: Part, but: Part | None = None) -> frozenset[Part]:
        """What is worked on, with some parts more and one less."""
        return (self.state.busy - {but}) | frozenset(parts)

    def _without(self, *parts: Part) -> tuple[tuple[Part, str], ...]:
        return tuple((part, text) for part, text in self.state.refusals if part not in parts)

    def _put(self, **changes: object) -> None:
        self.state = replace(self.state, **changes)
        self.changed.emit()


def _take_path(owner: str) -> str:
    """What a refused taking is known by; no field's path, so that no field says it as well."""
    return f"{owner}.scan"
