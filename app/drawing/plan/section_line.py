"""The section line on the plan: its two marked ends, and what dragging them makes of it."""

from __future__ import annotations

from enum import StrEnum
from math import atan2, cos, degrees, hypot, radians, sin
from typing import TYPE_CHECKING, Final, assert_never

from msgspec import Struct
from PySide6.QtCore import QLineF, QPointF, QRectF
from PySide6.QtGui import QFontMetricsF

from app.drawing.base.pens import ARROW, HEAVY, THIN, arrowhead, draw_arrowheads
from app.drawing.base.texts import draw_text

if TYPE_CHECKING:
    from PySide6.QtGui import QPainter

    from app.drawing.base.camera import Camera
    from app.drawing.base.pens import Pencil
    from core.geometry.lines.outline import Point

Cut = tuple["Point", "Point"]
LETTER: Final = "A"

_THICK: Final = 16.0  # length of a thick end
_END_REACH: Final = 11.0
_BODY_REACH: Final = 4.5
_SNAP_DEGREES: Final = 1.5
_SNAP_TURN: Final = 15.0
_SNAP_PX: Final = 6.0


class Grip(StrEnum):
    """What of the section line was taken hold of."""

    START = "start"
    STOP = "stop"
    BODY = "body"
    NEW = "new"


class Drag(Struct, frozen=True):
    """A drag under way: the grip, the line and the place [mm] that it began with."""

    grip: Grip
    cut: Cut
    at: Point


def grip_at(cut: Cut, camera: Camera, at: QPointF) -> Grip | None:
    """What of the line lies under a place of the widget: its ends before its body."""
    a, b = camera.to_widget(cut[0]), camera.to_widget(cut[1])
    for grip, end in ((Grip.START, a), (Grip.STOP, b)):
        if hypot(at.x() - end.x(), at.y() - end.y()) < _END_REACH:
            return grip
    line = QLineF(a, b)
    size = line.length()
    if size < 1e-9:
        return None
    dx, dy = (b.x() - a.x()) / size, (b.y() - a.y()) / size
    along = (at.x() - a.x()) * dx + (at.y() - a.y()) * dy
    aside = (at.x() - a.x()) * dy - (at.y() - a.y()) * dx
    return Grip.BODY if 0.0 < along < size and abs(aside) < _BODY_REACH else None


def dragged(drag: Drag, to: Point, scale: float) -> Cut | None:
    """The line when the pointer is at ``to`` [mm]; None while it is too short to have a direction.

    Near a multiple of 15 degrees the direction snaps to it; a body that passes near the seat centre snaps onto it.

    Args:
        drag: what was taken hold of.
        to: where the pointer is.
        scale: screen units per millimetre.
    """
    a, b = drag.cut
    match drag.grip:
        case Grip.BODY:
            moved = (to[0] - drag.at[0], to[1] - drag.at[1])
            return _onto_centre(((a[0] + moved[0], a[1] + moved[1]), (b[0] + moved[0], b[1] + moved[1])), scale)
        case Grip.START:
            cut = (_snapped(b, to), b)
        case Grip.STOP:
            cut = (a, _snapped(a, to))
        case Grip.NEW:
            cut = (drag.at, _snapped(drag.at, to))
        case _:
            assert_never(drag.grip)
    return cut if hypot(cut[1][0] - cut[0][0], cut[1][1] - cut[0][1]) * scale > 12.0 else None


def through(cut: Cut, bounds: tuple[float, float, float, float], past: float) -> Cut:
    """The line made long enough to reach ``past`` [mm] beyond a part on both sides."""
    (ax, ay), (bx, by) = cut
    size = hypot(bx - ax, by - ay)
    dx, dy = (bx - ax) / size, (by - ay) / size
    x0, y0, x1, y1 = bounds
    reach = [(x - ax) * dx + (y - ay) * dy for x in (x0, x1) for y in (y0, y1)]
    # The ends of the box's own width along the line, not of the box's corners: an end should stay near the part.
    low, high = _box_span((ax, ay), (dx, dy), bounds) or (min(reach), max(reach))
    low, high = min(low - past, 0.0), max(high + past, size)
    return (ax + dx * low, ay + dy * low), (ax + dx * high, ay + dy * high)


def turned(cut: Cut, by: float) -> Cut:
    """The line turned about its middle, counter-clockwise [degrees]."""
    (ax, ay), (bx, by_) = cut
    mx, my = (ax + bx) / 2.0, (ay + by_) / 2.0
    c, s = cos(radians(by)), sin(radians(by))

    def turn(x: float, y: float) -> Point:
        return mx + c * (x - mx) - s * (y - my), my + s * (x - mx) + c * (y - my)

    return turn(ax, ay), turn(bx, by_)


def shifted(cut: Cut, aside: float) -> Cut:
    """The line moved to the left of its direction [mm]."""
    (ax, ay), (bx, by) = cut
    size = hypot(bx - ax, by - ay)
    nx, ny = -(by - ay) / size * aside, (bx - ax) / size * aside
    return (ax + nx, ay + ny), (bx + nx, by + ny)


def paint_section_line(painter: QPainter, pencil: Pencil, camera: Camera, cut: Cut, *, is_held: bool) -> None:
    """Draw the line: chain line, thick ends, arrows in the direction of view, letters."""
    a, b = camera.to_widget(cut[0]), camera.to_widget(cut[1])
    size = hypot(b.x() - a.x(), b.y() - a.y())
    if size < 1e-6:
        return
    d = (b - a) / size
    # Seen with a on the left and b on the right, heights upwards: on screen the view goes to the line's left.
    look = QPointF(d.y(), -d.x())
    color = pencil.ink.highlight if is_held else pencil.ink.dimension
    pen = pencil.chain
    pen.setColor(color)
    painter.setPen(pen)
    painter.drawLine(QLineF(a, b))
    painter.setPen(pencil.pen(color, HEAVY))
    painter.drawLines([QLineF(a, a + d * _THICK), QLineF(b, b - d * _THICK)])
    painter.setPen(pencil.pen(color, THIN))
    stems = [(end, end + look * (2.2 * ARROW)) for end in (a, b)]
    painter.drawLines([QLineF(start, tip) for start, tip in stems])
    draw_arrowheads(painter, color, [arrowhead(tip, look, ARROW * 1.25) for _, tip in stems])
    font = painter.font()
    bold = painter.font()
    bold.setBold(True)
    painter.setFont(bold)
    metrics = QFontMetricsF(bold)
    half, rise = metrics.horizontalAdvance(LETTER) / 2.0, metrics.capHeight() / 2.0
    for _, tip in stems:
        middle = tip + look * (metrics.height() * 0.6)
        draw_text(painter, middle + QPointF(-half, rise), LETTER, color, pencil.ink.paper)
    painter.setFont(font)


def end_boxes(cut: Cut, camera: Camera, metrics: QFontMetricsF) -> list[QRectF]:
    """Where the arrows and letters at the line's two ends stand, in the widget."""
    a, b = camera.to_widget(cut[0]), camera.to_widget(cut[1])
    size = max(hypot(b.x() - a.x(), b.y() - a.y()), 1e-9)
    look = QPointF((b.y() - a.y()) / size, -(b.x() - a.x()) / size)
    half = metrics.height() * 0.6
    aside = QPointF(half, half)
    tops = [(end, end + look * (2.2 * ARROW + half)) for end in (a, b)]
    return [QRectF(end, top).normalized().united(QRectF(top - aside, top + aside)) for end, top in tops]


def _snapped(fixed: Point, to: Point) -> Point:
    dx, dy = to[0] - fixed[0], to[1] - fixed[1]
    angle = degrees(atan2(dy, dx))
    near = round(angle / _SNAP_TURN) * _SNAP_TURN
    if abs(angle - near) > _SNAP_DEGREES:
        return to
    size = hypot(dx, dy)
    return fixed[0] + size * cos(radians(near)), fixed[1] + size * sin(radians(near))


def _onto_centre(cut: Cut, scale: float) -> Cut:
    (ax, ay), (bx, by) = cut
    size = hypot(bx - ax, by - ay)
    off = ((bx - ax) * ay - (by - ay) * ax) / size
    return shifted(cut, -off) if 0.0 < abs(off) * scale < _SNAP_PX else cut


def _box_span(at: Point, along: Point, bounds: tuple[float, float, float, float]) -> tuple[float, float] | None:
    """Where the line enters and leaves a box; None when it misses it."""
    low, high = float("-inf"), float("inf")
    for p, d, b0, b1 in ((at[0], along[0], bounds[0], bounds[2]), (at[1], along[1], bounds[1], bounds[3])):
        if abs(d) < 1e-12:
            if not b0 <= p <= b1:
                return None
            continue
        t0, t1 = sorted(((b0 - p) / d, (b1 - p) / d))
        low, high = max(low, t0), min(high, t1)
    return (low, high) if low < high else None
