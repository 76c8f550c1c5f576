"""The floor of a seat as the metal has it, and the metal over it that stops a rim from going further.

The floor is metal with nothing over it, between the seat's walls: the slab under the floor's height less the slab over
it. A rim rides up on the fillets at the walls, so what they take is no floor for it.
"""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING

from msgspec import Struct

from core.geometry.parallels.parallel import parallel
from core.geometry.regions.closing import closing
from core.geometry.regions.region import Arrangement, Region, Step
from core.metal.slabs import SAME_HEIGHT_MM
from core.words.errors import FoldsOverError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from core.geometry.lines.outline import Outline
    from core.metal.order import Part
    from core.metal.slabs import ResolvedPiece, Slab
    from core.part.housing import Piece

_BESIDE_MM = 1e-6  # over and under the floor's height: no slab is so thin

_NOTHING = Region((), ())


class Floor(Struct, frozen=True, eq=False, dict=True):
    """A seat's floor, and what stands over it.

    Attributes:
        ground: the floor up to its walls.
        stops: metal just over it; of a casting that was cut deeper, over its old floor: a low step guides no rim.
        outer, inner: the walls round it at its own height; ``inner`` is empty where there is no lip.
        has_whole_walls: whether both walls stand all round, and nothing else stands between them and the middle.
        fillet: radius between walls and floor [mm].
    """

    ground: Region
    stops: Region
    outer: tuple[Outline, ...]
    inner: tuple[Outline, ...]
    has_whole_walls: bool
    fillet: float

    @cached_property
    def is_whole(self) -> bool:
        """Whether walls, and nothing else, bound the floor."""
        walls = {wall.oriented(ccw=True) for wall in (*self.outer, *self.inner)}
        return self.has_whole_walls and all(loop.oriented(ccw=True) in walls for loop in self.ground.loops)

    @cached_property
    def edges(self) -> tuple[tuple[Outline, ...], tuple[Outline, ...]]:
        """What the fillets leave of the floor lies within one of the first and not within all of the second."""
        return self._moved(self.outer, -self.fillet), self._moved(self.inner, self.fillet)

    @staticmethod
    def _moved(walls: Sequence[Outline], by: float) -> tuple[Outline, ...]:
        moved = []
        for wall in walls:
            try:
                moved.append(parallel(wall, by, trimmed=True))
            except FoldsOverError:
                continue  # fillets that meet leave nothing
        return tuple(moved)

    def rest_of(self, rim_outer: Outline, rim_inner: Outline) -> tuple[Region, float]:
        """What the fillets leave of the floor, and the area of it that a rim in this place lies on [mm²]."""
        outer, inner = self.edges
        loops = self.ground.loops
        if not (outer and loops):
            return _NOTHING, 0.0
        a = len(loops) + len(outer)
        insides = range(a, a + len(inner))
        steps = []
        for i, loop in enumerate(loops):
            if loop.area > 0.0:
                # Loops don't cross: a hole that is smaller than an outer loop lies in it, or apart from it.
                holes = tuple(h for h, hole in enumerate(loops) if -loop.area < hole.area < 0.0)
                steps += [Step(add=True, inside=(i, k), outside=holes) for k in range(len(loops), a)]
        if inner:
            steps.append(Step(add=False, inside=tuple(insides)))
        on_rim = Step(add=True, inside=(a + len(inner),), outside=(a + len(inner) + 1,))

        def rest(arrangement: Arrangement) -> tuple[Region, float]:
            state, rim = arrangement.cells(steps), arrangement.cells([on_rim])
            return arrangement.region(state, steps), arrangement.region(state & rim, steps).area

        return closing([*loops, *outer, *inner, rim_outer, rim_inner], rest)


def seat_floor(resolved: ResolvedPiece, piece: Piece) -> Floor:
    """The floor of a piece's seat."""
    level = resolved.floor
    outer, inner = _walls(resolved, level, has_lip=piece.lip.height > 0.0)
    below, above = _slab(resolved, level - _BESIDE_MM), _slab(resolved, level + _BESIDE_MM)
    steps = [Step(add=True, inside=(i,)) for i, _ in outer]
    if inner:
        steps.append(Step(add=False, inside=tuple(i for i, _ in inner)))
    metal = below.cells if below is not None else 0
    over = above.cells if above is not None else 0
    arrangement = resolved.arrangement
    ground = arrangement.region(arrangement.cells(steps) & metal & ~over, steps)
    old = [part.z0 for part in resolved.parts if part.kind == "old seat" and not part.is_inner]
    top = _slab(resolved, max([level, *old]) + _BESIDE_MM)
    stops = _NOTHING if top is None else top.region
    walls = resolved.walls if inner else resolved.walls[:1]
    # Without a lip a bar or a boss that is higher than the floor may stand in the rim's way.
    islands = [loop for loop in stops.loops if loop.area > 0.0]
    is_bare = bool(inner) or not any(walls[0].contains(island.vertices[:, :2]).any() for island in islands)
    return Floor(
        ground,
        stops,
        tuple(part.outline for _, part in outer),
        tuple(part.outline for _, part in inner),
        all(wall in stops.loops or wall.reversed() in stops.loops for wall in walls) and not old and is_bare,
        piece.seat.corner_radius,
    )


def _walls(
    resolved: ResolvedPiece, level: float, *, has_lip: bool
) -> tuple[list[tuple[int, Part]], list[tuple[int, Part]]]:
    """Outer and inner walls that reach down to the floor: the seat's, and an old seat's that was as deep."""
    every = [
        (i, part)
        for i, part in enumerate(resolved.parts)
        if part.kind in ("seat", "old seat") and part.z0 < level + SAME_HEIGHT_MM
    ]
    return [w for w in every if not w[1].is_inner], [w for w in every if w[1].is_inner and has_lip]


def _slab(resolved: ResolvedPiece, z: float) -> Slab | None:
    return next((slab for slab in resolved.slabs if slab.z0 <= z < slab.z1), None)
