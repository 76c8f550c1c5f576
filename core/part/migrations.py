"""What brings a project file of an older format to the next one.

A format changes in several respects at once; each is a small function of its own over the file's raw groups.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

if TYPE_CHECKING:
    from collections.abc import Callable

Raw = dict[str, Any]
"""A group of a file as JSON gives it."""

STEPS_TO_2: Final[tuple[Callable[[Raw], Raw], ...]] = ()
"""Readings, sources, measured outlines, pressed rims and candidates came with 2; a file of 1 has none of them."""


def _with_material(insert: Raw) -> Raw:
    """An insert whose rims are of a material, instead of only yielding or rigid; squeeze as the material wants it."""
    kept = {name: value for name, value in insert.items() if name != "kind"}
    if "kind" in insert:
        kept["material"] = "not_stated" if insert["kind"] == "yielding" else insert["kind"]
    if insert.get("squeeze") == {"least": 10.0, "greatest": 25.0}:  # nobody had changed them
        del kept["squeeze"]
    return kept


def _of_inserts(step: Callable[[Raw], Raw]) -> Callable[[Raw], Raw]:
    """A step over a project that does a step over each of its inserts."""

    def done(project: Raw) -> Raw:
        made: Raw = {name: _if_group(project[name], step) for name in _INSERTS if name in project}
        if isinstance(candidates := project.get("candidates"), list):
            made["candidates"] = [_if_group(candidate, step) for candidate in candidates]
        return {**project, **made}

    return done


def _if_group(raw: object, step: Callable[[Raw], Raw]) -> object:
    """The step done, or what is no group at all as it stands: the schema says what is wrong with it."""
    return step(raw) if isinstance(raw, dict) else raw


_INSERTS: Final = ("old_insert", "new_insert")


def _limits_of_each_wall(project: Raw) -> Raw:
    """What counted for both walls of a seat counts for each."""
    limits = project.get("limits")
    if not isinstance(limits, dict):
        return project
    kept = {name: value for name, value in limits.items() if name not in ("gap_least", "gap_greatest")}
    for bound in ("least", "greatest"):
        if f"gap_{bound}" in limits:
            kept |= {f"gap_{side}_{bound}": limits[f"gap_{bound}"] for side in ("outer", "inner")}
    return {**project, "limits": kept}


def _with_next_one(insert: Raw) -> Raw:
    """A source's ± was what its size is known to; and the usual class of rubber was nobody's choice."""
    made = dict(insert)
    if isinstance(readings := made.get("readings"), dict) and readings.get("rubber") == "M3":
        made["readings"] = {name: value for name, value in readings.items() if name != "rubber"}
    if isinstance(sources := made.get("sources"), list):
        made["sources"] = [_if_group(source, _known_to) for source in sources]
    return made


def _known_to(source: Raw) -> Raw:
    return {**source, "plus_minus": None, "known_to": source["plus_minus"]} if "plus_minus" in source else source


def newer_insert(insert: Raw) -> Raw:
    """An insert of a project of format 2, or of a library of format 1, as it stands in the next one."""
    return _with_next_one(_with_material(insert))


def _studs_and_bases(project: Raw) -> Raw:
    """A base must be tight; the thread that a stud wants goes by the metal, where nobody had changed the 2 d of all."""
    made: Raw = {}
    housing, limits = project.get("housing"), project.get("limits")
    if isinstance(housing, dict) and isinstance(base := housing.get("base"), dict):
        made["housing"] = {**housing, "base": {"tight": "yes", **base}}
    if isinstance(limits, dict) and limits.get("engagement") == 2.0:
        made["limits"] = {**limits, "engagement": None}
    return {**project, **made}


STEPS_TO_3: Final[tuple[Callable[[Raw], Raw], ...]] = (
    _limits_of_each_wall,
    _of_inserts(newer_insert),
    _studs_and_bases,
)

MIGRATIONS: Final[dict[int, tuple[Callable[[Raw], Raw], ...]]] = {1: STEPS_TO_2, 2: STEPS_TO_3}
"""By version: what brings a file of that version to the next. There is an entry for each version before `FORMAT`."""
