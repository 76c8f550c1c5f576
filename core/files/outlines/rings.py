"""The rings of a piece: every closed outline of its metal once, with the heights it goes through and a layer's name.

Rings are read from the slabs, so that a written file can't describe the metal otherwise than drawing and checks do. A
ring is named by the parts that its boundary runs along. Layer names are our own and keep to what R12 allows.
"""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING, Final

import numpy as np
from msgspec import Struct, field, structs
from msgspec.structs import replace

from core.features.ground import BOSS
from core.features.registry import FEATURES
from core.files.outlines.tidy import SHORTEST_MM, short_ones, tidied
from core.geometry.lines.outline import Outline
from core.geometry.ovals.ovals import ARC_TOLERANCE
from core.part.curve import HeldCurve

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from core.metal.order import Part
    from core.metal.slabs import Resolved, Slab
    from core.part.housing import Piece
    from core.part.insert import Insert
    from core.words.ends import End

DRILLED: Final = "drilled hole"
"""The kind of ring that is made in the casting."""
_CORED: Final = "cored hole"
# A ring along several parts is named by the one of the lowest number; see `Kind.leads`.
_LEADS: Final = {
    **{word: kind.leads for word, kind in FEATURES.items()},
    "outside": 0,
    "seat outer": 1,
    "seat inner": 2,
    "opening": 3,
    "old seat": 5,
    BOSS: 20,
    DRILLED: 21,
    _CORED: 22,
}
_WORDS: Final = {DRILLED: "DRILLED", _CORED: "CORED"}  # every other kind is what its layer is called by
_SECOND: Final = {"seat outer": "SEAT", "seat inner": "INNER"}  # shorter where the name has a first word already
_ROUND: Final = {DRILLED: "HOLE-DRILLED", _CORED: "HOLE-CORED"}
# What has lines and arcs of its own; everything else inherits those of an oval, or is placed against them.
_BY_ITSELF: Final = frozenset({DRILLED, _CORED, BOSS, *(word for word, kind in FEATURES.items() if kind.is_by_itself)})
_LONG_AXIS: Final = (0.0, 0.0), (1.0, 0.0)  # a point of it, and its direction
# Two parallels of one piece are further apart than this [mm], and arcs nearer to their exact curve.
_SAME_EXTENT: Final = 2.0 * ARC_TOLERANCE


class Ring(Struct, frozen=True):
    """One closed outline of a piece's metal.

    Attributes:
        layer: the layer it is written on.
        feature: names of the features and curves that its boundary runs along, the leading one first.
        kind: of the leading one, as ``seat outer`` or ``drilled hole``.
        outline: counter-clockwise when the metal is inside it, clockwise when it is a hole in the metal.
        spans: heights from the outer face between which it bounds metal [mm], outermost first.
        exact: the exact parallel of an oval that it stands for, when it is the whole of one.
        arc_tolerance: how far it may be off the exact curves it stands for [mm]; 0 when its arcs are exact.
        moved: the part of that by which segments too short to be written were drawn into others [mm].
        purpose: of a drilled hole, with its drill.
    """

    layer: str
    piece: End
    feature: str
    kind: str
    outline: Outline
    spans: tuple[tuple[float, float], ...]
    exact: HeldCurve | None = None
    arc_tolerance: float = 0.0
    moved: float = 0.0
    purpose: str = ""

    @property
    def z0(self) -> float:
        """Its outermost height, from the outer face [mm]."""
        return self.spans[0][0]

    @property
    def z1(self) -> float:
        """Its innermost height, from the outer face [mm]."""
        return self.spans[-1][1]

    @property
    def is_hole(self) -> bool:
        """Whether the metal lies outside it."""
        return not self.outline.is_ccw

    def turned_over(self) -> Ring:
        """Seen from the other side: the piece turned over about its long axis, so that y counts the other way."""
        exact = self.exact
        if exact is not None and exact.vertices is not None:
            seen = Outline(np.array(exact.vertices)).mirrored(*_LONG_AXIS)
            exact = structs.replace(exact, vertices=tuple(map(tuple, seen.vertices.tolist())))
        return replace(self, outline=self.outline.mirrored(*_LONG_AXIS), exact=exact)


class _Found(Struct):
    outline: Outline
    spans: list[tuple[float, float]]
    sources: set[int] = field(default_factory=set)


def rings(resolved: Resolved, end: End, *, as_cast: bool = False) -> tuple[Ring, ...]:
    """Every outline of one piece once, outermost curves first.

    Args:
        resolved: the housing; which ovals the curves run parallel to is read from it.
        end: the piece; a piece that is not there has no outlines.
        as_cast: before any hole is drilled.
    """
    piece = resolved.piece(end)
    design = resolved.housing.piece(end)
    if piece is None or design is None:
        return ()
    kinds = [_kind(part) for part in piece.parts]
    curves = _exact_curves(design, resolved.insert, end)
    is_fitted = any(not curve.family.kind.has_arcs for _, curve in curves)
    meant = short_ones([part.outline for part in piece.parts])
    named: list[tuple[str, Ring]] = []
    for found in _loops(piece.as_cast if as_cast else piece.slabs):
        if found.outline.length < 2.0 * SHORTEST_MM:
            continue  # a speck that outlines leave between them: all of it is shorter than what may be written
        sources = sorted(found.sources, key=lambda k: (_LEADS[kinds[k]], k))
        of_kind = list(dict.fromkeys(kinds[k] for k in sources))
        features = dict.fromkeys(piece.parts[k].name for k in sources)
        lead = of_kind[0]
        exact = None
        if len(of_kind) == 1 and any(
            outline_key(found.outline) == outline_key(piece.parts[k].outline) for k in sources
        ):
            exact = _exact(found.outline, (curve for kind, curve in curves if kind == lead))
        off = ARC_TOLERANCE if is_fitted and not _BY_ITSELF.issuperset(of_kind) else 0.0
        outline, moved = tidied(found.outline, meant)
        ring = Ring("", end, ", ".join(features), lead, outline, tuple(found.spans), exact, off + moved, moved)
        named.append((_layer(end, of_kind), ring))
    return with_layers(named)


def _loops(slabs: Iterable[Slab]) -> list[_Found]:
    """Each loop of the slabs once, whichever way and from whichever vertex it runs."""
    known: dict[bytes, _Found] = {}
    for slab in slabs:
        for loop, sources in zip(slab.region.loops, slab.region.sources, strict=True):
            found = known.setdefault(outline_key(loop), _Found(loop, []))
            found.sources |= sources
            if found.spans and found.spans[-1][1] == slab.z0:
                found.spans[-1] = (found.spans[-1][0], slab.z1)
            else:
                found.spans.append((slab.z0, slab.z1))
    return sorted(known.values(), key=lambda f: -abs(f.outline.area))


@lru_cache(maxsize=1024)
def outline_key(outline: Outline) -> bytes:
    """The same for one closed outline whichever way, and from whichever vertex, it runs."""
    v = outline.oriented(ccw=True).vertices
    first = np.lexsort((v[:, 1], v[:, 0]))[0]
    return bytes((np.roll(v, -int(first), axis=0) + 0.0).tobytes())  # equal means equal bytes, so no -0.0


def _kind(part: Part) -> str:
    """The kind of a part, with seats and holes told apart."""
    if part.kind == "seat":
        return part.name
    return part.kind if part.made is None else f"{part.made} hole"


def _layer(end: End, of_kind: list[str]) -> str:
    lead = of_kind[0]
    if len(of_kind) == 1:
        return f"{end.upper()}-{_ROUND.get(lead) or _word(lead)}"
    # What comes third changes neither depth nor purpose, and names must stay short.
    return f"{end.upper()}-{_word(lead)}-{_SECOND.get(of_kind[1]) or _word(of_kind[1])}"


def _word(kind: str) -> str:
    return _WORDS.get(kind) or kind.upper().replace(" ", "-")


def with_layers(named: Sequence[tuple[str, Ring]]) -> tuple[Ring, ...]:
    """One layer a name and depth: where a name has rings of several depths, the inner ones are numbered from 2."""
    depths: dict[str, list[tuple[tuple[float, float], ...]]] = {}
    for name, ring in named:
        of_name = depths.setdefault(name, [])
        if ring.spans not in of_name:
            of_name.append(ring.spans)
    for of_name in depths.values():
        of_name.sort()
    done: list[Ring] = []
    for name, ring in named:
        number = depths[name].index(ring.spans) + 1
        layer = name if number == 1 else f"{name}-{number}"
        done.append(replace(ring, layer=layer))
    return tuple(done)


def _exact(outline: Outline, candidates: Iterable[HeldCurve]) -> HeldCurve | None:
    """The curve that the outline stands for: parallels of one kind differ in their reach along both axes."""
    _, _, x1, y1 = outline.bounds
    for curve in candidates:
        reach = (curve.length / 2.0 + curve.offset, curve.width / 2.0 + curve.offset)
        if max(abs(x1 - reach[0]), abs(y1 - reach[1])) < _SAME_EXTENT:
            return curve
    return None


def _exact_curves(design: Piece, insert: Insert, end: End) -> list[tuple[str, HeldCurve]]:
    """Kind and exact curve of all that runs parallel to an oval, whether or not it is a whole ring."""
    rim = insert.rim_at(end)
    outer = HeldCurve.of(insert.oval, rim.outset + design.seat.gap_outer)
    inner = HeldCurve.of(insert.oval, rim.outset - rim.width - design.seat.gap_inner)
    outside = design.held_outside or outer.inward(-design.wall)
    found = [("outside", outside), ("seat outer", outer), ("seat inner", inner)]
    if design.opening is not None:
        found.append(("opening", design.opening.held or inner.inward(design.lip.width)))
    if design.earlier_seat is not None:
        found += [("old seat", design.earlier_seat.outer), ("old seat", design.earlier_seat.inner)]
    for feature in design.features:
        found += [(feature.word(), edge) for edge in feature.edges(inner, outside)]
    return found
