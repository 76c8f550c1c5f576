"""Where an insert's sizes come from: taking them from readings, a drawing, a scan; and what an edit does to that.

A size without a source was typed in. Sizes that were taken from readings follow the readings; one that is typed over
loses its source, and the readings are kept beside it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, cast

from msgspec.structs import replace

from core.ovals import Family
from core.readings.values import Origin, SizeName, Source
from core.schema import LONGEST_MM

if TYPE_CHECKING:
    from collections.abc import Mapping

    from core.insert import Insert, Rim
    from core.measured import Vertices
    from core.ovals import Oval
    from core.project import Project
    from core.readings.results import Study

Sizes = dict[SizeName, object]

_LIMITS = {
    SizeName.LENGTH: "length",
    SizeName.WIDTH: "width",
    SizeName.HEIGHT: "height",
    SizeName.RIM_WIDTH: "rim_width",
}
# Readings can't tell sizes apart that differ by less [mm]; a tenth of what any calliper shows.
_STEP_MM = 1e-3


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
    plus_minus: Mapping[SizeName, float] | None = None,
) -> Insert:
    """The insert with sizes that come from somewhere.

    Args:
        insert: to take them for.
        sizes: by name, lengths in mm.
        origin: where they come from.
        note: the same in words.
        plus_minus: half widths of their 95 % intervals [mm], where known; they become the insert's spread too.
    """
    spread = plus_minus or {}
    made = tuple(Source(size, origin, note[:200], spread.get(size)) for size in sizes)
    kept = tuple(source for source in insert.sources if source.size not in sizes)
    limits = {name: spread[size] for size, name in _LIMITS.items() if size in spread}
    return replace(_with_sizes(insert, sizes), sources=kept + made, plus_minus=replace(insert.plus_minus, **limits))


def oval_sizes(oval: Oval) -> Sizes:
    """The sizes of an insert that an oval sets."""
    sizes: Sizes = {SizeName.FAMILY: oval.family, SizeName.LENGTH: oval.length, SizeName.WIDTH: oval.width}
    if oval.family in (Family.FOUR_ARC, Family.ROUNDED_RECTANGLE):
        sizes[SizeName.END_RADIUS] = oval.end_radius
    if oval.family is Family.SUPERELLIPSE:
        sizes[SizeName.EXPONENT] = oval.exponent
    if oval.family is Family.MEASURED:
        sizes[SizeName.OUTLINE] = oval.vertices
    return sizes


def insert_study(insert: Insert) -> Study:
    """What the readings of an insert say, of the family that it has."""
    from core.readings.study import study  # noqa: PLC0415 - costs the window's start, and few inserts have readings

    return study(insert.readings, insert.family)


def read_sizes(insert: Insert) -> dict[SizeName, tuple[float, float, str]]:
    """By name what the readings give: value and half width of its 95 % interval [mm], and how it was found.

    Values are to the micrometre: further digits of a mean say nothing. What no insert can have, since a digit slipped,
    is left out; a half width that only two samples far apart give stops at the greatest length that a file holds.
    """
    if not insert.readings.rows:
        return {}
    found = insert_study(insert).sizes
    return {
        size: (value, min(round(estimate.expanded, 4), LONGEST_MM), words)
        for size, estimate, words in found
        if _can_have(insert, size) and 0.0 < (value := round(estimate.value, 3)) <= LONGEST_MM
    }


def take_readings(insert: Insert, *sizes: SizeName) -> Insert:
    """The insert with sizes as its readings give them; with none named, all that they give."""
    found = read_sizes(insert)
    for size in sizes or tuple(found):
        if size in found:
            value, plus_minus, words = found[size]
            insert = take(insert, {size: value}, Origin.READINGS, words, {size: plus_minus})
    return _round(insert)


def is_overridden(insert: Insert, size: SizeName) -> bool:
    """Whether a size counts that was typed in, although the readings give another one."""
    source = insert.source(size)
    if source is not None:
        return False
    found = read_sizes(insert).get(size)
    return found is not None and abs(found[0] - cast("float", size_of(insert, size) or 0.0)) > _STEP_MM


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
    size itself changed, it was typed in: it loses its source.
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
    if was.sources == now.sources:  # else it was a taking, which knows what it does
        typed = {source.size for source in now.sources if size_of(was, source.size) != size_of(now, source.size)}
        if typed:
            now = replace(now, sources=tuple(source for source in now.sources if source.size not in typed))
    if was.readings == now.readings and was.family is now.family:
        return now
    read = tuple(source.size for source in now.sources if source.origin is Origin.READINGS)
    lengths = tuple(size for size in read if size is not SizeName.FAMILY)
    if was.readings != now.readings and lengths:
        # What is no longer read stays as it is, but nothing backs it any more.
        found = read_sizes(now)
        gone = {size for size in lengths if size not in found and _can_have(now, size)}
        now = replace(now, sources=tuple(source for source in now.sources if source.size not in gone))
    return take_readings(now, *lengths) if lengths else now


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
        case SizeName.END_RADIUS:
            return insert.family in (Family.FOUR_ARC, Family.ROUNDED_RECTANGLE)
        case SizeName.EXPONENT:
            return insert.family is Family.SUPERELLIPSE
        case SizeName.LENGTH | SizeName.WIDTH:
            return insert.family is not Family.MEASURED
        case _:
            return True


def _round(insert: Insert) -> Insert:
    """A circle is as wide as it is long, whatever of it was read."""
    if insert.family is not Family.CIRCLE or insert.width == insert.length:
        return insert
    return replace(insert, width=insert.length)
