"""The scan without a window: each way of the page, on pictures that Pillow drew; the page itself says the same."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
import shapely

from app.__main__ import main
from core.files.project.demos import FOLDER
from core.files.project.file import load_project
from core.geometry.ovals.ovals import Family
from core.measure.scan.answer import answer
from core.measure.scan.asked import How, Scaling
from core.measure.scan.opened import open_picture
from core.measure.scan.sizes.allowances import START
from core.measure.scan.state import Pick, ScanState
from core.part.readings import Origin, SizeName
from tests.core.measure.scan.rendered import DARK, LIGHT, Shape, Sheet, boundary, drawn, placed

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from pathlib import Path

    from core.measure.readings.results import Estimate

DPI = 150.0
PIXEL = 25.4 / DPI
SHEET = Sheet(width=170.0, height=110.0, dpi=DPI, stretch=1.006)
PART = Shape(Family.OBROUND, 90.0, 56.0)
AT = (60.0, 55.0)
DISC = (Shape(Family.CIRCLE, 30.0, 30.0), (135.0, 30.0))
PLATE = np.array([[-20.0, -12.5], [20.0, -12.5], [20.0, 12.5], [-20.0, 12.5]])
NOTHING = ("--shadow", "0", "--off-plane", "0")


def _save(
    path: Path,
    things: Sequence[tuple[np.ndarray, int]],
    sheet: Sheet = SHEET,
    *,
    has_dpi: bool = True,
    warp: Callable[[np.ndarray], np.ndarray] | None = None,
) -> str:
    from PIL import Image

    image = Image.fromarray(drawn(sheet, things, warp))
    if has_dpi:
        image.save(path, dpi=(DPI, DPI))
    else:
        image.save(path)
    return str(path)


def _part(at: tuple[float, float] = AT, degrees: float = 3.0) -> tuple[np.ndarray, int]:
    return placed(boundary(PART), at, degrees), DARK


@pytest.fixture(scope="module")
def picture(tmp_path_factory: pytest.TempPathFactory) -> str:
    """The part, a disc and a plate beside it, stretched along X by 0.6 %."""
    things = [_part(), (placed(boundary(DISC[0]), DISC[1]), DARK), (placed(PLATE, (135.0, 85.0), 9.0), DARK)]
    return _save(tmp_path_factory.mktemp("scan") / "part.png", things)


@pytest.fixture
def told(capsys: pytest.CaptureFixture[str]) -> Callable[..., dict[str, Any]]:
    def run(*arguments: str) -> dict[str, Any]:
        assert main(["scan", *arguments, "--json"]) == 0
        found: dict[str, Any] = json.loads(capsys.readouterr().out)
        return found

    return run


def _size(found: dict[str, Any], name: str = "length") -> dict[str, Any]:
    return next(row for row in found["sizes"] if row["size"] == name)


def _at(place: tuple[float, float]) -> tuple[float, float]:
    x, y = SHEET.pixels(np.array([place]))[0]
    return float(x), float(y)


# Each way of the page


def test_the_files_dpi_gives_the_sizes_with_the_stretch_inside_the_interval(
    picture: str, capsys: pytest.CaptureFixture[str], told: Callable[..., dict[str, Any]]
) -> None:
    length = _size(told(picture, *NOTHING))
    assert length["value"] == pytest.approx(1.006 * PART.length, abs=0.5 * PIXEL)
    assert abs(length["value"] - PART.length) < length["expanded"]
    assert main(["scan", picture]) == 0
    lines = capsys.readouterr().out
    for words in ("part.png", "not calibrated", "obround", "length: 90.", "(95 %)", "--shadow", "without a source"):
        assert words in lines


@pytest.mark.parametrize("way", ["disc", "plate", "rules"])
def test_a_stretch_is_taken_out_by_a_thing_of_known_size(
    picture: str, way: str, told: Callable[..., dict[str, Any]]
) -> None:
    (x0, y0), (x1, _), (_, y1) = _at((5.0, 5.0)), _at((165.0, 5.0)), _at((5.0, 105.0))
    flags = {
        "disc": ("--disc", "30 mm"),
        "plate": ("--plate", "40x25"),
        "rules": ("--rule", f"{x0},{y0},{x1},{y0}=160", "--rule", f"{x0},{y0},{x0},{y1}=100"),
    }[way]
    found = told(picture, *flags, *NOTHING)
    for name, true in (("length", PART.length), ("width", PART.width)):
        assert _size(found, name)["value"] == pytest.approx(true, abs=0.2)
        assert abs(_size(found, name)["value"] - true) < _size(found, name)["expanded"]
    roles = {row["role"]: row["loop"] for row in found["loops"]}
    assert roles == ({"edge": 1} if way == "rules" else {"edge": 1, "reference": 2 if way == "plate" else 3})


def test_a_shadow_on_the_thing_that_gives_the_scale_makes_the_scale_less_sure(
    picture: str, told: Callable[..., dict[str, Any]], capsys: pytest.CaptureFixture[str]
) -> None:
    bare, shaded = (told(picture, "--disc", "30", "--shadow", text)["scale"] for text in ("0", "0.3"))
    assert bare["standard"] == shaded["standard"]
    assert bare["expanded"] == pytest.approx(1.96 * bare["standard"])
    assert shaded["expanded"] - bare["expanded"] == pytest.approx(0.3 / 30.0)
    assert main(["scan", picture, "--disc", "30", "--shadow", "0.3"]) == 0
    assert f"sure within {100.0 * shaded['expanded']:.2g} %" in capsys.readouterr().out


@pytest.mark.parametrize("is_found", [True, False], ids=["found", "given"])
def test_four_corners_put_a_photograph_right(
    tmp_path: Path, told: Callable[..., dict[str, Any]], *, is_found: bool
) -> None:
    sheet = Sheet(width=170.0, height=150.0, dpi=DPI)
    paper = np.array([[15.0, 15.0], [155.0, 15.0], [155.0, 135.0], [15.0, 135.0]])  # 140 × 120

    def aslant(p: np.ndarray) -> np.ndarray:
        w = 1.0 + 1.5e-4 * p[:, 0] + 0.8e-4 * p[:, 1]
        return np.asarray(p / w[:, None] + np.array([20.0, 15.0]))

    things = [(placed(boundary(Shape(Family.OBROUND, 400.0, 400.0)), (80.0, 70.0)), DARK), (paper, LIGHT)]
    things.append(_part((85.0, 75.0)))
    path = _save(tmp_path / "photo.png", things, sheet, warp=aslant, has_dpi=False)
    corners = ",".join(f"{v:.2f}" for v in aslant(sheet.pixels(paper)).ravel())
    flags = () if is_found else ("--corners", corners)
    found = told(path, "--sheet", "140x120", *flags, *NOTHING)
    assert _size(found)["value"] == pytest.approx(PART.length, abs=0.3)
    assert _size(found, "width")["value"] == pytest.approx(PART.width, abs=0.3)
    assert [row["role"] for row in found["loops"]] == ["reference", "edge"]


def test_a_pencil_line_is_taken_off_and_its_uncertainty_is_in_the_sizes(
    tmp_path: Path, told: Callable[..., dict[str, Any]]
) -> None:
    sheet = Sheet(width=170.0, height=110.0, dpi=DPI)
    things = []
    for curve in (_part()[0], placed(boundary(DISC[0]), DISC[1])):
        part = shapely.Polygon(curve)
        things += [(np.asarray(part.buffer(off, quad_segs=100).exterior.coords), grey) for off, grey in _LINE]
    path = _save(tmp_path / "traced.png", things, sheet)
    flags = (path, "--pencil", "outer", "--traced-disc", "30", *NOTHING)
    found = told(*flags, "--pencil-within", "0")
    assert found["excess_mm"] == pytest.approx(1.0, abs=0.5 * PIXEL)
    assert _size(found)["value"] == pytest.approx(PART.length, abs=0.5 * PIXEL)
    wider = _size(told(*flags, "--pencil-within", "0.3"))["expanded"] - _size(found)["expanded"]
    assert wider == pytest.approx(0.6, rel=0.05)  # at both ends
    assert {row["role"] for row in found["loops"]} == {"edge", "disc's line"}


_LINE = ((1.0, DARK), (0.5, 255))  # a line of half a millimetre, its inner side half a millimetre off


def test_a_turned_scan_counts_half(picture: str, tmp_path: Path, told: Callable[..., dict[str, Any]]) -> None:
    longer = Shape(Family.OBROUND, PART.length + 0.8, PART.width)
    second = _save(tmp_path / "turned.png", [(placed(boundary(longer), (90.0, 60.0), 183.0), DARK)])
    alone = _size(told(picture))["value"]
    found = told(picture, "--turned", second)
    assert _size(found)["value"] == pytest.approx(alone + 0.4 * 1.006, abs=0.05)
    assert found["differences"]["length"] == pytest.approx(0.8 * 1.006, abs=0.1)


def test_family_sizes_edge_and_level_are_as_asked(picture: str, told: Callable[..., dict[str, Any]]) -> None:
    found = told(picture, "--family", "rounded_rectangle", "--sizes", "end_radius, width")
    assert [row["size"] for row in found["sizes"]] == ["width", "end_radius"]
    assert found["loops"][0]["family"] == "rounded_rectangle"
    circle = told(picture, "--edge", "3", "--level", "120", "--family", "circle")
    assert _size(circle)["value"] == pytest.approx(30.0 * 1.003, abs=0.1)
    assert told(picture, "--family", "measured")["loops"][0]["family"] == "measured"


def test_allowances_that_are_given_widen_the_interval_by_their_whole(
    picture: str, told: Callable[..., dict[str, Any]]
) -> None:
    bare = _size(told(picture, *NOTHING), "width")
    shaded = _size(told(picture, "--shadow", "1", "--off-plane", "0"), "width")
    assert shaded["expanded"] - bare["expanded"] == pytest.approx(1.0, rel=0.15)
    aslant = _size(told(picture, "--shadow", "0", "--off-plane", "4 mm", "--lens-away", "404"), "width")
    assert aslant["expanded"] - bare["expanded"] == pytest.approx(0.01 * bare["value"], rel=0.1)


# One function with the page; keys of the other commands


@pytest.mark.parametrize("how", [How.DPI, How.DISC, How.RECTANGLE])
def test_page_and_command_say_the_same(picture: str, how: How, told: Callable[..., dict[str, Any]]) -> None:
    from pathlib import Path

    opened = open_picture(Path(picture), lambda _: None)
    reference = {How.DISC: 2, How.RECTANGLE: 1}.get(how)
    picked = ((Pick.EDGE, 0), *(((Pick.REFERENCE, reference),) if reference is not None else ()))
    scaling = Scaling(how, DPI, DPI, diameter=30.0, length=40.0, width=25.0)
    asked = ScanState(opened=opened, edges=opened.edges, picked=picked, scaling=scaling).asked
    assert asked is not None
    fitted = answer(asked).fitted
    assert fitted is not None
    flags = {How.DPI: (), How.DISC: ("--disc", "30"), How.RECTANGLE: ("--plate", "40x25")}[how]
    page: dict[SizeName, Estimate] = dict(fitted.result.sizes)
    for row in told(picture, *flags)["sizes"]:
        own = page[SizeName(row["size"])]
        assert (row["value"], row["standard"], row["expanded"]) == (own.value, own.standard, own.expanded)


def test_the_keys_are_those_of_outline_and_study(
    picture: str, told: Callable[..., dict[str, Any]], capsys: pytest.CaptureFixture[str]
) -> None:
    def other(*arguments: str) -> Any:  # noqa: ANN401 - whatever JSON holds
        assert main([*arguments, "--json"]) == 0
        return json.loads(capsys.readouterr().out)

    found = told(picture, "--disc", "30")
    outline = other("outline", str(FOLDER / "pump-strainer.dxf"))
    study = other("study", str(FOLDER / "pump-strainer.json"))["new"]
    assert {"unit", "loops", "sizes", "families", "remarks"} <= set(found)
    seat = next(loop for loop in outline["loops"] if "family" in loop)
    assert set(found["loops"][0]) <= set(seat)
    assert set(found["sizes"][0]) >= {"size", "value", "standard", "expanded", "next", "how"}
    assert set(found["sizes"][0]) <= set(study["sizes"][0])
    assert found["families"][0]["family"] == "obround"
    assert all(set(remark) == {"kind", "text", "place"} for remark in found["remarks"])


# Into a project


def test_chosen_sizes_go_into_a_copy_of_a_project_and_nothing_is_overwritten(
    picture: str, tmp_path: Path, told: Callable[..., dict[str, Any]], capsys: pytest.CaptureFixture[str]
) -> None:
    project = FOLDER / "compressor-intake.json"
    target = tmp_path / "new.json"
    flags = ("--project", str(project), "--to", str(target), "--sizes", "width")
    found = told(picture, *flags)
    made, before = load_project(target).new_insert, load_project(project).new_insert
    assert made.width == pytest.approx(_size(found, "width")["value"], abs=1e-3)
    assert made.length == before.length
    source = made.source(SizeName.WIDTH)
    assert source is not None
    assert source.origin is Origin.SCAN
    content = target.read_bytes()
    assert main(["scan", picture, *flags]) == 2
    assert "is there already" in capsys.readouterr().err
    assert target.read_bytes() == content


# What can't be


@pytest.mark.parametrize(
    ("flags", "words"),
    [
        (("--disc", "30", "--dpi", "150"), "--dpi and --disc can't both give it"),
        (("--disc", "3o"), "--disc: “3o”"),
        (("--disc", "-3"), "must be more than 0"),
        (("--disc", "55"), "no edge that was found is that of a disc"),
        (("--plate", "40"), "is not two lengths"),
        (("--rule", "1,2,3,4"), "gives no length"),
        (("--rule", "1,2,3=9"), "has 3 figures; 4 are wanted"),
        (("--dpi", "many"), "are no figures"),
        (("--corners", "1,2,3,4,5,6,7,8"), "Give --sheet"),
        (("--sheet", "140x120", "--reference", "1"), "no four straight sides"),
        (("--edge", "9"), "there is no edge 9: there are 3"),
        (("--sizes", "height"), "“height” is no size of an oval"),
        (("--pencil", "outer", "--traced", "2"), "Give --traced-disc"),
        (("--pencil", "outer", "--traced-disc", "30"), "several edges could be it: 2, 3"),
        (("--shadow", "-1"), "must be at least 0"),
        (("--off-plane", "400"), "as far off the plane as the lens"),
        (("--project", "x.json"), "--to"),
        (("--turned", "none.png"), "can't be read"),
    ],
)
def test_what_makes_no_sizes_is_told_and_ends_with_2(
    picture: str, flags: tuple[str, ...], words: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["scan", picture, *flags]) == 2
    said = capsys.readouterr()
    assert words in said.err
    assert said.out == ""


def test_a_picture_without_dpi_asks_for_a_scale(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = _save(tmp_path / "bare.png", [_part()], has_dpi=False)
    assert main(["scan", path]) == 2
    assert "Give --dpi, --rule, --disc, --plate or --sheet" in capsys.readouterr().err


def test_the_start_values_are_those_of_the_page(picture: str, told: Callable[..., dict[str, Any]]) -> None:
    allowed = told(picture)["allowances"]
    assert allowed == {"shadow_mm": START.shadow, "off_plane_mm": START.off_plane, "lens_mm": START.lens}


def test_the_next_one_bought_is_known_no_better_than_the_one_that_was_scanned(
    picture: str, tmp_path: Path, told: Callable[..., dict[str, Any]]
) -> None:
    project, first, second = FOLDER / "compressor-intake.json", tmp_path / "a.json", tmp_path / "b.json"
    wide = told(picture, "--shadow", "1", "--project", str(project), "--to", str(first), "--sizes", "width")
    before, made = load_project(project).new_insert, load_project(first).new_insert
    known = _size(wide, "width")["expanded"]
    assert made.plus_minus.width == pytest.approx(max(before.plus_minus.width, known), abs=1e-3)
    # A better scan of the same part takes the place of the first one's; what was known before is gone with it.
    fine = told(picture, *NOTHING, "--project", str(first), "--to", str(second), "--sizes", "width")
    assert load_project(second).new_insert.plus_minus.width == pytest.approx(_size(fine, "width")["expanded"], abs=1e-3)


WILD = ("", " ", "-1", "nan", "1e999", "−5", "x" * 3000, "\0", "/dev/null", "/", "0x0", "1,2,3", "=", "🪑", "9" * 400)
OPTIONS: tuple[str, ...] = (
    "dpi",
    "rule",
    "disc",
    "plate",
    "sheet",
    "corners",
    "reference",
    "edge",
    "level",
    "pencil",
    "traced-disc",
)
OPTIONS += ("traced", "turned", "family", "sizes", "shadow", "off-plane", "lens-away", "pencil-within", "project", "to")
BESIDE: dict[str, tuple[str, ...]] = {
    "corners": ("--sheet=100x50",),
    "reference": ("--disc=30",),
    "traced": ("--pencil=outer",),
}
BESIDE |= {"traced-disc": ("--pencil=outer",), "to": ("--project", str(FOLDER / "pump-strainer.json"))}


@pytest.mark.parametrize("option", OPTIONS)
def test_wild_values_are_refused_in_words(
    option: str, picture: str, capsys: pytest.CaptureFixture[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    for value in WILD:
        try:
            status = main(["scan", picture, *BESIDE.get(option, ()), f"--{option}={value}"])
        except SystemExit as left:
            status = int(str(left.code))
        told = capsys.readouterr()
        assert "fault in the program" not in told.err, (value, told.err)
        if option == "to" and value not in ("", " ", "\0", "x" * 3000, "9" * 400, "/", "/dev/null"):
            assert status == 0, (value, told.err)  # a file's name like any other
        else:
            assert status == 2, (value, told.out[:300])
            assert told.err
