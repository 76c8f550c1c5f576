"""Exact sums, differences and intersections of areas bounded by lines and arcs.

Words: an *operand* is the filled area inside one outline; a *run* is the part of an operand's outline between two cut
nodes, or the whole of an outline that nothing cuts; runs of several operands that lie on each other are one *side*.
Every combination of the operands is bounded by whole sides, so all operands are cut against each other once and any
number of combinations is then read off: a side bounds the result where the result lies on exactly one side of it.
"""

from __future__ import annotations

from functools import cached_property, lru_cache
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from msgspec import Struct

from core.geometry.lines.crossings import SNAP, TOUCH, cut
from core.geometry.lines.cycles import cycles
from core.geometry.lines.outline import (
    BoolArray,
    FloatArray,
    IntArray,
    Outline,
    Segments,
    indices,
    segment_bounds,
    tell_outlines,
)
from core.geometry.lines.rays import Rays
from core.geometry.lines.segment_sets import box_pairs, closed_segments

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from numpy.typing import ArrayLike
    from shapely.geometry.base import BaseGeometry

SLIVER = 1e-6
"""Loops round less than this are left out [mm²]."""

# For so few points it doesn't pay to sort out first which edges their rays can meet.
_FEW_POINTS = 16

# Flags of sides and operands worked out at once.
_TABLE = 1 << 24

# Runs between the same nodes whose middles are this near are one side; snapping moves each end by up to SNAP.
_SAME = 2.0 * SNAP


class UnclosedError(ValueError):
    """The boundary of an area can't be closed: outlines cross themselves, or nearly coincide."""


class NearestOnRegion(Struct, frozen=True):
    """Where the boundary of a region is nearest to m points.

    Attributes:
        distance: (m,) [mm], >= 0.
        foot: (m, 2) the nearest places on the boundary [mm].
        loop: (m,) the loops they lie on.
        station: (m,) their stations on these loops [mm].
        segment: (m,) the segments they lie on, as numbered in ``Region.segments``.
    """

    distance: FloatArray
    foot: FloatArray
    loop: IntArray
    station: FloatArray
    segment: IntArray


class Region(Struct, frozen=True, eq=False, dict=True):
    """An area bounded by lines and arcs; it may be empty, have holes, and fall into several parts.

    Attributes:
        loops: outer loops counter-clockwise, holes clockwise, simple; they may touch in points but not cross.
        sources: for each loop, the operands whose outlines it runs along.
        rims: for each loop of what was read off an arrangement, the area along it as a set: see ``Arrangement.cells``.

    >>> ring = Region((Outline([[3, 0, 1], [-3, 0, 1]]), Outline([[1, 0, -1], [-1, 0, -1]])), (frozenset(),) * 2)
    >>> round(ring.area / np.pi, 9), round(ring.length / np.pi, 9)  # 9 - 1 and 2 (3 + 1)
    (8.0, 8.0)
    """

    loops: tuple[Outline, ...]
    sources: tuple[frozenset[int], ...]
    rims: tuple[int, ...] = ()

    @property
    def is_empty(self) -> bool:
        """Whether there is no area at all."""
        return not self.loops

    @cached_property
    def area(self) -> float:
        """Area [mm²], holes taken off."""
        return sum(loop.area for loop in self.loops)

    @cached_property
    def length(self) -> float:
        """Length of the whole boundary [mm]."""
        return sum(loop.length for loop in self.loops)

    @cached_property
    def bounds(self) -> tuple[float, float, float, float]:
        """Least x, least y, greatest x, greatest y [mm].

        Raises:
            ValueError: the region is empty.
        """
        if self.is_empty:
            raise ValueError("an empty region has no bounds")
        low, high = self._boxes
        least, most = low.min(axis=0), high.max(axis=0)
        return float(least[0]), float(least[1]), float(most[0]), float(most[1])

    @cached_property
    def _closed(self) -> tuple[Segments, IntArray, IntArray]:
        return closed_segments(self.loops)

    @cached_property
    def _boxes(self) -> tuple[FloatArray, FloatArray]:
        return segment_bounds(self.segments)

    @property
    def segments(self) -> Segments:
        """The segments of all loops, one loop after the other."""
        return self._closed[0]

    @property
    def loop_of_segment(self) -> IntArray:
        """(n,) the loop each of ``segments`` belongs to."""
        return self._closed[1]

    @property
    def next_segment(self) -> IntArray:
        """(n,) the segment after each of ``segments`` on its loop."""
        return self._closed[2]

    @property
    def segment_boxes(self) -> tuple[FloatArray, FloatArray]:
        """(n, 2) least and greatest corner of the box round each of ``segments`` [mm]."""
        return self._boxes

    @cached_property
    def _rays(self) -> Rays:
        return Rays(self.segments, np.zeros(len(self.segments), dtype=np.int64), 1)

    def contains(self, points: ArrayLike) -> BoolArray:
        """(m,) whether each point (m, 2) lies in the region; undefined within rounding of its boundary."""
        p = np.atleast_2d(np.asarray(points, dtype=np.float64))
        if len(p) <= _FEW_POINTS:
            return self.segments.encloses(p)
        return self._rays.inside(p)[:, 0]

    def nearest(self, points: ArrayLike) -> NearestOnRegion:
        """The nearest place on the boundary to each point (m, 2).

        Raises:
            ValueError: the region is empty.
        """
        if self.is_empty:
            raise ValueError("an empty region has no boundary")
        p = np.atleast_2d(np.asarray(points, dtype=np.float64))
        s = self.segments
        distance, segment, along = s.nearest(p)
        starts = np.cumsum(s.length) - s.length
        loop = self.loop_of_segment[segment]
        first = np.searchsorted(self.loop_of_segment, np.arange(len(self.loops)))
        station = starts[segment] - starts[first[loop]] + along
        return NearestOnRegion(distance, s.points(segment, along), loop, station, segment)

    def distance(self, points: ArrayLike) -> FloatArray:
        """(m,) distance [mm] from each point (m, 2) to the boundary.

        Raises:
            ValueError: the region is empty.
        """
        return self.nearest(points).distance

    @cached_property
    def faces(self) -> tuple[tuple[Outline, tuple[Outline, ...]], ...]:
        """The connected parts, each an outer loop and its holes."""
        outers = [loop for loop in self.loops if loop.area > 0.0]
        inner = [loop for loop in self.loops if loop.area <= 0.0]
        if len(outers) == 1:
            return ((outers[0], tuple(inner)),)
        holes: list[list[Outline]] = [[] for _ in outers]
        bounds = np.array([outer.bounds for outer in outers]).T
        for hole in inner:
            x0, y0, x1, y1 = hole.bounds
            overlaps = (bounds[0] < x1) & (bounds[1] < y1) & (bounds[2] > x0) & (bounds[3] > y0)
            around = [k for k in indices(overlaps).tolist() if _goes_round(outers[k], hole)]
            holes[min(around, key=lambda k: outers[k].area)].append(hole)
        return tuple((outer, tuple(found)) for outer, found in zip(outers, holes, strict=True))

    def polygon(self, tolerance: float) -> BaseGeometry:
        """The region as polygons whose chords stray at most ``tolerance`` [mm] from it."""
        from shapely.geometry import MultiPolygon, Polygon  # noqa: PLC0415 - for second opinions only

        return MultiPolygon(
            [
                Polygon(outer.chords(tolerance), [hole.chords(tolerance) for hole in holes])
                for outer, holes in self.faces
            ]
        )


class Step(Struct, frozen=True):
    """Add or take away the points that lie in all operands of ``inside`` and in none of ``outside``.

    >>> squares = [Outline([[k, k, 0], [k + 2, k, 0], [k + 2, k + 2, 0], [k, k + 2, 0]]) for k in (0, 1)]
    >>> Arrangement(squares).fold([Step(add=True, inside=(0,), outside=(1,))]).area
    3.0
    """

    add: bool
    inside: tuple[int, ...]
    outside: tuple[int, ...] = ()


class _Loop(NamedTuple):
    """A loop, the operands (as given) that lie along it, its area [mm²], and the area along it as a set."""

    outline: Outline
    sources: frozenset[int]
    area: float
    rim: int


class Arrangement:
    """Outlines cut against each other once, from which any combination of their areas is read off.

    Args:
        outlines: simple closed outlines, run either way, each standing for the area inside it; the same one may occur
            more than once.

    >>> squares = [Outline([[k, k, 0], [k + 2, k, 0], [k + 2, k + 2, 0], [k, k + 2, 0]]) for k in (0, 1)]
    >>> Arrangement(squares).fold([Step(add=True, inside=(0,)), Step(add=True, inside=(1,))]).area
    7.0
    """

    def __init__(self, outlines: Sequence[Outline]) -> None:
        unique: dict[Outline, int] = {}
        self._operand = [unique.setdefault(outline, len(unique)) for outline in outlines]
        self._outlines = list(unique)
        self._inputs: list[set[int]] = [set() for _ in unique]
        for given, operand in enumerate(self._operand):
            self._inputs[operand].add(given)
        self._known: dict[tuple[int, ...], _Loop] = {}
        self._loops_of: dict[int, list[_Loop]] = {}
        self._cut()

    def _cut(self) -> None:
        s, owner, after = closed_segments(self._outlines)
        boxes = segment_bounds(s)
        tell_outlines(self._outlines, s, boxes)
        i, j = box_pairs(*boxes, TOUCH)
        other = owner[i] != owner[j]
        pieces = cut(s, boxes, np.arange(len(s)), after, i[other], j[other], both_ends=False)
        self._pieces = pieces
        operand = owner[pieces.segment]
        sense = np.where(np.bincount(operand, pieces.areas, minlength=len(self._outlines)) > 0.0, 1, -1)
        self._find_runs(operand)
        self._find_sides()
        self._find_flags(Rays(s, owner, len(self._outlines)), sense)

    def _find_runs(self, operand: IntArray) -> None:
        """Spans of pieces between cut nodes; the last run of an outline may go on at the outline's first pieces."""
        pieces = self._pieces
        count = len(pieces)
        opens = np.ones(count, dtype=np.bool_)  # the first piece of an outline
        opens[1:] = operand[1:] != operand[:-1]
        is_cut = pieces.is_cut[pieces.first]
        begin = indices(opens | is_cut)
        stop = np.append(begin[1:], count)[: len(begin)]
        run_operand = operand[begin]
        runs_of = np.bincount(run_operand, minlength=len(self._outlines))
        last_run = np.cumsum(runs_of) - 1
        # An outline whose first vertex is not cut is still entered there: its first run is the end of its last.
        parted = opens[begin] & ~is_cut[begin] & (runs_of[run_operand] > 1)
        kept = indices(~parted)
        number = np.cumsum(~parted) - 1
        tails = indices(parted)
        number[tails] = number[last_run[run_operand[tails]]]
        tail_stop = np.zeros(len(kept), dtype=np.int64)
        tail_begin = np.zeros(len(kept), dtype=np.int64)
        tail_begin[number[tails]], tail_stop[number[tails]] = begin[tails], stop[tails]
        begin, stop = begin[kept], stop[kept]
        self._run_operand = run_operand[kept]
        self._operand_of_run: list[int] = self._run_operand.tolist()
        self._runs_of = np.bincount(self._run_operand, minlength=len(self._outlines)).tolist()
        self._closed = ~is_cut[begin]
        spans = zip(begin.tolist(), stop.tolist(), tail_begin.tolist(), tail_stop.tolist(), strict=True)
        self._span: list[tuple[int, int, int, int]] = list(spans)
        final = np.where(tail_stop > tail_begin, tail_stop, stop) - 1
        self._run_start, self._run_end = pieces.first[begin], pieces.last[final]
        run_of_piece = np.repeat(number, np.diff(np.append(indices(opens | is_cut), count)))
        self._run_area = np.bincount(run_of_piece, pieces.areas, minlength=len(begin))
        self._run_size = np.bincount(run_of_piece, minlength=len(begin))
        # The longest piece speaks for its run: its middle is the least likely to lie near another outline.
        order = np.lexsort((pieces.stop - pieces.begin, run_of_piece))
        self._speaker = order[np.cumsum(self._run_size) - 1]
        self._speaker_segment: list[int] = pieces.segment[self._speaker].tolist()

    def _find_sides(self) -> None:
        """Runs that lie on each other, by their shared ends and middles."""
        count = len(self._run_operand)
        self._even: list[tuple[int, int, bool]] = []
        self._middle = self._pieces.midpoints(self._speaker)
        single = indices((self._run_size == 1) & ~self._closed)
        low = np.minimum(self._run_start[single], self._run_end[single])
        high = np.maximum(self._run_start[single], self._run_end[single])
        order = np.lexsort((high, low))
        single, low, high = single[order], low[order], high[order]
        equal = indices((low[1:] == low[:-1]) & (high[1:] == high[:-1]))
        side, sign = list(range(count)), [1] * count
        groups: list[list[int]] = []
        last = -1
        for k, a, b in zip(equal.tolist(), single[equal].tolist(), single[equal + 1].tolist(), strict=True):
            if last == k:
                groups[-1].append(b)
            else:
                groups.append([a, b])
            last = k + 1
        joined = False
        for group in groups:
            if self._join(sorted(group), side, sign):
                joined = True
                self._find_even(sorted(group), side)
        self._members: list[list[tuple[int, int]]]
        if not joined:
            self._side = self._side_run = np.arange(count)
            self._sign = np.ones(count, dtype=np.int64)
            self._members = [[(run, 1)] for run in range(count)]
            return
        members: dict[int, list[tuple[int, int]]] = {run: [] for run in sorted(set(side))}
        for run, (of, sense) in enumerate(zip(side, sign, strict=True)):
            members[of].append((run, sense))
        self._members = list(members.values())
        self._side_run = np.array(list(members), dtype=np.int64)
        self._side = np.searchsorted(self._side_run, np.array(side, dtype=np.int64))
        self._sign = np.array(sign, dtype=np.int64)

    def _join(self, runs: list[int], side: list[int], sign: list[int]) -> bool:
        """Make those of the runs, all between the same nodes, one side that lie on each other."""
        middle = self._middle[runs].tolist()
        joined = False
        for b in range(1, len(runs)):
            for a in range(b):
                off_x, off_y = middle[b][0] - middle[a][0], middle[b][1] - middle[a][1]
                if off_x * off_x + off_y * off_y > _SAME * _SAME:
                    continue
                joined = True
                travel = self._pieces.directions(self._speaker[[runs[a], runs[b]]])
                side[runs[b]] = side[runs[a]]
                sign[runs[b]] = sign[runs[a]] * (1 if float(travel[0] @ travel[1]) > 0.0 else -1)
                break
        return joined

    def _find_even(self, runs: list[int], side: list[int]) -> None:
        """Note where an outline runs back along itself, at most a snap apart: round a slit or a sliver of itself."""
        seen: dict[tuple[int, int], int] = {}
        for run in runs:
            operand = int(self._run_operand[run])
            first = seen.setdefault((side[run], operand), run)
            if first != run:
                travel = self._pieces.directions(self._speaker[[first]])[0]
                off = self._middle[run] - self._middle[first]
                self._even.append((first, operand, float(travel[0] * off[1] - travel[1] * off[0]) < 0.0))

    def _find_flags(self, rays: Rays, sense: IntArray) -> None:
        """For every operand, on which sides of which sides it lies, as the bits of one number: left, then right."""
        sides = self._sides = len(self._side_run)
        within, of = rays.lying_in(self._middle.take(self._side_run, 0))
        forward = self._sign * sense[self._run_operand] > 0
        slits = [(operand, self._side[run], slit == (sense[operand] > 0)) for run, operand, slit in self._even]
        self._bits: list[int] = []
        # By so many operands at once that the table of them all never stands in memory.
        step = max(1, _TABLE // max(1, 2 * sides))
        for begin in range(0, len(sense), step):
            stop = min(begin + step, len(sense))
            flags = np.zeros((2, stop - begin, sides), dtype=np.bool_)
            found = slice(*np.searchsorted(of, (begin, stop)))
            flags[:, of[found] - begin, within[found]] = True
            own = indices((self._run_operand >= begin) & (self._run_operand < stop))
            row, side = self._run_operand[own] - begin, self._side[own]
            flags[0, row, side], flags[1, row, side] = forward[own], ~forward[own]
            for operand, at, is_in in slits:
                if begin <= operand < stop:
                    flags[:, operand - begin, at] = is_in
            packed = np.packbits(np.concatenate(flags, axis=1), axis=1, bitorder="little")
            self._bits += [int.from_bytes(bits.tobytes(), "little") for bits in packed]
        ends = self._run_start[self._side_run], self._run_end[self._side_run]
        self._from: list[list[int]] = np.array(ends).T.tolist()
        self._whole = self._closed[self._side_run].tolist()
        self._areas: list[float] = self._run_area[self._side_run].tolist()

    def fold(self, steps: Sequence[Step]) -> Region:
        """The area that is left after the steps, taken in order from nothing.

        Raises:
            ValueError: a step adds the unbounded outside of an operand, or the operands are not simple outlines, so
                that the boundary can't be closed; the message names the place.
        """
        return self.region(self.cells(steps), steps)

    def cells(self, steps: Sequence[Step]) -> int:
        """The area that is left after the steps, as the set of the sides' sides that it lies on.

        Sets of one arrangement are combined by ``&``, ``|`` and ``& ~``; one without members has no area.

        Raises:
            ValueError: a step adds the unbounded outside of an operand.
        """
        bits, operand = self._bits, self._operand
        full = (1 << 2 * self._sides) - 1
        state = 0
        for step in steps:
            if step.add and not step.inside:
                raise ValueError("a step can't add the unbounded outside of an outline; name an operand inside")
            chosen = full
            for k in step.inside:
                chosen &= bits[operand[k]]
            for k in step.outside:
                chosen &= ~bits[operand[k]]
            state = state | chosen if step.add else state & ~chosen
        return state

    def region(self, state: int, steps: Sequence[Step]) -> Region:
        """The area of some ``cells``; ``steps`` name the operands that count as its sources.

        Raises:
            UnclosedError: the operands are not simple outlines, or nearly coincide; the message names the place.
        """
        used = {k for step in steps for k in (*step.inside, *step.outside)}
        loops = self._loops_of.get(state)
        if loops is None:
            loops = self._loops_of[state] = self._loops(state)
        return Region(
            tuple([loop.outline for loop in loops]),
            tuple([loop.sources & used for loop in loops]),
            rims=tuple([loop.rim for loop in loops]),
        )

    def _loops(self, state: int) -> list[_Loop]:
        """The loops round some ``cells``, largest first."""
        packed = np.frombuffer(state.to_bytes((self._sides + 3) // 4, "little"), dtype=np.uint8)
        left, right = np.unpackbits(packed, bitorder="little")[: 2 * self._sides].reshape(2, -1)
        kept = indices(left != right)
        # Material on the left: side k as 2k forwards, 2k + 1 backwards.
        edges: list[int] = (2 * kept + right[kept]).tolist()
        loops = [self._loop(tuple(cycle)) for cycle in self._cycles(edges)]
        loops = [loop for loop in loops if abs(loop.area) >= SLIVER]
        # Largest first; where parts are alike, their order must not hang on rounding.
        loops.sort(key=lambda loop: (loop.area < 0.0, -round(abs(loop.area), 6)))
        return loops

    def _cycles(self, edges: list[int]) -> list[list[int]]:
        found = [[e] for e in edges if self._whole[e >> 1]]
        edges = [e for e in edges if not self._whole[e >> 1]]
        if not edges:
            return found
        starts, ends = [self._from[e >> 1][e & 1] for e in edges], [self._from[e >> 1][1 - (e & 1)] for e in edges]

        def choose(arrived: int, choices: list[int]) -> int:
            tips = {self._tip(edges[c], leaving=True): c for c in choices}
            return tips[self._pieces.sharpest(self._tip(edges[arrived], leaving=False), list(tips))]

        try:
            found += [[edges[k] for k in cycle] for cycle in cycles(starts, ends, choose)]
        except LookupError as e:
            x, y = self._pieces.nodes[e.args[0]].tolist()
            raise UnclosedError(f"the boundary can't be closed at ({x:.6f}, {y:.6f}); is an outline not simple?") from e
        return found

    def _tip(self, edge: int, *, leaving: bool) -> int:
        """The piece at the start of an edge (``leaving``) or at its end; ``~piece`` if run backwards."""
        begin, stop, tail_begin, tail_stop = self._span[self._members[edge >> 1][0][0]]
        if edge & 1 != leaving:
            return begin if leaving else ~begin
        final = (tail_stop if tail_stop > tail_begin else stop) - 1
        return ~final if leaving else final

    def _loop(self, cycle: tuple[int, ...]) -> _Loop:
        """The outline along a cycle of edges, and what there is to know of it."""
        known = self._known.get(cycle)
        if known is None:
            known = self._known[cycle] = self._new_loop(cycle)
        return known

    def _new_loop(self, cycle: tuple[int, ...]) -> _Loop:
        rim, area = 0, 0.0
        for e in cycle:
            side, is_back = e >> 1, e & 1
            rim |= 1 << (side + self._sides if is_back else side)
            area += -self._areas[side] if is_back else self._areas[side]
        members = [self._members[e >> 1] for e in cycle]
        operand = self._operand_of_run
        operands = {operand[run] for runs in members for run, _ in runs}
        sources = frozenset[int]().union(*[self._inputs[k] for k in operands])
        # A loop that is the whole of an operand's outline is that very outline, vertex for vertex.
        for k in sorted([k for k in operands if self._runs_of[k] == len(cycle)]):
            if all(any(operand[run] == k for run, _ in runs) for runs in members):
                sense = next(sign for run, sign in members[0] if operand[run] == k)
                outline = self._outlines[k]
                return _Loop(outline if (sense > 0) != bool(cycle[0] & 1) else _reversed(outline), sources, area, rim)
        chain: list[int] = []
        for position, (edge, runs) in enumerate(zip(cycle, members, strict=True)):
            run, sign = runs[0]
            if len(runs) > 1:
                near = (chain[-1] if chain else None, members[position - len(cycle) + 1])
                run, sign = self._continuing(runs, *near)
            chain += self._chain(run, backward=(sign < 0) != bool(edge & 1))
        outline = self._pieces.outline(chain)
        # Making parts one again undoes what snapping did between them: little, but it may be all of a sliver.
        return _Loop(outline, sources, outline.area if abs(area) < 100.0 * SLIVER else area, rim)

    def _continuing(
        self, side: list[tuple[int, int]], before: int | None, after: list[tuple[int, int]]
    ) -> tuple[int, int]:
        """The run of a side that lies on the segment of its neighbours, so that they become one again."""
        segment = self._pieces.segment
        wanted = {int(segment[before if before >= 0 else ~before])} if before is not None else set()
        beyond = {self._speaker_segment[run] for run, _ in after}
        for choice in (wanted, beyond):
            for run, sign in side:
                if self._speaker_segment[run] in choice:
                    return run, sign
        return side[0]

    def _chain(self, run: int, *, backward: bool) -> Iterable[int]:
        begin, stop, tail_begin, tail_stop = self._span[run]
        if stop - begin == 1 and tail_begin == tail_stop:
            return (~begin,) if backward else (begin,)
        pieces = (*range(begin, stop), *range(tail_begin, tail_stop))
        return [~p for p in reversed(pieces)] if backward else pieces


def _goes_round(outer: Outline, hole: Outline) -> bool:
    """Whether a hole lies in an outer loop, which it may touch: the greater part of its points decides."""
    s, index = hole.segments, np.arange(len(hole))
    points = np.concatenate([s.points(index, s.length * f) for f in (0.21, 0.5, 0.83)])
    return 2 * int(outer.contains(points).sum()) > len(points)


@lru_cache(maxsize=1024)
def _reversed(outline: Outline) -> Outline:
    """One reverse for each outline, so that what it has worked out about itself is kept."""
    return outline.reversed()
