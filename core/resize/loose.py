"""Metal that is joined to nothing: a boss in an opening whose crossbar is gone, a pad that the wall has left behind.

Such metal would come out of the mould as a piece of its own, so it is a conflict, whatever the checks say of it.
"""

from __future__ import annotations

from functools import lru_cache
from itertools import chain, pairwise
from typing import TYPE_CHECKING

import numpy as np
from msgspec import Struct

from core.geometry.lines.segment_sets import box_pairs
from core.geometry.regions.closing import combine
from core.geometry.regions.region import SLIVER, Step
from core.resize.resize import Conflict
from core.words.verdicts import Place, Sentence, plain

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from core.geometry.lines.outline import FloatArray, Outline
    from core.geometry.regions.region import Region
    from core.metal.order import Part
    from core.metal.slabs import Resolved, ResolvedPiece, Slab

_INWARD_MM = 1e-4


class _Face(Struct, frozen=True):
    """One connected part of a slab's region; ``sources`` are the parts that its outer loop runs along.

    ``rim`` is the area along its outer loop, as a set of the slabs' arrangement. Its holes are left aside as long as
    they don't matter; ``volume`` counts them in.
    """

    region: Region
    outer: Outline
    sources: frozenset[int]
    volume: float
    rim: int


def loose_metal(resolved: Resolved) -> tuple[Conflict, ...]:
    """A conflict for each feature whose metal is joined to no other metal of its piece, or that has no metal left."""
    return tuple(chain.from_iterable((*_conflicts(piece), *_swallowed(piece)) for piece in resolved.pieces))


def _conflicts(piece: ResolvedPiece) -> Iterator[Conflict]:
    told: set[str] = set()
    for outline, sources in _loose(piece.slabs):
        part = _leading([piece.parts[k] for k in sorted(sources)])
        if part.path in told:
            continue
        told.add(part.path)
        what = Sentence(
            f"{plain(part.name)} stands loose in the {piece.end}, joined to no other metal: carry it with a crossbar "
            "or a wall, move it, or remove it"
        )
        owner = "housing" if part.path.startswith("studs") else f"housing.{piece.end}"
        place = Place(piece.end, part.centre or outline.centroid, outline=outline, feature=part.name)
        is_own = part.path.startswith(("studs", "features"))
        path = f"{owner}.{part.path}" if is_own else ""
        yield Conflict(part.name, what, Place(place.end, place.point, None, outline, part.name, path))


def _swallowed(piece: ResolvedPiece) -> Iterator[Conflict]:
    """What is raised on the outer face and lies over the opening altogether: nothing is left of it."""
    raised = [slab for slab in piece.slabs if slab.z1 <= 0.0]
    there = {k for slab in raised for sources in slab.region.sources for k in sources}
    left = {piece.parts[k].path for k in there}
    for part in piece.parts:
        if not part.adds or part.z1 > 0.0 or part.path in left:
            continue
        left.add(part.path)
        if any(slab.region.contains(_inside(part.outline))[0] for slab in raised):
            continue  # it lies in other raised metal
        what = Sentence(
            f"nothing is left of {plain(part.name)}: it lies over the {piece.end}'s opening altogether; set it further "
            "out, or remove it"
        )
        place = Place(piece.end, outline=part.outline, feature=part.name, path=f"housing.{piece.end}.{part.path}")
        yield Conflict(part.name, what, place)


def _leading(parts: Sequence[Part]) -> Part:
    """The part that a piece of metal is called by: a feature or stud before the body's curves, metal first."""
    return min(parts, key=lambda p: (not p.path.startswith(("studs", "features")), not p.adds))


@lru_cache(maxsize=32)
def _loose(slabs: tuple[Slab, ...]) -> tuple[tuple[Outline, frozenset[int]], ...]:
    """Outer loops, and the parts they run along, of all metal that is not joined to the greatest part."""
    layers = [_faces(slab) for slab in slabs]
    faces = [face for layer in layers for face in layer]
    groups = _Groups(faces)
    # What is quick to see first: mostly that joins everything.
    for (below, under), (above, over) in pairwise(zip(layers, slabs, strict=True)):
        _join_by_rims(groups, below, above, under.cells)
        _join_by_rims(groups, above, below, over.cells)
    for are_joined in (_are_over_each_other, _have_area_in_common):
        if groups.count == 1:
            break
        for below, above in pairwise(layers):
            for one, other in _over_each_other(below, above):
                if groups.of(one) != groups.of(other) and are_joined(one, other):
                    groups.join(one, other)
    volume: dict[int, float] = {}
    for face in faces:
        volume[groups.of(face)] = volume.get(groups.of(face), 0.0) + face.volume
    main = max(volume, key=lambda k: volume[k], default=-1)
    return tuple((face.outer, face.sources) for face in faces if groups.of(face) != main)


class _Groups:
    """Which faces are joined to each other; each is its own group at first."""

    def __init__(self, faces: Sequence[_Face]) -> None:
        self._number = {id(face): k for k, face in enumerate(faces)}
        self._above = list(range(len(faces)))
        self.count = len(faces)

    def of(self, face: _Face) -> int:
        """The number of a face's group."""
        k = self._number[id(face)]
        while self._above[k] != k:
            self._above[k] = self._above[self._above[k]]
            k = self._above[k]
        return k

    def join(self, one: _Face, *others: _Face) -> None:
        """Make the groups of these faces one."""
        for other in others:
            a, b = self.of(one), self.of(other)
            if a != b:
                self._above[b] = a
                self.count -= 1


def _join_by_rims(groups: _Groups, layer: Sequence[_Face], beside: Sequence[_Face], cells: int) -> None:
    """Join faces that have their outer loop in common, and faces along whose outer loop the only other one lies."""
    same = {face.outer: face for face in layer}
    for face in beside:
        if face.outer in same:
            groups.join(same[face.outer], face)
        elif len(layer) == 1 and not face.rim & ~cells:
            groups.join(layer[0], face)


def _over_each_other(below: Sequence[_Face], above: Sequence[_Face]) -> Iterator[tuple[_Face, _Face]]:
    """Faces of two neighbouring slabs whose bounds overlap."""
    if below and above:
        bounds = np.array([face.outer.bounds for face in (*below, *above)])
        n = len(below)
        for i, j in zip(*(k.tolist() for k in box_pairs(bounds[:, :2], bounds[:, 2:], 0.0)), strict=True):
            if (i < n) != (j < n):
                yield (below[i], above[j - n]) if i < n else (below[j], above[i - n])


def _faces(slab: Slab) -> list[_Face]:
    region, high = slab.region, slab.z1 - slab.z0
    return [
        _Face(region, loop, sources, loop.area * high, rim)
        for loop, sources, rim in zip(region.loops, region.sources, region.rims, strict=True)
        if loop.area > 0.0
    ]


def _inside(loop: Outline) -> FloatArray:
    """(1, 2) a place in the metal, just beside the middle of a loop's first edge."""
    s, index = loop.segments, np.zeros(1, dtype=np.int64)
    points, normals = s.points_and_normals(index, s.length[index] / 2.0)
    return points - _INWARD_MM * normals


def _are_over_each_other(one: _Face, other: _Face) -> bool:
    """Whether a place just inside the first edge of one face lies in the other."""
    return _is_over(one, other) or _is_over(other, one)


def _is_over(one: _Face, other: _Face) -> bool:
    at = _inside(one.outer)
    if not other.region.contains(at)[0]:
        return False
    around = [loop for loop in other.region.loops if loop.area > 0.0]
    if len(around) > 1:
        around = [loop for loop in around if loop.contains(at)[0]]
    return min(around, key=lambda loop: loop.area, default=None) is other.outer


def _have_area_in_common(one: _Face, other: _Face) -> bool:
    faces = [(face.outer, found) for face in (one, other) for found in face.region.faces]
    holes = [hole for mine, (outer, inner) in faces if outer is mine for hole in inner]
    outlines = [one.outer, other.outer, *(hole.oriented(ccw=True) for hole in holes)]
    common = Step(add=True, inside=(0, 1), outside=tuple(range(2, len(outlines))))
    return combine(outlines, [common]).area > SLIVER
