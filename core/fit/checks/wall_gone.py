"""Walls of the seat that are cut away: a rim has nothing to be guided by where a pocket or a hole has taken the wall.

The gap there is that to the next metal, see `core.fit.gaps`; this check says why, over how long a way, and where.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from core.fit.checks.gap import KEY
from core.fit.checks.web import limit_of
from core.fit.ways_out.web import edges_of, remedies_of
from core.metal.clearance import overlaps
from core.words.verdicts import Bound, Place, Sentence, Verdict, plain
from core.words.whereabouts import whereabouts

if TYPE_CHECKING:
    from core.fit.case import Case
    from core.fit.gaps import GapProfile
    from core.metal.clearance import Overlap
    from core.words.verdicts import Finding, Remedy


def check(case: Case) -> tuple[Finding, ...]:
    """One finding for each wall that does not stand all round."""
    return tuple(_gone(case, profile) for profile in case.gaps if profile.there is not None)


def _gone(case: Case, profile: GapProfile) -> Finding:
    piece = case.after.piece(profile.end)
    assert piece is not None
    assert profile.there is not None
    gone = np.flatnonzero(~profile.there)
    length = profile.rim_length * len(gone) / len(profile.there)
    at = int(gone[profile.gap[gone].argmax()])
    rim, metal = profile.rim[at].tolist(), profile.wall[at].tolist()
    wall = f"{profile.end}'s {profile.side} wall"
    cuts = [o for o in overlaps(piece) if o.other.path == f"seat.gap_{profile.side}"]
    by = sorted({o.one.name for o in cuts})
    cause = f", cut away by {' and '.join(plain(name) for name in by)}" if by else ""
    where = "all round" if len(gone) == len(profile.there) else f"over {{length}} {whereabouts(rim, piece.walls[0])}"
    judged = Bound(length, high=0.0).judged().but(Verdict.NO_GO)
    return judged.finding(
        check=KEY,
        name=f"wall that is gone, {wall}",
        place=Place(profile.end, (rim[0], rim[1]), (metal[0], metal[1]), feature=f"seat {profile.side}"),
        advice=Sentence.of(
            f"the {wall} is gone {where}{cause}: nothing guides the rim there; the next metal is up to {{next}} away",
            length=length,
            next=float(profile.gap[at]),
        ),
        formula=Sentence.of(
            f"at {len(gone)} of {len(profile.there)} stations of the rim, {{length}}, no metal is behind the wall at "
            "any height from the seat's floor up",
            length=length,
        ),
        remedies=_remedies(case, profile, cuts),
    )


def _remedies(case: Case, profile: GapProfile, cuts: list[Overlap]) -> tuple[Remedy, ...]:
    """What takes the deepest cut back from the wall, with the metal between them that is wanted."""
    if not cuts:
        return ()
    one, other, c = cuts[0].one, cuts[0].other, cuts[0].clearance
    return remedies_of(case, profile.end, edges_of(one, other, c.a, c.b, c.value), limit_of(case) - c.value)
