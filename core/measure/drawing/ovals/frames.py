"""Frames of the sheet: plain rectangles round the part, single or double, which are no part of it.

A rectangle round everything may also be the outside of a square-cornered block with a seat in it. What tells them
apart is what lies inside, and the sheet's size; where neither does, it is taken for the block and said.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from core.geometry.ovals.pose import least_rectangle
from core.measure.drawing.ovals.recover import distance_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from core.geometry.lines.outline import Outline
    from core.measure.drawing.ovals.shape import Shape

FRAME: Final = "a plain rectangle round the part: a frame of the sheet, its border"
BLOCK: Final = "the outermost large outline; being a plain rectangle, it might be the sheet's frame too"

# Common practice, no source, all of it.
SAME_CENTRE: Final = 0.01  # of the outside's length
_FULL: Final = 0.4  # of a rectangle's area: what fills less of it is a part on a sheet
_MARGIN: Final = 0.1  # of a frame's larger side: nearer to it, a second rectangle is the same frame's other line
_WALLS: Final = 3  # ovals of a block about one centre: two walls of the seat and the opening
_THICK: Final = 25.0  # no wall of a casting is as thick as this all round [mm]
_BESIDE: Final = 0.02  # of a rectangle's area: less beside a seat is a slot, more is a title block or another view
LARGE: Final = 0.08  # of the outside's area: an oval less than this is no wall of the seat
NARROW: Final = 4.0  # no rim is as narrow as this [mm]; a raised band is

# Trimmed sheets A0 to A4 (ISO 216) and the space inside their frames (ISO 5457: 20 mm at the left edge, 10 mm at the
# others); sheets A to E in inches (ASME Y14.1). All from memory.
_ISO: Final = ((1189, 841), (841, 594), (594, 420), (420, 297), (297, 210))
_ISO_SPACE: Final = ((1159, 821), (811, 574), (564, 400), (390, 277), (277, 180))
_INCH: Final = ((11.0, 8.5), (17.0, 11.0), (22.0, 17.0), (34.0, 22.0), (44.0, 34.0))
_SHEETS: Final = np.array([*_ISO, *_ISO_SPACE, *(tuple(25.4 * v for v in size) for size in _INCH)])
_SCALES: Final = (1.0, 2.0, 5.0, 10.0, 0.5, 0.2, 0.1)  # ISO 5455 about full size, from memory: the frame scaled with it
_SHEET_MM: Final = 0.2


def is_rectangle(outline: Outline) -> bool:
    """Whether an outline has four straight sides square to each other, in as many lines as may be."""
    if (outline.vertices[:, 2] != 0.0).any():
        return False
    length, width = _sides(outline)
    return bool(abs(outline.area) >= 0.9999 * length * width)


def _sides(outline: Outline) -> tuple[float, float]:
    """Both extents of a straight-sided outline, along its own axes [mm], the larger first."""
    corners = outline.vertices[:, :2]
    length, width = sorted(np.ptp(least_rectangle(corners).into(corners), axis=0).tolist(), reverse=True)
    return length, width


def is_sheet(outline: Outline) -> bool:
    """Whether a rectangle has the size of a usual sheet, or of the space inside its frame, at a usual scale."""
    length, width = _sides(outline)
    return any(bool((np.abs(_SHEETS * scale - (length, width)).max(axis=1) <= _SHEET_MM).any()) for scale in _SCALES)


def is_second_line(outer: Outline, inner: Outline) -> bool:
    """Whether a rectangle is the inner line of a double frame: it runs near to the outer one all round."""
    corners = outer.vertices[:, :2]
    pose = least_rectangle(corners)
    (low, high), (inner_low, inner_high) = (
        (p.min(axis=0), p.max(axis=0)) for p in (pose.into(corners), pose.into(inner.vertices[:, :2]))
    )
    margins = np.concatenate((inner_low - low, high - inner_high))
    return bool((margins >= 0.0).all() and margins.max() <= _MARGIN * float((high - low).max()))


def is_frame(own: Shape, inside: Sequence[Shape], around: Sequence[Shape]) -> bool:
    """Whether a plain rectangle is a frame of the sheet.

    Args:
        own: the rectangle.
        inside: all shapes in it at any depth, largest first, without what its layer leaves out.
        around: the frames that it lies in, the nearest last.
    """
    within = [shape for shape in inside if shape.loop.parent == own.number]
    if not within:
        return False
    if is_sheet(own.loop.outline) or (around and is_second_line(around[-1].loop.outline, own.loop.outline)):
        return True
    fuller = max(within, key=lambda shape: (shape.holds, shape.area))
    if fuller.holds and _is_round_a_part(own, fuller):
        return True
    # Nothing stands beside the seat of a block but round holes and slots.
    if any(shape is not fuller and shape.circle is None and shape.area > _BESIDE * own.area for shape in within):
        return True
    return _holds_an_outside(inside, fuller)


def _is_round_a_part(own: Shape, fuller: Shape) -> bool:
    """Whether a rectangle is too far from what fills it to be its block, or that is no seat: seats have no corners."""
    outline = fuller.loop.outline
    off = distance_of(fuller.middle, own.middle) / own.size
    if off > 2.0 * SAME_CENTRE or fuller.area < _FULL * own.area or not fuller.is_convex or is_rectangle(outline):
        return True
    return float(own.loop.outline.nearest(fuller.points).distance.min()) > _THICK


def _holds_an_outside(inside: Sequence[Shape], fuller: Shape) -> bool:
    """Whether there are more ovals about one centre than a block has walls, or what would be its seat is none.

    A seat has no holes in its floor, and it is wider than the lip inside it; a wall is narrower than the seat inside it
    (common practice, no source).
    """
    near = SAME_CENTRE * fuller.size
    walls: list[Shape] = []
    for shape in inside:
        if shape.is_convex and shape.area > LARGE * fuller.area and distance_of(shape.middle, fuller.middle) <= near:
            if len(walls) == 1 and apart(walls[0], shape) < NARROW:
                walls.pop()  # a raised band beside the wall
            walls.append(shape)
    if len(walls) > 1 and any(s.circle and s.loop.parent == walls[0].number and s is not walls[1] for s in inside):
        return True
    if len(walls) == _WALLS and apart(*walls[:2]) < apart(*walls[1:]):
        return True
    pieces = [s for s in inside if walls and s.loop.parent == walls[-1].number and s.has_side]
    return len(walls) + (len(pieces) > 1) > _WALLS


def apart(outer: Shape, inner: Shape) -> float:
    """The usual distance between two ovals [mm]."""
    return float(np.median(outer.loop.outline.nearest(inner.points).distance))
