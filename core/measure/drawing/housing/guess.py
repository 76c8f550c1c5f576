"""A first guess of what each loop of an old drawing is, by nesting, shape and concentricity.

The guess reads the drawing as a pattern maker does: round everything the outside, then, about one centre, the walls of
the seat and the opening; straight-sided pieces side by side are an opening between crossbars; small rounds are holes;
what lies beyond the outside is a neighbour. A layer that says what it holds is believed before the shapes are.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Final

import numpy as np

from core.geometry.ovals.pose import hull, least_rectangle
from core.measure.drawing.ovals.frames import BLOCK, FRAME, LARGE, NARROW, SAME_CENTRE, apart, is_frame, is_rectangle
from core.measure.drawing.ovals.recover import distance_of
from core.measure.drawing.ovals.shape import Shape
from core.measure.drawing.results import Role

if TYPE_CHECKING:
    from collections.abc import Iterable

    from core.measure.drawing.progress import Tick
    from core.measure.drawing.results import Loop, Loops

# Common practice, no source, all of it: parts of sizes that tell a seat from a hole on the drawings of small housings.
_SMALL: Final = 0.5  # of the outside's width: a round larger than this is no hole
_FIXING: Final = 0.15  # of the outside's width: a round beside it up to this is a lug's hole
_ALONG: Final = 0.4  # of its length that a loop shares with the outside when it is the outside at another height

_LAYERS: Final[tuple[tuple[str, Role], ...]] = (
    (r"check|border|sheet|title|dimension|\bdim\b|text|centre.?line|center.?line", Role.IGNORED),
    (r"band|\brib|badge|pocket|(?<!outside-)\bboss|earlier", Role.IGNORED),
    (r"keep.?out|neighbour|neighbor", Role.KEEP_OUT),
    (r"seat.?outer|outer.?seat", Role.SEAT_OUTER),
    (r"seat.?inner|inner.?seat", Role.SEAT_INNER),
    (r"crossbar", Role.CROSSBAR_EDGE),
    (r"opening", Role.OPENING),
    (r"hole|drill|\bcored\b", Role.HOLE),
    (r"outside|outer.?edge|outline", Role.OUTSIDE),
)
"""Words in a layer's name and what they say; of several, the first. Trade words, and those of our own files."""

OVALS: Final = frozenset({Role.SEAT_OUTER, Role.SEAT_INNER, Role.OPENING})
"""What lies about the seat's centre."""


class Guess:
    """Gives every loop a role, one question after the other; what has one is not asked again."""

    def __init__(self, loops: Loops, tolerance: float, tick: Tick) -> None:
        self.loops, self.tolerance = loops, tolerance
        self.shapes: dict[int, Shape] = {}
        parents = {loop.parent for loop in loops.loops}
        for loop in loops.loops:
            tick(len(self.shapes) / len(loops.loops))
            self.shapes[loop.number] = Shape.of(loop, tolerance, holds=loop.number in parents)
        self.found: dict[int, tuple[Role, str]] = {}
        self.layers = {loop.number: _by_layer(loop) for loop in loops.loops}

    def roles(self) -> dict[int, tuple[Role, str]]:
        outside = self._outside()
        self._beyond(outside)
        inside = [s for s in self._inside(outside.number) if s.number not in self.found]
        self._same_outside(outside, inside)
        self._by_layers(self._left(inside))
        self._walls(outside, self._left(inside))
        self._holes(outside, self._left(inside))
        self._pieces(self._left(inside))
        for shape in self.shapes.values():
            self.found.setdefault(shape.number, (Role.IGNORED, "no use is seen for it"))
        return {number: self.found[number] for number in sorted(self.found)}

    def _left(self, shapes: Iterable[Shape]) -> list[Shape]:
        return [s for s in shapes if s.number not in self.found]

    def _inside(self, number: int) -> list[Shape]:
        """All that lies in a loop, at any depth, largest first."""
        within = {number}
        for loop in sorted(self.loops.loops, key=lambda own: own.depth):
            if loop.parent in within:
                within.add(loop.number)
        found = [self.shapes[n] for n in within - {number}]
        return sorted(found, key=lambda s: -s.area)

    def _outside(self) -> Shape:
        """The outermost large loop, past a plain rectangle round everything; one that its layer names goes first."""
        named = [s for n, s in self.shapes.items() if self.layers[n] is Role.OUTSIDE]
        others = [s for n, s in self.shapes.items() if self.layers[n] is None] or list(self.shapes.values())
        outside, reason = max(named or others, key=lambda s: s.area), "the outermost large outline"
        if len(named) == 1:
            reason = "its layer says so"
        else:
            outside = self._past_frames(outside)
            if is_rectangle(outside.loop.outline) and outside.holds:
                reason = BLOCK
        self.found[outside.number] = (Role.OUTSIDE, reason)
        # A layer that holds the outside and more, as one called outline does, says nothing of the others.
        self.layers |= {s.number: None for s in named}
        return outside

    def _past_frames(self, outside: Shape) -> Shape:
        """The first loop that is no frame of the sheet, single or double."""
        frames: list[Shape] = []
        while is_rectangle(outside.loop.outline):
            inside = [s for s in self._inside(outside.number) if self.layers[s.number] is not Role.IGNORED]
            if not is_frame(outside, inside, frames):
                break
            self.found[outside.number] = (Role.IGNORED, FRAME)
            frames.append(outside)
            within = [s for s in inside if s.loop.parent == outside.number]
            outside = max(within, key=lambda s: (s.holds, s.area))
        return outside

    def _beyond(self, outside: Shape) -> None:
        """What lies beside the outside: keep-outs, other views, and what is nowhere near."""
        within = {s.number for s in self._inside(outside.number)}
        reach = outside.size
        around = self._around(outside)
        for shape in self._left(around):
            is_plain = is_rectangle(shape.loop.outline)
            self._say([shape], Role.IGNORED, FRAME if is_plain else "it lies round the outside")
        beside = [s for s in self._left(self.shapes.values()) if s.number not in within]
        self._title_block(around, beside)
        beside = self._left(beside)
        numbers = {s.number for s in beside}
        least = _FIXING * _width(outside)
        # Holes of lugs that are not joined to the outside's line.
        small = [s for s in beside if s.circle and s.circle[1] <= least and self.layers[s.number] in (None, Role.HOLE)]
        self._rounds(small, "a small round beside the outside: of a lug")
        for shape in self._left(beside):
            if self.layers[shape.number] is Role.IGNORED:
                self.found[shape.number] = (Role.IGNORED, "its layer says so")
            elif shape.loop.parent in numbers:
                self.found[shape.number] = (Role.IGNORED, "it lies in an outline beside the outside")
            elif any(s.loop.parent == shape.number for s in beside) and shape.area > 0.2 * outside.area:
                self.found[shape.number] = (Role.IGNORED, "another view: it holds outlines of its own")
            elif float(outside.loop.outline.nearest(shape.points).distance.min()) > reach:
                self.found[shape.number] = (Role.IGNORED, "far from the outside")
            else:
                self.found[shape.number] = (Role.KEEP_OUT, "a closed shape beyond the outside")

    def _around(self, shape: Shape) -> list[Shape]:
        """The loops that one lies in, from inside out."""
        found: list[Shape] = []
        while shape.loop.parent:
            shape = self.shapes[shape.loop.parent]
            found.append(shape)
        return found

    def _title_block(self, frames: list[Shape], beside: list[Shape]) -> None:
        """What touches a frame from inside, and what touches that: fields of the title block, and what they hold."""
        lines, left = [s for s in frames if is_rectangle(s.loop.outline)], list(beside)
        while lines:
            line = lines.pop()
            touching = [s for s in left if line.loop.outline.nearest(s.points).distance.min() <= self.tolerance]
            touching += [s for s in left if s.loop.parent == line.number and line not in frames]
            self._say(touching, Role.IGNORED, "it touches the sheet's frame: a part of the title block")
            lines += touching
            left = self._left(left)

    def _same_outside(self, outside: Shape, inside: list[Shape]) -> None:
        for shape in self._left(inside):
            if shape.area < 0.7 * outside.area or self.layers[shape.number] is not None:
                continue
            on_it = outside.loop.outline.nearest(shape.points).distance <= self.tolerance
            if on_it.mean() >= _ALONG:
                self.found[shape.number] = (Role.IGNORED, "the outside at another height: it runs along it")

    def _by_layers(self, shapes: list[Shape]) -> None:
        """What the layers say, where the shape can be that; several openings are the pieces of one."""
        by_role: dict[Role, list[Shape]] = {}
        for shape in shapes:
            role = self.layers[shape.number]
            if role is not None:
                by_role.setdefault(role, []).append(shape)
        for role, own in by_role.items():
            if role in (Role.SEAT_OUTER, Role.SEAT_INNER, Role.OPENING):
                ovals = [s for s in own if s.is_convex and s.is_even]
                if role is Role.OPENING and len(own) > 1 and not ovals:
                    self._say(own, Role.CROSSBAR_EDGE, "a part of the opening, its layer says")
                else:
                    self._say((ovals or own)[:1], role, "its layer says so")
                    self._say((ovals or own)[1:], Role.IGNORED, f"another outline is the {role} already")
            elif role is Role.HOLE:
                self._say([s for s in own if s.circle], role, "a round, and its layer says hole")
            else:
                self._say(own, role, "its layer says so")

    def _say(self, shapes: list[Shape], role: Role, reason: str) -> None:
        for shape in shapes:
            self.found.setdefault(shape.number, (role, reason))

    def _walls(self, outside: Shape, shapes: list[Shape]) -> None:
        """Seat and opening: large ovals about one centre, from outside in."""
        near = max(SAME_CENTRE * outside.size, self.tolerance)
        large = [s for s in shapes if s.is_convex and s.area > LARGE * outside.area and self.layers[s.number] is None]
        ovals = [s for s in large if s.is_even] or large[:1]
        known = {role: n for n, (role, _) in self.found.items() if role in OVALS}
        if known:
            centre = self.shapes[min(known.values())].middle
        elif ovals:
            centre = ovals[0].middle
        else:
            return
        ring = [s for s in ovals if distance_of(s.middle, centre) <= near]
        while Role.SEAT_OUTER not in known and len(ring) > 3 and apart(ring[0], ring[1]) < NARROW:
            self._say([ring.pop(0)], Role.IGNORED, "too near to the next oval for a rim to lie between: a band")
        if Role.SEAT_OUTER not in known and ring:
            first = ring.pop(0)
            self._say([first], Role.SEAT_OUTER, "the first oval inside the outside")
        if Role.SEAT_INNER not in known and ring:
            self._second(ring, is_open=Role.OPENING in known)
        elif Role.OPENING not in known and ring:
            self._third(ring)

    def _second(self, ring: list[Shape], *, is_open: bool) -> None:
        """The second oval: the seat's inner wall, or the opening of a ring whose floor ends there."""
        second = ring[0]
        within = [s for s in self._inside(second.number) if self.layers[s.number] is not Role.IGNORED]
        if not is_open and not within:
            self._say([second], Role.OPENING, "the innermost oval, and nothing lies in it: a ring's opening")
            return
        self._say([second], Role.SEAT_INNER, "the second oval about the same centre")
        if not is_open:
            self._third(ring[1:])

    def _third(self, ring: list[Shape]) -> None:
        if not ring:
            return
        third, rest = ring[0], ring[1:]
        inner = [s for s in self._inside(third.number) if s not in ring]
        if inner and all(s.circle for s in inner):
            self._say([third], Role.IGNORED, "an oval with holes in its floor: a pocket, not the opening")
        else:
            self._say([third], Role.OPENING, "the third oval about the same centre")
        self._say(rest, Role.IGNORED, "a further oval about the same centre")

    def _holes(self, outside: Shape, shapes: list[Shape]) -> None:
        """Small rounds; of two about one centre, the outer is a boss."""
        most = _SMALL * _width(outside)
        self._rounds([s for s in shapes if s.circle and s.circle[1] <= most], "a small round")

    def _rounds(self, shapes: list[Shape], reason: str) -> None:
        """Rounds as holes, the smallest first; a larger one about the same centre is its boss."""
        known = [s.circle for n, s in self.shapes.items() if s.circle and self.found.get(n, ("",))[0] is Role.HOLE]
        for shape in sorted(shapes, key=lambda s: s.area):
            assert shape.circle is not None
            centre = shape.circle[0]
            if any(distance_of(hole[0], centre) <= 2.0 * self.tolerance for hole in known):
                self._say([shape], Role.IGNORED, "a round about a hole: its boss")
            else:
                self._say([shape], Role.HOLE, reason)
                known.append(shape.circle)

    def _pieces(self, shapes: list[Shape]) -> None:
        """Straight-sided loops side by side in the seat, which together fill an oval: an opening between crossbars."""
        roles = {role: n for n, (role, _) in self.found.items() if role in OVALS}
        home = roles.get(Role.OPENING) or roles.get(Role.SEAT_INNER) or roles.get(Role.SEAT_OUTER)
        if home is None:
            return
        pieces = [s for s in shapes if self.layers[s.number] is None and s.has_side]
        if Role.OPENING in roles:
            across = [s for s in pieces if _reaches_across(s, self.shapes[home])]
            self._say(across, Role.CROSSBAR_EDGE, "it reaches the edge of the opening that it lies in")
            return
        within = {s.number for s in self._inside(home)}
        pieces = [s for s in pieces if s.number in within]
        if len(pieces) < 2:
            return
        corners = hull(np.concatenate([s.points for s in pieces]))
        middle = (corners.max(axis=0) + corners.min(axis=0)) / 2.0
        home_shape = self.shapes[home]
        x0, y0, x1, y1 = home_shape.loop.outline.bounds
        off = distance_of((float(middle[0]), float(middle[1])), ((x0 + x1) / 2.0, (y0 + y1) / 2.0))
        if off <= 2.0 * SAME_CENTRE * home_shape.size:
            self._say(pieces, Role.CROSSBAR_EDGE, "one of several outlines that together fill an oval: the opening")


def _width(shape: Shape) -> float:
    """The lesser extent of a shape, however it is turned [mm]."""
    return float(np.ptp(least_rectangle(shape.points).into(shape.points), axis=0).min())


def _by_layer(loop: Loop) -> Role | None:
    """What a layer's name says its loops are; None for a name that says nothing."""
    name = loop.layer.lower().replace("_", "-")
    return next((role for pattern, role in _LAYERS if re.search(pattern, name)), None)


def _reaches_across(shape: Shape, opening: Shape) -> bool:
    """Whether a loop lies in the opening, or over it, and comes to its edge: a clear piece or a bar, but no badge."""
    signed = opening.loop.outline.signed_distance(np.concatenate((shape.points, shape.loop.outline.vertices[:, :2])))
    near = SAME_CENTRE * opening.size
    return bool(signed.min() < -near <= signed.max() and np.median(signed) <= near)
