"""Every row of the table as a dimension where it is taken: its lines, arrows and figure, in screen units."""

from __future__ import annotations

from collections import Counter
from math import cos, hypot, radians, sin
from typing import TYPE_CHECKING, Final

from msgspec import Struct, field
from PySide6.QtCore import QLineF, QPointF, QRectF
from PySide6.QtGui import QPainterPath, QPolygonF

from app.drawing.base.labels import Places, Spot, outline_segments
from app.drawing.base.pens import ARROW, arrowhead
from core.measure.readings.predict import lacks
from core.part.readings import ReadingKind
from core.words.ends import End

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence

    from PySide6.QtGui import QFontMetricsF

    from app.drawing.base.camera import Camera
    from app.steps.measure.readings.scene import Point, Scene
    from core.part.readings import Reading

_TIER: Final = 1.75  # distance of dimension lines beside each other, in heights of the text
_OFF: Final = 2.0  # of the first one from the drawing
_FIRST_UPRIGHT: Final = 1.1  # of the first upright one: its figure stands outside
_PAST: Final = 4.0
_NEAR: Final = 5.0
_TAPE_OFF: Final = 0.45  # of the tape from the outline, in heights of the text
_JAW: Final = 0.17  # half a jaw's length, as a part of the insert's length
_RIM_PLACES: Final = (0.5, 0.25, 0.0, 0.75, 0.42, 0.16, 0.92, 0.66)
"""Where rim widths are drawn, as parts of the way round from the right end: left end, top side, right end, below."""


class LaidMark(Struct):
    """One row, drawn.

    Attributes:
        row: its number.
        figure: its mean as it is shown; empty when nothing was read.
        extensions, lines, paths, heads: what it is drawn with.
        box: of its number and figure; ``leader`` a line from there to the dimension.
    """

    row: int
    figure: str
    extensions: list[QLineF] = field(default_factory=list)
    lines: list[QLineF] = field(default_factory=list)
    paths: list[QPainterPath] = field(default_factory=list)
    heads: list[QPolygonF] = field(default_factory=list)
    box: QRectF = field(default_factory=QRectF)
    leader: QLineF | None = None
    spots: list[Spot] = field(default_factory=list)

    def is_near(self, at: QPointF) -> bool:
        """Whether a place of the widget is on its figure or on its lines."""
        if self.box.adjusted(-3.0, -2.0, 3.0, 2.0).contains(at):
            return True
        ring = QRectF(at.x() - _NEAR, at.y() - _NEAR, 2.0 * _NEAR, 2.0 * _NEAR)
        return any(_distance(line, at) < _NEAR for line in self.lines) or any(
            path.intersects(ring) and not path.contains(ring) for path in self.paths
        )


def lay_marks(
    scene: Scene,
    camera: Camera,
    metrics: QFontMetricsF,
    room: QRectF,
    figures: Sequence[str],
    words: Iterable[QRectF] = (),
) -> list[LaidMark]:
    """Places for all rows that say where they were taken, so that no figure covers another.

    Args:
        scene: the insert.
        camera: from millimetres to the widget.
        metrics: of the figures.
        room: the widget.
        figures: of the rows, in their order.
        words: where other words stand.
    """
    layer = _Layer(scene, camera, metrics)
    rows = zip(scene.insert.readings.rows, figures, strict=True)
    marks = [layer.mark(row, number, figure) for number, (row, figure) in enumerate(rows) if not lacks(row)]
    places = Places(room)
    places.add_boxes(words)
    places.add_segments(outline_segments((scene.oval, *scene.rims)), camera)
    for mark in marks:
        places.add_lines([*mark.lines, *mark.extensions])
    for mark in marks:
        best = places.take(mark.spots)
        mark.box, mark.leader = best.box, best.leader
    return marks


def ball(metrics: QFontMetricsF) -> float:
    """Diameter of the ring round a row's number."""
    return metrics.height() * 1.2


class _Layer:
    """Lays one row after the other; rows of one kind beside each other."""

    def __init__(self, scene: Scene, camera: Camera, metrics: QFontMetricsF) -> None:
        self._scene, self._camera, self._metrics = scene, camera, metrics
        self._line = metrics.height()
        self._count: Counter[str] = Counter()
        self._makers: dict[ReadingKind, Callable[[LaidMark, Reading], None]] = {
            ReadingKind.LENGTH: self._length,
            ReadingKind.WIDTH: self._width,
            ReadingKind.JAWS: self._jaws,
            ReadingKind.WIDTH_AT: self._width_at,
            ReadingKind.END_RADIUS: self._end_radius,
            ReadingKind.END_HEIGHT: self._end_height,
            ReadingKind.CORNER_GAP: self._corner_gap,
            ReadingKind.TAPE: self._tape,
            ReadingKind.ROLL: self._roll,
            ReadingKind.RIM_WIDTH: self._rim_width,
            ReadingKind.RIM_THICKNESS: self._rim_thickness,
            ReadingKind.HEIGHT: self._height,
        }

    def mark(self, row: Reading, number: int, figure: str) -> LaidMark:
        """A row's lines, and the places where its figure may stand."""
        made = LaidMark(number, figure)
        self._makers[row.kind](made, row)
        return made

    def _next(self, key: str) -> int:
        self._count[key] += 1
        return self._count[key] - 1

    def _to(self, at: Point) -> QPointF:
        return self._camera.to_widget(at)

    def _size(self, mark: LaidMark) -> tuple[float, float]:
        width = ball(self._metrics)
        if mark.figure:
            width += self._metrics.horizontalAdvance(mark.figure) + self._line * 0.25
        return width, ball(self._metrics)

    # The kinds

    def _length(self, mark: LaidMark, _: Reading) -> None:
        bounds = self._scene.oval.bounds
        x0, x1 = bounds[0], bounds[2]
        y = self._to((0.0, self._scene.bounds[1])).y() + self._line * (_OFF + _TIER * self._next("length"))
        self._between(
            mark, self._to((x0, 0.0)), self._to((x1, 0.0)), QPointF(self._to((x0, 0.0)).x(), y), is_level=True
        )

    def _width(self, mark: LaidMark, _: Reading) -> None:
        bounds = self._scene.oval.bounds
        y0, y1 = bounds[1], bounds[3]
        x = self._to((self._scene.oval.bounds[0], 0.0)).x() - self._line * (
            _FIRST_UPRIGHT + _TIER * self._next("width")
        )
        top, bottom = (self._to(self._scene.contact(angle)[0]) for angle in (90.0, 270.0))
        bottom, top = QPointF(bottom.x(), self._to((0.0, y0)).y()), QPointF(top.x(), self._to((0.0, y1)).y())
        self._between(mark, bottom, top, QPointF(x, 0.0), is_level=False)

    def _jaws(self, mark: LaidMark, row: Reading) -> None:
        angle = row.angle or 0.0
        u, v = (cos(radians(angle)), sin(radians(angle))), (-sin(radians(angle)), cos(radians(angle)))
        feet = []
        for turn in (0.0, 180.0):
            contact, reach = self._scene.contact(angle + turn)
            sign = 1.0 if turn == 0.0 else -1.0
            foot = (sign * reach * u[0], sign * reach * u[1])
            along = (contact[0] - foot[0]) * v[0] + (contact[1] - foot[1]) * v[1]
            half = _JAW * self._scene.a
            low, high = min(0.0, along) - half * 0.4, max(0.0, along) + half
            ends = [(foot[0] + s * v[0], foot[1] + s * v[1]) for s in (low, high)]
            mark.lines.append(QLineF(self._to(ends[0]), self._to(ends[1])))
            feet.append(self._to(foot))
        self._arrowed(mark, feet[1], feet[0])

    def _width_at(self, mark: LaidMark, row: Reading) -> None:
        x = row.along or 0.0
        half = self._scene.half_width_at(x)
        self._arrowed(mark, self._to((x, -half)), self._to((x, half)))
        if half and x:  # how far from the middle
            y = -0.75 * half
            mark.extensions.append(QLineF(self._to((0.0, y)), self._to((x, y))))
            mark.extensions.append(QLineF(self._to((0.0, y * 0.9)), self._to((0.0, y * 1.1))))

    def _end_radius(self, mark: LaidMark, _: Reading) -> None:
        radius = self._scene.end_radius()
        centre = (self._scene.a - radius, 0.0)
        turn = radians(-22.0 - 12.0 * self._next("radius"))
        tip = (centre[0] + radius * cos(turn), centre[1] + radius * sin(turn))
        a, b = self._to(centre), self._to(tip)
        mark.lines.append(QLineF(a, b))
        mark.heads.append(arrowhead(b, b - a))
        mark.extensions += [QLineF(a - QPointF(4, 0), a + QPointF(4, 0)), QLineF(a - QPointF(0, 4), a + QPointF(0, 4))]
        mark.spots = self._beside(mark, a, b)

    def _end_height(self, mark: LaidMark, row: Reading) -> None:
        half = min((row.along or 0.0) / 2.0, self._scene.b)
        x = -self._scene.end_at(half)
        mark.lines.append(QLineF(self._to((x, -half)), self._to((x, half))))
        y = (0.12 + 0.2 * self._next("chord")) * self._scene.b
        self._arrowed(mark, self._to((-self._scene.end_at(y), y)), self._to((x, y)))

    def _corner_gap(self, mark: LaidMark, _: Reading) -> None:
        apex = (self._scene.apex(), 0.0)
        for sign in (1.0, -1.0):
            contact = self._scene.contact(sign * 45.0)[0]
            past = (contact[0] + 0.35 * (contact[0] - apex[0]), contact[1] + 0.35 * (contact[1] - apex[1]))
            mark.lines.append(QLineF(self._to(apex), self._to(past)))
        self._arrowed(mark, self._to((self._scene.a, 0.0)), self._to(apex))

    def _tape(self, mark: LaidMark, _: Reading) -> None:
        off = self._line * _TAPE_OFF * (1.0 + 0.6 * self._next("tape"))
        path = QPainterPath()
        count = 180
        for i in range(count + 1):
            place = self._round(i / count, off)
            path.lineTo(place) if i else path.moveTo(place)
        mark.paths.append(path)
        mark.spots = self._outside(mark, off, (0.10, 0.14, 0.18, 0.36, 0.32, 0.64, 0.86))

    def _roll(self, mark: LaidMark, _: Reading) -> None:
        off = self._line * (_TAPE_OFF + 0.2)
        first = 0.30 - 0.05 * self._next("roll")
        places = [self._round(first + 0.16 * i / 40, off) for i in range(41)]
        path = QPainterPath(places[0])
        for place in places[1:]:
            path.lineTo(place)
        mark.paths.append(path)
        mark.heads.append(arrowhead(places[-1], places[-1] - places[-3]))
        mark.lines.append(QLineF(self._round(first, -off), self._round(first, off * 1.6)))  # the mark that is rolled on
        mark.spots = self._outside(mark, off, (first + 0.08, first + 0.04, first + 0.14))

    def _rim_width(self, mark: LaidMark, _: Reading) -> None:
        place, normal = self._scene.at(_RIM_PLACES[self._next("rim") % len(_RIM_PLACES)])
        rim = self._scene.insert.rim
        outer = (place[0] + rim.outset * normal[0], place[1] + rim.outset * normal[1])
        inner = (outer[0] - rim.width * normal[0], outer[1] - rim.width * normal[1])
        self._arrowed(mark, self._to(outer), self._to(inner))
        a, b = self._to(inner), self._to(outer)
        step = (a - b) / (hypot((a - b).x(), (a - b).y()) or 1.0)
        mark.spots = self._led(mark, a + step * ARROW * 1.6, step) + mark.spots

    def _rim_thickness(self, mark: LaidMark, row: Reading) -> None:
        end = row.end or End.BASE
        _, x1, low, high = self._scene.rim_band(end)
        x = self._to((x1, 0.0)).x() + self._line * (0.7 + 0.9 * self._next(f"thickness {end}"))
        self._between(mark, self._to((x1, low)), self._to((x1, high)), QPointF(x, 0.0), is_level=False)

    def _height(self, mark: LaidMark, _: Reading) -> None:
        edge = self._scene.side_x + self._scene.half
        thickness = sum(self._scene.insert.readings.rows[i].kind is ReadingKind.RIM_THICKNESS
                        for i in range(len(self._scene.insert.readings.rows)))  # fmt: skip
        first = _FIRST_UPRIGHT + 0.9 * bool(thickness)
        x = self._to((edge, 0.0)).x() + self._line * (first + _TIER * self._next("height"))
        half = self._scene.height / 2.0
        self._between(mark, self._to((edge, -half)), self._to((edge, half)), QPointF(x, 0.0), is_level=False)

    # What they are drawn with

    def _between(self, mark: LaidMark, a: QPointF, b: QPointF, line: QPointF, *, is_level: bool) -> None:
        """A dimension line beside the drawing, with extension lines from the two places that it is between."""
        ends = [QPointF(p.x(), line.y()) if is_level else QPointF(line.x(), p.y()) for p in (a, b)]
        for place, foot in zip((a, b), ends, strict=True):
            way = QLineF(place, foot)
            if way.length() > 2 * _PAST:
                size = way.length()
                mark.extensions.append(QLineF(way.pointAt(_PAST / size), way.pointAt(1.0 + _PAST / size)))
        self._arrowed(mark, *ends)

    def _arrowed(self, mark: LaidMark, a: QPointF, b: QPointF) -> None:
        """A line with arrows at its ends, from outside where there is no room, and places for the figure beside it."""
        size = hypot((b - a).x(), (b - a).y())
        step = (b - a) / size if size > 1e-9 else QPointF(1.0, 0.0)
        if size > 2.6 * ARROW:
            mark.lines.append(QLineF(a, b))
            mark.heads += [arrowhead(a, -step), arrowhead(b, step)]
            mark.spots = self._beside(mark, a, b)
        else:
            tail = ARROW * 1.5
            mark.lines.append(QLineF(a - step * tail, b + step * tail))
            mark.heads += [arrowhead(a, step), arrowhead(b, -step)]
            mark.spots = self._led(mark, b + step * tail, step) + self._led(mark, a - step * tail, -step)
            mark.spots += self._beside(mark, a - step * tail, b + step * tail)

    def _beside(self, mark: LaidMark, a: QPointF, b: QPointF) -> list[Spot]:
        """On a line, nearest its middle: the figure interrupts it, as the line is seen on both sides; or beside it."""
        w, h = self._size(mark)
        size = hypot((b - a).x(), (b - a).y()) or 1.0
        normal = QPointF(-(b - a).y() / size, (b - a).x() / size)
        reach = (abs(normal.x()) * w + abs(normal.y()) * h) / 2.0 + 3.0
        spots = []
        for part, cost in ((0.5, 0.0), (0.36, 0.15), (0.64, 0.15), (0.22, 0.3), (0.78, 0.3), (0.1, 0.5), (0.9, 0.5)):
            on = a + (b - a) * part
            for sign in (-1.0, 1.0):
                middle = on + normal * (sign * reach)
                spots.append(Spot(QRectF(middle.x() - w / 2.0, middle.y() - h / 2.0, w, h), cost))
        return spots

    def _led(self, mark: LaidMark, tip: QPointF, step: QPointF) -> list[Spot]:
        """At the end of a line, in the direction that it runs."""
        w, h = self._size(mark)
        spots = []
        for turn, reach, cost in ((0, 0, 0), (0, 1, 0.2), (35, 1, 0.3), (-35, 1, 0.3), (70, 1, 0.5), (-70, 1, 0.5)):
            c, s = cos(radians(turn)), sin(radians(turn))
            way = QPointF(step.x() * c - step.y() * s, step.x() * s + step.y() * c)
            end = tip + way * (reach * self._line)
            middle = end + QPointF(way.x() * w / 2.0, way.y() * h / 2.0)
            leader = QLineF(tip, end) if reach else None
            spots.append(Spot(QRectF(middle.x() - w / 2.0, middle.y() - h / 2.0, w, h), cost, leader))
        return spots

    def _round(self, part: float, off: float) -> QPointF:
        """A place beside the oval's outline, ``off`` screen units outside it."""
        place, (nx, ny) = self._scene.at(part)
        return self._to(place) + QPointF(nx, -ny) * off

    def _outside(self, mark: LaidMark, off: float, parts: Sequence[float]) -> list[Spot]:
        spots = []
        for i, part in enumerate(parts):
            _, (nx, ny) = self._scene.at(part)
            spots += [
                Spot(s.box, s.away + 0.05 * i, s.leader)
                for s in self._led(mark, self._round(part, off + 1.0), QPointF(nx, -ny))
            ]
        return spots


def _distance(line: QLineF, at: QPointF) -> float:
    """Distance of a point from a line of finite length, in screen units."""
    along, size = line.p2() - line.p1(), line.length()
    if size < 1e-9:
        return hypot(at.x() - line.x1(), at.y() - line.y1())
    t = min(1.0, max(0.0, QPointF.dotProduct(at - line.p1(), along) / (size * size)))
    foot = line.pointAt(t)
    return hypot(at.x() - foot.x(), at.y() - foot.y())
