from __future__ import annotations

import errno
import json
import os
import time
from itertools import pairwise
from typing import TYPE_CHECKING, Any

import pytest
from msgspec.structs import replace

from core.edits import set_value
from core.evaluate import Result, evaluate
from core.features.ground import Made
from core.files.outlines import export as export_module
from core.files.outlines.dxf_audit import DEVIATION_LIMIT_MM
from core.files.outlines.dxf_write import DxfVersion, SizeKind, write_dxf
from core.files.outlines.export import WouldReplaceError, export, file_stem
from core.files.outlines.rings import rings
from core.files.project.demos import load_demo
from core.geometry.ovals.ovals import SIZED_FAMILIES, Family
from core.part.project import Mode
from core.words.ends import End
from core.words.errors import Cancelled, FileError

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from core.part.project import Project

FILES = [
    "test-housing-base-drill.dxf",
    "test-housing-base.dxf",
    "test-housing-base.svg",
    "test-housing-lid-drill.dxf",
    "test-housing-lid.dxf",
    "test-housing-lid.svg",
    "test-housing.md",
    "test-housing.txt",
]


def _there(folder: Path) -> list[str]:
    return sorted(p.name for p in folder.iterdir())


def test_an_export_writes_a_drawing_a_piece_and_what_lies_beside_them(tmp_path: Path, result: Result) -> None:
    report = export(result, tmp_path)
    assert _there(tmp_path) == FILES
    assert sorted(report.files) == FILES
    assert report.folder == tmp_path
    assert report.size_kind is SizeKind.FINISHED


@pytest.mark.parametrize("family", [family for family in SIZED_FAMILIES if family is not Family.CIRCLE])
def test_every_ring_of_every_family_is_within_a_micrometre(
    tmp_path: Path, result_of: Callable[[Family], Result], family: Family
) -> None:
    after = result_of(family).after
    report = export(result_of(family), tmp_path)
    drawn_in = max(ring.moved for end in End for ring in rings(after, end))  # slivers
    assert 0.0 < report.worst_mm <= DEVIATION_LIMIT_MM + drawn_in
    assert drawn_in <= DEVIATION_LIMIT_MM
    holes = sum(part.made is Made.DRILLED for piece in after.pieces for part in piece.parts)
    assert len(report.rings) == sum(len(rings(after, end, as_cast=True)) for end in End) + holes


def test_for_json_there_is_one_flat_object_an_outline(tmp_path: Path, lens_ring: Result) -> None:
    found = json.loads(json.dumps([ring.to_builtins() for ring in export(lens_ring, tmp_path).rings]))
    assert len(found) == 5
    seat = next(one for one in found if one["layer"] == "BASE-SEAT-OUTER")
    outline = lens_ring.after.base.curves.seat_outer
    assert (seat["file"], seat["piece"], seat["feature"]) == ("lens-ring-base.dxf", "base", "seat outer")
    assert seat["area_mm2"] == pytest.approx(outline.area, abs=1e-6)
    assert seat["length_mm"] == pytest.approx(outline.length, abs=1e-6)
    # 7 deep in a ring 12 thick: from 5 to 12 above the outer face, from 0 to 7 below the joint face.
    assert (seat["cut"], seat["z_from_mm"], seat["z_to_mm"]) == (True, 5.0, 12.0)
    assert (seat["face"], seat["depth_from_mm"], seat["depth_to_mm"], seat["stays"]) == ("joint", 0.0, 7.0, "outside")
    dowel = next(one for one in found if one["feature"] == "dowel")
    assert (dowel["file"], dowel["cut"], dowel["diameter_mm"]) == ("lens-ring-base-drill.dxf", False, 2.5)
    assert dowel["why"] == "drill 2.50 mm after casting, at its finished place"


def test_an_old_and_a_new_version_and_the_old_outlines_are_on_offer(tmp_path: Path, result: Result) -> None:
    report = export(result, tmp_path, versions=(DxfVersion.R2010, DxfVersion.R12), with_old=True)
    assert {"test-housing-base-r12.dxf", "test-housing-lid-r12.dxf"} < set(_there(tmp_path))
    old = [ring for ring in report.rings if ring.told is None]
    assert old
    assert all(ring.layer.endswith("-OLD") for ring in old)
    assert not any(ring.is_cut for ring in old)
    assert not any(ring.layer.endswith("-OLD") for ring in report.rings if ring.told is not None)
    assert "AC1009" in (tmp_path / "test-housing-base-r12.dxf").read_text()
    with pytest.raises(ValueError, match="needs a version"):
        export(result, tmp_path, versions=())


def test_the_list_tells_whoever_cuts_what_to_do_with_every_outline(tmp_path: Path, result: Result) -> None:
    report = export(result, tmp_path, with_old=True)
    text = (tmp_path / "test-housing.txt").read_text()
    lines = text.splitlines()
    for ring in report.rings:
        at = next(i for i, line in enumerate(lines) if line.split()[:1] == [ring.layer] and ring.feature in line)
        assert ("NOT CUT" in lines[at + 1]) is not ring.is_cut
        assert "µm" in lines[at + 1]
        assert ring.told is None or " below the " in lines[at + 1]
    x0, _, x1, _ = result.after.base.slabs[0].region.bounds  # with the lugs
    assert f"{x1 - x0:.2f} mm by " in text
    assert "CHECK-SQUARE-100 is a square of 100 mm" in text
    assert "Print test-housing-base.dxf 1:1" in text
    assert "finished size, without contraction or finishing allowance" in text
    assert "The lid is drawn with its joint face up, turned over about its long axis against the plan" in text
    assert "styrene" in text


@pytest.mark.parametrize(
    ("layer", "words"),
    [
        (
            "BASE-SEAT-OUTER",
            "cut from the joint face, from 0.00 mm to 27.00 mm below the joint face; what lies outside it stays",
        ),
        (
            "LID-BAND",
            "the outer face, which the file shows from behind, from 0.00 mm to 2.00 mm below the highest place",
        ),
        ("BASE-DRILL-5_00", "diameter 5.00 mm, NOT CUT: tapped M6: drill 5.00 mm after casting"),
        ("LID-DRILL-6_60", "diameter 6.60 mm, NOT CUT: clearance for M6: drill 6.60 mm after casting"),
        ("BASE-DRILL-8_50", "diameter 8.50 mm, NOT CUT: drill 8.50 mm after casting, at its finished place"),
        ("BASE-HOLE-CORED", "diameter 20.00 mm, cut: cored, so it is in the pattern; open to both faces"),
    ],
)
def test_the_list_says(tmp_path: Path, result: Result, layer: str, words: str) -> None:
    export(result, tmp_path)
    lines = (tmp_path / "test-housing.txt").read_text().splitlines()
    assert any(words in after for line, after in pairwise(lines) if line.split()[:1] == [layer])


def test_a_rework_in_inches_holds_no_lip_and_no_opening_that_the_casting_has(tmp_path: Path) -> None:
    # Its depths are sums of inches, whose last digits differ between the housing as built and reworked.
    project = set_value(load_demo("pump-strainer"), "choices.mode", Mode.REWORK)
    report = export(evaluate(project), tmp_path)
    assert {(ring.piece, ring.kind) for ring in report.rings} == {(end, "seat outer") for end in End}
    listed = (tmp_path / "museum-pump-strainer.txt").read_text()
    assert listed.count("the lip and all else stays") == len(End)
    assert "≈ 9 7/16 in (239.74 mm) by" in listed


def test_rework_says_so_in_every_file_and_holds_only_what_is_machined(tmp_path: Path, reworked: Result) -> None:
    report = export(reworked, tmp_path)
    assert report.size_kind is SizeKind.REWORK
    for name in ("test-housing-base-rework.dxf", "test-housing-lid-rework.dxf", "test-housing.txt"):
        assert "rework of a casting that is there, finished size, not to be scaled" in (tmp_path / name).read_text()
    assert "Rework of castings from the shelf: all sizes are 1:1" in (tmp_path / "test-housing.md").read_text()
    assert {name for name in report.files if name.endswith(".dxf")} == {
        "test-housing-base-rework.dxf",
        "test-housing-lid-rework.dxf",
    }
    assert not {"outside", "band", "rib", "badge", "drilled hole"} & {ring.kind for ring in report.rings}
    assert "seat outer" in {ring.kind for ring in report.rings}


def test_castings_that_fit_as_they_are_have_nothing_to_machine(tmp_path: Path, reworked: Result) -> None:
    same = evaluate(replace(reworked.project, new_insert=reworked.project.old_insert))
    with pytest.raises(FileError, match="nothing to machine"):
        export(same, tmp_path)


def test_the_same_design_gives_the_same_bytes(tmp_path: Path, result: Result, monkeypatch: pytest.MonkeyPatch) -> None:
    versions = (DxfVersion.R2010, DxfVersion.R12)
    first = export(result, tmp_path / "one", versions=versions)
    monkeypatch.setenv("TZ", "Pacific/Auckland")
    time.tzset()
    time.sleep(1.1)  # past the second that a stamp would have
    export(result, tmp_path / "two", versions=versions)
    for name in first.files:
        assert (tmp_path / "one" / name).read_bytes() == (tmp_path / "two" / name).read_bytes()


def test_nothing_is_replaced_unasked(tmp_path: Path, lens_ring: Result) -> None:
    (tmp_path / "lens-ring.txt").write_text("mine")
    with pytest.raises(WouldReplaceError, match=r"lens-ring\.txt is there already") as caught:
        export(lens_ring, tmp_path)
    assert caught.value.files == ("lens-ring.txt",)
    assert (tmp_path / "lens-ring.txt").read_text() == "mine"
    assert _there(tmp_path) == ["lens-ring.txt"]
    export(lens_ring, tmp_path, replace=True)
    assert (tmp_path / "lens-ring.txt").read_text() != "mine"


def test_what_may_not_be_cut_is_written_and_says_so_in_capitals(
    tmp_path: Path, project_of: Callable[[Family], Project]
) -> None:
    project = project_of(Family.OBROUND)
    bad = evaluate(replace(project, limits=replace(project.limits, bearing_least=40.0)))
    assert bad.overall == "no-go"
    export(bad, tmp_path)
    for name in ("test-housing.txt", "test-housing.md"):
        text = (tmp_path / name).read_text()
        assert "NO-GO" in text
        assert "DO NOT CUT" in text
    assert "NO-GO" in (tmp_path / "test-housing-base.svg").read_text()


@pytest.mark.parametrize(
    ("name", "stem"),
    [
        ("Boatyard intake 2", "boatyard-intake-2"),
        ("  Gehäuse / ../öl ", "gehause-ol"),
        ("船", "housing"),
        ("a.b_c", "a-b-c"),
    ],
)
def test_file_names_are_plain_whatever_the_project_is_called(name: str, stem: str) -> None:
    assert file_stem(name) == stem


def _full_disk(monkeypatch: pytest.MonkeyPatch, after: int) -> None:
    """Let ``after`` files be written, then be full."""
    real, count = os.fsync, [0]

    def sync(fd: int) -> None:
        count[0] += 1
        if count[0] > after:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        real(fd)

    monkeypatch.setattr(os, "fsync", sync)


@pytest.mark.parametrize("after", [0, 1, 3])
def test_a_full_disk_is_told_by_the_files_own_name_and_nothing_is_replaced(
    tmp_path: Path, result: Result, monkeypatch: pytest.MonkeyPatch, after: int
) -> None:
    for name in FILES:
        (tmp_path / name).write_text("the one before")
    _full_disk(monkeypatch, after)
    with pytest.raises(FileError, match="the disk is full") as caught:
        export(result, tmp_path, replace=True)
    assert os.path.dirname(caught.value.where) == str(tmp_path)  # noqa: PTH120 - the text is what the user reads
    assert os.path.basename(caught.value.where) in FILES  # noqa: PTH119
    assert _there(tmp_path) == FILES
    assert all((tmp_path / name).read_text() == "the one before" for name in FILES)


def test_a_file_that_does_not_read_back_as_designed_is_not_called_written(
    tmp_path: Path, result: Result, monkeypatch: pytest.MonkeyPatch
) -> None:
    def spoiled(path: Path, *args: Any, **more: Any) -> object:  # noqa: ANN401
        written = write_dxf(path, *args, **more)
        path.write_bytes(path.read_bytes().replace(b"BASE-SEAT-OUTER", b"BASE-SEAT-WRONG"))
        return written

    monkeypatch.setattr(export_module, "write_dxf", spoiled)
    (tmp_path / FILES[0]).write_text("the one before")
    with pytest.raises(FileError, match=r"(?s)base\.dxf: was written but did not .* seat outer is missing") as caught:
        export(result, tmp_path, replace=True)
    assert "nothing was replaced" in caught.value.what
    assert (tmp_path / FILES[0]).read_text() == "the one before"
    assert _there(tmp_path) == [FILES[0]]


def test_many_problems_are_counted_instead_of_told(
    tmp_path: Path, result: Result, monkeypatch: pytest.MonkeyPatch
) -> None:
    def spoiled(path: Path, *args: Any, **more: Any) -> object:  # noqa: ANN401
        written = write_dxf(path, *args, **more)
        path.write_bytes(path.read_bytes().replace(b"BASE-", b"BADE-"))
        return written

    monkeypatch.setattr(export_module, "write_dxf", spoiled)
    with pytest.raises(FileError, match=r"and \d+ more"):
        export(result, tmp_path)


def test_an_export_called_off_leaves_the_folder_as_it_was(tmp_path: Path, result: Result) -> None:
    seen: list[float] = []

    def tick(fraction: float) -> None:
        seen.append(fraction)
        if fraction > 0.5:
            raise Cancelled("by the test")

    with pytest.raises(Cancelled, match="by the test"):
        export(result, tmp_path, tick=tick)
    assert _there(tmp_path) == []
    assert seen == sorted(seen)


def test_ticks_go_from_nothing_to_all(tmp_path: Path, lens_ring: Result) -> None:
    seen: list[float] = []
    export(lens_ring, tmp_path, tick=seen.append)
    assert seen == sorted(seen)
    assert (seen[0], seen[-1]) == (0.0, 1.0)


def test_a_folder_that_is_not_there_is_made_and_a_name_that_is_taken_is_told(tmp_path: Path, lens_ring: Result) -> None:
    assert _there(export(lens_ring, tmp_path / "new" / "folder").folder)
    other = tmp_path / "other"
    (other / "lens-ring.txt").mkdir(parents=True)
    with pytest.raises(FileError, match="a folder has this name"):
        export(lens_ring, other, replace=True)
    assert _there(other) == ["lens-ring.txt"]


def test_a_protected_file_is_kept(tmp_path: Path, result: Result, monkeypatch: pytest.MonkeyPatch) -> None:
    kept = tmp_path / "test-housing.md"
    kept.write_text("mine")
    real = os.access
    # Who runs as root may write everywhere, so the system's answer is put in its mouth.
    monkeypatch.setattr(os, "access", lambda p, mode: mode != os.W_OK and real(p, mode))
    with pytest.raises(FileError, match=r"test-housing\.md: can't be written: you have no permission"):
        export(result, tmp_path, replace=True)
    assert (kept.read_text(), _there(tmp_path)) == ("mine", ["test-housing.md"])


def test_a_link_keeps_pointing_to_its_file(tmp_path: Path, lens_ring: Result) -> None:
    (tmp_path / "real").mkdir()
    (tmp_path / "out").mkdir()
    target, link = tmp_path / "real" / "notes.md", tmp_path / "out" / "lens-ring.md"
    target.write_text("before")
    link.symlink_to(target)
    export(lens_ring, tmp_path / "out", replace=True)
    assert link.is_symlink()
    assert target.read_text().startswith("# Lens ring")


def test_the_listing_tells_the_radii_that_no_outline_shows(tmp_path: Path) -> None:
    result = evaluate(load_demo("compressor-intake"))
    report = export(result, tmp_path)
    text = (tmp_path / next(name for name in report.files if name.endswith(".txt"))).read_text(encoding="utf-8")
    assert "Radii of the lid, in no outline: 1.00 mm in the corners of the seat floor, 1.50 mm on the edges" in text
