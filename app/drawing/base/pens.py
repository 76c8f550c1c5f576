"""The drawing language, defined once: pens, fills, the gap's colours, hatching, arrows, signs.

Everything that is drawn in plan, cut, chart and legend comes from here, and from `paths` and `texts` beside it, so that
a line means the same in each. Widths and sizes are screen units: a drawing that is zoomed keeps its line widths, hatch
spacing and text size.
"""

from __future__ import annotations

from math import atan2, ceil, degrees, hypot
from typing import TYPE_CHECKING, Final

import numpy as np
from msgspec import Struct
from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QPainter, QPainterPath, QPen, QPolygonF

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from numpy.typing import ArrayLike, NDArray

    from app.widgets.theme import Ink

HAIR: Final = 0.7
"""Hatching, extension lines, grid of a chart."""
THIN: Final = 1.0
"""Ghosts, edges at another height, dimension lines."""
FULL: Final = 1.8
"""New outlines, cut edges."""
HEAVY: Final = 3.0
"""Ends of the section line, what is lit up."""

HATCH_GAP: Final = 6.5
"""Distance between hatch lines, in screen units."""
ARROW: Final = 9.0
"""Length of an arrowhead, in screen units."""
RINGS: Final = 9
"""Steps of the gap's colour scale on either side of its middle."""

_SOONER: Final = 0.7  # the scale's middle is narrow: a leaning towards either end is seen before the limit is reached


_GHOST_DASHES: Final = [7.0, 4.0]
_CHAIN_DASHES: Final = [18.0, 4.0, 3.0, 4.0]
_FREE_DASHES: Final = [3.0, 3.0]


def mixed(a: QColor, b: QColor, part: float) -> QColor:
    """The colour ``part`` of the way from ``a`` to ``b``."""
    return QColor.fromRgbF(
        a.redF() + (b.redF() - a.redF()) * part,
        a.greenF() + (b.greenF() - a.greenF()) * part,
        a.blueF() + (b.blueF() - a.blueF()) * part,
    )


def faded(color: QColor, alpha: float) -> QColor:
    """The colour with an opacity from 0 to 1."""
    out = QColor(color)
    out.setAlphaF(min(1.0, max(0.0, alpha)))
    return out


class Pencil(Struct, frozen=True):
    """Pens and fills on one paper.

    Attributes:
        ink: the colours.
        ratio: device pixels per screen unit: widths of cosmetic pens are device pixels.
    """

    ink: Ink
    ratio: float = 1.0

    def pen(self, color: QColor, width: float = THIN, dashes: Sequence[float] | None = None) -> QPen:
        """A pen whose width is ``width`` screen units at any zoom; dashes are in screen units too."""
        pen = QPen(color, width * self.ratio)
        pen.setCosmetic(True)
        pen.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
        # Round ends where paths are cut up for stroking; dashes stay as long as they are.
        pen.setCapStyle(Qt.PenCapStyle.RoundCap if dashes is None else Qt.PenCapStyle.FlatCap)
        if dashes is not None:
            pen.setDashPattern([dash / width for dash in dashes])
        return pen

    @property
    def outline(self) -> QPen:
        """New outlines: a full dark line."""
        return self.pen(self.ink.line, FULL)

    @property
    def edge(self) -> QPen:
        """Edges of the new metal at another height: the same ink, thinner and paler."""
        return self.pen(mixed(self.ink.line, self.ink.paper, 0.45), THIN)

    @property
    def ghost(self) -> QPen:
        """As built: a thin broken grey line."""
        return self.pen(self.ink.ghost, THIN, _GHOST_DASHES)

    @property
    def free(self) -> QPen:
        """The rim as it would stand unsqueezed: a thin dotted line in the insert's colour."""
        return self.pen(self.insert_line, 1.2, _FREE_DASHES)

    @property
    def insert_line(self) -> QColor:
        """The insert's edge: its fill, darkened towards the line."""
        return mixed(self.ink.insert_fill, self.ink.line, 0.45)

    @property
    def chain(self) -> QPen:
        """The section line between its ends."""
        return self.pen(self.ink.dimension, THIN, _CHAIN_DASHES)

    @property
    def metal(self) -> QColor:
        """Metal in plan: a very light tint of the line."""
        return mixed(self.ink.paper, self.ink.line, 0.055)

    @property
    def cut_metal(self) -> QColor:
        """Metal in the cut, under its hatching."""
        return mixed(self.ink.paper, self.ink.line, 0.05)

    def gap_color(self, position: float) -> QColor:
        """Colour of the gap's scale: -1 at the tight limit and below, 0 in the middle, 1 at the loose limit and above.

        The steps are visible on purpose: a drawing is read in steps, and equal places of a rim share one polygon.
        """
        step = round(min(1.0, max(-1.0, position)) * RINGS) / RINGS
        end = self.ink.tight if step < 0 else self.ink.loose
        return mixed(self.gap_middle, end, abs(step) ** _SOONER)

    @property
    def gap_middle(self) -> QColor:
        """A gap as wanted: nearly the paper, as any air is."""
        return mixed(self.ink.neutral, self.ink.paper, 0.7)


def scale_position(gap: ArrayLike, least: float, greatest: float) -> NDArray[np.float64]:
    """Where gaps [mm] stand on the colour scale: -1 at the least wanted, 1 at the greatest, past them beyond."""
    over, half = np.asarray(gap, dtype=np.float64) - least, (greatest - least) / 2.0
    return np.sign(over) if half <= 0.0 else over / half - 1.0


def hatch(
    painter: QPainter, area: QPainterPath, pen: QPen, origin: QPointF, *, gap: float = HATCH_GAP, rising: bool = True
) -> None:
    """Hatch an area given in screen units, by lines at 45 degrees that pass through ``origin``."""
    box = area.boundingRect()
    visible = QRectF(painter.viewport())
    box = box.intersected(visible.adjusted(-gap, -gap, gap, gap))
    if box.isEmpty():
        return
    pitch = gap * 2.0**0.5
    # Lines x - y = c (falling on screen) or x + y = c (rising on screen): a range of c covers the box.
    if rising:
        low, high, anchor = box.left() + box.top(), box.right() + box.bottom(), origin.x() + origin.y()
    else:
        low, high, anchor = box.left() - box.bottom(), box.right() - box.top(), origin.x() - origin.y()
    first = anchor + ceil((low - anchor) / pitch) * pitch
    lines = []
    for i in range(int((high - first) / pitch) + 1):
        c = first + i * pitch
        if rising:
            lines.append(QLineF(c - box.top(), box.top(), c - box.bottom(), box.bottom()))
        else:
            lines.append(QLineF(c + box.top(), box.top(), c + box.bottom(), box.bottom()))
    painter.save()
    painter.setClipPath(area, Qt.ClipOperation.IntersectClip)
    flat = QPen(pen)
    flat.setCapStyle(Qt.PenCapStyle.FlatCap)  # the clipping ends the lines; round ends cost ten times as much
    painter.setPen(flat)
    painter.drawLines(lines)
    painter.restore()


def arrowhead(tip: QPointF, towards: QPointF, length: float = ARROW) -> QPolygonF:
    """A slim filled arrowhead at ``tip`` that points in the direction ``towards`` (any length)."""
    size = hypot(towards.x(), towards.y()) or 1.0
    dx, dy = towards.x() / size, towards.y() / size
    half = length * 0.17
    back = QPointF(tip.x() - dx * length, tip.y() - dy * length)
    return QPolygonF(
        [tip, QPointF(back.x() - dy * half, back.y() + dx * half), QPointF(back.x() + dy * half, back.y() - dx * half)]
    )


def draw_arrowheads(painter: QPainter, color: QColor, heads: Iterable[QPolygonF]) -> None:
    """Fill arrowheads, without a pen."""
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(color)
    for head in heads:
        painter.drawPolygon(head)
    painter.setBrush(Qt.BrushStyle.NoBrush)


def draw_machine_ring(painter: QPainter, pencil: Pencil, centre: QPointF, radius: float) -> None:
    """What is fixed to the machine: a filled ring with a cross, all in screen units."""
    radius = max(radius, 4.5)
    inner = max(radius - max(2.5, 0.22 * radius), radius * 0.45)
    ring = QPainterPath()
    ring.setFillRule(Qt.FillRule.OddEvenFill)
    ring.addEllipse(centre, radius, radius)
    ring.addEllipse(centre, inner, inner)
    painter.fillPath(ring, pencil.ink.machine)
    arm = radius + 4.0
    painter.setPen(pencil.pen(pencil.ink.machine, THIN))
    painter.drawLines(
        [
            QLineF(centre.x() - arm, centre.y(), centre.x() + arm, centre.y()),
            QLineF(centre.x(), centre.y() - arm, centre.x(), centre.y() + arm),
        ]
    )


def angle_of(dx: float, dy: float) -> float:
    """Angle of a direction from +X, from 0 up to 180 [degrees]: of a line, which has no sense."""
    angle = degrees(atan2(dy, dx)) % 180.0
    return 0.0 if angle > 179.95 else angle
