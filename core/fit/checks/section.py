"""Thinnest metal in section: how high it stands at each place in plan, whatever it belongs to.

One rule for floors, pockets, lips, bars, bosses, lugs and raised faces: metal with air over and under it is as thick as
it is high between them; under a blind hole, as it is under the drill's point, and under a seat that is cut as deep as
its tolerance lets it be. The limit is the greater of the user's
least floor and the alloy's least castable section.
"""

from __future__ import annotations

from math import inf
from typing import TYPE_CHECKING

from msgspec import Struct

from core.edits import get_value
from core.features.stud.stud import bore
from core.features.stud.threads import POINT
from core.fit.checks.web import KEY, MOST_FINDINGS
from core.fit.ways_out.moves import owner_of
from core.fit.words import enough, is_rework, wanted_words
from core.metal.columns import Run, place_in, runs, top_of, under_of, wide_faces
from core.part.project import HeightTo
from core.words.ends import End
from core.words.verdicts import Bound, Edit, Place, Remedy, Sentence, Verdict, plain

if TYPE_CHECKING:
    from core.fit.case import Case
    from core.geometry.lines.outline import Outline, Point
    from core.metal.order import Part
    from core.metal.slabs import ResolvedPiece
    from core.words.verdicts import Finding


def check(case: Case) -> tuple[Finding, ...]:
    """For each piece: the least height of its metal, and every further one below the limit."""
    return tuple(finding for piece in case.after.pieces for finding in _of_piece(case, piece))


class _Low(Struct, frozen=True):
    """Metal of one height at a place, in words, and the project's path of the value that makes it so.

    Attributes:
        height: of the metal, less what may be missing of it [mm].
        less: that is, under a blind hole the point of the drill, and under the seat the tolerance of its depth [mm].
        why: the words for it.
    """

    height: float
    less: float
    why: str
    at: Point
    outline: Outline
    name: str
    feature: str
    path: str


def _of_piece(case: Case, piece: ResolvedPiece) -> list[Finding]:
    limit = max(case.limits.floor_least, case.housing.metal.least_section)
    found: dict[str, _Low] = {}
    deepest = max(_deepest_point(case, piece.end), _depth_tolerance(case, piece.end))
    faces = ((run, *face) for run in runs(piece) for face in wide_faces(piece, run.cells))
    for run, outer, holes in faces:
        heights = [low.height for low in found.values()]
        is_full = sum(height < limit for height in heights) >= MOST_FINDINGS
        if is_full or run.height - deepest >= max(limit, min(heights, default=inf)):
            break
        low = _low(case, piece, run, outer, place_in(outer, holes))
        if low.name not in found or low.height < found[low.name].height:
            found[low.name] = low
    if not found:
        return [_nothing_left(piece, limit)]
    least, *others = sorted(found.values(), key=lambda low: low.height)
    told = [least, *(low for low in others if low.height < limit)]
    return [_finding(case, piece.end, low, limit) for low in told[:MOST_FINDINGS]]


def _depth_tolerance(case: Case, end: End) -> float:
    own = case.housing.piece(end)
    assert own is not None
    return own.seat.depth_plus_minus


def _deepest_point(case: Case, end: End) -> float:
    """By how much a drill's point reaches under the blind holes of a piece, at most [mm]."""
    blind = (stud for stud in case.housing.studs if end is End.BASE and stud.hole_depth is not None)
    return max((POINT * bore(stud, end).diameter for stud in blind), default=0.0)


def _low(case: Case, piece: ResolvedPiece, run: Run, outer: Outline, at: Point) -> _Low:
    under, top = under_of(piece, run, at), top_of(piece, run, at)
    if under is not None:
        name, field = f"metal over {under.name}", ""
        part: Part | None = under
    else:
        part = top
        name, field = _words(case, piece, top)
    is_own = part is not None and part.path.startswith("features")
    path = f"housing.{piece.end}.{part.path}" if is_own and part is not None else f"housing.{piece.end}"
    less, why = 0.0, ""
    if field == "hole_depth" and part is not None:
        path = f"housing.{part.path}"  # only a stud's hole ends in the metal
        less, why = POINT * 2.0 * part.radius, "the drill's point"
    elif field == "floor" and part is not None and part.kind == "seat":
        less, why = _depth_tolerance(case, piece.end), "the tolerance of the seat's depth"
    return _Low(
        max(run.height - less, 0.0),
        less,
        why,
        at,
        part.outline if part is not None and is_own else outer,
        name,
        "" if part is None else part.name,
        f"{path}.{field}" if field else path,
    )


def _words(case: Case, piece: ResolvedPiece, top: Part | None) -> tuple[str, str]:
    """What metal is called that ends under a part, or with it; and the field of its height, from its feature on."""
    own = case.housing.piece(piece.end)
    assert own is not None
    kind = "" if top is None else top.kind
    if top is None or kind == "outside" or (kind == "boss" and top.path.startswith("studs")):
        return "thickness", "floor"
    if kind == "seat" and top.name == "seat inner" and own.lip.height > 0.0:
        return ("height of the lip" if piece.curves.opening is not None else "floor inside the lip"), "lip.height"
    if kind == "seat":
        return "floor under the seat", "floor"
    if kind == "old seat":
        return "floor under the old seat", "floor"
    if kind in ("pocket", "hole"):
        is_hole = kind == "hole"
        return f"floor under {'the hole of ' * is_hole}{top.name}", "hole_depth" if is_hole else "floor"
    feature = owner_of(case, top, piece.end)
    assert feature is not None
    return f"height of {top.name}", feature.height_field


def _finding(case: Case, end: End, low: _Low, limit: float) -> Finding:
    judged = Bound(low.height, low=limit).judged(case.limits.marginal)
    off = f", {low.why} taken off" if low.less > 0.0 else ""
    under = f", {low.why} {{less}} taken off" if low.less > 0.0 else ""
    text = f"{plain(low.name)} of the {end}: {{value}} of metal{off}; {wanted_words(judged.verdict)}"
    path = "choices.height_to" if is_rework(case) and not judged.is_go else low.path
    return judged.finding(
        check=KEY,
        name=f"{low.name}, {end}",
        place=Place(end, low.at, outline=low.outline, feature=low.feature, path=path),
        advice=Sentence.of(text, value=low.height, limit=limit),
        formula=Sentence.of(
            f"height of the metal between air and air {{value}}{under}; limit is the greater of {{floor}} asked for "
            "and {section} castable",
            value=low.height,
            less=low.less,
            floor=case.limits.floor_least,
            section=case.housing.metal.least_section,
        ),
        remedies=() if judged.is_go else _remedies(case, low, enough(case, judged.short)),
    )


def _remedies(case: Case, low: _Low, short: float) -> tuple[Remedy, ...]:
    if is_rework(case):
        squeeze = Remedy("let the squeeze take the height", (Edit("choices.height_to", HeightTo.SQUEEZE),))
        return squeeze, Remedy("cast anew")
    start = get_value(case.project, low.path)
    if low.path.endswith("hole_depth") and isinstance(start, float):
        floor = Edit("housing.base.floor", start=case.project.housing.base.floor, per=1.0)
        shallow = Remedy("drill its hole {by} less deep", (Edit(low.path, start=start, per=-1.0),), short)
        return shallow, Remedy("make the base's floor {by} thicker", (floor,), short)
    if not isinstance(start, float):  # nothing that a height of its own would mend
        return ()
    return (Remedy("make it {by} thicker", (Edit(low.path, start=start, per=1.0),), short),)


def _nothing_left(piece: ResolvedPiece, limit: float) -> Finding:
    """A piece that openings, holes or a seat have swallowed."""
    judged = Bound(0.0, low=limit).judged().but(Verdict.NO_GO)
    return judged.finding(
        check=KEY,
        name=f"metal of the {piece.end}",
        place=Place(piece.end, outline=piece.curves.outside, path=f"housing.{piece.end}"),
        advice=Sentence(
            f"no metal is left of the {piece.end}: its opening, its holes or its seat take all of it away; "
            "make the greatest of them smaller"
        ),
        formula=Sentence("area of the metal at every height: none"),
    )
