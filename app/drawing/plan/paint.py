"""How a plan is drawn, layer by layer, from the paper up."""

from __future__ import annotations

from math import hypot
from typing import TYPE_CHECKING, Final

from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QPainterPath

from app.drawing.base.dimensions import paint_dimensions
from app.drawing.base.paths import stroke_paths
from app.drawing.base.pens import (
    ARROW,
    FULL,
    HAIR,
    HEAVY,
    RINGS,
    THIN,
    arrowhead,
    draw_arrowheads,
    draw_machine_ring,
    faded,
    hatch,
    mixed,
)
from app.drawing.base.sheet import draw_caption, draw_scale_bar, no_metal
from app.drawing.base.texts import draw_labels, draw_note
from app.drawing.plan.section_line import paint_section_line
from app.widgets.theme import paint_mark

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from PySide6.QtGui import QPainter, QPen

    from app.drawing.base.camera import Camera
    from app.drawing.base.dimensions import Dimension, Laid
    from app.drawing.base.labels import Label
    from app.drawing.base.pens import Pencil
    from app.drawing.plan.layers import KeepOutArea, PlanScene, RibbonPart
    from app.drawing.plan.marks import Mark, Thinnest
    from app.drawing.plan.section_line import Cut
    from app.session.session import Session
    from core.fit.gaps import GapProfile
    from core.geometry.lines.outline import Outline, Point
    from core.words.ends import End, Side
    from core.words.verdicts import Place

METAL_TINT: Final = 0.13
"""How far a piece's whole thickness is tinted towards the line in plan; less metal has its share of it."""
MARK_OFFSET: Final = QPointF(11.0, -11.0)
"""From a place to the middle of its mark, in screen units: the mark must not hide what it speaks of."""
SIGN: Final = 15.0
"""How large a mark is, in screen units."""
WEB_TAIL: Final = ARROW * 2.6
"""How far the arrows of the thinnest metal reach away from it."""


class PlanPainter:
    """Draws one frame of a plan."""

    def __init__(self, painter: QPainter, pencil: Pencil, camera: Camera, session: Session, room: QRectF) -> None:
        self._painter, self._pencil, self._camera, self._session = painter, pencil, camera, session
        self._ink, self._room = pencil.ink, room

    def keep_outs(self, areas: Iterable[KeepOutArea]) -> None:
        """What stands in the way, hatched."""
        for area in areas:
            self._keep_out(area.path)

    def metal(self, scene: PlanScene) -> None:
        """The fills of metal and insert."""
        painter = self._painter
        painter.setTransform(self._camera.transform, combine=True)
        for path, share in scene.metal:
            painter.fillPath(path, mixed(self._ink.paper, self._ink.line, METAL_TINT * share))
        painter.fillPath(scene.rim, self._ink.insert_fill)
        painter.resetTransform()

    def as_built(self, paths: Iterable[QPainterPath]) -> None:
        """The piece as it was built."""
        self._painter.setTransform(self._camera.transform, combine=True)
        self._stroke(paths, self._pencil.ghost)
        self._painter.resetTransform()

    def edges(self, scene: PlanScene, ribbons: Sequence[RibbonPart]) -> None:
        """The lines of metal and insert, the gap between them, and the machine."""
        painter, pencil = self._painter, self._pencil
        painter.setTransform(self._camera.transform, combine=True)
        self._stroke(scene.edges, pencil.edge)
        painter.strokePath(scene.rim, pencil.pen(pencil.insert_line, THIN))
        self._ribbons(ribbons)
        self._stroke(scene.seat, pencil.pen(self._ink.line, 1.4))
        self._stroke(scene.outline, pencil.outline)
        painter.resetTransform()
        self._centre_lines(scene)
        self._interference(ribbons)
        for machine in scene.machine:
            at = self._camera.to_widget(machine.centre)
            draw_machine_ring(painter, pencil, at, machine.radius * self._camera.scale)

    def _stroke(self, paths: Iterable[QPainterPath], pen: QPen) -> None:
        for path in paths:
            self._painter.strokePath(path, pen)

    def _keep_out(self, path: QPainterPath) -> None:
        painter, pencil = self._painter, self._pencil
        area = self._camera.transform.map(path)
        hatch(painter, area, pencil.pen(faded(self._ink.keep_out, 0.65), HAIR), self._camera.to_widget((0.0, 0.0)))
        painter.strokePath(area, pencil.pen(self._ink.keep_out, THIN))

    def _ribbons(self, ribbons: Sequence[RibbonPart]) -> None:
        painter = self._painter
        painter.setPen(Qt.PenStyle.NoPen)
        for part in ribbons:
            painter.setBrush(self._pencil.gap_color(part.step / RINGS))
            painter.drawPolygon(part.polygon)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(self._pencil.pen(mixed(self._ink.line, self._ink.paper, 0.3), HAIR))
        for part in ribbons:
            painter.drawPolyline(part.far_side)

    def _interference(self, ribbons: Sequence[RibbonPart]) -> None:
        area = QPainterPath()
        for part in ribbons:
            if part.is_interference:
                area.addPolygon(self._camera.transform.map(part.polygon))
        if not area.isEmpty():
            pen = self._pencil.pen(self._ink.line, 1.2)
            hatch(self._painter, area, pen, self._camera.to_widget((0.0, 0.0)), gap=3.5, rising=False)

    def _centre_lines(self, scene: PlanScene) -> None:
        x0, y0, x1, y1 = scene.part
        past = 3.0 * ARROW / self._camera.scale * 0.5
        pen = self._pencil.pen(faded(self._ink.quiet, 0.55), HAIR, [14.0, 3.0, 2.0, 3.0])
        self._painter.setPen(pen)
        for a, b in (((x0 - past, 0.0), (x1 + past, 0.0)), ((0.0, y0 - past), (0.0, y1 + past))):
            self._painter.drawLine(QLineF(self._camera.to_widget(a), self._camera.to_widget(b)))

    def moved(self, paths: Sequence[QPainterPath]) -> None:
        """What the last edit moved, on a layer of its own that fades."""
        painter = self._painter
        painter.setTransform(self._camera.transform, combine=True)
        for width, opacity in ((9.0, 0.35), (FULL, 1.0)):
            pen = self._pencil.pen(faded(self._ink.moved, opacity), width)
            pen.setCapStyle(Qt.PenCapStyle.FlatCap)  # translucent round ends would show where they overlap
            self._stroke(paths, pen)
        painter.resetTransform()

    def lit(self, place: Place | None, outlines: Sequence[Outline]) -> None:
        """The place that was pointed at."""
        if place is None:
            return
        painter, color = self._painter, self._ink.highlight
        if outlines:
            paths = stroke_paths(outlines)
            painter.setTransform(self._camera.transform, combine=True)
            wide = self._pencil.pen(faded(color, 0.25), 10.0)
            wide.setCapStyle(Qt.PenCapStyle.FlatCap)
            self._stroke(paths, wide)
            self._stroke(paths, self._pencil.pen(color, FULL))
            painter.resetTransform()
        if place.point is not None and place.other is not None:
            line = QLineF(self._camera.to_widget(place.point), self._camera.to_widget(place.other))
            painter.setPen(self._pencil.pen(faded(color, 0.4), 8.0))
            painter.drawLine(line)
        if place.point is not None:
            at = self._camera.to_widget(place.point if place.other is None else _middle(place.point, place.other))
            painter.setPen(self._pencil.pen(faded(color, 0.35), 6.0))
            painter.drawEllipse(at, 17.0, 17.0)
            painter.setPen(self._pencil.pen(color, FULL))
            painter.drawEllipse(at, 17.0, 17.0)

    def dimensions(self, laid: Iterable[Laid], lit: Iterable[Dimension]) -> None:
        """The dimensions, those in ``lit`` standing out."""
        paint_dimensions(self._painter, self._pencil, laid, lit)

    def thinnest(self, web: Thinnest | None) -> None:
        """The thinnest metal: two arrows that meet it from outside."""
        if web is None:
            return
        painter, color = self._painter, self._ink.of(web.verdict)
        a, b, d = web_on_screen(web, self._camera)
        painter.setPen(self._pencil.pen(color, FULL))
        tail = WEB_TAIL
        painter.drawLines([QLineF(a - d * tail, a - d * ARROW * 0.8), QLineF(b + d * ARROW * 0.8, b + d * tail)])
        draw_arrowheads(painter, color, [arrowhead(a, d, ARROW * 1.2), arrowhead(b, -d, ARROW * 1.2)])

    def section_line(self, cut: Cut, *, is_held: bool) -> None:
        """The line that the cut is taken along."""
        paint_section_line(self._painter, self._pencil, self._camera, cut, is_held=is_held)

    def marks(self, marks: Iterable[Mark]) -> None:
        """Verdicts at their places, conflicts with a ring round them."""
        painter = self._painter
        for mark in marks:
            place = self._camera.to_widget(mark.at)
            at = place + MARK_OFFSET
            painter.setPen(self._pencil.pen(self._ink.of(mark.verdict), THIN))
            painter.drawLine(QLineF(place, at))
            box = QRectF(at.x() - SIGN / 2.0, at.y() - SIGN / 2.0, SIGN, SIGN)
            painter.setPen(Qt.PenStyle.NoPen)
            painter.setBrush(faded(self._ink.paper, 0.85))
            painter.drawEllipse(at, SIGN * 0.72, SIGN * 0.72)
            painter.setBrush(Qt.BrushStyle.NoBrush)
            paint_mark(painter, box.adjusted(1.0, 1.0, -1.0, -1.0), mark.verdict, self._ink)
            if mark.is_conflict:
                color = self._ink.of(mark.verdict)
                painter.setPen(self._pencil.pen(color, FULL))
                painter.drawEllipse(at, SIGN * 0.85, SIGN * 0.85)

    def labels(self, labels: Iterable[Label]) -> None:
        """Words at the places that were found for them."""
        draw_labels(self._painter, self._pencil, labels)

    def station(self, gaps: Iterable[GapProfile], station: tuple[End, Side, int]) -> None:
        """The gap at one station, marked across the ring and read out."""
        _, side, index = station
        profile = next((p for p in gaps if p.side is side), None)
        if profile is None or index >= len(profile.gap):
            return
        rim, wall = profile.rim[index].tolist(), profile.wall[index].tolist()
        at = self._camera.to_widget(rim)
        painter = self._painter
        painter.setPen(self._pencil.pen(self._ink.highlight, HEAVY))
        painter.drawLine(QLineF(at, self._camera.to_widget(wall)))
        painter.setBrush(self._ink.highlight)
        painter.setPen(self._pencil.pen(self._ink.paper, THIN))
        painter.drawEllipse(at, 4.5, 4.5)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        draw_note(painter, self._pencil, at, station_lines(profile, index, self._session), self._room)

    def note(self, at: Point, lines: Sequence[str]) -> None:
        """A note on a place."""
        draw_note(self._painter, self._pencil, self._camera.to_widget(at), lines, self._room)

    def caption(self, scene: PlanScene) -> None:
        """That no metal is left, where it is so."""
        if scene.is_empty:
            draw_caption(self._painter, self._pencil, self._room, self._session.project.style, no_metal(scene.end))

    def scale_bar(self) -> None:
        """A bar of a round length."""
        draw_scale_bar(self._painter, self._pencil, self._room, self._session.project.style, self._camera.scale)


def station_lines(profile: GapProfile, index: int, session: Session) -> tuple[str, str]:
    """What is read at a station: gap and wall, then where it is."""
    gap = float(profile.gap[index])
    what = "gap" if gap >= 0.0 else "interference"
    return (
        f"{what} {session.show_length(abs(gap))}",
        f"{profile.end}, {profile.side} wall, {session.show_length(float(profile.stations[index]))} round",
    )


def web_on_screen(web: Thinnest, camera: Camera) -> tuple[QPointF, QPointF, QPointF]:
    """Both ends of the thinnest metal on screen, and the direction from the first to the second."""
    a, b = camera.to_widget(web.a), camera.to_widget(web.b)
    size = hypot(b.x() - a.x(), b.y() - a.y())
    return a, b, (b - a) / size if size > 1e-9 else QPointF(1.0, 0.0)


def _middle(a: Point, b: Point) -> Point:
    return (a[0] + b[0]) / 2.0, (a[1] + b[1]) / 2.0
