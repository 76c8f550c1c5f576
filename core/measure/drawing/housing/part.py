"""An old outline drawing as a parametric housing: sizes of the seat, what runs parallel to it, and features in place.

Everything is told from the seat's centre and long axis, so that it does not matter where on its sheet the old part was
drawn, or how it was turned.
"""

from __future__ import annotations

from math import degrees
from typing import TYPE_CHECKING

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from core.features.crossbar import Crossbar
from core.features.ground import Made
from core.geometry.ovals.ovals import Family, least_radius, measured_oval, oval_outline
from core.geometry.ovals.pose import Pose, hull, least_rectangle
from core.measure.drawing.housing.as_insert import ANGLE_DIGITS, DIGITS, insert_from, tidy, tidy_oval
from core.measure.drawing.housing.fixings import Fixing, fixings
from core.measure.drawing.ovals.bars import are_strips, bars_between
from core.measure.drawing.ovals.measure import Spread, signed_from, spread_of
from core.measure.drawing.ovals.recover import recover, recover_most, recover_points, samples
from core.measure.drawing.results import Recovered, Role, Sorted
from core.new.part import single_ring, two_piece
from core.part.curve import HeldCurve
from core.part.housing import Faces, Housing, KeepOut, Lip, Metal, Opening, Piece, Seat, Stop, Tight
from core.part.insert import Insert, Rim
from core.part.materials import MATERIALS, Material
from core.part.project import HeightTo
from core.words.errors import UserError
from core.words.lengths import Style
from core.words.verdicts import Sentence

if TYPE_CHECKING:
    from core.features.registry import Feature
    from core.geometry.lines.outline import FloatArray, Outline
    from core.part.project import Project

__all__ = ["Part", "PartAnswers", "PartError", "answers_for", "insert_from", "part_from"]

# Starting points for what a plan can't tell [mm] (common practice, no source); ``core.new.part`` has the others.
_HEIGHT, _RIM_WIDTH, _RIM_THICKNESS, _RING_HEIGHT = 55.0, 12.0, 10.0, 6.0
_GAP_YIELDING, _GAP_RIGID = 0.8, 0.6
_LEDGE = 1.5
# Crossings and a badge may take almost half of a bar's edges; a spoke from the middle has no more than half.
_ACROSS = 0.55


class PartError(UserError):
    """Roles that make no part; ``where`` is the role concerned."""


class PartAnswers(Struct, frozen=True):
    """What the user says of a part and a plan does not. Lengths in mm; None is a sensible start.

    Attributes:
        two_piece: a base and a lid, else one ring.
        material: of the insert's rims.
        gap_outer, gap_inner: designed gaps between rim and seat walls.
        rim_width: asked where the drawing has no inner wall of the seat.
        rim_thickness, height: of the old insert.
        floor, depth: metal under the seat floor, and the seat's depth.
        lip_height: above the seat floor.
        bar_height, lug_height: from the outer face up.
        made: how the holes are made, but for those that are too large to drill or lie on a layer of cored ones.
    """

    name: str = "Part from a drawing"
    style: Style = Style.MM
    two_piece: bool = True
    material: Material = Material.NOT_STATED
    gap_outer: float | None = None
    gap_inner: float | None = None
    rim_width: float | None = None
    rim_thickness: float | None = None
    height: float | None = None
    floor: float | None = None
    depth: float | None = None
    lip_height: float | None = None
    bar_height: float | None = None
    lug_height: float | None = None
    metal: Metal | None = None
    made: Made = Made.DRILLED


class Part(Struct, frozen=True):
    """The project that a drawing became, and what could not be used or is only assumed, each a sentence."""

    project: Project
    remarks: tuple[Sentence, ...]


def answers_for(found: Sorted, name: str = "Part from a drawing", style: Style = Style.MM) -> PartAnswers:
    """Answers to begin with: two pieces round soft rims where the seat has an inner wall, else a ring round glass."""
    if Role.SEAT_INNER in found.roles.values() or Role.OPENING not in found.roles.values():
        return PartAnswers(name, style)
    return PartAnswers(name, style, two_piece=False, material=Material.RIGID)


def part_from(found: Sorted, answers: PartAnswers, note: str = "") -> Part:
    """The housing that an old drawing shows, as a project whose new insert is the old one.

    Args:
        found: loops with their roles; one must be the seat's outer wall.
        answers: what the drawing does not tell.
        note: the drawing's name, kept beside the sizes that come from it.

    Raises:
        PartError: the roles make no part: no seat, or walls that do not lie one in the other.
        UserError: sizes that make no insert or no seat.
    """
    return _Reader(found, answers, note).part()


class _Reader:
    """Reads one part: first the seat and its axes, then the walls beside it, then the features."""

    def __init__(self, found: Sorted, answers: PartAnswers, note: str) -> None:
        self.found, self.answers, self.note = found, answers, note
        self.remarks: list[Sentence] = []
        is_soft = MATERIALS[answers.material].is_yielding
        usual = _GAP_YIELDING if is_soft else _GAP_RIGID
        self.gap_outer = usual if answers.gap_outer is None else answers.gap_outer
        inner = usual if answers.two_piece else 0.0
        self.gap_inner = inner if answers.gap_inner is None else answers.gap_inner
        seat = self._the(Role.SEAT_OUTER)
        if seat is None:
            raise PartError("seat outer", "no outline is the seat's outer wall", hint="Say which outline it is.")
        self.seat = recover(seat, found.tolerance, offset=self.gap_outer)
        self.oval = tidy_oval(self.seat.oval)
        self.pose = Pose(self.seat.centre, self.seat.angle)

    def _all(self, role: Role) -> list[int]:
        return [n for n, own in self.found.roles.items() if own is role]

    def _the(self, role: Role) -> Outline | None:
        """The one loop of a role, in the drawing's coordinates."""
        numbers = self._all(role)
        if len(numbers) > 1:
            listed = " and ".join(str(n) for n in numbers[:2])
            raise PartError(role.value, f"outlines {listed} both are the {role}", hint="Leave one, ignore the other.")
        return self.found.loops.loop(numbers[0]).outline if numbers else None

    def _own(self, role: Role) -> Outline | None:
        """The one loop of a role as seen from the seat."""
        loop = self._the(role)
        return None if loop is None else self.pose.outline(loop)

    def _say(self, text: str, **lengths: float) -> None:
        self.remarks.append(Sentence.of(text, **lengths))

    def part(self) -> Part:
        """All of it."""
        clear = self._opening_rim()
        rim_width = self._rim_width(clear)
        insert = self._insert(rim_width)
        answers = self.answers
        template = (two_piece if answers.two_piece else single_ring)(insert, answers.name, answers.style)
        bare = template.housing.base
        depth = bare.seat.depth if answers.depth is None else answers.depth
        floor = bare.floor if answers.floor is None else answers.floor
        seat = Seat(self.gap_outer, self.gap_inner, depth)
        wall, held = self._wall(bare.wall)
        opening, lip_width = self._opening(clear, rim_width, bare.lip.width)
        lip_height = bare.lip.height if answers.lip_height is None else answers.lip_height
        plain = Piece(floor, seat, wall, Lip(lip_width, min(lip_height, depth)), opening, held_outside=held)
        bars = () if opening is None else self._bars(floor)
        features = (*bars, *self._fixings(plain, wall))
        lid = None
        if template.housing.lid is not None:
            # A plan shows one piece: the lid begins with the same seat and outside, closed.
            lid = replace(plain, opening=None)
            self._say("The drawing shows one piece; the lid starts with the same seat and outside, closed and plain.")
        faces = template.housing.faces
        if lid is not None:
            # What the seats take more, the distance of the faces gives.
            apart = max(faces.distance + 2.0 * (bare.seat.depth - depth), 0.0)
            faces = Faces(Stop.SPACER if apart > 0.0 else Stop.FACES, apart)
        metal = answers.metal or template.housing.metal
        base = replace(plain, features=features, tight=Tight.YES)
        housing = Housing(base, metal, lid, faces, keep_outs=self._keep_outs())
        to = HeightTo.SPACER if faces.stop is Stop.SPACER else HeightTo.BASE
        project = replace(template, housing=housing, choices=replace(template.choices, height_to=to))
        return Part(project, tuple(self.remarks))

    def _insert(self, rim_width: float) -> Insert:
        a = self.answers
        thickness = a.rim_thickness
        if thickness is None:
            thickness = _RIM_THICKNESS if a.two_piece else (a.height or _RING_HEIGHT)
        height = a.height if a.height is not None else (_HEIGHT if a.two_piece else thickness)
        sizes = Insert("old insert", Family.OBROUND, 1.0, 1.0, Rim(rim_width, thickness), height, a.material)
        if not self.oval.family.kind.is_sized:
            self._say("The seat is no oval of a known kind; the insert has the measured outline.")
        return insert_from(sizes, Recovered(self.oval, (0.0, 0.0), 0.0, self.seat.worst, self.seat.rms), self.note)

    def _rim_width(self, clear: FloatArray | None) -> float:
        """From the seat's inner wall; where there is none, the answer, or what leaves a ledge to the opening."""
        inner = self._own(Role.SEAT_INNER)
        if inner is not None:
            spread = self._spread(inner)
            width = -spread.middle - self.gap_inner
            if not spread.is_parallel:
                width = -spread.high - self.gap_inner
                self._say(
                    "The seat is not of one width: {least} to {most} between its walls; the least is taken.",
                    least=self.gap_outer - spread.high,
                    most=self.gap_outer - spread.low,
                )
            if width <= 0.0:
                what = "the seat's inner wall does not lie inside its outer one"
                raise PartError("seat inner", what, hint="Exchange their roles.")
            return tidy(width)
        if self.answers.rim_width is not None:
            return self.answers.rim_width
        tightest = 0.6 * least_radius(self.oval)
        if clear is None:
            width = min(_RIM_WIDTH, tightest)
        else:
            across = -self._spread_of(clear).middle - self.gap_inner
            width = min(across - min(_LEDGE, 0.25 * across), tightest)
        if width <= 0.0:
            raise PartError(
                "opening",
                "the opening does not lie inside the seat",
                hint="Say which outline is which wall of the seat.",
            )
        self._say("The drawing has no inner wall of the seat; the rim is taken to be {width} wide.", width=width)
        return tidy(width)

    def _spread(self, outline: Outline) -> Spread:
        return self._spread_of(samples(outline, 720).points)

    def _spread_of(self, points: FloatArray) -> Spread:
        return spread_of(signed_from(self.oval, points), self.found.tolerance)

    def _wall(self, usual: float) -> tuple[float, HeldCurve | None]:
        """The wall's width, and the outside itself where it does not run parallel to the seat."""
        outside = self._own(Role.OUTSIDE)
        if outside is None:
            self._say("No outline is the outside; the wall is taken to be {wall} wide.", wall=usual)
            return usual, None
        spread = self._spread(outside)
        wall = spread.middle - self.gap_outer
        if spread.is_mostly:
            if wall <= 0.0:
                raise PartError("outside", "the outside does not lie round the seat", hint="Say which outline it is.")
            return tidy(wall), None
        least = spread.low - self.gap_outer
        if least <= 0.0:
            raise PartError("outside", "the outside does not lie round the seat", hint="Say which outline it is.")
        held = self._held(recover_most(outside, self.found.tolerance), "outside")
        self._say("The outside is not parallel to the seat: it is held, with {wall} of wall at least.", wall=least)
        return tidy(least), held

    def _held(self, found: Recovered, what: str) -> HeldCurve:
        """A recovered curve as one about the seat's own axes."""
        oval = tidy_oval(found.oval)
        size = oval.length / 2.0
        off = float(np.hypot(*found.centre))
        if off > self.found.tolerance:
            self._say(f"The {what}'s middle lies {{off}} from the seat's; it is taken to be the same.", off=off)
        if oval.family.kind.is_round or abs(np.sin(found.angle)) * size <= self.found.tolerance:
            return HeldCurve.of(oval, 0.0)
        return HeldCurve.of(measured_oval(oval_outline(oval).turned(found.angle)), 0.0)

    def _opening_rim(self) -> FloatArray | None:
        """Points (n, 2) on the opening's edge: of its loop, or of the pieces that crossbars leave of it."""
        opening = self._own(Role.OPENING)
        if opening is not None:
            return samples(opening, 720).points
        pieces = self._pieces()
        if not pieces:
            return None
        parts = np.arange(720 // len(pieces)) * (len(pieces) / 720.0)
        points = np.concatenate(
            [np.concatenate((p.vertices[:, :2], p.points_at(p.length * parts))) for p in pieces[:720]]
        )
        corners = hull(points)
        step = np.roll(corners, -1, axis=0) - corners
        outward = np.column_stack((step[:, 1], -step[:, 0])) / np.hypot(step[:, 0], step[:, 1])[:, None]
        inset = ((corners[None, :, :] - points[:, None, :]) * outward[None, :, :]).sum(axis=2).min(axis=1)
        rim: FloatArray = points[inset < 1e-6 * max(1.0, float(np.ptp(corners, axis=0).max()))]
        return rim

    def _pieces(self) -> list[Outline]:
        loops = [self.found.loops.loop(n).outline for n in self._all(Role.CROSSBAR_EDGE)]
        return [self.pose.outline(loop.oriented(ccw=True)) for loop in loops]

    def _opening(self, clear: FloatArray | None, rim_width: float, usual: float) -> tuple[Opening | None, float]:
        """The opening, and the lip's width."""
        if clear is None:
            self._say("No outline is the opening; the piece is closed inside its lip.")
            return None, usual
        inner = -rim_width - self.gap_inner
        spread = self._spread_of(clear)
        if inner - (spread.middle if spread.is_parallel else spread.high) <= 0.0:
            raise PartError("opening", "the opening does not lie inside the seat", hint="Say which outline it is.")
        if spread.is_parallel:
            return Opening(), tidy(inner - spread.middle)
        least = inner - spread.high
        held = self._held(recover_points(clear, self.found.tolerance), "opening")
        self._say("The opening is not parallel to the seat: it is held, with {lip} of lip at least.", lip=least)
        return Opening(held), tidy(least)

    def _bars(self, floor: float) -> tuple[Feature, ...]:
        pieces = self._pieces()
        if not pieces:
            return ()
        strips = are_strips(pieces, self._own(Role.OPENING))
        bars, unpaired = bars_between(pieces, self.found.tolerance, strips=strips)
        if unpaired or not bars:
            self._say("Some straight edges in the opening belong to no crossbar of one width; they are left out.")
        for i, bar in enumerate(bars):
            if bar.drawn < _ACROSS:
                self._say(f"Crossbar {i + 1} is drawn on part of the way only; it is taken right across the opening.")
        height = self.answers.bar_height or floor
        return tuple(
            Crossbar(f"crossbar {i + 1}", round(bar.angle, ANGLE_DIGITS), tidy(bar.offset), tidy(bar.width), height)
            for i, bar in enumerate(bars)
        )

    def _fixings(self, piece: Piece, wall: float) -> tuple[Feature, ...]:
        a = self.answers
        height = piece.floor + piece.seat.depth / 2.0 if a.lug_height is None else a.lug_height
        features, remarks = fixings(self.found, self.pose, self.oval, piece, Fixing(wall, height, a.made))
        self.remarks += remarks
        return features

    def _keep_outs(self) -> tuple[KeepOut, ...]:
        """The least rectangle round each neighbour."""
        found: list[KeepOut] = []
        for i, number in enumerate(self._all(Role.KEEP_OUT)):
            outline = self.pose.outline(self.found.loops.loop(number).outline)
            points = outline.chords(0.01)
            box = least_rectangle(points)
            length, width = np.ptp(box.into(points), axis=0).tolist()
            x, y = box.centre
            angle = round(degrees(box.angle), DIGITS) + 0.0
            found.append(KeepOut(f"keep-out {i + 1}", tidy(x), tidy(y), tidy(length), tidy(width), angle))
            if abs(abs(outline.area) - length * width) > 0.01 * length * width:
                self._say(f"Outline {number} is no rectangle; the keep-out is the least rectangle round it.")
        return tuple(found)
