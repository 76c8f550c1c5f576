"""A rim on the floor of its seat: how far it can be pushed, and how much of it then rests on metal.

Bearing width: at a station of the rim's outer edge, of the rim's normal there (carried along with the rim) the length
that lies over the floor, as `core.fit.seat.floor` has it from the metal itself: whatever merges, breaks out or is
missing.

Pushed over: in every direction the rim travels until its outer edge meets metal over the floor, or its inner edge does.
To first order a gap closes by the travel's part along the rim's normal; all directions are searched so. Where rim and
wall run parallel that is exact where they touch; in the worst directions the way is measured on the metal itself.
Each end of the insert is pushed alone, since the insert can tilt.
"""

from __future__ import annotations

from functools import cached_property
from math import cos, pi, sin
from typing import TYPE_CHECKING

import numpy as np
from msgspec import Struct

from core.fit.gaps import STATIONS, edge_gap, stations
from core.fit.seat.spans import Spans
from core.geometry.regions.region import Region
from core.part.insert import rim_outlines
from core.words.ends import Side

if TYPE_CHECKING:
    from core.fit.seat.floor import Floor
    from core.geometry.lines.outline import FloatArray, IntArray, Outline, Point
    from core.metal.slabs import ResolvedPiece
    from core.part.insert import Insert

TIE_MM = 1e-6
"""Widths that differ by less are the same."""

_DIRECTIONS = 72
_EVERY = 4  # of this many stations one is looked at in every direction
_WORST = 4  # directions that are looked at with all stations
_CRITICAL = 48  # stations that are measured anew for a direction
_SMALL = 20  # steps between stations: holes that are no larger get places of their own
_FINE = 33  # places beside each of the narrowest stations
_NARROWEST = 6
_TURNS = 2.0 * pi / _DIRECTIONS * np.array([0.0, -0.75, -0.5, -0.25, 0.25, 0.5, 0.75])
_SAMPLES = 400  # of one bearing, to see what is open there
_NEARLY = 0.05  # part of a travel that the first order may be off by
_EVEN_MM = 1e-9
_TOUCH_MM = 1e-9
_REST: FloatArray = np.zeros((1, 2))


class Push(Struct, frozen=True):
    """An insert pushed over, and where its bearing is narrowest then.

    Attributes:
        angle: direction [rad] from +X.
        travel: how far [mm].
        width: the narrowest bearing [mm].
        outer_end, inner_end: the ends of the rim's normal there, with the rim where it was pushed.
        outer, inner: what is missing there at the rim's outer and inner edge, past the fillets of the walls [mm].
        hollow: what is missing there where the floor is open [mm].
        is_any: whether every direction is as bad.
    """

    angle: float
    travel: float
    width: float
    outer_end: Point
    inner_end: Point
    outer: float
    inner: float
    hollow: float
    is_any: bool

    @property
    def missing(self) -> float:
        """Of the rim's width, what does not rest there [mm]."""
        return self.outer + self.inner + self.hollow


class Ring:
    """A rim on its floor.

    Attributes:
        width: of the rim [mm].
        fillet: radius between walls and floor [mm].
        rim_area: of the whole rim [mm²].
    """

    def __init__(self, insert: Insert, resolved: ResolvedPiece, floor: Floor, *, is_other: bool = False) -> None:
        """A ring of the insert's that the seat was made for, or of another one in it.

        Raises:
            UserError: the other insert has no such rim.
        """
        end, c = resolved.end, resolved.curves
        self.width = insert.rim_at(end).width
        self.floor, self.fillet = floor, floor.fillet
        self._rim_outer, self._rim_inner = rim = rim_outlines(insert, end) if is_other else (c.rim_outer, c.rim_inner)
        self.rim_area = rim[0].area - rim[1].area
        self._stations = stations(rim[0], STATIONS)
        sides = Side if floor.inner else (Side.OUTER,)
        profiles = [edge_gap(edge, resolved, side) for side, edge in zip(sides, rim, strict=False)]
        self._gaps = [profile.gap for profile in profiles]
        self._has_even_gaps = all(profile.varies < _EVEN_MM for profile in profiles)
        self._bores = [
            (part.centre, part.radius) for part in resolved.parts if part.kind == "hole" and part.centre is not None
        ]

    @cached_property
    def is_even(self) -> bool:
        """Whether walls stand all round, parallel to the rim, and nothing else ends the floor where the rim comes."""
        return self._has_even_gaps and self._ends_at_walls

    @cached_property
    def _ends_at_walls(self) -> bool:
        """Whether walls stand all round, and nothing else ends the floor where the rim comes."""
        if not self.floor.has_whole_walls or self.floor.is_whole or self.floor.inner:
            return self.floor.has_whole_walls and self.floor.is_whole
        # Without a lip the floor runs on to the opening: how far that is from the rim is what counts.
        s, (wall, *holes) = self._stations, self.floor.ground.loops
        if wall != self.floor.outer[0] or any(hole.area > 0.0 for hole in holes):
            return False
        inside = s.points - self.width * s.normals
        away = min((float(hole.nearest(inside).distance.min()) for hole in holes), default=np.inf)
        # Between two stations an edge is nearer than to both of them by at most half a step.
        is_far = away - s.step / 2.0 > float(self._all_round[1].max())
        return is_far and all(self._rim_inner.contains(hole.vertices[:, :2]).all() for hole in holes)

    def _is_clear(self, fillet: float) -> bool:
        """Whether the rim, where it is drawn, lies clear of openings, and of walls by ``fillet`` [mm]."""
        return self._ends_at_walls and all(float(gap.min()) >= fillet for gap in self._gaps)

    @cached_property
    def _rest(self) -> tuple[Region, float]:
        return self.floor.rest_of(self._rim_outer, self._rim_inner)

    def area(self) -> float:
        """Rim area over the floor, centred [mm²]."""
        if self._is_clear(self.fillet):
            return self.rim_area
        between = self._between_fillets() if self.is_even else None
        return self._rest[1] if between is None else between

    def _between_fillets(self) -> float | None:
        """Rim area on a floor whose edges run parallel to the rim's [mm²]; None where fillets leave nothing to tell.

        Of two parallels the inner one bounds what lies in both: the rim's edge, or that of the fillet's foot.
        """
        edges, rims = self.floor.edges, (self._rim_outer, self._rim_inner)
        past = [self.fillet - float(gap[0]) for gap in self._gaps]
        if any(len(of_side) > 1 for of_side in edges) or sum(max(p, 0.0) for p in past) > self.width - TIE_MM:
            return None
        bounds = list(rims)
        for i, over in enumerate(past):
            if over > 0.0:
                if not edges[i]:
                    return None
                bounds[i] = edges[i][0]
        return abs(bounds[0].area) - abs(bounds[1].area)

    def centred(self) -> Push:
        """The bearing of the rim where it is drawn."""
        if self.is_even:
            return self._even(0.0)
        if self._is_clear(self.fillet):
            return self._whole(0.0, 0.0)
        return self._at(np.zeros(2), 0.0, is_any=True)

    def worst_push(self) -> Push:
        """The direction in which the narrowest bearing is narrowest, and that bearing."""
        if self.is_even:
            # Each direction is the normal somewhere, and the same happens there: all are alike.
            return self._even(max(min(float(gap[0]) for gap in self._gaps), 0.0))
        angles, travels = self._all_round
        if not self.floor.has_whole_walls:
            # Past a wall that is cut away the rim may go further than its stations' normals say, so it is measured.
            travels = np.array([self._travel(float(angle)) for angle in angles])
        if self.fillet == 0.0 and self._is_clear(0.0):
            # Walls keep the rim from everything that ends the floor: what is left to say is how far it goes.
            angle = float(angles[int(np.argmax(travels >= travels.max() - TIE_MM))])
            return self._whole(angle, self._travel(angle))
        widths = self._narrowest(self._few, angles, travels)
        least = float(widths.min())
        # Of directions that are as bad, the one that the insert goes furthest in.
        tied = np.where(widths <= least + TIE_MM, travels, -1.0)
        first = int(np.argmax(tied >= tied.max() - TIE_MM))
        if float(widths.max()) - least <= TIE_MM:
            return self._pushed(float(angles[first]), is_any=True)
        is_low = (widths <= np.roll(widths, 1)) & (widths <= np.roll(widths, -1))
        lows = np.flatnonzero(is_low)
        lows = lows[np.argsort(widths[lows], kind="stable")]
        # Lows that are alike lie across from each other: one of them is enough.
        alike = np.round(np.column_stack((widths[lows], travels[lows])) / TIE_MM)
        lows = lows[np.sort(np.unique(alike, axis=0, return_index=True)[1])][:_WORST]
        pushes = [self._low_beside(float(angles[k])) for k in dict.fromkeys((first, *lows.tolist()))]
        return min(pushes, key=lambda push: round(push.width / TIE_MM))

    def _low_beside(self, angle: float) -> Push:
        """The push about the direction ``angle`` whose bearing is narrowest."""
        turned_by = self._turned(angle)
        turned = self._pushed(turned_by, is_any=False)
        if turned.width <= TIE_MM or turned_by == angle:
            return turned
        first_order = float(self._travels(np.array([turned_by]))[0])
        if self.floor.has_whole_walls and abs(turned.travel - first_order) <= _NEARLY * turned.travel:
            return turned
        # Where the rim touches, a little to one side it may go far and to the other not at all.
        straight = self._pushed(angle, is_any=False)
        return turned if turned.width <= straight.width + TIE_MM else straight

    def _whole(self, angle: float, travel: float) -> Push:
        """A push that takes nothing off the bearing."""
        s, d = self._stations, np.array([cos(angle), sin(angle)])
        station = int((s.normals[:, 0] * d[0] + s.normals[:, 1] * d[1]).argmax())
        p, n = s.points[station] + travel * d, s.normals[station]
        q = p - self.width * n
        ends = (float(p[0]), float(p[1])), (float(q[0]), float(q[1]))
        return Push(angle, travel, self.width, *ends, 0.0, 0.0, 0.0, is_any=True)

    def _even(self, travel: float) -> Push:
        """A push to the right where the walls are parallel: it is narrowest where the rim faces that way, or back."""
        s = self._stations
        gap_outer = float(self._gaps[0][0])
        gap_inner = float(self._gaps[1][0]) if len(self._gaps) > 1 else np.inf
        found = []
        for station, closed in zip(s.furthest, (travel, -travel), strict=True):
            outer = min(max(self.fillet - gap_outer + closed, 0.0), self.width)
            inner = min(max(self.fillet - gap_inner - closed, 0.0), self.width - outer)
            found.append((self.width - outer - inner, station, outer, inner))
        width, station, outer, inner = min(found)
        p, n = s.points[station] + (travel, 0.0), s.normals[station]
        q = p - self.width * n
        ends = (float(p[0]), float(p[1])), (float(q[0]), float(q[1]))
        return Push(0.0, travel, max(width, 0.0), *ends, outer, inner, 0.0, is_any=True)

    # Where the walls are not even: the metal is asked.

    @cached_property
    def _clearances(self) -> tuple[FloatArray, FloatArray]:
        """(n,) how far each station's outer and inner end are from metal over the floor, along the normal [mm]."""
        s, stops = self._stations, self.floor.stops
        if self.floor.has_whole_walls:
            return self._gaps[0], self._gaps[1] if len(self._gaps) > 1 else np.full(STATIONS, np.inf)
        inside = s.points - self.width * s.normals
        return (
            Spans(stops, s.points, s.normals, self.width, 0.0).entries(),
            Spans(stops, inside, -s.normals, self.width, 0.0).entries(),
        )

    def _travels(self, angles: FloatArray) -> FloatArray:
        """(k,) how far the rim goes in k directions [rad] to first order, but no further than it is wide [mm]."""
        n, (outer, inner) = self._stations.normals, self._clearances
        # Not a matrix product: for two terms that would only wake the linear algebra's threads.
        along = np.multiply.outer(np.cos(angles), n[:, 0]) + np.multiply.outer(np.sin(angles), n[:, 1])
        # The greatest closing rate: gap / along is least where along / gap is greatest.
        rate = np.max(along / np.maximum(outer, _TOUCH_MM), axis=1)
        rate = np.maximum(rate, np.max(-along / np.maximum(inner, _TOUCH_MM), axis=1))
        travels: FloatArray = np.minimum(1.0 / np.maximum(rate, 1e-12), self.width)
        return np.where(travels > 2.0 * _TOUCH_MM, travels, 0.0)

    @cached_property
    def _most(self) -> float:
        """How far the rim may be moved in any direction, with room for what the first order leaves out [mm]."""
        return 2.0 * float(self._all_round[1].max()) + 0.1

    @cached_property
    def _rim(self) -> Region:
        """The rim where it is drawn."""
        return Region((self._rim_outer, self._rim_inner.reversed()), (frozenset(), frozenset()))

    @cached_property
    def _all_round(self) -> tuple[FloatArray, FloatArray]:
        """(k,) directions all round [rad], and (k,) how far the rim goes in them, to first order [mm]."""
        angles: FloatArray = np.linspace(0.0, 2.0 * pi, _DIRECTIONS, endpoint=False)
        return angles, self._travels(angles)

    @cached_property
    def _places(self) -> tuple[FloatArray, FloatArray]:
        """(m, 2) places on the rim's outer edge, and their normals: the stations, and more beside small holes."""
        s, rim = self._stations, self._rim_outer
        extra = [s.stations]
        small = [bore for bore in self._bores if bore[1] <= _SMALL / 2.0 * s.step]
        feet = rim.nearest([centre for centre, _ in small]) if small else None
        for i, (_, size) in enumerate(small):
            if feet is None or float(feet.distance[i]) > self.width + size + self._most:
                continue
            reach = size + self._most
            count = min(int(2.0 * reach / min(s.step, size / 3.0)) + 1, 200)
            extra.append(float(feet.station[i]) + np.linspace(-reach, reach, count))
        if len(extra) == 1:
            return s.points, s.normals
        every = np.concatenate(extra)
        return rim.points_at(every), rim.normals_at(every)

    @cached_property
    def _few(self) -> IntArray:
        """Numbers of the places that are looked at in every direction."""
        return np.concatenate((np.arange(0, STATIONS, _EVERY), np.arange(STATIONS, len(self._places[0]))))

    def _spans(self, points: FloatArray, normals: FloatArray) -> Spans:
        return Spans(self._rest[0], points, -normals, self.width, self._most)

    @cached_property
    def _few_spans(self) -> Spans:
        points, normals = self._places
        return self._spans(points[self._few], normals[self._few])

    @cached_property
    def _every_span(self) -> Spans:
        return self._spans(*self._places)

    def _narrowest(self, places: Spans | IntArray, angles: FloatArray, travels: FloatArray) -> FloatArray:
        """(k,) the narrowest bearing when pushed in k directions, at all stations or at some places [mm]."""
        ways = np.column_stack((np.cos(angles), np.sin(angles)))
        narrowest: FloatArray
        if self._ends_at_walls:
            n, (outer, inner) = self._stations.normals, self._clearances
            closed = travels[:, None] * (
                np.multiply.outer(ways[:, 0], n[:, 0]) + np.multiply.outer(ways[:, 1], n[:, 1])
            )
            past = np.clip(self.fillet - outer + closed, 0.0, self.width)
            past += np.clip(self.fillet - inner - closed, 0.0, self.width)
            narrowest = np.maximum(self.width - past.max(axis=1), 0.0)
        else:
            spans = places if isinstance(places, Spans) else self._few_spans
            narrowest = spans.lengths(travels[:, None] * ways).min(axis=1)
        return narrowest

    def _turned(self, angle: float) -> float:
        """The direction beside ``angle`` in which the bearing is narrowest, looked for at its narrowest places."""
        places: Spans | IntArray = self._few
        if not self._ends_at_walls:
            d = np.array([[cos(angle), sin(angle)]])
            widths = self._every_span.lengths(float(self._travels(np.array([angle]))[0]) * d)[0]
            low = np.argsort(widths, kind="stable")[:_CRITICAL]
            points, normals = self._places
            places = self._spans(points[low], normals[low])
        turn = 1.0
        while turn > 1e-2:
            turned = angle + turn * _TURNS
            found = self._narrowest(places, turned, self._travels(turned))
            best = int(found.argmin())
            # Ties stay where they are: there is nothing to gain elsewhere.
            angle = float(turned[best if found[best] < found[0] - _EVEN_MM else 0])
            turn /= 3.0
        return angle

    def _pushed(self, angle: float, *, is_any: bool) -> Push:
        """One direction, with the travel measured on the metal itself."""
        return self._at(self._travel(angle) * np.array([cos(angle), sin(angle)]), angle, is_any=is_any)

    def _travel(self, angle: float) -> float:
        """How far the rim goes in one direction, measured on the metal itself [mm]."""
        if self.floor.has_whole_walls and float(self._travels(np.array([angle]))[0]) == 0.0:
            return 0.0  # it touches or is pressed there already, and what has entered can't enter again
        s, d = self._stations, np.array([cos(angle), sin(angle)])
        rate = s.normals[:, 0] * d[0] + s.normals[:, 1] * d[1]
        back = rate < 0.0
        ahead = np.concatenate((s.points[rate > 0.0], s.points[back] - self.width * s.normals[back]))
        reach = min(self._most, self.width)
        free = Spans(self.floor.stops, ahead, np.tile(d, (len(ahead), 1)), reach, 0.0).entries()
        # Where two walls cross the metal has a tip, which the rim may come to between two stations.
        tips = self.floor.stops.segments.start if not self.floor.has_whole_walls else np.zeros((0, 2))
        met = Spans(self._rim, tips, np.tile(-d, (len(tips), 1)), reach, 0.0).entries()
        return min(float(free.min(initial=reach)), float(met[met > _TOUCH_MM].min(initial=reach)))

    def _at(self, shift: FloatArray, angle: float, *, is_any: bool) -> Push:
        """The bearing of the rim shifted by ``shift``, at the place where it is narrowest."""
        rim, (points, normals) = self._rim_outer, self._places
        widths = self._every_span.lengths(shift[None, :])[0]
        low = np.argsort(widths, kind="stable")[:_NARROWEST]
        if float(widths.max() - widths[low[0]]) > TIE_MM:
            around = rim.nearest(points[low]).station[:, None] + self._stations.step * np.linspace(-1.0, 1.0, _FINE)
            beside = rim.points_at(around.ravel()), rim.normals_at(around.ravel())
            finer = self._spans(*beside).lengths(shift[None, :])[0]
            best = int(finer.argmin())
            if finer[best] < widths[low[0]] - _EVEN_MM:
                points, normals, widths, low = *beside, finer, np.array([best])
        first = int(low[0])
        p, n = points[first] + shift, normals[first]
        q = p - self.width * n
        width = float(widths[first])
        outer, inner = self._past_the_walls(p, n)
        hollow = max(self.width - width - outer - inner, 0.0)
        ends = (float(p[0]), float(p[1])), (float(q[0]), float(q[1]))
        return Push(angle, float(np.hypot(*shift)), width, *ends, outer, inner, hollow, is_any=is_any)

    def _past_the_walls(self, p: FloatArray, n: FloatArray) -> tuple[float, float]:
        """Of the normal inward from ``p``, how much lies past the floor's outer edge, and past the inner one [mm]."""

        def within(edge: Outline) -> float:
            spans = Spans(Region((edge,), (frozenset(),)), p[None, :], -n[None, :], self.width, 0.0)
            return float(spans.lengths(_REST)[0, 0])

        outer, inner = self.floor.edges
        # From outside in the normal comes over each edge once: of two outer edges the first counts, of inner the last.
        past_outer = self.width - max(map(within, outer), default=0.0)
        return past_outer, min(min(map(within, inner), default=0.0), self.width - past_outer)

    def open_place(self, push: Push) -> Point | None:
        """The middle of the longest part of the narrowest bearing that is open; None where none is."""
        p, q = np.array(push.outer_end), np.array(push.inner_end)
        along = p + (np.arange(_SAMPLES) + 0.5)[:, None] / _SAMPLES * (q - p)
        outer, inner = self.floor.edges
        is_open = ~self.floor.ground.contains(along)
        is_open &= np.any([edge.contains(along) for edge in outer], axis=0)
        if inner:
            is_open &= ~np.all([edge.contains(along) for edge in inner], axis=0)
        ends = np.flatnonzero(np.diff(np.concatenate(([0], is_open, [0]))))
        if not len(ends):
            return None
        begin, stop = ends[::2], ends[1::2]
        longest = int((stop - begin).argmax())
        x, y = along[int(begin[longest] + stop[longest]) // 2].tolist()
        return x, y
