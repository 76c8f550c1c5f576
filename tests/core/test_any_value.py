"""Any value gets an answer: a result that can be cut, told, drawn and written, or an error that names its place."""

from __future__ import annotations

from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

import pytest

from core.edits import add_item, get_value, set_text, set_value
from core.evaluate import evaluate
from core.features.hole import Hole
from core.files.outlines.export import export
from core.files.project.demos import demo_names, load_demo
from core.files.report.picture import fit_picture_svg
from core.files.report.report import report_markdown
from core.part.fields import RefusedError
from core.part.schema import LONGEST_MM, SHORTEST_MM, THICKEST_MM
from core.words.errors import UserError
from core.words.lengths import Style, shower
from core.words.verdicts import Verdict
from tests.support.cuts import cut_of
from tests.support.values import empty_numbers, numbers_of, wild_value
from tests.support.wild import wild_project

if TYPE_CHECKING:
    from core.part.project import Project

LINES = ((1.0, 0.0), (0.0, 1.0), (1.0, 1.0))


def wildly_edited(seed: int) -> Project:
    """A demo or a random project with one to three numbers set to what nobody would type on purpose."""
    rng = Random(seed)  # noqa: S311 - invented values
    name = rng.choice([*demo_names(), ""])
    project = load_demo(name) if name else wild_project(rng.randrange(1000))
    for _ in range(rng.choice([1, 1, 2, 3])):
        numbers = numbers_of(project)
        path, was = rng.choice(numbers)
        if rng.random() < 0.1:
            path, was = rng.choice(empty_numbers(project)), 1.0
        value = wild_value(rng, numbers, was)
        try:
            project = set_text(project, path, repr(value)) if rng.random() < 0.2 else set_value(project, path, value)
        except UserError as error:
            names_its_place(error, path.split("[")[0])
    return project


def names_its_place(error: UserError, where: str = "") -> None:
    """Held against what an error must tell, in every unit."""
    assert error.where
    assert error.where.startswith(where)
    for style in Style:
        assert len(error.message(shower(style))) > len(error.where) + 10


def answered(project: Project, *, is_written: bool) -> None:
    """Asks for everything that the program says of a project without a window."""
    try:
        result = evaluate(project)
    except UserError as error:
        names_its_place(error)
        return
    for along in LINES:
        x0, h0, x1, h1 = cut_of(result, (0.0, 0.0), along).bounds
        assert x0 <= x1
        assert h0 <= h1
    assert report_markdown(result)
    for end in result.after.housing.ends:
        assert fit_picture_svg(result, end)
    if is_written:
        with TemporaryDirectory() as folder:
            try:
                export(result, Path(folder), with_old=True)
            except UserError as error:
                names_its_place(error)


@pytest.mark.parametrize("seed", range(40))
def test_any_value_gets_an_answer(seed: int) -> None:
    answered(wildly_edited(seed), is_written=seed % 8 == 0)


@pytest.mark.hard
@pytest.mark.parametrize("first", range(1000, 6000, 100))
def test_any_value_gets_an_answer_in_thousands(first: int) -> None:
    for seed in range(first, first + 100):
        answered(wildly_edited(seed), is_written=seed % 5 == 0)


@pytest.mark.parametrize("name", demo_names())
@pytest.mark.parametrize("diameter", [420.0, LONGEST_MM])
def test_a_throat_that_swallows_a_piece_leaves_an_empty_drawing_that_says_so(name: str, diameter: float) -> None:
    project = load_demo(name)
    result = evaluate(add_item(project, "housing.base.features", Hole("big", 0.0, 0.0, diameter)))
    assert result.after.base.slabs == ()
    told = next(f for f in result.findings if f.name == "metal of the base")
    assert told.verdict is Verdict.NO_GO
    assert "NO METAL IS LEFT OF THE BASE" in fit_picture_svg(result, result.after.base.end)
    assert cut_of(result, (0.0, 0.0), (1.0, 0.0)).pieces[0].cells == ()
    with TemporaryDirectory() as folder, pytest.raises(UserError, match="the base has no metal to write"):
        export(result, Path(folder))


@pytest.mark.parametrize(
    ("path", "value", "bound"),
    [
        ("new_insert.rim.width", 1e-15, SHORTEST_MM),
        ("choices.lip", 1e-6, SHORTEST_MM),
        ("housing.base.features[throat left].diameter", 5e-324, SHORTEST_MM),
        ("new_insert.length", 2000.5, LONGEST_MM),
        ("housing.base.floor", 500.5, THICKEST_MM),
        ("choices.wall", float("nan"), SHORTEST_MM),
    ],
)
@pytest.mark.parametrize("style", list(Style))
def test_a_size_out_of_bounds_names_the_bound_in_the_users_unit(
    path: str, value: float, bound: float, style: Style
) -> None:
    project = load_demo("compressor-intake")
    with pytest.raises(RefusedError, match=r": expected a ") as refused:
        set_value(project, path, value)
    assert refused.value.bound_mm == bound
    said = refused.value.message(shower(style))
    shown = {Style.MM: f"{bound:.2f} mm", Style.INCH: f"{bound / 25.4:.3f} in"}
    assert shown.get(style, "in") in said
    assert "0 in," not in said.replace(f"{bound / 25.4:.3f} in", "")
    get_value(project, refused.value.where)
