from __future__ import annotations

import re
from math import acos, cos, hypot, pi, sin, sqrt, tan
from typing import TYPE_CHECKING
from xml.etree import ElementTree as ET

import pytest
from msgspec.structs import replace

from core.evaluate import Result, evaluate
from core.files.outlines.rings import rings
from core.files.report.picture import GAP_TIMES, fit_picture_svg, gap_tint, outline_path
from core.geometry.lines.outline import Outline
from core.geometry.ovals.ovals import Family
from core.words.ends import End
from core.words.lengths import Style

if TYPE_CHECKING:
    from collections.abc import Callable

    from core.part.project import Project

_SVG = "{http://www.w3.org/2000/svg}"


def _drawn(result: Result, end: End = End.BASE) -> ET.Element:
    return ET.fromstring(fit_picture_svg(result, end).encode())  # noqa: S314 - we wrote it ourselves


def _of_class(root: ET.Element, name: str) -> list[ET.Element]:
    return [e for e in root.iter() if e.get("class") == name]


def _texts(root: ET.Element) -> list[str]:
    return [e.text or "" for e in root.iter(f"{_SVG}text")]


def test_the_picture_is_xml_with_every_outline_old_and_new(result: Result) -> None:
    root = _drawn(result)
    assert root.tag == f"{_SVG}svg"
    assert len(_of_class(root, "new")) == len(rings(result.after, End.BASE))
    assert len(_of_class(root, "old")) == len(rings(result.before, End.BASE))
    assert all("stroke-dasharray" in e.attrib for e in _of_class(root, "old"))
    assert not any("stroke-dasharray" in e.attrib for e in _of_class(root, "new"))


def test_arcs_are_arcs_and_an_obround_has_two(result: Result) -> None:
    path = outline_path(result.after.base.curves.seat_outer)
    assert path.count("A") == 2
    assert path.count("L") == 2
    assert path.endswith("Z")


def _svg_centre(x1: float, y1: float, r: float, large: int, sweep: int, x2: float, y2: float) -> tuple[float, float]:
    """Centre of an SVG arc, by the conversion in SVG 1.1, appendix F.6.5, for a circle."""
    dx, dy = (x1 - x2) / 2.0, (y1 - y2) / 2.0
    k = sqrt(max(0.0, (r**4 - r * r * dy * dy - r * r * dx * dx) / (r * r * (dx * dx + dy * dy))))
    k = k if large != sweep else -k
    return k * dy + (x1 + x2) / 2.0, -k * dx + (y1 + y2) / 2.0


@pytest.mark.parametrize("sweep", [0.3, pi / 2, 2.9, 3.5, 5.0, -0.3, -pi / 2, -4.0])
def test_an_arcs_flags_give_back_its_centre(sweep: float) -> None:
    outline = Outline([[3.0, 1.0, tan(sweep / 4.0)], [9.0, 5.0, 0.0], [-20.0, 40.0, 0.0]])
    numbers = re.match(r"M(\S+) (\S+) A(\S+) \S+ 0 ([01]) ([01]) (\S+) (\S+)", outline_path(outline))
    assert numbers is not None
    x1, y1, r, large, flag, x2, y2 = (float(n) for n in numbers.groups())
    cx, cy = _svg_centre(x1, y1, r, int(large), int(flag), x2, y2)
    centre = outline.segments.centre[0]
    assert (cx, -cy) == pytest.approx(centre.tolist(), abs=2e-3)  # radius and ends are written to 0.1 µm
    assert int(large) == (abs(sweep) > pi)


def test_the_gap_is_drawn_as_many_times_as_wide_as_the_legend_says(result: Result) -> None:
    root = _drawn(result)
    ribbons = _of_class(root, "gap")
    assert len(ribbons) == 2 * 720 / 8
    widths = set()
    for ribbon in ribbons:
        points = [tuple(map(float, xy)) for xy in re.findall(r"(-?[\d.]+) (-?[\d.]+)", ribbon.get("d") or "")]
        half = len(points) // 2
        (ax, ay), (bx, by) = points[half // 2], points[-1 - half // 2]
        widths.add(round(hypot(ax - bx, ay - by), 2))
    assert widths == {round(0.8 * GAP_TIMES, 2), round(0.9 * GAP_TIMES, 2)}
    assert any("drawn 4 times as wide" in text for text in _texts(root))
    assert not _of_class(root, "presses")


def test_a_rim_that_presses_on_its_wall_is_hatched(project_of: Callable[[Family], Project]) -> None:
    project = project_of(Family.OBROUND)
    tight = evaluate(replace(project, choices=replace(project.choices, gap_outer=-0.4)))
    assert len(_of_class(_drawn(tight), "presses")) == 720 / 8


def test_the_scale_of_gaps_goes_from_orange_over_nearly_white_to_blue() -> None:
    r, _, b = gap_tint(0.3, 0.3, 1.5)
    assert r > b + 100
    assert gap_tint(-5.0, 0.3, 1.5) == (r, _, b)
    assert min(gap_tint(0.9, 0.3, 1.5)) > 230
    r, _, b = gap_tint(1.5, 0.3, 1.5)
    assert b > r + 100
    assert gap_tint(0.5, 0.5, 0.5) == gap_tint(0.9, 0.3, 1.5)


def test_machine_features_are_filled_rings_with_a_cross(result: Result) -> None:
    titles = [g.findtext(f"{_SVG}title") for g in _of_class(_drawn(result), "fixed")]
    assert titles == ["throat", "left stud", "right stud"]  # not the lugs, which follow the outside


def test_keep_outs_are_hatched_at_their_place_and_angle(result: Result) -> None:
    (keep_out,) = _of_class(_drawn(result), "keep-out")
    assert keep_out.get("fill") == "url(#kept-out)"
    points = [tuple(map(float, xy)) for xy in re.findall(r"(-?[\d.]+) (-?[\d.]+)", keep_out.get("d") or "")]
    # 40 x 20 at (0, 120), turned by 30 degrees; y runs down.
    c, s = cos(pi / 6), sin(pi / 6)
    assert points[2] == pytest.approx((20 * c - 10 * s, -(120 + 20 * s + 10 * c)), abs=1e-3)
    side = [points[1][i] - points[0][i] for i in (0, 1)]
    assert acos(side[0] / hypot(*side)) == pytest.approx(pi / 6, abs=1e-4)


def test_the_thinnest_metal_is_marked_with_its_size(result: Result) -> None:
    (mark,) = _of_class(_drawn(result), "thinnest")
    webs = [f for f in result.findings if f.check == "web" and f.place.end is End.BASE and f.place.other is not None]
    assert mark.findtext(f"{_SVG}text") == f"thinnest {min(f.value for f in webs):.2f} mm"


def test_verdicts_are_words_as_well_as_shapes(project_of: Callable[[Family], Project], result: Result) -> None:
    assert result.overall.value.upper() in _texts(_drawn(result))
    project = project_of(Family.OBROUND)
    bad = evaluate(replace(project, limits=replace(project.limits, bearing_least=40.0)))
    assert any(re.match(r"NO-GO; \d+ CHECKS? NOT PASSED", text) for text in _texts(_drawn(bad)))
    assert any(text.startswith("no-go: ") for text in _texts(_drawn(bad)))


def test_names_are_escaped_and_the_legend_names_the_lines(project_of: Callable[[Family], Project]) -> None:
    odd = evaluate(replace(project_of(Family.OBROUND), name="A & B <c>"))
    texts = _texts(_drawn(odd, End.LID))
    assert "A & B <c>: lid, finished size, seen in plan" in texts
    for label in ("new outline", "old outline", "insert's rim", "fixed to the machine", "keep-out"):
        assert label in texts


@pytest.mark.parametrize(("style", "words", "length"), [(Style.MM, "50.00 mm", 50.0), (Style.INCH, "2.000 in", 50.8)])
def test_the_scale_bar_is_as_long_as_it_says(
    project_of: Callable[[Family], Project], style: Style, words: str, length: float
) -> None:
    root = _drawn(evaluate(replace(project_of(Family.OBROUND), style=style)))
    (bar,) = _of_class(root, "scale-bar")
    assert f"h{length:.3f}" in (bar.get("d") or "")
    assert words in _texts(root)
    width, box = root.get("width"), (root.get("viewBox") or "").split()
    assert float((width or "").removesuffix("mm")) == pytest.approx(float(box[2]), abs=0.06)  # printed 1:1


def test_a_piece_that_is_not_there_has_no_picture(lens_ring: Result) -> None:
    with pytest.raises(ValueError, match="there is no lid"):
        fit_picture_svg(lens_ring, End.LID)
    assert _of_class(_drawn(lens_ring), "insert")
