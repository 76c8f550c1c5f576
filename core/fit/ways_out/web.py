"""Words for metal between two edges, and what can be done to make more of it: each edge can be made to draw back."""

from __future__ import annotations

from math import atan2, hypot
from typing import TYPE_CHECKING

from msgspec import Struct
from msgspec.structs import replace

from core.features.alongside import Alongside
from core.features.ground import BOSS, POCKET
from core.features.kind import Follows
from core.features.registry import FEATURES
from core.features.straight import Straight
from core.fit.ways_out.curves import set_in, thicker_wall, wider_lip
from core.fit.ways_out.moves import MOST_SMALLER, moved_by, owner_of
from core.fit.words import is_rework, part_words, path_of
from core.geometry.lines.strips import direction
from core.words.ends import Side
from core.words.verdicts import Edit, Remedy, plain
from core.words.whereabouts import direction_words

if TYPE_CHECKING:
    from collections.abc import Iterator

    from core.features.registry import Feature
    from core.features.stud.stud import Stud
    from core.fit.case import Case
    from core.geometry.lines.outline import Point
    from core.metal.order import Part
    from core.words.ends import End

STRIP = {word: kind.strip_fields[-1] for word, kind in FEATURES.items() if kind.strip_fields}
"""The field that makes a feature's own strip of metal wider."""

# Curves of the piece before its features, so that a sentence names first what the user holds.
_ORDER = {"seat": 0, "old seat": 1, "outside": 2, "opening": 3, "pocket": 4, "lug": 6, "crossbar": 6}

_NO_WAY_MM = 1e-5


class Said(Struct, frozen=True):
    """The words for a thin place: its name, how a sentence begins with it, the feature, where to change it."""

    name: str
    what: str
    feature: str
    path: str


class Edge(Struct, frozen=True):
    """One of two edges too near to each other: the part it belongs to, and the way that takes it from the other.

    Attributes:
        away: not of unit length; (0, 0) where there is no telling.
    """

    part: Part
    away: Point


def edges_of(one: Part, other: Part, a: Point, b: Point, width: float) -> tuple[Edge, Edge]:
    """The edges of two parts: their nearest places ``a`` and ``b``, or, with a ``width`` below 0, their farthest in."""
    x, y = (a[0] - b[0], a[1] - b[1]) if width > 0.0 else (b[0] - a[0], b[1] - a[1])
    if hypot(x, y) < _NO_WAY_MM:
        # Where they only touch, a hole's middle lies away from the place.
        holes = [(part, sign) for part, sign in ((one, 1.0), (other, -1.0)) if part.kind == "hole"]
        centre, sign = (holes[0][0].centre, holes[0][1]) if holes else (None, 0.0)
        x, y = ((centre[0] - b[0]) * sign, (centre[1] - b[1]) * sign) if centre is not None else (0.0, 0.0)
    return Edge(one, (x, y)), Edge(other, (-x, -y))


def said_of(case: Case, end: End, a: Part, b: Part) -> Said:
    """The words for metal between the edges of two parts."""
    one, other = sorted((a, b), key=lambda p: (_ORDER.get(p.kind, 9), p.path))
    if one.path == other.path:
        return _own_words(case, end, one, other)
    word = {"outside": "wall", "opening": "lip"}.get(other.kind, "") if one.kind == "seat" else ""
    name = word or f"metal between {one.name} and {other.name}"
    what = word or f"metal between {part_words(one)} and {part_words(other)}"
    feature, field = other, ""
    if one.kind == "seat" and other.kind == "pocket":
        field = "inset"
    elif one.kind == "seat" and not word:
        feature = one
    path = "choices.mode" if is_rework(case) and one.kind != "seat" else path_of(case, feature, end, field)
    return Said(name, what, other.name, path)


def _own_words(case: Case, end: End, one: Part, other: Part) -> Said:
    """Words for metal between two edges of one feature: its strip, or the ring round its hole; or of one curve."""
    name = plain(one.name)
    if not one.path.startswith(("features", "studs")):
        return Said(f"neck of {one.name}", f"neck at {part_words(one)}", one.name, path_of(case, one, end))
    if "hole" in (one.kind, other.kind):
        feature = owner_of(case, one, end)
        field = "" if feature is None else feature.ring_field
        what = f"{field} round the hole of {name}"
        return Said(f"{field} of {one.name}", what, one.name, path_of(case, one, end, field))
    field = STRIP.get(one.kind, "")
    word = field or "width"
    return Said(f"{word} of {one.name}", f"{word} of {name}", one.name, path_of(case, one, end, field))


def remedies_of(case: Case, end: End, sides: tuple[Edge, Edge], short: float) -> tuple[Remedy, ...]:
    """What may make the metal between two edges ``short`` [mm] more, the piece's own curves first."""
    one, other = sorted(sides, key=lambda edge: (_ORDER.get(edge.part.kind, 9), edge.part.path))
    if one.part.path == other.part.path:
        found = [] if is_rework(case) else list(_thicker(case, end, one.part, other.part, short))
    else:
        found = [remedy for edge in (other, one) for remedy in _drawn_back(case, end, edge, short)]
        found.sort(key=lambda remedy: not remedy.edits[0].path.startswith("choices"))
    if is_rework(case):
        found.append(Remedy("cast anew"))
    return tuple(found)


def _thicker(case: Case, end: End, one: Part, other: Part, short: float) -> Iterator[Remedy]:
    """A feature's own strip made wider, or the ring round its hole."""
    feature, path = owner_of(case, one, end), path_of(case, one, end)
    if feature is None:
        if one.kind in ("outside", "opening"):
            yield from (thicker_wall if one.kind == "outside" else wider_lip)(case, end, short)
        return
    if "hole" in (one.kind, other.kind):
        edit = Edit(f"{path}.{feature.ring_field}", start=feature.round_it, per=2.0)
        yield Remedy(f"make its {feature.ring_field} {{to}} wide", (edit,), short)
        yield from _smaller(feature, path, short, hole=True)
    elif feature.strip_fields:
        sizes = {field: float(getattr(feature, field)) for field in feature.strip_fields}
        narrow = [field for field, size in sizes.items() if size <= min(sizes.values()) + short]
        edits = tuple(Edit(f"{path}.{field}", start=sizes[field], per=1.0) for field in narrow)
        what = "it" if "width" in sizes else f"its {narrow[0]}"
        yield Remedy(f"make {what} {{by}} wider", edits, short)


def _drawn_back(case: Case, end: End, edge: Edge, short: float) -> Iterator[Remedy]:
    """Ways to draw an edge back from the other one."""
    part, after = edge.part, case.housing.piece(end)
    assert after is not None
    if part.kind == "seat":
        which = "inner" if part.is_inner else "outer"
        start = after.seat.gap_inner if part.is_inner else after.seat.gap_outer
        if start - short >= case.limits.gap(Side.INNER if part.is_inner else Side.OUTER)[0]:
            edit = Edit(f"choices.gap_{which}", start=start, per=-1.0)
            yield Remedy(f"narrow the seat's {which} gap by {{by}}", (edit,), short)
    elif is_rework(case):
        return  # metal can't be put back
    elif part.kind == "outside":
        yield from thicker_wall(case, end, short)
    elif part.kind == "opening":
        yield from wider_lip(case, end, short)
    elif (feature := owner_of(case, part, end)) is not None:
        path = path_of(case, part, end)
        if part.kind == POCKET and isinstance(feature, Alongside):
            yield from set_in(feature, path, short)
        else:
            yield from _moved(case, feature, path, edge, short)
            yield from _smaller(feature, path, short, hole=part.kind == "hole")


def _moved(case: Case, feature: Feature | Stud, path: str, edge: Edge, short: float) -> Iterator[Remedy]:
    """A feature moved straight away from the other edge: which way, and where to."""
    name, (x, y) = plain(feature.name), edge.away
    if not (x or y):
        return
    if isinstance(feature, Straight):
        along = direction(feature.angle)
        across = (-along[1], along[0])
        sign = 1.0 if x * across[0] + y * across[1] >= 0.0 else -1.0
        way = direction_words(atan2(sign * across[1], sign * across[0]))
        edit = Edit(f"{path}.offset", start=feature.offset, per=sign)
        yield Remedy(f"move {name} {{by}} towards {way}", (edit,), short)
    elif feature.at is not None and (moved := moved_by(case, path, edge.away, short)) is not None:
        yield replace(moved, text=moved.text.replace("move it", f"move {name}", 1))


def _if_allowed(feature: Feature | Stud) -> str:
    return ", if the machine allows it" if feature.follows is Follows.MACHINE else ""


def _smaller(feature: Feature | Stud, path: str, short: float, *, hole: bool) -> Iterator[Remedy]:
    """A round feature made smaller by as much on all sides."""
    name = plain(feature.name)
    if hole and feature.bore > 0.0:
        edit = Edit(f"{path}.{feature.hole_field}", start=feature.bore, per=-2.0)
        if 2.0 * short > MOST_SMALLER * feature.bore:
            return
        yield Remedy(f"make the hole of {name} {{to}} wide{_if_allowed(feature)}", (edit,), short)
    elif not hole and feature.ring_field == BOSS:
        yield Remedy(
            f"make the boss of {name} {{to}} wide", (Edit(f"{path}.boss", start=feature.boss_across, per=-2.0),), short
        )
