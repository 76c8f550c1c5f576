"""Where an insert's sizes come from: taking them from readings, a drawing, a scan; and what an edit does to that.

A size without a source was typed in. Sizes that were taken from readings follow the readings; one that is typed over
loses its source, and the readings are kept beside it. With a size comes its ±, which is always that of the next one
bought; where the readings don't give one, the insert keeps the ± that it has, and a ± that was typed over stays.
"""

from __future__ import annotations

from math import isinf, sqrt
from typing import TYPE_CHECKING, Final, NamedTuple, cast

from msgspec.structs import replace

from core.measure.readings.rubber import USUAL
from core.part.insert import reshaped
from core.part.materials import MATERIALS
from core.part.readings import Origin, SizeName, Source
from core.part.schema import LONGEST_MM, SHORTEST_MM, THICKEST_MM

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from core.geometry.ovals.measured import Vertices
    from core.geometry.ovals.ovals import Oval
    from core.measure.readings.results import ShapeFit, Study
    from core.part.insert import Insert, Rim
    from core.part.project import Project
    from core.part.readings import RubberClass

Sizes = dict[SizeName, object]

_LIMITS = {
    SizeName.LENGTH: "length",
    SizeName.WIDTH: "width",
    SizeName.HEIGHT: "height",
    SizeName.RIM_WIDTH: "rim_width",
}
# Readings can't tell sizes apart that differ by less [mm]; a tenth of what any calliper shows.
_STEP_MM = 1e-3


MEASURED: Final = (Origin.READINGS, Origin.SCAN)
"""What measures an insert itself; the others say what it was meant to be."""

ORIGIN_WORDS: Final = {
    Origin.READINGS: "readings",
    Origin.DRAWING: "an outline file",
    Origin.SCAN: "a scan",
    Origin.CANDIDATE: "the candidates",
}
"""Where a size comes from, after the word "from"."""


def spoken_size(size: SizeName) -> str:
    """A size as one says it."""
    return "shape" if size is SizeName.FAMILY else size.value.replace("_", " ").replace(".", " ")


def take(
    insert: Insert,
    sizes: Mapping[SizeName, object],
    origin: Origin,
    note: str,
    *,
    plus_minus: Mapping[SizeName, float] | None = None,
    known_to: Mapping[SizeName, float] | None = None,
) -> Insert:
    """The insert with sizes that come from somewhere.

    Args:
        insert: to take them for.
        sizes: by name, lengths in mm.
        origin: where they come from.
        note: the same in words.
        plus_minus: ± of the next one bought [mm], where known; it becomes the insert's.
        known_to: half widths of the sizes' own 95 % intervals [mm], where known.
    """
    spread, known = plus_minus or {}, known_to or {}
    made = tuple(Source(size, origin, note[:200], spread.get(size), known.get(size)) for size in sizes)
    kept = tuple(source for source in insert.sources if source.size not in sizes)
    after = replace(_with_sizes(insert, sizes), sources=kept + made)
    limits = {
        name: half
        for size, name in _LIMITS.items()
        if not spread.keys().isdisjoint(_same_limit(size)) and (half := came_with(after, size)) is not None
    }
    return replace(after, plus_minus=replace(after.plus_minus, **limits))


def _same_limit(size: SizeName) -> tuple[SizeName, ...]:
    """The sizes that the ± of a size holds for: that of the rims' width for both of them."""
    return (size, SizeName.LID_RIM_WIDTH) if size is SizeName.RIM_WIDTH else (size,)


def came_with(insert: Insert, size: SizeName) -> float | None:
    """The ± that came with a size, the greater one of both rims [mm]; None where none did."""
    sources = (insert.source(one) for one in _same_limit(size))
    return max((s.plus_minus for s in sources if s is not None and s.plus_minus is not None), default=None)


def oval_sizes(oval: Oval) -> Sizes:
    """The sizes of an insert that an oval sets."""
    sizes: Sizes = {SizeName.FAMILY: oval.family, SizeName.LENGTH: oval.length, SizeName.WIDTH: oval.width}
    if oval.family.kind.own is not None:
        sizes[SizeName(oval.family.kind.own.field)] = oval.own
    if not oval.family.kind.is_sized:
        sizes[SizeName.OUTLINE] = oval.vertices
    return sizes


def stand_in_class(insert: Insert) -> RubberClass | None:
    """The class of ISO 3302-1 that stands in for the spread of fewer than three samples; None where none does.

    The standard is for solid rubber: only there the usual class is taken without having been chosen.
    """
    return insert.readings.rubber or (USUAL if MATERIALS[insert.material].is_solid_rubber else None)


def insert_study(insert: Insert) -> Study:
    """What the readings of an insert say, of the family and the material that it has."""
    from core.measure.readings.study import study  # noqa: PLC0415 - costs the window's start, and few inserts have readings

    return study(replace(insert.readings, rubber=stand_in_class(insert)), insert.family)


class ReadSize(NamedTuple):
    """What the readings give for a size, to the micrometre: further digits of a mean say nothing.

    Attributes:
        value: the size [mm, or 1 for the exponent].
        plus_minus: of the next one bought; None where that is not known [mm].
        known_to: half width of the value's own 95 % interval; None where nothing is known of it [mm].
        words: how it was found.
    """

    value: float
    plus_minus: float | None
    known_to: float | None
    words: str


def read_sizes(insert: Insert) -> dict[SizeName, ReadSize]:
    """By name what the readings give.

    What no insert can have, since a digit slipped, is left out; a half width that only samples far apart give stops at
    the greatest length that a file holds.
    """
    if not insert.readings.rows:
        return {}
    return {
        size: ReadSize(value, _half(estimate.next_one), _half(estimate.expanded), words)
        for size, estimate, words in insert_study(insert).sizes
        if _can_have(insert, size) and SHORTEST_MM <= (value := round(estimate.value, 3)) <= _most(size)
    }


def _most(size: SizeName) -> float:
    return THICKEST_MM if "rim" in size else LONGEST_MM


def _half(width: float | None) -> float | None:
    return None if width is None or isinf(width) else min(round(width, 4), LONGEST_MM)


def take_readings(insert: Insert, *sizes: SizeName) -> Insert:
    """The insert with sizes, and their ±, as its readings give them; with none named, all that they give."""
    found = read_sizes(insert)
    for size in sizes or tuple(found):
        if size in found:
            insert = _taken(insert, size, found[size])
    return _round(insert)


def _followed(insert: Insert, sizes: Iterable[SizeName]) -> Insert:
    """The insert with sizes that follow its readings; a ± that was typed over stays."""
    typed = {
        name: getattr(insert.plus_minus, name) for size, name in _LIMITS.items() if is_plus_minus_typed(insert, size)
    }
    after = take_readings(insert, *sizes)
    return replace(after, plus_minus=replace(after.plus_minus, **typed))


def _taken(insert: Insert, size: SizeName, read: ReadSize) -> Insert:
    plus_minus, known_to = ({} if half is None else {size: half} for half in (read.plus_minus, read.known_to))
    return take(insert, {size: read.value}, Origin.READINGS, read.words, plus_minus=plus_minus, known_to=known_to)


def take_shape(insert: Insert, fit: ShapeFit, note: str) -> Insert:
    """The insert with the family, the sizes and their ± of a shape laid through its readings."""
    sizes: Sizes = {SizeName.FAMILY: fit.family}
    sizes |= {size: round(estimate.value, 3) for size, estimate in fit.sizes}
    halves = [(size, _half(estimate.next_one), _half(estimate.expanded)) for size, estimate in fit.sizes]
    return take(
        insert,
        sizes,
        Origin.READINGS,
        note,
        plus_minus={size: half for size, half, _ in halves if half is not None},
        known_to={size: half for size, _, half in halves if half is not None},
    )


def plus_minus_of(insert: Insert, size: SizeName) -> float | None:
    """The ± that counts for a size [mm]; None where the insert has none for it."""
    name = _LIMITS.get(size)
    return None if name is None else float(getattr(insert.plus_minus, name))


def typed_at(size: SizeName) -> str:
    """Where the ± of a size is typed, as a path within the insert."""
    return f"plus_minus.{_LIMITS[size]}"


def spreadless(insert: Insert) -> tuple[SizeName, ...]:
    """The sizes that were measured without a ± for the next one bought, and have none in the insert either."""
    return tuple(
        size
        for size in _LIMITS
        if (source := insert.source(size)) is not None
        and source.origin in MEASURED
        and source.plus_minus is None
        and not plus_minus_of(insert, size)
    )


def is_plus_minus_typed(insert: Insert, size: SizeName) -> bool:
    """Whether a ± counts that was typed in, over the one that came with the size."""
    came, now = came_with(insert, size), plus_minus_of(insert, size)
    return came is not None and now is not None and abs(now - came) > _STEP_MM


def is_overridden(insert: Insert, size: SizeName) -> bool:
    """Whether a size counts that was typed in, although the readings give another one."""
    source = insert.source(size)
    if source is not None:
        return False
    found = read_sizes(insert).get(size)
    return found is not None and abs(found.value - cast("float", size_of(insert, size) or 0.0)) > _STEP_MM


def size_of(insert: Insert, size: SizeName) -> object:
    """A size of the insert."""
    holder, _, name = size.value.rpartition(".")
    if not holder:
        return getattr(insert, name)
    rim = insert.rim if holder == "rim" or insert.lid_rim is None else insert.lid_rim
    return getattr(rim, name)


def settled(before: Project, after: Project) -> Project:
    """A project after an edit, with the sizes that follow from readings brought up to date.

    Where the readings (or the family that they are read for) changed, sizes that come from them are taken anew. Where a
    size itself changed, it was typed in: it loses its source. Sizes that a shape rules follow it.
    """
    for name in ("old_insert", "new_insert"):
        was, now = getattr(before, name), getattr(after, name)
        if was is not now and was != now:
            after = replace(after, **{name: _settled(was, now)})
    if before.candidates != after.candidates and len(before.candidates) == len(after.candidates):
        pairs = zip(before.candidates, after.candidates, strict=True)
        after = replace(after, candidates=tuple(_settled(was, now) for was, now in pairs))
    return after


def _settled(was: Insert, now: Insert) -> Insert:
    now = reshaped(was, now)
    if was.sources == now.sources:  # else it was a taking, which knows what it does
        typed = {source.size for source in now.sources if size_of(was, source.size) != size_of(now, source.size)}
        if typed:
            now = replace(now, sources=tuple(source for source in now.sources if source.size not in typed))
    is_alike = was.family is now.family and stand_in_class(was) is stand_in_class(now)
    if was.readings == now.readings and is_alike:
        return now
    read = tuple(source.size for source in now.sources if source.origin is Origin.READINGS)
    lengths = tuple(size for size in read if size is not SizeName.FAMILY)
    if was.readings != now.readings and lengths:
        # What is no longer read stays as it is, but nothing backs it any more.
        found = read_sizes(now)
        gone = {size for size in lengths if size not in found and _can_have(now, size)}
        now = replace(now, sources=tuple(source for source in now.sources if source.size not in gone))
    return _followed(now, lengths) if lengths else now


def with_next_spread(project: Project) -> Project:
    """A project of a file whose ± were of the mean, with those of the next one bought instead."""
    project = replace(
        project,
        old_insert=insert_with_next_spread(project.old_insert),
        new_insert=insert_with_next_spread(project.new_insert),
    )
    return replace(project, candidates=tuple(insert_with_next_spread(candidate) for candidate in project.candidates))


def insert_with_next_spread(insert: Insert) -> Insert:
    """An insert of a file whose ± were of the mean, with those of the next one bought instead.

    Of sizes from readings all that the readings give is taken anew. Where that is no ± of the next one bought, since no
    class stands in any more, the old figure is multiplied by sqrt(n + 1), which turns a mean's interval into that of
    the next one of the same spread, so that it is never narrower than it has to be. A ± that was typed over stays.
    """
    if not insert.readings.rows:
        return insert
    read, found = insert_study(insert), read_sizes(insert)
    kept: dict[str, float] = {}
    for size, name in _LIMITS.items():
        source, estimate, now = insert.source(size), read.size(size), plus_minus_of(insert, size)
        if now is None or estimate is None or size not in found:
            continue
        was = found[size].known_to if source is None else source.known_to
        if was is None or abs(now - was) > _STEP_MM:
            kept[name] = now  # typed in
        elif estimate.next_one is None:
            kept[name] = min(round(now * sqrt(estimate.count + 1.0), 4), LONGEST_MM)
        elif source is None or source.origin is not Origin.READINGS:  # only the ± is from readings
            kept[name] = found[size].plus_minus or now
    sizes = (s.size for s in insert.sources if s.origin is Origin.READINGS and s.size is not SizeName.FAMILY)
    after = insert
    for size in sizes:
        if size in found:
            after = _taken(after, size, found[size])
    return replace(_round(after), plus_minus=replace(after.plus_minus, **kept))


def _with_sizes(insert: Insert, sizes: Mapping[SizeName, object]) -> Insert:
    for size, value in sizes.items():
        holder, _, name = size.value.rpartition(".")
        if size is SizeName.OUTLINE:
            insert = replace(insert, outline=cast("Vertices | None", value))
        elif not holder:
            insert = replace(insert, **{name: value})
        else:
            rim = insert.rim if holder == "rim" or insert.lid_rim is None else insert.lid_rim
            changed: Rim = replace(rim, **{name: value})
            insert = replace(insert, **{holder: changed})
    return insert


def _can_have(insert: Insert, size: SizeName) -> bool:
    """Whether a size counts in the insert's family, and its lid has a rim of its own where it is the lid's."""
    match size:
        case SizeName.LENGTH | SizeName.WIDTH | SizeName.END_RADIUS | SizeName.EXPONENT:
            return insert.family.kind.has(size.value)
        case _:
            return True


def _round(insert: Insert) -> Insert:
    """A circle is as wide as it is long, whatever of it was read."""
    if not insert.family.kind.is_round or insert.width == insert.length:
        return insert
    return replace(insert, width=insert.length)
