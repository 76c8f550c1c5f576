from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from msgspec.structs import replace

from core.evaluate import Result, evaluate
from core.features.stud.kinds import StudKind
from core.files.outlines.export import export
from core.files.project.demos import load_demo
from core.files.report.report import CAUTIONS, headline, place_words, report_markdown, weights
from core.files.report.summary import as_builtins
from core.geometry.ovals.ovals import Family
from core.part.fields import fields_of
from core.part.project import Choices, HeightTo, Hold, HoldInside, Limits
from core.remedies import remedied
from core.resize.changes import changes as change_rows
from core.words.ends import End
from core.words.findings import value_text
from core.words.lengths import Style, shower
from core.words.verdicts import Place, Unit

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from core.part.project import Project


def _section(text: str, title: str) -> str:
    """What stands under a heading."""
    return text.split(f"\n## {title}\n", 1)[1].split("\n## ", 1)[0]


def test_every_finding_is_there_with_name_verdict_sentence_and_formula(result: Result) -> None:
    checks = _section(report_markdown(result), "Checks").replace("\\", "")
    show = shower(Style.MM)
    assert len(result.findings) >= 8
    for finding in result.findings:
        assert f"**{finding.name}**, {finding.verdict}: " in checks
        assert " ".join(finding.advice.show(show).split()) in checks
        assert " ".join(finding.formula.show(show).split()) in checks
        (row,) = [line for line in checks.splitlines() if line.startswith(f"| {finding.name} | ")]
        assert f"| {value_text(finding.value, finding.unit, Style.MM)} |" in row


def test_the_overall_verdict_comes_first(result: Result) -> None:
    assert report_markdown(result).splitlines()[:3] == [
        "# Test housing",
        "",
        f"Overall: **{result.overall.value.upper()}**",
    ]


def test_what_changed_is_told_apart_from_what_is_fixed(result: Result) -> None:
    text = report_markdown(result)
    moved, kept = _section(text, "What changes"), _section(text, "What stays")
    rows = change_rows(result.before, result.after, result.project.choices)
    assert len(moved.strip().splitlines()) - 2 == sum(row.is_change for row in rows)
    assert len(kept.strip().splitlines()) - 2 == sum(not row.is_change for row in rows)
    # The old rim 212 long and 0.8 of gap on either side; the new one 219.2.
    assert "| base | seat outer | length | 213.60 mm | 220.80 mm | +7.20 mm | the new rim plus the gap |" in moved
    assert "throat" in kept
    assert "fixed to the machine: never moves" in kept


def test_conflicts_are_named_with_their_places_and_in_capitals(project_of: Callable[[Family], Project]) -> None:
    project = project_of(Family.OBROUND)
    lid = project.housing.lid
    assert lid is not None
    # A pocket inset so far that it folds over has no shape any more.
    features = tuple(replace(f, inset=60.0) if f.name == "relief" else f for f in lid.features)
    bad = evaluate(replace(project, housing=replace(project.housing, lid=replace(lid, features=features))))
    text = report_markdown(bad)
    assert bad.conflicts
    for conflict in bad.conflicts:
        assert f"- **{conflict.feature}** (" in _section(text, "Conflicts")
        assert conflict.what.show(shower(Style.MM)) in _section(text, "Conflicts").replace("\\", "")
    assert "CONFLICT" in text
    assert "CAN'T FOLLOW. DO NOT CUT AS IT IS." in text
    assert "None: everything can follow." in _section(report_markdown(evaluate(project)), "Conflicts")


@pytest.mark.parametrize(
    ("style", "length"), [(Style.MM, "219.20 mm"), (Style.INCH, "8.630 in"), (Style.FRACTION, "≈ 8 5/8 in")]
)
def test_lengths_are_in_the_projects_own_style(
    project_of: Callable[[Family], Project], style: Style, length: str
) -> None:
    text = report_markdown(evaluate(replace(project_of(Family.OBROUND), style=style)))
    assert "| length | " in _section(text, "Inserts")
    assert f" | {length} |" in _section(text, "Inserts")
    for title in ("Inserts", "What changes", "Checks", "Limits"):
        assert (" mm" in _section(text, title)) is (style is Style.MM)
    assert (" kg" in _section(text, "Weights")) is (style is Style.MM)


def test_values_have_their_units() -> None:
    assert value_text(25.4, Unit.LENGTH, Style.INCH) == "1.000 in"
    assert value_text(645.16, Unit.AREA, Style.INCH) == "1.000 in²"
    assert value_text(645.16, Unit.AREA, Style.MM) == "645 mm²"
    assert value_text(12.345, Unit.PERCENT, Style.MM) == "12.3 %"
    assert value_text(3.0, Unit.VELOCITY, Style.MM) == "3.00 m/s"
    assert value_text(1.5, Unit.NONE, Style.MM) == "1.50"
    assert value_text(2.0, Unit.NONE, Style.MM) == "2"
    assert value_text(float("inf"), Unit.LENGTH, Style.MM) == "none"


def test_places_are_told_in_words() -> None:
    show = shower(Style.MM)
    assert place_words(Place(End.LID, (1.0, -2.0), feature="badge"), show) == "lid, badge, at x 1.00 mm, y −2.00 mm"
    assert place_words(Place(), show) == ""


def test_weights_are_volume_times_density(result: Result) -> None:
    (base_end, base_was, base_now), (lid_end, _, _) = weights(result)
    assert (base_end, lid_end) == (End.BASE, End.LID)
    # 1 cm³ of aluminium is 2.7 g.
    assert base_was == pytest.approx(result.before.base.volume / 1000.0 * 2.7 / 1000.0)
    assert base_now == pytest.approx(result.after.base.volume / 1000.0 * 2.7 / 1000.0)
    assert f"| base | {base_was:.3f} kg | {base_now:.3f} kg |" in report_markdown(result)


def test_one_piece_has_no_sum_and_a_rigid_insert_no_squeeze(lens_ring: Result) -> None:
    text = report_markdown(lens_ring)
    assert "together" not in _section(text, "Weights")
    assert "| squeeze wanted | none: rigid | none: rigid |" in text
    assert "The squeeze wanted is" not in text


def test_every_limit_says_where_its_default_comes_from(project_of: Callable[[Family], Project]) -> None:
    project = project_of(Family.OBROUND)
    limits = _section(report_markdown(evaluate(project)), "Limits")
    for field in fields_of(Limits).values():
        label, origin = field.more["spoken"], field.more["origin"]
        assert f"| {label} | " in limits
        assert f"default: {origin.show(shower(Style.MM))}" in limits
    own = replace(project, limits=Limits(gap_outer_least=0.4, hole_edge=2.0, flow=300.0))
    limits = _section(report_markdown(evaluate(own)), "Limits")
    assert "| least outer gap | 0.40 mm | set by you (default 0.30 mm) |" in limits
    assert "| hole centre to edge | 2 × diameter | set by you (default 1.5 × diameter) |" in limits
    assert "| flow through the opening | 300 m³/h | set by you (default none) |" in limits


def test_choices_are_told_in_words(project_of: Callable[[Family], Project], reworked: Result) -> None:
    choices = Choices(
        hold=Hold.OUTSIDE, hold_inside=HoldInside.OPENING, height_to=HeightTo.LID, gap_outer=0.7, wall=9.0
    )
    text = _section(report_markdown(evaluate(replace(project_of(Family.OBROUND), choices=choices))), "Choices")
    for words in ("outside is kept", "opening is kept", "lid's seat", "outer gap is set to 0.70 mm", "wall is set to"):
        assert words in text
    assert "castings from the shelf are reworked" in _section(report_markdown(reworked), "Choices")


def test_rings_are_listed_once_they_are_written(tmp_path: Path, result: Result) -> None:
    report = export(result, tmp_path)
    written = _section(report_markdown(result, report), "Outlines written")
    for ring in report.rings:
        assert f"| {ring.file} | {ring.layer} | {ring.feature} | " in written.replace("\\", "")
    assert "## Outlines written" not in report_markdown(result)
    assert (tmp_path / "test-housing.md").read_text() == report_markdown(remedied(result), report)


def test_marks_in_names_and_notes_do_not_break_the_tables(project_of: Callable[[Family], Project]) -> None:
    project = project_of(Family.OBROUND)
    odd = replace(project, name="a|b *c* <i>", new_insert=replace(project.new_insert, name="x | y"))
    text = report_markdown(evaluate(odd))
    assert text.startswith("# a\\|b \\*c\\* \\<i\\>\n")
    assert "| name | old one | x \\| y |" in text
    assert "cast in sand \\| öl" in _section(text, "Notes")


def test_cautions_are_always_there_and_short(result: Result, lens_ring: Result) -> None:
    for one in (result, lens_ring):
        assert all(f"- {caution}" in report_markdown(one) for caution in CAUTIONS)
    assert all(len(caution) < 120 for caution in CAUTIONS)
    words = " ".join(CAUTIONS).lower()
    assert all(word in words for word in ("molten", "styrene", "dust", "router", "seal", "codes", "licensed"))


def test_a_headline_without_trouble_has_no_capitals_beyond_its_verdict(result: Result) -> None:
    assert not result.conflicts
    assert "DO NOT CUT" not in " ".join(headline(result))


def test_studs_and_their_holes_are_listed_with_what_the_length_counts() -> None:
    """M6: tapping drill 6 − 1 = 5.0; clearance 6.6 (ISO 273, medium); 2 d of thread in aluminium."""
    project = load_demo("compressor-intake")
    studs = tuple(
        replace(stud, kind=StudKind.END_2_D, length=60.0, hole_depth=14.0) if i == 0 else stud
        for i, stud in enumerate(project.housing.studs)
    )
    result = evaluate(replace(project, housing=replace(project.housing, studs=studs)))
    text = _section(report_markdown(result), "Studs and their holes")
    first, second, *_ = [line for line in text.splitlines() if line.startswith("| stud ")][1:]
    assert "without the screwed-in end" in first
    assert "tapped M6, drill 5.00 mm, 14.00 mm deep without the drill's point" in first
    assert "clearance for M6, drill 6.60 mm, right through" in first
    assert "80.00 mm over all" in second
    assert "tapped M6, drill 5.00 mm, right through" in second
    assert "Thread wanted in the base: 2 diameters (aluminium;" in text
    first_json = as_builtins(result)["studs"][0]
    assert (first_json["kind"], first_json["counted"]) == ("end_2d", "without the screwed-in end")
    assert [(h["piece"], h["drill_mm"], h["depth_mm"], h["through"]) for h in first_json["holes"]] == [
        ("base", 5.0, 14.0, False),
        ("lid", pytest.approx(6.6), None, True),
    ]
    holes = {(c.end, c.quantity): c.now for c in result.changes if c.feature == studs[0].name and c.end is not None}
    assert holes == {
        (End.BASE, "tapped M6, drill"): 5.0,
        (End.BASE, "tapped M6, depth"): 14.0,
        (End.LID, "clearance for M6, drill"): 6.6,
    }


def test_tolerances_of_depth_and_the_wall_that_guides_are_told() -> None:
    text = _section(report_markdown(evaluate(load_demo("compressor-intake"))), "Choices")
    assert "- the outer wall guides the rim" in text
    assert "- the lid's seat depth is held within ± 0.20 mm" in text
