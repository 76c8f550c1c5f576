"""Thinnest metal in plan: between any two surfaces, at every height.

The limit is the greater of the user's least web and the alloy's least castable section. One finding tells the thinnest
place of each piece, further ones each other pair of surfaces that is thinner than the limit. Where two walls touch or
run into each other against the rules of `core.metal.clearance`, the metal between them is gone: that is their thinnest
place, 0 or less.
"""

from __future__ import annotations

from collections import Counter
from functools import lru_cache
from typing import TYPE_CHECKING

from msgspec import Struct
from msgspec.structs import replace

from core.fit.ways_out.web import STRIP, edges_of, remedies_of, said_of
from core.fit.words import part_words, parts_at, wanted_words
from core.geometry.regions.webs import thinnest, webs
from core.metal.clearance import TOUCHES_MM, overlaps
from core.metal.laid import side_by_side
from core.words.verdicts import Bound, Place, Sentence
from core.words.whereabouts import whereabouts

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from core.fit.case import Case
    from core.geometry.lines.outline import FloatArray, Point
    from core.geometry.regions.region import Region
    from core.geometry.regions.webs import Web
    from core.metal.laid import SideBySide
    from core.metal.order import Part
    from core.metal.slabs import ResolvedPiece
    from core.words.verdicts import Finding

KEY = "web"

MOST_FINDINGS = 8
"""Pairs of surfaces told for one piece."""
_FARTHER = 1.25


def check(case: Case) -> tuple[Finding, ...]:
    """For each piece: the thinnest metal in plan, and every further place below the limit."""
    return tuple(finding for resolved in case.after.pieces for finding in _in_plan(case, resolved))


class _Thin(Struct, frozen=True):
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
        # As far as it takes to find all that are told: the number of places grows with the square of how far.
        known, reach = dict(pairs), least.width_mm
        while True:
            reach = min(limit, max(_FARTHER * reach, limit / 64.0))
            pairs = known | _below(resolved, laid.regions, reach, known)
            if reach >= limit or len(pairs) >= MOST_FINDINGS:
                break
    told = list(pairs.values())[:MOST_FINDINGS]
    return [_web(case, resolved, thin, limit, is_first=thin is told[0]) for thin in told]


def _below(
    resolved: ResolvedPiece, regions: Iterable[Region], reach: float, known: Mapping[frozenset[tuple[str, str]], _Thin]
) -> dict[frozenset[tuple[str, str]], _Thin]:
    """The places thinner than ``reach``, the thinnest first, of pairs of parts that are not known yet."""
    # One by one here: many thin places make a search over all slabs at once slow.
    found = [(region, web) for region in regions for web in webs(region, reach)]
    seen: Counter[tuple[frozenset[int], frozenset[int]]] = Counter()
    pairs: dict[frozenset[tuple[str, str]], _Thin] = {}
    for region, web in sorted(found, key=lambda f: f[1].width_mm):
        loops = region.sources[web.loops[0]], region.sources[web.loops[1]]
        seen[loops] += 1
        if seen[loops] <= MOST_FINDINGS:
            thin = _thin(resolved, region, web)
            if thin.pair not in known:
                pairs.setdefault(thin.pair, thin)
                if len(known) + len(pairs) >= MOST_FINDINGS:
                    break
    return pairs


def _less(at: Point, shift: FloatArray) -> Point:
    return at[0] - float(shift[0]), at[1] - float(shift[1])


@lru_cache(maxsize=16)
def _thinnest(laid: SideBySide) -> Web | None:
    return thinnest(laid)


def _thin(resolved: ResolvedPiece, region: Region, web: Web) -> _Thin:
    ones = parts_at(resolved, web.a, region.sources[web.loops[0]])
    others = parts_at(resolved, web.b, region.sources[web.loops[1]])
    # Where a strip ends at another edge, its narrowest place lies on both: it is the strip's own width.
    strips = [(one, other) for one in ones for other in others if one.path == other.path and one.kind in STRIP]
    one, other = strips[0] if strips else (ones[0], others[0])
    return _Thin(web.width_mm, web.a, web.b, one, other)


def _web(case: Case, resolved: ResolvedPiece, thin: _Thin, limit: float, *, is_first: bool) -> Finding:
    judged = Bound(thin.width, low=limit).judged(case.limits.marginal)
    one, other = thin.one, thin.other
    said = said_of(case, resolved.end, one, other)
    middle = ((thin.a[0] + thin.b[0]) / 2.0, (thin.a[1] + thin.b[1]) / 2.0)
    text = f"{said.what} {{value}}"
    if thin.width <= 0.0:
        meets = "runs {deep} past" if thin.width < -TOUCHES_MM else "touches"
        text = f"{part_words(one)} {meets} {part_words(other)}"
    text += f" {whereabouts(middle, resolved.curves.outside)} of the {resolved.end}; {wanted_words(judged.verdict)}"
    sides = edges_of(one, other, thin.a, thin.b, thin.width)
    name = f"{said.name}, {resolved.end}"
    finding = judged.finding(
        check=KEY,
        name=f"thinnest metal, {resolved.end}" if is_first else name,
        place=Place(resolved.end, thin.a, thin.b, feature=said.feature, path=said.path),
        advice=Sentence.of(text, value=thin.width, deep=-thin.width, limit=limit),
        formula=Sentence.of(
            f"least distance through metal between {part_words(one)} and {part_words(other)}, at any height: {{value}} "
            "(below 0: how deep the one runs past the other); limit is the greater of {web} asked for and {section} "
            "castable",
            value=thin.width,
            web=case.limits.web_least,
            section=case.housing.metal.least_section,
        ),
        remedies=() if judged.is_go else remedies_of(case, resolved.end, sides, judged.short),
    )
    return finding.about(name)
