"""The gap all the way round, unrolled: gap against station, for both walls of the shown piece."""

from __future__ import annotations

from math import floor
from typing import TYPE_CHECKING, Final

import numpy as np
from msgspec import Struct
from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QFontMetricsF, QPainterPath

from app.drawing.base.paths import polygon
from app.drawing.base.pens import HAIR, THIN, faded, hatch
from app.drawing.base.sheet import round_length
from app.drawing.base.station_chart import StationChart
from app.drawing.base.texts import draw_text
from app.drawing.plan.layers import shown_gaps
from app.drawing.plan.paint import station_lines
from core.words.lengths import parse_length, unit_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from PySide6.QtGui import QPainter, QPolygonF
    from PySide6.QtWidgets import QWidget

    from app.drawing.base.pens import Pencil
    from app.session.session import Session
    from core.fit.gaps import GapProfile
    from core.words.ends import End, Side

_TICK_PX: Final = 90.0
_EVEN_MM: Final = 1e-6


class Lane(Struct, frozen=True):
    """One wall's strip of the chart.

    Attributes:
        profile: the gap; ``before``: the new insert in the seat as built, for comparison.
        area: of the strip, in the widget.
        low, high: the gaps at its lower and upper edge [mm].
    """

    profile: GapProfile
    before: GapProfile | None
    area: QRectF
    low: float
    high: float

    def x(self, station: float) -> float:
        """Across the widget for a station [mm]."""
        return self.area.left() + station / self.profile.rim_length * self.area.width()

    def y(self, gap: float) -> float:
        """Down the widget for a gap [mm]."""
        return self.area.bottom() - (gap - self.low) / (self.high - self.low) * self.area.height()


class GapChart(StationChart):
    """Two lanes, outer wall above inner wall, each from +X once round counter-clockwise."""

    station: tuple[End, Side, int] | None

    def __init__(self, session: Session, parent: QWidget | None = None) -> None:
        words = "Gap against station for both walls. Left and right move the reading."
        super().__init__("Gap round the rim", words, (8, 12), parent)
        self._session = session
        self.hovered.connect(session.hover)
        session.settled.connect(self._changed)
        session.shown_end_changed.connect(self._changed)
        session.stationed.connect(self.mark_station)

    @property
    def profiles(self) -> tuple[GapProfile, ...]:
        """The gaps that are shown, outer wall first."""
        return shown_gaps(self._session.result, self._session.shown_end)

    def lanes(self) -> tuple[Lane, ...]:
        """The strips as they lie in the widget now; both have one scale of gaps."""
        session = self._session
        result, limits = session.result, session.project.limits
        profiles = self.profiles
        before = {p.side: p for p in result.gaps_before if p.end is session.shown_end}
        wanted = [limits.gap(p.side) for p in profiles]
        low = min([0.0, *(w[0] for w in wanted), *(float(p.gap.min()) for p in profiles)])
        high = max([*(w[1] for w in wanted), *(float(p.gap.max()) for p in profiles)])
        # As built counts for the scale only as far as it tells something: a wall that is 8 mm off would flatten all.
        reach = 0.35 * (high - low)
        for p in before.values():
            low = max(min(low, float(p.gap.min())), low - reach)
            high = min(max(high, float(p.gap.max())), high + reach)
        air = 0.12 * (high - low)
        low, high = low - air, high + air
        line = self.fontMetrics().height()
        metrics = QFontMetricsF(self.font())
        figures = (low, high, *(v for w in wanted for v in w))
        widest = max(metrics.horizontalAdvance(self._figure(v)) for v in figures)
        left, right = widest + line * 1.0, self.width() - line * 1.0
        top, between, below = line * 1.5, line * 2.4, line * 1.4
        count = max(1, len(profiles))
        height = (self.height() - top - below - between * (count - 1)) / count
        return tuple(
            Lane(
                profile,
                before.get(profile.side),
                QRectF(left, top + i * (height + between), max(right - left, 10.0), max(height, 8.0)),
                low,
                high,
            )
            for i, profile in enumerate(profiles)
        )

    def station_at(self, at: QPointF) -> tuple[End, Side, int] | None:
        """The station under a place of the widget; None left and right of the lanes."""
        lanes = self.lanes()
        if not lanes:
            return None
        lane = min(lanes, key=lambda one: abs(one.area.center().y() - at.y()))
        if not lane.area.left() - 2.0 <= at.x() <= lane.area.right() + 2.0:
            return None
        count = len(lane.profile.gap)
        index = round((at.x() - lane.area.left()) / lane.area.width() * count) % count
        return lane.profile.end, lane.profile.side, index

    def place_of(self, station: tuple[End, Side, int]) -> QPointF | None:
        """Where a station's gap is drawn; None when its wall is not shown."""
        end, side, index = station
        for lane in self.lanes():
            profile = lane.profile
            if profile.end is end and profile.side is side and index < len(profile.gap):
                return QPointF(lane.x(float(profile.stations[index])), lane.y(float(profile.gap[index])))
        return None

    def _figure(self, mm: float) -> str:
        return self._session.show_figure(mm)

    # Drawing

    def draw(self, painter: QPainter, pencil: Pencil) -> None:
        for lane in self.lanes():
            self._draw_lane(painter, pencil, lane)
        self.draw_station(painter, pencil, pencil.pen(pencil.ink.paper, THIN))

    def _draw_lane(self, painter: QPainter, pencil: Pencil, lane: Lane) -> None:
        self._draw_limits(painter, pencil, lane)
        profile = lane.profile
        metrics = QFontMetricsF(painter.font())
        painter.save()
        painter.setClipRect(lane.area)
        if lane.before is not None:
            painter.setPen(pencil.ghost)
            painter.drawPolyline(self._curve(lane, lane.before))
        painter.setPen(pencil.outline)
        painter.drawPolyline(self._curve(lane, profile))
        painter.restore()
        self._draw_stations(painter, pencil, lane)
        title = f"gap to the {profile.side} wall, {profile.end}"
        spread = (
            f"{self._figure(float(profile.gap.min()))} to {self._session.show_length(float(profile.gap.max()))}, "
            f"mean {self._session.show_length(profile.mean)}"
        )
        if profile.gap.max() - profile.gap.min() < _EVEN_MM:
            spread = f"{self._session.show_length(profile.mean)} all round"
        base = QPointF(lane.area.left(), lane.area.top() - metrics.descent() - 2.0)
        bold, plain = painter.font(), painter.font()
        bold.setBold(True)
        painter.setFont(bold)
        draw_text(painter, base, title, pencil.ink.text, None)
        wide = QFontMetricsF(bold).horizontalAdvance(title) + metrics.height() * 0.7
        painter.setFont(plain)
        room = lane.area.width() - wide
        spread = metrics.elidedText(spread, Qt.TextElideMode.ElideRight, room)
        draw_text(painter, base + QPointF(wide, 0.0), spread, pencil.ink.quiet, None)

    def _curve(self, lane: Lane, profile: GapProfile) -> QPolygonF:
        part = np.append(profile.stations / profile.rim_length, 1.0)
        gap = np.append(profile.gap, profile.gap[0])
        x = lane.area.left() + part * lane.area.width()
        y = lane.area.bottom() - (gap - lane.low) / (lane.high - lane.low) * lane.area.height()
        return polygon(np.column_stack((x, y)))

    def _draw_limits(self, painter: QPainter, pencil: Pencil, lane: Lane) -> None:
        """The wanted band stays paper; what lies outside is tinted, interference hatched as in the plan."""
        limits, area = self._session.project.limits.gap(lane.profile.side), lane.area
        least, greatest = lane.y(limits[0]), lane.y(limits[1])
        painter.fillRect(QRectF(area.left(), least, area.width(), area.bottom() - least), faded(pencil.ink.tight, 0.18))
        painter.fillRect(
            QRectF(area.left(), area.top(), area.width(), greatest - area.top()), faded(pencil.ink.loose, 0.18)
        )
        zero = lane.y(0.0)
        touching = QPainterPath()
        touching.addRect(QRectF(area.left(), zero, area.width(), max(area.bottom() - zero, 0.0)))
        hatch(painter, touching, pencil.pen(faded(pencil.ink.line, 0.25), HAIR), area.topLeft(), gap=3.5, rising=False)
        painter.setPen(pencil.pen(pencil.ink.quiet, HAIR))
        painter.drawLine(QLineF(area.left(), zero, area.right(), zero))
        for value, color in zip(limits, (pencil.ink.tight, pencil.ink.loose), strict=True):
            painter.setPen(pencil.pen(color, THIN))
            painter.drawLine(QLineF(area.left(), lane.y(value), area.right(), lane.y(value)))
        self._draw_figures(painter, pencil, lane)

    def figures(self, lane: Lane) -> list[tuple[float, float]]:
        """The gaps [mm] that are written beside a lane, and how far down the widget each is written.

        Both limits always are, moved apart where they would run into each other; the greatest gap and zero where there
        is room for them.
        """
        (low, high), height = self._session.project.limits.gap(lane.profile.side), self.fontMetrics().height() * 0.9
        top, bottom = lane.y(high), lane.y(low)
        lack = max(height - (bottom - top), 0.0)
        placed = [(high, top - lack / 2.0), (low, bottom + lack / 2.0)]
        for value in (float(lane.profile.gap.max()), 0.0):
            if all(abs(lane.y(value) - y) >= height for _, y in placed):
                placed.append((value, lane.y(value)))
        return placed

    def _draw_figures(self, painter: QPainter, pencil: Pencil, lane: Lane) -> None:
        metrics = QFontMetricsF(painter.font())
        limits = self._session.project.limits.gap(lane.profile.side)
        for value, y in self.figures(lane):
            text = self._figure(value)
            at = QPointF(lane.area.left() - metrics.horizontalAdvance(text) - 5.0, y + metrics.capHeight() / 2.0)
            draw_text(painter, at, text, pencil.ink.dimension if value in limits else pencil.ink.quiet, None)

    def _draw_stations(self, painter: QPainter, pencil: Pencil, lane: Lane) -> None:
        """The axis: stations from +X, in the project's unit."""
        area, metrics = lane.area, QFontMetricsF(painter.font())
        one = parse_length("1", unit_of(self._session.project.style))
        length = lane.profile.rim_length
        step = round_length(max(_TICK_PX * length / area.width() / one, 1e-6)) * one
        if step * area.width() / length < _TICK_PX * 0.6:
            step *= 2.0
        painter.setPen(pencil.pen(pencil.ink.quiet, HAIR))
        painter.drawLine(QLineF(area.bottomLeft(), area.bottomRight()))
        y = area.bottom() + metrics.ascent() + 3.0
        count = floor(length / step + 1e-9)
        end = f"{self._session.show_length(length)} round"
        end_left = area.right() - metrics.horizontalAdvance(end)
        for i in range(count + 1):
            x = lane.x(i * step)
            painter.setPen(pencil.pen(pencil.ink.quiet, HAIR))
            painter.drawLine(QLineF(x, area.bottom(), x, area.bottom() + 4.0))
            text = "+X" if i == 0 else f"{i * step / one:g}"
            half = metrics.horizontalAdvance(text) / 2.0
            if x + half < end_left - metrics.height() * 0.5:
                draw_text(painter, QPointF(x - half, y), text, pencil.ink.quiet, None)
        draw_text(painter, QPointF(end_left, y), end, pencil.ink.quiet, None)

    # The station

    def lane_of(self, station: tuple[End, Side, int]) -> QRectF:
        return next(lane.area for lane in self.lanes() if lane.profile.side is station[1])

    def note(self, station: tuple[End, Side, int]) -> Sequence[str]:
        profile = next(profile for profile in self.profiles if profile.side is station[1])
        return station_lines(profile, station[2], self._session)

    def next_station(self, way: int, *, is_far: bool) -> tuple[End, Side, int] | None:
        profiles = self.profiles
        if not profiles:
            return None
        if self.station is None:
            return profiles[0].end, profiles[0].side, 0
        end, side, index = self.station
        count = next((len(p.gap) for p in profiles if p.side is side), 1)
        return end, side, (index + way * (10 if is_far else 1)) % count

    def _changed(self, _: object = None) -> None:
        self.station = None
        self.update()
