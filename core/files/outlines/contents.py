"""Which outlines go into which file.

- A new pattern has a file a piece with all that is in the pattern, and one with the holes that are drilled after
  casting: their places are finished places, and nobody who cuts a pattern may cut them.
- A rework has a file a piece with what is machined, and nothing that the casting has already.

Each file shows its piece with the joint face up. The base is drawn so anyway; the lid is turned over about the long
axis, or what is cut from its joint face would come out in the wrong hand.
"""

from __future__ import annotations

from enum import StrEnum
from typing import TYPE_CHECKING, Final

from msgspec import Struct

from core.features.ground import Made
from core.features.stud.stud import bore
from core.files.outlines.rings import DRILLED, Ring, outline_key, rings, with_layers
from core.part.project import Mode
from core.words.ends import End

if TYPE_CHECKING:
    from core.evaluate import Result
    from core.metal.order import Part
    from core.metal.slabs import Resolved
    from core.part.housing import Housing


_LEVEL_MM: Final = 1e-3  # heights that differ by less are one


class FileKind(StrEnum):
    """What a file is for."""

    PATTERN = "pattern"
    DRILLING = "drilling"
    REWORK = "rework"


class Contents(Struct, frozen=True):
    """What one file of a piece holds.

    Attributes:
        rings: its outlines, seen with the joint face up.
        old: those as built, for comparison.
    """

    end: End
    kind: FileKind
    rings: tuple[Ring, ...]
    old: tuple[Ring, ...] = ()


def contents(result: Result, *, with_old: bool = False) -> tuple[Contents, ...]:
    """The files of a result, those to cut first; a file that would hold nothing is left out."""
    ends = result.after.housing.ends
    if result.project.choices.mode is Mode.REWORK:
        files = [_rework(result, end, with_old=with_old) for end in ends]
    else:
        files = [_pattern(result, end, with_old=with_old) for end in ends]
        files += [_drilling(result, end, with_old=with_old) for end in ends]
    return tuple(file for file in files if file.rings or file.kind is FileKind.PATTERN)


def _pattern(result: Result, end: End, *, with_old: bool) -> Contents:
    old = rings(result.before, end, as_cast=True) if with_old else ()
    return Contents(end, FileKind.PATTERN, _seen(rings(result.after, end, as_cast=True)), _seen(old))


def _drilling(result: Result, end: End, *, with_old: bool) -> Contents:
    old = drilled(result.before, end) if with_old else ()
    return Contents(end, FileKind.DRILLING, _seen(drilled(result.after, end)), _seen(old))


def _rework(result: Result, end: End, *, with_old: bool) -> Contents:
    old = rings(result.before, end)
    there = {outline_key(ring.outline): ring.spans for ring in old}
    machined = tuple(
        ring for ring in rings(result.after, end) if not _within(ring.spans, there.get(outline_key(ring.outline), ()))
    )
    return Contents(end, FileKind.REWORK, _seen(machined), _seen(old if with_old and machined else ()))


def _within(spans: tuple[tuple[float, float], ...], those: tuple[tuple[float, float], ...]) -> bool:
    """Whether each of some spans of heights lies in one of others, but for the last digits of a sum."""
    return all(any(a - _LEVEL_MM <= z0 and z1 <= b + _LEVEL_MM for a, b in those) for z0, z1 in spans)


def drilled(resolved: Resolved, end: End) -> tuple[Ring, ...]:
    """The holes that are drilled into the casting, whole, whatever they run out into."""
    piece = resolved.piece(end)
    assert piece is not None
    return with_layers(
        [
            (
                f"{end.upper()}-DRILL-{2.0 * part.radius:.2f}".replace(".", "_"),
                Ring(
                    "",
                    end,
                    part.name,
                    DRILLED,
                    part.outline.oriented(ccw=False),
                    ((part.z0, part.z1),),
                    purpose=_purpose(resolved.housing, part, end),
                ),
            )
            for part in piece.parts
            if part.made is Made.DRILLED
        ]
    )


def _purpose(housing: Housing, part: Part, end: End) -> str:
    size = f"drill {2.0 * part.radius:.2f} mm"
    if not part.path.startswith("studs["):
        return size
    hole = bore(housing.studs[int(part.path[len("studs[") : -1])], end)
    deep = "" if hole.depth is None else f", {hole.depth:.2f} mm deep without the drill's point"
    return f"{hole.purpose}: {size}{deep}"


def as_planned(ring: Ring) -> Ring:
    """An outline of a file as the plan shows it, and back: the plan shows the lid from its outer face."""
    return ring.turned_over() if ring.piece is End.LID else ring


def _seen(found: tuple[Ring, ...]) -> tuple[Ring, ...]:
    """The outlines of a piece with its joint face up."""
    return tuple(map(as_planned, found))
