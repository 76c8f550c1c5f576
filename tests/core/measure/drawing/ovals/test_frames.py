"""Frames of the sheet round a part, in hand-made DXF files: single, double, centred on the part, with a title block."""

from __future__ import annotations

from math import cos, radians, sin
from typing import TYPE_CHECKING

import numpy as np
import pytest

from core.measure.drawing.housing.roles import sort_loops, with_role
from core.measure.drawing.loops.nest import find_loops
from core.measure.drawing.reading.read import read_drawing
from core.measure.drawing.remarks import RemarkKind
from core.measure.drawing.results import DrawingUnit, Role, Sorted
from core.measure.drawing.said import remarks_on
from tests.core.measure.drawing.dxf_text import Pairs, entity, header, line, section, write

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

WALLS = [Role.OUTSIDE, Role.SEAT_OUTER, Role.SEAT_INNER, Role.OPENING]
# A part of 240 x 150: obrounds one in the other, as length and width [mm].
PART = ((240.0, 150.0), (224.0, 134.0), (194.0, 104.0), (182.0, 92.0))
RING = ((240.0, 150.0), (224.0, 134.0), (212.0, 122.0))


def _obround(length: float, width: float, x: float = 0.0, y: float = 0.0, turn: float = 0.0) -> Pairs:
    """A closed LWPOLYLINE of two lines and two half circles: the bulge of a half circle is 1 (DXF reference)."""
    h, r, c, s = (length - width) / 2.0, width / 2.0, cos(radians(turn)), sin(radians(turn))
    corners = [(-h, -r, 0.0), (h, -r, 1.0), (h, r, 0.0), (-h, r, 1.0)]
    rows = [[(10, x + c * px - s * py), (20, y + s * px + c * py), (42, b)] for px, py, b in corners]
    return entity("LWPOLYLINE", (90, 4), (70, 1), *(pair for row in rows for pair in row))


def _box(length: float, width: float, x: float = 0.0, y: float = 0.0) -> Pairs:
    """A rectangle about a place, of four LINEs."""
    x0, y0, x1, y1 = x - length / 2.0, y - width / 2.0, x + length / 2.0, y + width / 2.0
    return [*line(x0, y0, x1, y0), *line(x1, y0, x1, y1), *line(x1, y1, x0, y1), *line(x0, y1, x0, y0)]


def _round(x: float, y: float, diameter: float) -> Pairs:
    return entity("CIRCLE", (10, x), (20, y), (40, diameter / 2.0))


def _part(sizes: tuple[tuple[float, float], ...] = PART, **place: float) -> list[Pairs]:
    return [_obround(length, width, **place) for length, width in sizes]


def _sorted(tmp_path: Path, *records: Pairs) -> tuple[Sorted, list[str]]:
    """Outlines with their roles, and what is said of frames."""
    path = write(tmp_path / "a.dxf", header(INSUNITS=(70, 4)), section("ENTITIES", *records))
    drawing = read_drawing(path)
    found = sort_loops(find_loops(drawing, DrawingUnit.MM))
    said = [r.text for r in remarks_on(drawing, found, DrawingUnit.MM) if r.kind == RemarkKind.FRAME]
    return found, said


def _roles(found: Sorted) -> list[Role]:
    return [found.roles[loop.number] for loop in found.loops.loops]


FRAMES = {
    "centred": [_box(300.0, 200.0)],
    "centred and close": [_box(260.0, 170.0)],
    "beside the middle": [_box(340.0, 220.0, 30.0, -10.0)],
    "double": [_box(300.0, 200.0), _box(280.0, 190.0)],
    "double, with the wider edge for holes": [_box(420.0, 297.0), _box(390.0, 277.0, 5.0)],
    "double and close": [_box(264.0, 174.0), _box(254.0, 164.0)],
    "threefold": [_box(320.0, 220.0), _box(310.0, 210.0), _box(300.0, 200.0)],
}


@pytest.mark.parametrize("frames", FRAMES.values(), ids=FRAMES.keys())
@pytest.mark.parametrize("turn", [0.0, 20.0])
def test_a_frame_is_known_single_or_double_centred_or_not(tmp_path: Path, frames: list[Pairs], turn: float) -> None:
    # Turned on its sheet, the part is less wide: it still lies inside every frame.
    sizes = PART if turn == 0.0 else tuple((0.7 * length, 0.7 * width) for length, width in PART)
    found, said = _sorted(tmp_path, *frames, *_part(sizes, turn=turn))
    assert _roles(found) == [*[Role.IGNORED] * len(frames), *WALLS]
    assert len(said) == len(frames)
    assert all("is taken for a frame of the sheet" in text for text in said)


def _closed_box(length: float, width: float, x: float = 0.0, y: float = 0.0) -> Pairs:
    """A rectangle about a place, of one closed LWPOLYLINE."""
    corners = [(x + a * length / 2.0, y + b * width / 2.0) for a, b in ((-1, -1), (1, -1), (1, 1), (-1, 1))]
    return entity("LWPOLYLINE", (90, 4), (70, 1), *(pair for px, py in corners for pair in ((10, px), (20, py))))


@pytest.mark.parametrize("box", [_box, _closed_box])
def test_fields_of_a_title_block_are_no_neighbours_of_the_part(tmp_path: Path, box: Callable[..., Pairs]) -> None:
    # Two fields in the lower right corner, one upon the other, and a closed line in the lower one.
    fields = [box(100.0, 12.0, 145.0, -132.5), box(100.0, 10.0, 145.0, -121.5)]
    if box is _closed_box:
        fields.append(box(3.0, 4.0, 140.0, -132.0))
    pipe = _box(60.0, 12.0, 0.0, 95.0)
    found, said = _sorted(tmp_path, box(390.0, 277.0), *_part(), *fields, pipe)
    keep_outs = [n for n, role in found.roles.items() if role is Role.KEEP_OUT]
    assert [round(found.loops.loop(n).outline.area) for n in keep_outs] == [720]
    assert len(said) == 1
    assert [role for role in _roles(found) if role in WALLS] == WALLS
    if box is _closed_box:
        assert len(found.roles) == 9
        assert sum("title block" in reason for _, reason in found.guessed.values()) == 3


def test_a_frame_round_a_part_without_inner_wall_is_told_by_the_sheet_its_holes_or_its_lugs(tmp_path: Path) -> None:
    # The space inside an A4 frame (ISO 5457, from memory: 277 x 180).
    found, _ = _sorted(tmp_path, _box(277.0, 180.0), *_part(RING))
    assert _roles(found) == [Role.IGNORED, Role.OUTSIDE, Role.SEAT_OUTER, Role.OPENING]
    holes = [_round(x, 0.0, 4.0) for x in (-116.0, 116.0)]
    found, _ = _sorted(tmp_path, _box(280.0, 190.0), *_part(RING), *holes)
    assert _roles(found)[:4] == [Role.IGNORED, Role.OUTSIDE, Role.SEAT_OUTER, Role.OPENING]


def test_a_far_wider_frame_round_two_ovals_is_a_frame(tmp_path: Path) -> None:
    found, _ = _sorted(tmp_path, _box(300.0, 210.0), *_part(PART[:2]))
    assert _roles(found) == [Role.IGNORED, Role.OUTSIDE, Role.SEAT_OUTER]


def test_a_frame_round_an_opening_in_pieces_is_a_frame(tmp_path: Path) -> None:
    # The opening of 182 x 92 with a bar of 10 across its middle: two halves, each with a straight side of 92.
    right = [(10, 5), (20, -46), (42, 0), (10, 45), (20, -46), (42, 1), (10, 45), (20, 46), (42, 0), (10, 5), (20, 46)]
    left = [(code, -value if code == 10 else value * (-1 if code == 42 else 1)) for code, value in right]
    pieces = [entity("LWPOLYLINE", (90, 4), (70, 1), *rows) for rows in (right, left)]
    found, _ = _sorted(tmp_path, _box(280.0, 190.0), *_part(PART[:3]), *pieces)
    assert _roles(found) == [Role.IGNORED, *WALLS[:3], Role.CROSSBAR_EDGE, Role.CROSSBAR_EDGE]


def test_a_square_cornered_block_is_the_outside_and_said_to_be_doubtful(tmp_path: Path) -> None:
    corners = [_round(x, y, 9.0) for x in (-118.0, 118.0) for y in (-73.0, 73.0)]
    found, said = _sorted(tmp_path, _box(256.0, 166.0), *_part(PART[1:]), *corners)
    assert _roles(found) == [*WALLS, *[Role.HOLE] * 4]
    assert len(said) == 1
    assert "is taken for the outside. If it is a frame of the sheet" in said[0]
    assert _sorted(tmp_path, _box(420.0, 297.0), _box(256.0, 166.0), *_part(PART[1:]))[1][0].endswith("left out.")
    # Once the user has said what it is, nothing is said of it any more.
    changed = with_role(found, 1, Role.IGNORED)
    drawing = read_drawing(tmp_path / "a.dxf")
    assert not [r for r in remarks_on(drawing, changed, DrawingUnit.MM) if "taken for the outside" in r.text]


def test_a_block_in_a_frame_is_the_outside(tmp_path: Path) -> None:
    found, _ = _sorted(tmp_path, _box(420.0, 297.0), _box(256.0, 166.0), *_part(PART[1:]))
    assert _roles(found) == [Role.IGNORED, *WALLS]


def test_a_wall_is_narrower_than_the_seat_inside_it_and_a_seat_wider_than_its_lip(tmp_path: Path) -> None:
    # A closed lid: wall 8, seat 15, no opening. As a block it would have a seat of 8 round a lip of 15.
    found, _ = _sorted(tmp_path, _box(280.0, 190.0), *_part(PART[:3]))
    assert _roles(found)[:3] == [Role.IGNORED, *WALLS[:2]]
    # A heavy ring with a narrow ledge at its opening: wall 20, seat 9, ledge 1.5.
    ring = ((224.0, 164.0), (184.0, 124.0), (166.0, 106.0), (163.0, 103.0))
    found, _ = _sorted(tmp_path, _box(260.0, 200.0), *_part(ring))
    assert _roles(found)[:3] == [Role.IGNORED, *WALLS[:2]]


@pytest.mark.parametrize("seed", range(30))
def test_random_frames_are_never_the_outside(tmp_path: Path, seed: int) -> None:
    rng = np.random.default_rng(seed)
    length = float(rng.uniform(90.0, 400.0))
    width = length * float(rng.uniform(0.5, 1.0))
    wall, rim, lip = rng.uniform((5.0, 10.0, 4.0), (9.0, 0.15 * width, 0.05 * width + 4.0)).tolist()
    inset = np.cumsum([0.0, wall, rim, lip]).tolist()
    part = [_obround(length - 2.0 * by, width - 2.0 * by) for by in inset]
    margin = rng.uniform(3.0, 60.0, 4)
    if seed % 3 == 0:
        margin[:] = margin[0]
    has_opening = seed % 5 != 0
    frames: list[Pairs] = []
    for _ in range(1 + seed % 2):
        x0, y0, x1, y1 = -length / 2 - margin[0], -width / 2 - margin[1], length / 2 + margin[2], width / 2 + margin[3]
        frames.append(_box(x1 - x0, y1 - y0, (x0 + x1) / 2.0, (y0 + y1) / 2.0))
        margin += rng.uniform(4.0, 20.0, 4)
    found, _ = _sorted(tmp_path, *frames, *part[: 4 if has_opening else 3])
    assert _roles(found)[: len(frames) + 2] == [*[Role.IGNORED] * len(frames), *WALLS[:2]]
    assert not has_opening or _roles(found)[-2:] == WALLS[2:]
