"""The report: everything that a project's result says, as plain Markdown to read or print.

It holds no figure of its own: verdicts, changes and weights are the result's, rings are the export's.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from core.features.stud.engagement import ENGAGEMENT, engagement_of
from core.features.stud.kinds import KINDS
from core.features.stud.stud import bore
from core.measure.sources import ORIGIN_WORDS, is_overridden, is_plus_minus_typed, read_sizes, spoken_size
from core.part.fields import FieldKind, fields_of
from core.part.materials import MATERIALS
from core.part.project import Choices, HeightTo, Hold, HoldInside, Limits, Mode
from core.words.ends import End
from core.words.findings import value_text
from core.words.lengths import Style, show_length, shower, spread_shower
from core.words.verdicts import Verdict

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from core.evaluate import Result
    from core.files.outlines.exported import ExportReport
    from core.part.fields import Field
    from core.part.insert import Insert
    from core.resize.changes import Change
    from core.words.errors import Show
    from core.words.verdicts import Finding, Place

_KG_PER_POUND: Final = 0.45359237  # international pound, exact (NIST SP 811, appendix B)

CAUTIONS: Final = (
    "Molten metal burns, and explodes on meeting moisture: dry moulds and tools, face, hand and foot protection.",
    "Foam that burns gives off styrene and soot: pour outdoors or under extraction, and keep out of the fumes.",
    "Cutting foam and sanding castings makes fine dust: extract it, wear a mask, keep flames away.",
    "A router throws what is not held: clamp the board, check tabs and dowels, keep hands clear.",
    "Dust of coating and moulding sand holds silica, which scars lungs: damp it down, extract it, wear a fitted mask.",
    "A rim that does not seal lets dust or water through: prove the seal on the finished housing first.",
    "Not for pressure-holding or safety-critical castings: those need an engineer, and tests that are not here.",
    "Local codes, the makers' data sheets and people licensed for the work come before anything written here.",
)
"""Short cautions for every sheet; they can't be switched off."""

_UNITS: Final = {"open_area": "× the old", "marginal": "%"}
"""Of limits whose unit is said at more length here, or whose name says the rest of it."""


def report_markdown(result: Result, export: ExportReport | None = None) -> str:
    """The whole report.

    Args:
        result: what it is about.
        export: the rings that were written, if any were.
    """
    style = result.project.style
    show = shower(style)
    project = result.project
    blocks: list[Iterable[str]] = [
        (f"# {_plain(project.name)}", ""),
        headline(result),
        _inserts(result, show),
        _sources(result, show),
        _choices(result, show),
        _changes(result, style),
        _conflicts(result, show),
        _checks(result, show, style),
        _limits(result, show),
        _studs(result, show),
        _weights(result, style),
        () if export is None else _rings(export, style),
        ("## Notes", "", *map(_plain, project.notes.splitlines()), "") if project.notes.strip() else (),
        ("## Cautions", "", *(f"- {caution}" for caution in CAUTIONS), ""),
    ]
    return "\n".join(line for block in blocks for line in block).rstrip() + "\n"


def headline(result: Result) -> tuple[str, ...]:
    """The overall verdict, in capitals where something must not be overlooked; Markdown that also reads as text."""
    project = result.project
    lines = [f"Overall: **{result.overall.value.upper()}**", ""]
    failed = [finding for finding in result.findings if finding.verdict is Verdict.NO_GO]
    if failed:
        lines += [
            f"**{len(failed)} CHECK{'S' * (len(failed) > 1)} NOT PASSED. DO NOT CUT BEFORE THIS IS PUT RIGHT.**",
            "",
        ]
    if result.conflicts:
        count = len(result.conflicts)
        lines += [f"**{count} CONFLICT{'S' * (count > 1)}: FEATURES THAT CAN'T FOLLOW. DO NOT CUT AS IT IS.**", ""]
    if project.choices.mode is Mode.REWORK:
        lines += ["Rework of castings from the shelf: all sizes are 1:1, finished, and not to be scaled.", ""]
    else:
        lines += ["New pattern: all sizes here are finished sizes, before contraction and finishing allowance.", ""]
    return tuple(lines)


def place_words(place: Place, show: Show) -> str:
    """Where something is: piece, feature, point."""
    words = [place.end.value] if place.end is not None else []
    if place.feature:
        words.append(place.feature)
    if place.point is not None:
        words.append(f"at x {show(place.point[0])}, y {show(place.point[1])}")
    return ", ".join(words)


def _plain(text: str) -> str:
    """A text as it is, though it may hold characters that Markdown reads as marks."""
    for mark in "\\`*_[]<>|#":
        text = text.replace(mark, f"\\{mark}")
    return " ".join(text.split())


def _table(head: Sequence[str], rows: Iterable[Sequence[str]]) -> Iterator[str]:
    yield "| " + " | ".join(head) + " |"
    yield "|" + " --- |" * len(head)
    for row in rows:
        yield "| " + " | ".join(_plain(cell) for cell in row) + " |"
    yield ""


def _inserts(result: Result, show: Show) -> Iterator[str]:
    old, new = result.project.old_insert, result.project.new_insert
    small = spread_shower(result.project.style)
    yield from ("## Inserts", "")
    yield from _table(
        ("", "old", "new"),
        [
            (label, was, now)
            for (label, was), (_, now) in zip(_sizes(old, show, small), _sizes(new, show, small), strict=True)
        ],
    )


def _sources(result: Result, show: Show) -> Iterator[str]:
    """Where the inserts' sizes come from; what is not named was typed in."""
    yield from ("## Where the sizes come from", "")
    small = spread_shower(result.project.style)
    for which, insert in (("old", result.project.old_insert), ("new", result.project.new_insert)):
        if not insert.sources:
            yield f"- {which} insert: all sizes were typed in"
            continue
        for source in insert.sources:
            size = spoken_size(source.size)
            known = "" if source.known_to is None else f", known to within {small(source.known_to)}"
            known += "" if source.plus_minus is None else f", the next one bought ± {small(source.plus_minus)} (95 %)"
            note = f": {_plain(source.note)}" if source.note else ""
            yield f"- {which} insert, {size} from {ORIGIN_WORDS[source.origin]}{known}{note}"
        for size, read in read_sizes(insert).items():
            if is_overridden(insert, size):
                half = "" if read.plus_minus is None else f" ± {small(read.plus_minus)}"
                yield f"- {which} insert, {spoken_size(size)} was typed over its readings, {show(read.value)}{half}"
            elif is_plus_minus_typed(insert, size) and read.plus_minus is not None:
                half = f"± {small(read.plus_minus)}"
                yield f"- {which} insert, the ± of {spoken_size(size)} was typed over that of its readings, {half}"
    yield ""


def _sizes(insert: Insert, show: Show, small: Show) -> list[tuple[str, str]]:
    lid, spread = insert.rim_at(End.LID), insert.plus_minus
    said = {name: field.label.lower() for name, field in fields_of(type(insert)).items()}
    return [
        (said["name"], insert.name),
        ("oval", insert.family.replace("_", " ")),
        (said["length"], show(insert.length)),
        (said["width"], show(insert.width)),
        (said["end_radius"], "usual for its kind" if insert.end_radius is None else show(insert.end_radius)),
        (said["exponent"], "usual for its kind" if insert.exponent is None else f"{insert.exponent:g}"),
        (said["height"], show(insert.height)),
        ("rim, width and thickness", f"{show(insert.rim.width)}, {show(insert.rim.thickness)}"),
        ("rim in the lid, the same", f"{show(lid.width)}, {show(lid.thickness)}"),
        ("rim outside the oval by", show(insert.rim.outset)),
        ("rims", insert.material.replace("_", " ")),
        (
            "pressed to",
            "its own shape"
            if insert.pressed is None
            else f"{insert.oval.family.replace('_', ' ')} {show(insert.oval.length)} × {show(insert.oval.width)}",
        ),
        (
            "squeeze wanted",
            "{:g} to {:g} %".format(*insert.squeeze_wanted) if insert.is_yielding else "none: rigid",
        ),
        (
            "the next one bought: ± length, width, height, rim width",
            ", ".join(map(small, (spread.length, spread.width, spread.height, spread.rim_width))),
        ),
    ]


_HELD: Final = {Hold.WALL: "the wall round the seat is kept", Hold.OUTSIDE: "the outside is kept"}
_HELD_INSIDE: Final = {HoldInside.LIP: "the lip inside the seat is kept", HoldInside.OPENING: "the opening is kept"}
_HEIGHT: Final = {
    HeightTo.BASE: "a change of height goes to the base's seat",
    HeightTo.LID: "a change of height goes to the lid's seat",
    HeightTo.SPACER: "a change of height goes to the spacer",
    HeightTo.SQUEEZE: "a change of height is left to the squeeze",
}


def _choices(result: Result, show: Show) -> Iterator[str]:
    choices = result.project.choices
    yield from ("## Choices", "")
    if choices.mode is Mode.REWORK:
        yield "- castings from the shelf are reworked: the seat is machined out, nothing else moves"
    else:
        yield "- a new pattern is made"
        yield f"- {_HELD[choices.hold]}"
        yield f"- {_HELD_INSIDE[choices.hold_inside]}"
    yield f"- {_HEIGHT[choices.height_to]}"
    yield f"- the {choices.guided_by} wall guides the rim"
    for end in result.after.housing.ends:
        piece = result.after.housing.piece(end)
        if piece is not None and piece.seat.depth_plus_minus > 0.0:
            yield f"- the {end}'s seat depth is held within ± {show(piece.seat.depth_plus_minus)}"
    for name in ("gap_outer", "gap_inner", "wall", "lip"):
        if (value := getattr(choices, name)) is not None:
            yield f"- the new {fields_of(Choices)[name].label.lower()} is set to {show(value)}"
    yield ""


def _changes(result: Result, style: Style) -> Iterator[str]:
    changed = [change for change in result.changes if change.is_change]
    fixed = [change for change in result.changes if not change.is_change]
    yield from ("## What changes", "")
    if changed:
        head = ("piece", "feature", "quantity", "was", "now", "by", "why")
        yield from _table(head, [_change_row(change, style) for change in changed])
    else:
        yield from ("Nothing changes.", "")
    yield from ("## What stays", "")
    if fixed:
        kept = ("piece", "feature", "quantity", "is", "why")
        rows = [_change_row(change, style) for change in fixed]
        yield from _table(kept, [(row[0], row[1], row[2], row[4], row[6]) for row in rows])
    else:
        yield from ("Nothing stays.", "")


def _change_row(change: Change, style: Style) -> tuple[str, ...]:
    was, now = ("none" if value is None else show_length(value, style) for value in (change.was, change.now))
    end = "both" if change.end is None else change.end.value
    by = show_length(change.by, style, signed=True)
    return end, change.feature, change.quantity, was, now, by, change.why


def _conflicts(result: Result, show: Show) -> Iterator[str]:
    yield from ("## Conflicts", "")
    for conflict in result.conflicts:
        place = place_words(conflict.place, show)
        yield f"- **{_plain(conflict.feature)}** ({_plain(place)}): {_plain(conflict.what.show(show))}"
    if not result.conflicts:
        yield "None: everything can follow."
    yield ""


def _checks(result: Result, show: Show, style: Style) -> Iterator[str]:
    yield from ("## Checks", "")
    head = ("check", "verdict", "value", "limits", "margin", "place")
    yield from _table(head, [_check_row(finding, show, style) for finding in result.findings])
    for finding in result.findings:
        yield f"- **{_plain(finding.name)}**, {finding.verdict}: {_plain(finding.advice.show(show))}"
        formula = finding.formula.show(show)
        if formula:
            yield f"  - {_plain(formula)}"
    yield ""


def _check_row(finding: Finding, show: Show, style: Style) -> tuple[str, ...]:
    def value(number: float) -> str:
        return value_text(number, finding.unit, style)

    limits = []
    if finding.low is not None:
        limits.append(f"at least {value(finding.low)}")
    if finding.high is not None:
        limits.append(f"at most {value(finding.high)}")
    return (
        finding.name,
        finding.verdict.value,
        value(finding.value),
        ", ".join(limits) or "none",
        value(finding.margin),
        place_words(finding.place, show),
    )


def _limits(result: Result, show: Show) -> Iterator[str]:
    limits, default = result.project.limits, Limits()
    yield from ("## Limits", "")
    rows = []
    for name, field in fields_of(Limits).items():
        label, origin = field.more["spoken"], field.more["origin"]
        value, usual = getattr(limits, name), getattr(default, name)
        is_usual = value == usual
        source = (
            f"default: {origin.show(show)}" if is_usual else f"set by you (default {_limit(name, usual, field, show)})"
        )
        rows.append((label, _limit(name, value, field, show), source))
    yield from _table(("limit", "value", "where it comes from"), rows)
    if result.project.new_insert.is_yielding:
        new = result.project.new_insert
        row = MATERIALS[new.material]
        is_own = (new.squeeze.least, new.squeeze.greatest) != (None, None)
        where = "set by you" if is_own else f"what a rim {row.words} starts from, {row.origin}"
        yield f"The squeeze wanted is {where}: ask the insert's maker."
        yield ""


def _limit(name: str, value: float | None, field: Field, show: Show) -> str:
    if value is None:
        return "by the metal" if name == "engagement" else "none"
    return show(value) if field.kind is FieldKind.LENGTH else f"{value:g} {_UNITS.get(name, field.unit)}"


def _studs(result: Result, show: Show) -> Iterator[str]:
    """Each stud to buy, and its holes; all of them are drilled into the castings, and never scaled."""
    housing = result.after.housing
    if not housing.studs:
        return
    rows = []
    for stud in housing.studs:
        holes = []
        for end in housing.ends:
            hole = bore(stud, end)
            deep = "right through" if hole.depth is None else f"{show(hole.depth)} deep without the drill's point"
            holes.append(f"{hole.purpose}, drill {show(hole.diameter)}, {deep}")
        kind = KINDS[stud.kind]
        rows.append((stud.name, f"{stud.thread}, {kind.words}", f"{show(stud.length)} {kind.counts}", *holes))
    yield from ("## Studs and their holes", "")
    yield from _table(("stud", "kind", "length", *(f"in the {end}" for end in housing.ends)), rows)
    metal = ENGAGEMENT[housing.metal.kind]
    factor = engagement_of(housing.metal, result.project.limits)
    whose = "the limit set by you" if result.project.limits.engagement is not None else f"{metal.metal}; {metal.origin}"
    yield f"Thread wanted in the base: {factor:g} diameters ({_plain(whose)})."
    yield ""


def weights(result: Result) -> tuple[tuple[End, float, float], ...]:
    """Weight of each piece before and after [kg]: its volume times the alloy's density."""
    rows = []
    for after in result.after.pieces:
        before = result.before.piece(after.end)
        assert before is not None
        old, new = result.before.housing.metal.density, result.after.housing.metal.density
        rows.append((after.end, before.volume * old * 1e-6, after.volume * new * 1e-6))
    return tuple(rows)


def _weights(result: Result, style: Style) -> Iterator[str]:
    metal = result.after.housing.metal
    rows = list(weights(result))
    yield from ("## Weights", "")
    table = [(end.value, _weight(was, style), _weight(now, style)) for end, was, now in rows]
    if len(rows) > 1:
        table.append(("together", _weight(sum(r[1] for r in rows), style), _weight(sum(r[2] for r in rows), style)))
    yield from _table(("piece", "before", "after"), table)
    yield f"Finished metal, {_plain(metal.name)} at {metal.density:g} g/cm³, without gating, feeders and stock."
    yield ""


def _weight(kg: float, style: Style) -> str:
    return f"{kg:.3f} kg" if style is Style.MM else f"{kg / _KG_PER_POUND:.3f} lb"


def _rings(export: ExportReport, style: Style) -> Iterator[str]:
    yield from ("## Outlines written", "")
    yield f"{export.size_kind.words[0].upper()}{export.size_kind.words[1:]}. Millimetres, 1:1. Each file was read back."
    yield ""
    head = ("file", "layer", "along", "from the outer face", "length", "off by at most")
    rows = [
        (
            ring.file,
            ring.layer,
            ring.feature,
            heights(ring.spans, style),
            show_length(ring.length_mm, style),
            f"{ring.deviation_mm * 1000.0:.3f} µm",
        )
        for ring in export.rings
    ]
    yield from _table(head, rows)


def heights(spans: Iterable[tuple[float, float]], style: Style) -> str:
    """From where to where an outline goes, measured from the outer face."""
    return ", ".join(f"{show_length(a, style, with_unit=False)} to {show_length(b, style)}" for a, b in spans)
