"""Whether it is known within what the insert that will be bought may differ from the one that was measured.

Readings of one sample or two, and a scan, bring no ± for the next one bought. While the insert has none either, least
and greatest squeeze, gap and bearing are those of the sample: their go says less than it seems to.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from core.measure.sources import spoken_size, spreadless, typed_at
from core.words.verdicts import Bound, Place, Remedy, Sentence, Verdict

if TYPE_CHECKING:
    from core.fit.case import Case
    from core.words.verdicts import Finding

KEY = "spread"


def check(case: Case) -> tuple[Finding, ...]:
    """A remark where sizes were measured and nothing is known of their ±; none where they were typed in."""
    sizes = spreadless(case.insert)
    if not sizes:
        return ()
    names = [spoken_size(size) for size in sizes]
    words = names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"
    verb = "was" if len(names) == 1 else "were"
    advice = Sentence(
        f"the new insert's {words} {verb} measured on fewer than three samples, which tell no ± for the next one "
        "bought; gap, bearing and squeeze are told as if it were like the sample"
    )
    judged = Bound(0.0).judged().but(Verdict.MARGINAL)
    finding = judged.finding(
        check=KEY,
        name="± of the next insert bought",
        place=Place(path=f"new_insert.{typed_at(sizes[0])}"),
        advice=advice,
        formula=Sentence(f"± of {words}: none is known, 0 counts"),
        remedies=(Remedy("read three samples, or type the maker's ± with the insert's sizes"),),
    )
    return (finding,)
