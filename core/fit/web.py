"""Thinnest metal in plan: between any two surfaces, at every height.

The limit is the greater of the user's least web and the alloy's least castable section. One finding tells the thinnest
place of each piece, further ones each other pair of surfaces that is thinner than the limit. Where two walls touch or
run into each other against the rules of `core.clearance`, the metal between them is gone: that is their thinnest place,
0 or less.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TYPE_CHECKING

from core.clearance import TOUCHES_MM, overlaps
from core.fit.laid import side_by_side
from core.fit.words import enough, follows_of, is_rework, part_words, parts_at, path_of, whereabouts
from core.housing import Follows
from core.project import Hold, HoldInside
from core.verdicts import Finding, Place, Sentence, Unit, Verdict, judge, plain
from core.webs import thinnest, webs

if TYPE_CHECKING:
    from core.fit.case import Case
    from core.fit.laid import SideBySide
    from core.insert_end import End
    from core.metal import Part
    from core.outline import FloatArray, Point
    from core.region import Region
    from core.slabs import ResolvedPiece
    from core.webs import Web

KEY = "web"

MOST_FINDINGS = 8
"""Pairs of surfaces told for one piece."""


def check(case: Case) -> tuple[Finding, ...]:
    """For each piece: the thinnest metal in plan, and every further place below the limit."""
    return tuple(finding for resolved in case.after.pieces for finding in _in_plan(case, resolved))


@dataclass(frozen=True, slots=True)
class _Thin:
    """A thin place between two parts.

    Attributes:
        width: of the metal [mm]; 0 or below where ``one`` touches ``other`` or runs past it.
    """

    width: float
    a: Point
    b: Point
    one: Part
    other: Part

    @property
    def pair(self) -> frozenset[tuple[str, str]]:
        """What the two surfaces belong to, whichever comes first."""
        return frozenset(((self.one.kind, self.one.path), (self.other.kind, self.other.path)))


def limit_of(case: Case) -> float:
    """The thinnest metal that is wanted in plan [mm]."""
    return max(case.limits.web_least, case.housing.metal.least_section)


def _in_plan(case: Case, resolved: ResolvedPiece) -> list[Finding]:
    limit = limit_of(case)
    # Bands and ribs raised on the outer face stand on the plate all along: they can be thin and are no webs.
    laid = side_by_side(tuple(slab for slab in resolved.slabs if slab.z1 > 0.0))
    pairs: dict[frozenset[tuple[str, str]], _Thin] = {}
    for overlap in overlaps(resolved):
        gone = _Thin(overlap.clearance.value, overlap.clearance.a, overlap.clearance.b, overlap.one, overlap.other)
        pairs.setdefault(gone.pair, gone)
    least = None if laid is None else _thinnest(laid)
    if laid is not None and least is not None:
        shift = laid.shifts[least.loops[0]]
        thin = _thin(resolved, laid, replace(least, a=_less(least.a, shift), b=_less(least.b, shift)))
        if thin.width < limit or not pairs:
            pairs.setdefault(thin.pair, thin)
    if laid is not None and least is not None and least.width_mm < limit:
        # One by one here: many thin places make a search over all slabs at once slow.
        found = [(region, web) for region in laid.regions for web in webs(region, limit)]
        seen: Counter[tuple[frozenset[int], frozenset[int]]] = Counter()
        for region, web in sorted(found, key=lambda f: f[1].width_mm):
            loops = region.sources[web.loops[0]], region.sources[web.loops[1]]
            seen[loops] += 1
            if seen[loops] <= MOST_FINDINGS:
                thin = _thin(resolved, region, web)
                pairs.setdefault(thin.pair, thin)
    told = list(pairs.values())[:MOST_FINDINGS]
    return [_web(case, resolved, thin, limit, is_first=thin is told[0]) for thin in told]


def _less(at: Point, shift: FloatArray) -> Point:
    return at[0] - float(shift[0]), at[1] - float(shift[1])


@lru_cache(maxsize=16)
def _thinnest(laid: SideBySide) -> Web | None:
    return thinnest(laid)


def _thin(resolved: ResolvedPiece, region: Region, web: Web) -> _Thin:
    ones = parts_at(resolved, web.a, region.sources[web.loops[0]])
    others = parts_at(resolved, web.b, region.sources[web.loops[1]])
    # Where a strip ends at another edge, its narrowest place lies on both: it is the strip's own width.
    strips = [(one, other) for one in ones for other in others if one.path == other.path and one.kind in _STRIP]
    one, other = strips[0] if strips else (ones[0], others[0])
    return _Thin(web.width_mm, web.a, web.b, one, other)


def _web(case: Case, resolved: ResolvedPiece, thin: _Thin, limit: float, *, is_first: bool) -> Finding:
    verdict, margin = judge(thin.width, low=limit, high=None, marginal_percent=case.limits.marginal)
    said = _said(case, resolved, thin)
    middle = ((thin.a[0] + thin.b[0]) / 2.0, (thin.a[1] + thin.b[1]) / 2.0)
    text = f"{said.what} {{value}}"
    if thin.width <= 0.0:
        meets = "runs {deep} past" if thin.width < -TOUCHES_MM else "touches"
        text = f"{part_words(thin.one)} {meets} {part_words(thin.other)}"
    text += f" {whereabouts(middle, resolved.curves.outside)} of the {resolved.end}"
    short = limit * (1.0 + case.limits.marginal / 100.0 if verdict is Verdict.MARGINAL else 1.0) - thin.width
    if verdict is Verdict.GO:
        text += "; {limit} is wanted"
    else:
        text += "; {limit} wanted: " if verdict is Verdict.NO_GO else "; close to the {limit} wanted: "
        text += said.remedy
    return Finding(
        KEY,
        f"thinnest metal, {resolved.end}" if is_first else f"{said.name}, {resolved.end}",
        verdict,
        thin.width,
        Unit.LENGTH,
        limit,
        None,
        margin,
        Place(resolved.end, thin.a, thin.b, feature=said.feature, path=said.path),
        Sentence.of(
            text,
            value=thin.width,
            deep=-thin.width,
            limit=limit,
            short=enough(case, short),
            twice=enough(case, 2.0 * short),
        ),
        Sentence.of(
            f"least distance through metal between {part_words(thin.one)} and {part_words(thin.other)}, at any height: "
            "{value} (below 0: how deep the one runs past the other); limit is the greater of {web} asked for and "
            "{section} castable",
            value=thin.width,
            web=case.limits.web_least,
            section=case.housing.metal.least_section,
        ),
    )


@dataclass(frozen=True, slots=True)
class _Said:
    """The words for a thin place: its name, how a sentence begins with it, what to do, where to change it."""

    name: str
    what: str
    remedy: str
    feature: str
    path: str


# Curves of the piece before its features, so that a sentence names first what the user holds.
_ORDER = {"seat": 0, "earlier seat": 1, "outside": 2, "opening": 3, "pocket": 4, "lug": 6, "crossbar": 6}

# The field that makes a feature's own strip of metal wider.
_STRIP = {"crossbar": "width", "badge": "width", "lug": "neck"}


def _said(case: Case, resolved: ResolvedPiece, thin: _Thin) -> _Said:
    one, other = sorted((thin.one, thin.other), key=lambda p: (_ORDER.get(p.kind, 9), p.path))
    if one.path == other.path and one.path.startswith(("features", "studs")):
        return _own(case, resolved.end, one, other)
    if one.kind == "seat":
        return _beside_seat(case, resolved.end, one, other)
    return _between(case, resolved.end, one, other)


def _own(case: Case, end: End, one: Part, other: Part) -> _Said:
    """Words for metal between two edges of one feature: its strip, or the ring round its hole."""
    name = plain(one.name)
    if "hole" in (one.kind, other.kind):
        field = "pad" if "lug" in (one.kind, other.kind) else "boss"
        what, remedy = f"{field} round the hole of {name}", f"make the {field} {{twice}} larger, or the hole smaller"
        return _Said(f"{field} of {one.name}", what, remedy, one.name, path_of(case, one, end, field))
    field = _STRIP.get(one.kind, "")
    word = field or "width"
    remedy = f"make {'its neck' if field == 'neck' else 'it'} {{short}} wider"
    return _Said(f"{word} of {one.name}", f"{word} of {name}", remedy, one.name, path_of(case, one, end, field))


def _beside_seat(case: Case, end: End, seat: Part, other: Part) -> _Said:
    side = seat.name.removeprefix("seat ")
    name = f"metal between {seat.name} and {other.name}"
    what = f"metal between {part_words(seat)} and {part_words(other)}"
    if other.kind == "pocket":
        remedy = f"set {plain(other.name)} {{short}} further in from the seat"
        return _Said(name, what, remedy, other.name, path_of(case, other, end, "inset"))
    if other.kind not in ("outside", "opening"):
        narrow = f"narrow the seat's {side} gap by {{short}}"
        move = f"move {plain(other.name)} away or make it smaller"
        if other.kind == "earlier seat":
            remedy = f"{narrow}, or take that metal away and cast anew if the gap is too wide then"
        elif is_rework(case):
            remedy = f"{narrow}, or cast anew"
        elif follows_of(case, other, end) in (Follows.MACHINE, Follows.CENTRE):
            remedy = f"{narrow}, or {move}"
        else:
            return _Said(name, what, move, other.name, path_of(case, other, end))
        return _Said(name, what, remedy, other.name, path_of(case, seat, end))
    word, wider = ("wall", "thicker") if other.kind == "outside" else ("lip", "wider")
    remedy = (
        f"the casting's {other.name} stays, so narrow the seat's {side} gap by {{short}} or cast anew"
        if is_rework(case)
        else f"make the {word} {{short}} {wider}, or narrow the seat's {side} gap by as much"
    )
    return _Said(word, word, remedy, other.name, path_of(case, other, end))


def _between(case: Case, end: End, one: Part, other: Part) -> _Said:
    path = path_of(case, other, end)
    if other.path == one.path:
        return _Said(f"neck of {one.name}", f"neck at {part_words(one)}", "add {short} of metal", one.name, path)
    there, choices = plain(other.name), case.project.choices
    stays = follows_of(case, other, end) in (Follows.MACHINE, Follows.CENTRE)
    if is_rework(case):
        remedy, path = "metal can't be put back on the casting, so accept it or cast anew", "choices.mode"
    elif one.kind == "outside":
        remedy = f"move {there} in or make it smaller"
        if stays and choices.hold is Hold.WALL:
            remedy = f"make the wall {{short}} thicker, or {remedy}"
    elif one.kind == "opening":
        remedy = f"move {there} away or make it smaller"
        if stays and choices.hold_inside is HoldInside.LIP:
            remedy = f"make the lip {{short}} wider, or {remedy}"
    else:
        remedy = f"move {plain(one.name)} and {there} {{short}} apart, or make one smaller"
    name = f"metal between {one.name} and {other.name}"
    return _Said(name, f"metal between {part_words(one)} and {part_words(other)}", remedy, other.name, path)
