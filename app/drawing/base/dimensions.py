"""Dimensions in the manner of ISO 129: extension lines, slim arrows, the figure above its line.

Words used below:
    figure: the text of a dimension.
    tier: a row of long dimensions beside the drawing; tier 0 is the nearest.
    shelf: a row of figures of short dimensions, one beside the other, each led to its place by a thin line.
"""

from __future__ import annotations

from enum import StrEnum
from math import hypot
from typing import TYPE_CHECKING, Final

from msgspec import Struct, field
from PySide6.QtCore import QLineF, QPointF, QRectF
from PySide6.QtGui import QFontMetricsF

from app.drawing.base.pens import ARROW, HAIR, THIN, arrowhead, draw_arrowheads, faded
from app.drawing.base.texts import draw_text

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from PySide6.QtGui import QFont, QPainter, QPolygonF

    from app.drawing.base.camera import Camera
    from app.drawing.base.pens import Pencil

_TIER: Final = 1.75
"""Distance of two tiers, in heights of the text."""
_FIRST: Final = 1.1
"""Distance of the shelf from the drawing, in heights of the text."""
_FIRST_TIER: Final = 1.7
"""Distance of the first tier from the drawing: its figures stand between."""
_PAST: Final = 4.0  # how far an extension line goes past its arrow, and stays off the outline
_TAIL: Final = ARROW + 5.0
_NEAR: Final = 5.0
_AIR: Final = 1.0  # between the figures of a shelf, in heights of the text
_LEAST_AIR: Final = 0.4  # where there is little room


class Shelf(StrEnum):
    """The four sides of a drawing that dimensions stand on."""

    TOP = "top"
    BOTTOM = "bottom"
    LEFT = "left"
    RIGHT = "right"


class Dimension(Struct, frozen=True):
    """A dimension that is to be drawn.

    Attributes:
        name: the word before the figure; empty where the drawing says enough.
        figure: the length as it is shown.
        a, b: the places it is measured between [mm].
        shelf: the side it stands on.
        paths: the project's paths that set it; the first is asked for, each lights it up.
        tier: which row, for a long dimension; None puts the figure on the shelf.
    """

    name: str
    figure: str
    a: tuple[float, float]
    b: tuple[float, float]
    shelf: Shelf
    paths: tuple[str, ...] = ()
    tier: int | None = None

    @property
    def text(self) -> str:
        """Name and figure."""
        return f"{self.name} {self.figure}" if self.name else self.figure


class Laid(Struct):
    """A dimension with its place on screen.

    Attributes:
        extensions, lines: extension lines and leaders; dimension lines.
        heads: arrowheads.
        baseline: start of the figure's baseline; ``turn``: clockwise [degrees].
        box: the figure's rectangle.
    """

    dimension: Dimension
    extensions: list[QLineF] = field(default_factory=list)
    lines: list[QLineF] = field(default_factory=list)
    heads: list[QPolygonF] = field(default_factory=list)
    baseline: QPointF = field(default_factory=QPointF)
    turn: float = 0.0
    box: QRectF = field(default_factory=QRectF)

    def is_near(self, at: QPointF) -> bool:
        """Whether a place of the widget is on the figure or on the dimension's lines."""
        if self.box.adjusted(-3.0, -2.0, 3.0, 2.0).contains(at):
            return True
        return any(_distance(line, at) < _NEAR for line in self.lines)


def shelf_height(font: QFont, *, tiers: int = 0, rows: int = 0) -> float:
    """Room that tiers or rows of a shelf need beside a drawing, in screen units."""
    line = QFontMetricsF(font).height()
    if not tiers and not rows:
        return line * 0.8
    return line * max(_FIRST_TIER + (tiers - 1) * _TIER + 0.6 if tiers else 0.0, _FIRST + rows * 1.35 + 0.5)


def shelf_rows(dimensions: Iterable[Dimension], font: QFont, width: float) -> int:
    """How many rows the figures of a level shelf need beside each other, at most 2."""
    metrics = QFontMetricsF(font)
    needed = sum(metrics.horizontalAdvance(d.text) + metrics.height() * _AIR for d in dimensions if d.tier is None)
    return 0 if needed == 0.0 else 1 if needed <= width else 2


def lay_out(dimensions: Iterable[Dimension], camera: Camera, drawn: QRectF, room: QRectF, font: QFont) -> list[Laid]:
    """Places for dimensions round a drawing, so that no figure covers another one of its side.

    Args:
        dimensions: in any order.
        camera: from millimetres to the widget.
        drawn: rectangle of the drawing itself, in the widget.
        room: the widget; figures on shelves are kept inside it sideways.
        font: of the figures.
    """
    every = list(dimensions)
    metrics = QFontMetricsF(font)
    laid = [_long(d, camera, drawn, metrics) for d in every if d.tier is not None]
    beside: list[QRectF] = []
    for shelf in (Shelf.LEFT, Shelf.RIGHT, Shelf.TOP, Shelf.BOTTOM):
        short = [d for d in every if d.tier is None and d.shelf is shelf]
        found = _shelved(short, shelf, camera, drawn, room, metrics, beside)
        laid += found
        # A column that is taller than the drawing runs past it: the rows above and below begin clear of it.
        beside += [one.box for one in found]
    return laid


def paint_dimensions(painter: QPainter, pencil: Pencil, laid: Iterable[Laid], lit: Iterable[Dimension] = ()) -> None:
    """Draw dimensions; those in ``lit`` stand out."""
    standing_out = list(lit)
    for one in laid:
        strong = one.dimension in standing_out
        color = pencil.ink.highlight if strong else pencil.ink.dimension
        painter.setPen(pencil.pen(color, THIN if strong else HAIR))
        painter.drawLines(one.extensions)
        painter.setPen(pencil.pen(color, 2.0 if strong else THIN))
        painter.drawLines(one.lines)
        draw_arrowheads(painter, color, one.heads)
        if strong:
            painter.fillRect(one.box.adjusted(-3.0, -1.0, 3.0, 1.0), faded(color, 0.14))
        draw_text(painter, one.baseline, one.dimension.text, color, pencil.ink.paper, turn=one.turn)


def spread(centres: Sequence[float], sizes: Sequence[float], low: float, high: float) -> list[float]:
    """Centres moved as little as needed so that intervals of the given sizes, in their order, don't overlap.

    Args:
        centres: wanted, ascending.
        sizes: of the intervals, with the air between them.
        low: where the room begins.
        high: where it ends; when there isn't room for all, they go past it.
    """
    # Blocks of neighbours that touch and move as one: the sum of the starts they want for the block, size, count.
    blocks: list[tuple[float, float, int]] = []
    for centre, size in zip(centres, sizes, strict=True):
        blocks.append((centre - size / 2.0, size, 1))
        while len(blocks) > 1 and blocks[-2][0] / blocks[-2][2] + blocks[-2][1] > blocks[-1][0] / blocks[-1][2]:
            (sum0, size0, n0), (sum1, size1, n1) = blocks[-2:]
            blocks[-2:] = [(sum0 + sum1 - n1 * size0, size0 + size1, n0 + n1)]
    starts: list[float] = []
    for total, _, count in blocks:
        start = total / count
        for size in sizes[len(starts) : len(starts) + count]:
            starts.append(start)
            start += size
    limit = high
    for i in range(len(starts) - 1, -1, -1):
        starts[i] = min(starts[i], limit - sizes[i])
        limit = starts[i]
    edge = low
    for i, size in enumerate(sizes):
        starts[i] = max(starts[i], edge)
        edge = starts[i] + size
    return [start + size / 2.0 for start, size in zip(starts, sizes, strict=True)]


def _long(dimension: Dimension, camera: Camera, drawn: QRectF, metrics: QFontMetricsF) -> Laid:
    """A dimension in a tier: level on top and bottom, upright on the sides."""
    assert dimension.tier is not None
    a, b = camera.to_widget(dimension.a), camera.to_widget(dimension.b)
    off = metrics.height() * (_FIRST_TIER + dimension.tier * _TIER)
    laid = Laid(dimension)
    is_level = dimension.shelf in (Shelf.TOP, Shelf.BOTTOM)
    outward = 1.0 if dimension.shelf in (Shelf.BOTTOM, Shelf.RIGHT) else -1.0
    width = metrics.horizontalAdvance(dimension.text)
    if is_level:
        y = (drawn.bottom() if outward > 0 else drawn.top()) + outward * off
        p, q = sorted((QPointF(a.x(), y), QPointF(b.x(), y)), key=QPointF.x)
        ends = [(a, QPointF(a.x(), y)), (b, QPointF(b.x(), y))]
        size, step = q.x() - p.x(), QPointF(1.0, 0.0)
    else:
        x = (drawn.right() if outward > 0 else drawn.left()) + outward * off
        p, q = sorted((QPointF(x, a.y()), QPointF(x, b.y())), key=QPointF.y)
        ends = [(a, QPointF(x, a.y())), (b, QPointF(x, b.y()))]
        size, step = q.y() - p.y(), QPointF(0.0, 1.0)
    for place, foot in ends:
        way = QLineF(place, foot)
        if way.length() > 2 * _PAST:
            laid.extensions.append(QLineF(way.pointAt(_PAST / way.length()), way.pointAt(1.0 + _PAST / way.length())))
    _arrows(laid, p, q, step, size)
    middle = (p + q) / 2.0
    rise = metrics.descent() + 2.0
    if is_level:
        laid.baseline = QPointF(middle.x() - width / 2.0, middle.y() - rise)
        laid.box = QRectF(laid.baseline.x(), laid.baseline.y() - metrics.ascent(), width, metrics.height())
    else:  # read from the right: the text runs upwards, left of its line
        laid.turn = -90.0
        laid.baseline = QPointF(middle.x() - rise, middle.y() + width / 2.0)
        laid.box = QRectF(laid.baseline.x() - metrics.ascent(), middle.y() - width / 2.0, metrics.height(), width)
    return laid


def _arrows(laid: Laid, p: QPointF, q: QPointF, step: QPointF, size: float) -> None:
    """The dimension line from p to q with its arrows: inside where there is room, else from outside."""
    if size > 2.6 * ARROW:
        laid.lines.append(QLineF(p, q))
        laid.heads += [arrowhead(p, -step), arrowhead(q, step)]
    else:
        laid.lines.append(QLineF(p - step * _TAIL, q + step * _TAIL))
        laid.heads += [arrowhead(p, step), arrowhead(q, -step)]


def _shelved(
    dimensions: list[Dimension],
    shelf: Shelf,
    camera: Camera,
    drawn: QRectF,
    room: QRectF,
    metrics: QFontMetricsF,
    beside: Sequence[QRectF],
) -> list[Laid]:
    """Short dimensions of one side, their figures side by side (or one above the other) on the shelf."""
    is_level = shelf in (Shelf.TOP, Shelf.BOTTOM)
    air = metrics.height() * (_AIR if is_level else 0.25)
    laid = [_short(d, camera) for d in dimensions]
    hooks = [_hook(one, shelf) for one in laid]
    order = sorted(range(len(laid)), key=lambda i: hooks[i].x() if is_level else hooks[i].y())
    widths = [metrics.horizontalAdvance(laid[i].dimension.text) for i in order]
    line = metrics.height()
    sizes = [w + air for w in widths] if is_level else [line + air for _ in widths]
    low, high = (room.left(), room.right()) if is_level else (room.top(), room.bottom())
    rows = 2 if is_level and sum(sizes) > high - low else 1
    for row in range(rows):
        mine = order[row::rows]
        wanted = [hooks[i].x() if is_level else hooks[i].y() for i in mine]
        taken = sizes[row::rows]
        if is_level:
            low, high = _clear(shelf, row, drawn, room, metrics, beside)
            closer = min((high - low - sum(taken)) / max(len(taken), 1), 0.0)
            taken = [size + max(closer, line * (_LEAST_AIR - _AIR)) for size in taken]
        for i, centre, width in zip(mine, spread(wanted, taken, low, high), widths[row::rows], strict=True):
            _land(laid[i], shelf, hooks[i], centre, width, row, drawn, metrics)
    return laid


def _clear(
    shelf: Shelf, row: int, drawn: QRectF, room: QRectF, metrics: QFontMetricsF, beside: Sequence[QRectF]
) -> tuple[float, float]:
    """From where to where a row above or below the drawing may reach between the columns beside it."""
    line, y = metrics.height(), _row_line(shelf, row, drawn, metrics)
    band = QRectF(room.left(), y if shelf is Shelf.BOTTOM else y - line, room.width(), line)
    met = [box for box in beside if box.intersects(band)]
    air, middle = line * _LEAST_AIR, drawn.center().x()
    low = max((box.right() + air for box in met if box.center().x() < middle), default=room.left())
    high = min((box.left() - air for box in met if box.center().x() > middle), default=room.right())
    return low, high


def _row_line(shelf: Shelf, row: int, drawn: QRectF, metrics: QFontMetricsF) -> float:
    """Where the line of a row above or below the drawing runs."""
    off = metrics.height() * (_FIRST + row * 1.35)
    return drawn.top() - off if shelf is Shelf.TOP else drawn.bottom() + off


def _short(dimension: Dimension, camera: Camera) -> Laid:
    """The arrows of a short dimension at its place."""
    a, b = camera.to_widget(dimension.a), camera.to_widget(dimension.b)
    size = hypot(b.x() - a.x(), b.y() - a.y())
    step = (b - a) / size if size > 1e-9 else QPointF(1.0, 0.0)
    laid = Laid(dimension)
    aside = QPointF(-step.y(), step.x()) * 4.5
    laid.extensions += [QLineF(end - aside, end + aside) for end in (a, b)]
    _arrows(laid, a, b, step, size)
    return laid


def _hook(laid: Laid, shelf: Shelf) -> QPointF:
    """Where the leader leaves a short dimension: its end towards the shelf, or its middle where it runs across."""
    line = laid.lines[0]
    a, b = line.p1(), line.p2()
    upright = abs(b.y() - a.y()) > abs(b.x() - a.x())
    if shelf in (Shelf.TOP, Shelf.BOTTOM):
        if not upright:
            return (a + b) / 2.0
        return min((a, b), key=QPointF.y) if shelf is Shelf.TOP else max((a, b), key=QPointF.y)
    if upright:
        return (a + b) / 2.0
    return min((a, b), key=QPointF.x) if shelf is Shelf.LEFT else max((a, b), key=QPointF.x)


def _land(
    laid: Laid,
    shelf: Shelf,
    hook: QPointF,
    centre: float,
    width: float,
    row: int,
    drawn: QRectF,
    metrics: QFontMetricsF,
) -> None:
    """Put a figure on its shelf and lead a line from it to the dimension."""
    line, rise = metrics.height(), metrics.descent() + 2.0
    off = line * (_FIRST + 0.5 + row * 1.35)
    if shelf in (Shelf.TOP, Shelf.BOTTOM):
        y = _row_line(shelf, row, drawn, metrics)
        left = centre - width / 2.0
    else:
        y = centre + line / 2.0
        left = drawn.left() - off - width if shelf is Shelf.LEFT else drawn.right() + off
    landing = QLineF(left, y, left + width, y)
    # Under a drawing the figure hangs below its line: above it, the leader would run through it.
    base = y + metrics.ascent() + 1.0 if shelf is Shelf.BOTTOM else y - rise
    laid.baseline = QPointF(left, base)
    laid.box = QRectF(left, base - metrics.ascent(), width, line)
    if shelf is Shelf.LEFT:
        foot = landing.p2()
    elif shelf is Shelf.RIGHT:
        foot = landing.p1()
    else:
        foot = QPointF(min(max(hook.x(), landing.x1()), landing.x2()), y)
    laid.extensions.append(QLineF(hook, foot))
    laid.lines.append(landing)


def _distance(line: QLineF, at: QPointF) -> float:
    """Distance of a point from a line of finite length, in screen units."""
    along, size = line.p2() - line.p1(), line.length()
    if size < 1e-9:
        return hypot(at.x() - line.x1(), at.y() - line.y1())
    t = QPointF.dotProduct(at - line.p1(), along) / (size * size)
    foot = line.pointAt(min(1.0, max(0.0, t)))
    return hypot(at.x() - foot.x(), at.y() - foot.y())
