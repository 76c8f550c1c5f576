"""Bores right through a piece that must be tight.

A thread is no seal: air, dust and water creep along it. What counts are fixing holes and studs' holes between the
seat's outer wall and the opening. A bore outside the seat has the same air on both sides, and so has one over the
opening; a throat is an opening of its own.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from core.features.ground import Made
from core.features.stud.stack import blind_depth, is_through
from core.features.stud.stud import Stud
from core.features.stud.threads import POINT, TAP_DRILL_MM
from core.fit.checks.open_area import is_throat
from core.fit.ways_out.moves import owner_of
from core.fit.words import path_of
from core.part.housing import Tight
from core.words.ends import End
from core.words.verdicts import Bound, Edit, Judged, Place, Remedy, Sentence, Unit, Verdict, plain

if TYPE_CHECKING:
    from core.fit.case import Case
    from core.metal.order import Part
    from core.metal.slabs import ResolvedPiece
    from core.words.verdicts import Finding

KEY = "tight"

_MOST_NAMED = 3


def check(case: Case) -> tuple[Finding, ...]:
    """For each piece that must be tight and has bores at all, how many of them leak."""
    findings: list[Finding] = []
    for piece in case.after.pieces:
        own = case.housing.piece(piece.end)
        assert own is not None
        bores = [part for part in piece.parts if part.kind == "hole" and not is_throat(owner_of(case, part, piece.end))]
        if own.tight is Tight.YES and bores:
            findings.append(_finding(case, piece, bores, [part for part in bores if _leaks(case, piece, part)]))
    return tuple(findings)


def _leaks(case: Case, piece: ResolvedPiece, part: Part) -> bool:
    """Whether a bore goes right through where there is a seal to go round."""
    assert part.centre is not None
    owner = owner_of(case, part, piece.end)
    if isinstance(owner, Stud) and piece.end is End.BASE and not is_through(owner, piece.thickness):
        return False
    c = piece.curves
    if c.seat_outer.signed_distance_to(part.centre) >= part.radius:
        return False
    return c.opening is None or c.opening.signed_distance_to(part.centre) > -part.radius


def _finding(case: Case, piece: ResolvedPiece, bores: list[Part], leaking: list[Part]) -> Finding:
    named = ", ".join(plain(part.name) for part in leaking[:_MOST_NAMED])
    named += f" and {len(leaking) - _MOST_NAMED} more" if len(leaking) > _MOST_NAMED else ""
    many = len(leaking) > 1
    if leaking:
        text = f"{named}: right through the {piece.end}, which must be tight; "
        text += f"{'threads and screws are no seals' if many else 'a thread or a screw is no seal'}"
    else:
        text = f"no bore of the {piece.end} leads past its seat: all are blind, outside the seat or over the opening"
    first = (leaking or bores)[0]
    assert first.centre is not None
    count = Bound(float(len(leaking)), high=0.0, unit=Unit.NONE)
    judged = Judged(count, Verdict.MARGINAL if leaking else Verdict.GO, -count.value)
    return judged.finding(
        check=KEY,
        name=f"bores through the {piece.end}",
        place=Place(piece.end, first.centre, feature=first.name, path=path_of(case, first, piece.end)),
        advice=Sentence(text),
        formula=Sentence(
            f"{len(leaking)} of {len(bores)} bores go right through between the seat's outer wall and the opening"
        ),
        remedies=_remedies(case, piece, leaking),
    )


def _remedies(case: Case, piece: ResolvedPiece, leaking: list[Part]) -> tuple[Remedy, ...]:
    """Blind holes where all that leak are tapped and the base is thick enough; and sealing, which is always one."""
    tapped = [part for part in leaking if part.path.startswith("studs") and piece.end is End.BASE]
    remedies: list[Remedy] = []
    if tapped and len(tapped) == len(leaking):
        edits: list[Edit] = []
        for part in tapped:
            stud = owner_of(case, part, piece.end)
            assert isinstance(stud, Stud)
            deepest = piece.thickness - POINT * TAP_DRILL_MM[stud.thread] - case.limits.floor_least
            edits.append(
                Edit(f"housing.{part.path}.hole_depth", min(blind_depth(stud, case.housing, case.limits), deepest))
            )
        same = len({edit.value for edit in edits}) == 1
        if all(isinstance(edit.value, float) and edit.value > 0.0 for edit in edits):
            remedies.append(Remedy("drill and tap it blind" + (", {to} deep" if same else ""), tuple(edits)))
    drilled = any(part.made is Made.DRILLED for part in leaking)
    seal = "set the threads in sealant, and try them before use" if drilled else "close it with a plug and sealant"
    return (*remedies, Remedy(seal)) if leaking else ()
