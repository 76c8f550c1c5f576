"""How many of each thing a project may hold: as many as the bound is read, one more is refused by name."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import pytest
from msgspec.structs import replace

from core.edits import set_value
from core.features.ground import Made
from core.features.hole import Hole
from core.features.lug import Lug
from core.features.rib import Rib
from core.files.project.demos import load_demo
from core.files.project.file import decode_project, encode_project
from core.part.fields import RefusedError
from core.part.numbers import CANDIDATES, FEATURES, VERTICES, refuse_too_many

if TYPE_CHECKING:
    from core.part.project import Project


def _with(*features: object) -> Project:
    project = load_demo("lens-ring")
    base = replace(project.housing.base, features=features)
    return replace(project, housing=replace(project.housing, base=base))


def _holes(count: int) -> Project:
    return _with(*(Hole(f"vent {i}", 0.01 * i, 0.0, 2.0, Made.CORED) for i in range(count)))


def _lugs(count: int) -> Project:
    return _with(*(Lug(f"lug {i}", 99.0, 0.01 * i, 3.0, 1.0, 2.0, 5.0, Made.CORED) for i in range(count)))


def _ribs(count: int) -> Project:
    return _with(*(Rib(f"rib {i}", 0.0, 0.01 * i, 2.0, 2.0, 3.0) for i in range(count)))


def _candidates(count: int) -> Project:
    project = load_demo("lens-ring")
    return replace(project, candidates=tuple(replace(project.new_insert, name=f"one {i}") for i in range(count)))


def _vertices(count: int) -> Project:
    project = load_demo("lens-ring")
    outline = tuple((0.01 * i, float(i % 7), 0.0) for i in range(count))
    return replace(project, new_insert=replace(project.new_insert, outline=outline))


@pytest.mark.parametrize(
    ("make", "most", "said"),
    [
        (_holes, FEATURES, "housing.base.features: has 5,001 features; at most 5,000"),
        (_lugs, Lug.most, "housing.base.features: has 1,001 of the kind lug; at most 1,000"),
        (_ribs, Rib.most, "housing.base.features: has 201 of the kind rib; at most 200"),
        (_candidates, CANDIDATES, "candidates: has 501 candidates; at most 500"),
        (_vertices, VERTICES, "new_insert.outline: has 10,001 vertices; at most 10,000"),
    ],
)
def test_so_many_are_worked_with_and_one_more_is_refused_by_name(make: object, most: int, said: str) -> None:
    refuse_too_many(make(most))  # type: ignore[operator]
    too_many = make(most + 1)  # type: ignore[operator]
    with pytest.raises(RefusedError, match=re.escape(said)):
        refuse_too_many(too_many)
    with pytest.raises(RefusedError, match=re.escape(said)):
        decode_project(encode_project(too_many), where="file")


def test_an_edit_is_refused_as_a_file_is() -> None:
    project = load_demo("compressor-intake")
    stud = project.housing.studs[0]
    with pytest.raises(RefusedError, match="has 201 studs; at most 200"):
        set_value(project, "housing.studs", tuple(replace(stud, name=f"stud {i}") for i in range(201)))
