"""The true cut A-A through housing and insert: hatched metal, the rims squeezed between the seat floors, its sizes."""

from __future__ import annotations

from math import hypot
from typing import TYPE_CHECKING, Final

from msgspec.structs import replace
from PySide6.QtCore import QLineF, QMarginsF, QPointF, QRectF, Qt
from PySide6.QtGui import QFontMetricsF, QPainterPath

from app.drawing.base.board import Board
from app.drawing.base.dimensions import Dimension, Shelf, lay_out, paint_dimensions, shelf_height, shelf_rows
from app.drawing.base.pens import HAIR, THIN, angle_of, faded, hatch, mixed
from app.drawing.base.sheet import draw_caption, draw_scale_bar, no_metal
from app.drawing.base.texts import draw_text
from app.drawing.plan.section_line import LETTER
from core.features.stud.threads import DIAMETER_MM
from core.metal.section.dimensions import Measure
from core.metal.section.section import section
from core.words.ends import End

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from PySide6.QtGui import QMouseEvent, QPainter, QPaintEvent
    from PySide6.QtWidgets import QWidget

    from app.drawing.base.dimensions import Laid
    from app.drawing.base.pens import Pencil
    from app.session.session import Session
    from core.metal.section.dimensions import Cell, PieceCut, SectionDimension, StudCut
    from core.metal.section.section import Section

_CLICK_REACH: Final = 4.0
_NUT_REACH: Final = 0.8  # half a nut's width as a part of the thread's diameter; ISO 4032 lies between 0.78 and 0.92
_LEFT: Final = frozenset({Measure.FLOOR, Measure.DEPTH, Measure.FACES})
_NAMES: Final = {
    Measure.FLOOR: "floor",
    Measure.DEPTH: "seat",
    Measure.FACES: "faces",
    Measure.RIM: "rim, free",
    Measure.HEIGHT: "insert",
    Measure.SQUEEZE: "squeeze",
    Measure.STUD: "stud",
    Measure.WALL: "wall",
    Measure.LIP: "lip",
    Measure.GAP_OUTER: "gap",
    Measure.GAP_INNER: "gap",
}
_SAME_MM: Final = 0.005
_MISSED: Final = "The section line misses the part: drag it across the plan."


class SectionView(Board):
    """The cut along the session's section line."""

    def __init__(self, session: Session, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self.setAccessibleName("Cut")
        self.setAccessibleDescription("The cut along the section line. F fits, + and - zoom, arrows move.")
        self._hovered: Dimension | None = None
        self._pressed_at: QPointF | None = None
        self._focus_path = self._lit_path = ""
        self._is_behind = False
        self._build()
        session.changed.connect(self._changed)
        session.settled.connect(self._settled)
        session.cut_changed.connect(self._cut_changed)
        session.focused.connect(self._focused)
        session.pointed.connect(self._pointed)

    @property
    def section(self) -> Section:
        """The cut that is shown."""
        self._catch_up()
        return self._section

    def bounds(self) -> tuple[float, float, float, float]:
        return self.section.bounds

    def margins(self) -> QMarginsF:
        self._catch_up()
        font, line = self.font(), self.line_height
        metrics = QFontMetricsF(font)
        widths = dict.fromkeys(Shelf, line)
        for dimension in self._dimensions:
            if dimension.shelf in (Shelf.LEFT, Shelf.RIGHT):
                width = metrics.horizontalAdvance(dimension.text) + line * 2.2
                widths[dimension.shelf] = max(widths[dimension.shelf], width)
        top, bottom = (
            shelf_height(font, rows=shelf_rows((d for d in self._dimensions if d.shelf is shelf), font, self.width()))
            for shelf in (Shelf.TOP, Shelf.BOTTOM)
        )
        return QMarginsF(widths[Shelf.LEFT], top, widths[Shelf.RIGHT], bottom + line * 1.6)

    def laid_dimensions(self) -> list[Laid]:
        """The dimensions with their places in the widget, as they are drawn."""
        x0, y0, x1, y1 = self.bounds()
        drawn = QRectF(self.place_to_widget(x0, y1), self.place_to_widget(x1, y0))
        return lay_out(self._dimensions, self.camera, drawn, QRectF(self.rect()), self.font())

    def lit_dimensions(self) -> tuple[Dimension, ...]:
        """The dimensions that stand out."""
        self._catch_up()
        paths = {path for path in (self._focus_path, self._lit_path) if path}
        return tuple(d for d in self._dimensions if paths.intersection(d.paths) or d == self._hovered)

    def dimension_at(self, at: QPointF) -> Dimension | None:
        """The dimension under a place of the widget."""
        return next((laid.dimension for laid in self.laid_dimensions() if laid.is_near(at)), None)

    @property
    def title(self) -> str:
        """Which cut it is: its letters, its angle, and how far it passes from the seat centre."""
        (ax, ay), (bx, by) = self._session.cut
        angle = angle_of(bx - ax, by - ay)
        off = abs((bx - ax) * ay - (by - ay) * ax) / hypot(bx - ax, by - ay)
        where = "through the centre" if off < _SAME_MM else f"{self._session.show_length(off)} off the centre"
        title = f"Cut {LETTER}–{LETTER}, {angle:.4g}°, {where}"
        gone = self._gone()
        return f"{title}. {no_metal(*gone)}" if gone and not self.section.is_empty else title

    def _gone(self) -> list[End]:
        """The pieces of which no metal is left, wherever they are cut."""
        return [piece.end for piece in self._session.result.after.pieces if piece.silhouette.is_empty]

    def _build(self) -> None:
        session, result = self._session, self._session.result
        self._section = section(result.before, result.after, result.project.limits, *session.cut)
        self._dimensions = _joined(self._chosen(self._section.dimensions))
        self._hovered = None

    def _catch_up(self) -> None:
        """Cut anew what has changed while nothing of this view was in sight."""
        if self._is_behind:
            self._is_behind = False
            self._build()
            self.keep_in_view()

    def _chosen(self, found: Iterable[SectionDimension]) -> Iterator[Dimension]:
        """Dimensions for the four sides; the lid's widths only where they differ from the base's."""
        every = list(found)
        known = {(d.measure, self._side(d)): d.value for d in every if d.end is End.BASE and not d.is_upright}
        for d in every:
            shelf = Shelf.BOTTOM
            if d.is_upright:
                shelf = Shelf.LEFT if d.measure in _LEFT else Shelf.RIGHT
            elif d.end is End.LID:
                same = known.get((d.measure, self._side(d)))
                if same is not None and abs(same - d.value) < _SAME_MM:
                    continue
                shelf = Shelf.TOP
            if d.measure is Measure.SQUEEZE and d.value < 0.0:
                yield Dimension("play", self._session.show_figure(-d.value), d.a, d.b, shelf, d.paths)
                continue
            name = _NAMES[d.measure]
            if d.measure in (Measure.FLOOR, Measure.DEPTH) and len(self.section.pieces) > 1:
                name = f"{d.end} {name}"
            yield Dimension(name, self._session.show_figure(d.value), d.a, d.b, shelf, d.paths)

    def _side(self, d: SectionDimension) -> bool:
        x0, _, x1, _ = self.section.bounds if hasattr(self, "_section") else (0.0, 0.0, 1.0, 1.0)
        return d.a[0] + d.b[0] > x0 + x1

    # Drawing

    def draw(self, painter: QPainter, pencil: Pencil) -> None:
        room = QRectF(self.rect())
        if self.section.is_empty:
            gone = self._gone()
            text = no_metal(*gone) if len(gone) == len(self.section.pieces) else _MISSED
            at = room.center() - QPointF(QFontMetricsF(painter.font()).horizontalAdvance(text) / 2.0, 0.0)
            draw_text(painter, at, text, pencil.ink.quiet, None)
        else:
            self.draw_cut(painter, pencil)
            self.draw_dimensions(painter, pencil)
        draw_caption(painter, pencil, room, self._session.project.style, self.title)

    def draw_cut(self, painter: QPainter, pencil: Pencil) -> None:
        """Metal, insert and studs, without any figure."""
        self._draw_before(painter, pencil)
        self._draw_insert(painter, pencil)
        for piece in self.section.pieces:
            self._draw_piece(painter, pencil, piece)
        self._draw_free(painter, pencil)
        for stud in self.section.studs:
            self._draw_stud(painter, pencil, stud)

    def draw_dimensions(self, painter: QPainter, pencil: Pencil) -> None:
        """The figures, and a bar to judge sizes by."""
        paint_dimensions(painter, pencil, self.laid_dimensions())
        draw_scale_bar(painter, pencil, QRectF(self.rect()), self._session.project.style, self.camera.scale)

    def draw_over(self, painter: QPainter, pencil: Pencil) -> None:
        lit = self.lit_dimensions()
        if lit:
            paint_dimensions(painter, pencil, [one for one in self.laid_dimensions() if one.dimension in lit], lit)

    def _rect(self, cell: Cell) -> QRectF:
        return QRectF(self.place_to_widget(cell.s0, cell.h1), self.place_to_widget(cell.s1, cell.h0))

    def _draw_edges(self, painter: QPainter, piece: PieceCut) -> None:
        to_widget = self.camera.to_widget
        painter.drawLines([QLineF(to_widget(a), to_widget(b)) for a, b in piece.edges])

    def _draw_before(self, painter: QPainter, pencil: Pencil) -> None:
        painter.setPen(pencil.ghost)
        for piece in self.section.before:
            self._draw_edges(painter, piece)

    def _draw_piece(self, painter: QPainter, pencil: Pencil, piece: PieceCut) -> None:
        area = QPainterPath()
        area.setFillRule(Qt.FillRule.WindingFill)
        for cell in piece.cells:
            area.addRect(self._rect(cell))
        painter.fillPath(area, pencil.cut_metal)
        pen = pencil.pen(mixed(pencil.ink.line, pencil.ink.paper, 0.35), HAIR)
        # Neighbouring pieces are hatched in two directions, so that each is seen as one.
        hatch(painter, area, pen, self.place_to_widget(0.0, 0.0), rising=piece.end is End.BASE)
        pen = pencil.outline
        pen.setCapStyle(Qt.PenCapStyle.SquareCap)
        painter.setPen(pen)
        self._draw_edges(painter, piece)

    def _draw_insert(self, painter: QPainter, pencil: Pencil) -> None:
        painter.setPen(pencil.pen(mixed(pencil.insert_line, pencil.ink.paper, 0.35), HAIR))
        painter.setBrush(faded(pencil.ink.insert_fill, 0.4))
        for cell in self.section.body:
            painter.drawRect(self._rect(cell))
        painter.setPen(pencil.pen(pencil.insert_line, THIN))
        painter.setBrush(pencil.ink.insert_fill)
        for rim in self.section.rims:
            for cell in rim.cells:
                painter.drawRect(self._rect(cell))
        painter.setBrush(Qt.BrushStyle.NoBrush)

    def _draw_free(self, painter: QPainter, pencil: Pencil) -> None:
        """The rims as they would stand unsqueezed: dotted, over the metal that squeezes them."""
        for rim in self.section.rims:
            for cell, free in zip(rim.cells, rim.free, strict=True):
                if free != cell:
                    painter.fillRect(self._rect(free), faded(pencil.ink.insert_fill, 0.45))
                    painter.setPen(pencil.free)
                    painter.drawRect(self._rect(free))

    def _draw_stud(self, painter: QPainter, pencil: Pencil, stud: StudCut) -> None:
        """Studs, washers and nuts are not hatched, as usual for what is turned."""
        ink = pencil.ink
        diameter = DIAMETER_MM[self._session.result.after.housing.studs[stud.index].thread]
        painter.setBrush(ink.paper)
        painter.setPen(pencil.pen(ink.line, 1.2))
        reach = diameter * _NUT_REACH
        for h0, h1, half in ((stud.washer0, stud.nut0, reach * 1.2), (stud.nut0, stud.nut1, reach)):
            box = QRectF(self.place_to_widget(stud.s - half, h1), self.place_to_widget(stud.s + half, h0))
            painter.drawRect(box)
        shank = QRectF(
            self.place_to_widget(stud.s - stud.half, stud.h1), self.place_to_widget(stud.s + stud.half, stud.h0)
        )
        painter.drawRect(shank)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(pencil.pen(ink.line, HAIR))
        core = shank.adjusted(shank.width() * 0.1, 0.0, -shank.width() * 0.1, 0.0)
        painter.drawLines([QLineF(core.topLeft(), core.bottomLeft()), QLineF(core.topRight(), core.bottomRight())])
        painter.setPen(pencil.pen(ink.machine, THIN, [12.0, 3.0, 2.0, 3.0]))
        past = QPointF(0.0, 6.0)
        middle = QPointF(shank.center().x(), 0.0)
        top, bottom = QPointF(middle.x(), shank.top()), QPointF(middle.x(), shank.bottom())
        painter.drawLine(QLineF(top - past, bottom + past))

    # What the session says

    def paintEvent(self, event: QPaintEvent) -> None:
        self._catch_up()
        super().paintEvent(event)

    def _changed(self, _: object) -> None:
        self._is_behind = True

    def _settled(self) -> None:
        if (
            self._is_behind and not self.visibleRegion().isEmpty()
        ):  # folded away by the splitter, it is still visible in Qt's sense
            self._catch_up()

    def _cut_changed(self, _: object) -> None:
        self._is_behind = False
        self._build()
        if self.is_fitted:
            self.fit()
        self.redraw()

    def _focused(self, path: str) -> None:
        self._focus_path = path
        self.update()

    def _pointed(self, place: object) -> None:
        self._lit_path = getattr(place, "path", "")
        self.update()

    # The pointer

    def take_press(self, event: QMouseEvent) -> bool:
        self._pressed_at = event.position()
        return self.dimension_at(event.position()) is not None

    def take_move(self, event: QMouseEvent) -> None:
        found = self.dimension_at(event.position())
        if found != self._hovered:
            self._hovered = found
            self.update()
        if found is None:
            self.unsetCursor()
        else:
            self.setCursor(Qt.CursorShape.PointingHandCursor)

    def take_release(self, event: QMouseEvent) -> None:
        pressed, self._pressed_at = self._pressed_at, None
        if pressed is None or (event.position() - pressed).manhattanLength() > _CLICK_REACH:
            return
        found = self.dimension_at(event.position())
        if found is not None and found.paths:
            self._session.ask_for(found.paths[0])


def _joined(dimensions: Iterable[Dimension]) -> tuple[Dimension, ...]:
    """Studs of one length as one dimension, taken at the stud nearest to its figure, with the paths of all."""
    out: dict[object, Dimension] = {}
    for d in dimensions:
        key: object = (d.text, d.shelf) if d.name == _NAMES[Measure.STUD] else len(out)
        first = out.get(key)
        out[key] = d if first is None else replace(d, paths=(*d.paths, *first.paths))
    return tuple(out.values())
