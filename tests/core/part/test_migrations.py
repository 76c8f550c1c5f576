"""Project files of older formats, kept as they were: what they mean in the newest one."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from core.evaluate import evaluate
from core.files.project.file import decode_project, encode_project, load_project
from core.part.migrations import STEPS_TO_3, Raw
from core.part.project import FORMAT, Limits
from core.words.ends import Side

DATA = Path(__file__).parents[2] / "data"
OLD = sorted(DATA.glob("*.format-*.json"))


@pytest.mark.parametrize("path", OLD, ids=lambda path: path.stem)
def test_a_file_of_an_older_format_opens_is_checked_and_reads_back(path: Path) -> None:
    assert json.loads(path.read_text("utf-8"))["format"] < FORMAT
    project = load_project(path)
    assert project.format == FORMAT
    assert evaluate(project).findings
    assert decode_project(encode_project(project), where="again") == project


@pytest.mark.parametrize("path", OLD, ids=lambda path: path.stem)
def test_each_wall_of_a_seat_has_the_gap_limits_that_both_had(path: Path) -> None:
    old = json.loads(path.read_text("utf-8"))["limits"]
    limits = load_project(path).limits
    for side in Side:
        assert limits.gap(side) == (old["gap_least"], old["gap_greatest"])
    assert load_project(path).choices.guided_by is Side.OUTER


def test_a_limit_that_an_old_file_leaves_out_is_the_default() -> None:
    raw = json.loads(OLD[0].read_text("utf-8"))
    raw["limits"] = {"gap_greatest": 2.5}
    limits = decode_project(json.dumps(raw).encode(), where="old").limits
    assert limits == Limits(gap_outer_greatest=2.5, gap_inner_greatest=2.5)


def test_the_base_of_an_old_file_must_be_tight_and_thread_goes_by_the_metal_unless_somebody_changed_it() -> None:
    old = {"housing": {"base": {"wall": 6.0}}, "limits": {"engagement": 2.0, "flush": 0.5}}
    new = _brought_to_3(old)
    assert new["housing"]["base"] == {"tight": "yes", "wall": 6.0}
    assert new["limits"]["engagement"] is None
    assert new["limits"]["flush"] == 0.5
    chosen = _brought_to_3({"limits": {"engagement": 1.8}})
    assert chosen["limits"]["engagement"] == 1.8


def _brought_to_3(raw: Raw) -> Raw:
    for step in STEPS_TO_3:
        raw = step(raw)
    return raw
