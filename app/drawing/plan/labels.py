"""The words of a plan that have no place of their own: names of neighbours and conflicts, the thinnest metal."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from msgspec import Struct
from PySide6.QtCore import QLineF, QPointF, QRectF

from app.drawing.base.labels import Label, Places, along, beside, within_or_beside
from app.drawing.base.pens import ARROW
from app.drawing.plan.paint import MARK_OFFSET, SIGN, WEB_TAIL, web_on_screen
from app.drawing.plan.section_line import end_boxes

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from PySide6.QtGui import QFontMetricsF

    from app.drawing.base.camera import Camera
    from app.drawing.base.dimensions import Laid
    from app.drawing.plan.layers import PlanScene
    from app.drawing.plan.marks import Mark, Thinnest
    from app.drawing.plan.section_line import Cut
    from app.widgets.theme import Ink
    from core.geometry.lines.outline import Point

_REACHES: Final = (5.0, 18.0, 38.0, 70.0)
"""How far a figure stands off the arrows of the thinnest metal, in screen units."""


class Drawn(Struct, frozen=True):
    """What of a plan is drawn before the words.

    Attributes:
        scene: metal and surroundings.
        marks: the signs on it.
        web: the thinnest metal.
        laid: the dimensions, as they lie.
        cut: the section line, as it is drawn.
    """

    scene: PlanScene
    marks: Sequence[Mark]
    web: Thinnest | None
    laid: Sequence[Laid]
    cut: Cut


def plan_labels(
    drawn: Drawn, camera: Camera, room: QRectF, metrics: QFontMetricsF, inks: Ink, show: Callable[[float], str]
) -> list[Label]:
    """Labels of one frame.

    Args:
        drawn: what they must not cover.
        camera: from millimetres to the widget.
        room: the widget, without its corners' words.
        metrics: of the drawing's font.
        inks: the colours.
        show: shows a length with its unit.
    """
    places = _occupied(drawn, camera, room, metrics)
    scene, marks, web = drawn.scene, drawn.marks, drawn.web
    names = list(dict.fromkeys((mark.label, mark.at) for mark in marks if mark.is_conflict))
    made: list[Label] = []

    def size(text: str) -> tuple[float, float]:
        return metrics.horizontalAdvance(text), metrics.height()

    for area in scene.keep_outs:
        box = camera.transform.mapRect(area.path.boundingRect())
        made.append(Label(area.name, inks.keep_out, places.take(within_or_beside(box, size(area.name)))))
    places.add_boxes(camera.transform.mapRect(area.path.boundingRect()) for area in scene.keep_outs)
    for name, at in names:
        color = next(
            inks.of(mark.verdict) for mark in marks if mark.is_conflict and (mark.label, mark.at) == (name, at)
        )
        sign = camera.to_widget(at) + MARK_OFFSET
        made.append(Label(name, color, places.take(beside(sign, SIGN * 1.1, size(name)))))
    if web is not None:
        text = f"thinnest {show(web.width)}"
        a, b, d = web_on_screen(web, camera)
        ends = ((b + d * WEB_TAIL, d), (a - d * WEB_TAIL, -d))
        made.append(Label(text, inks.of(web.verdict), places.take(along(ends, _REACHES, size(text)))))
    return made


def _occupied(drawn: Drawn, camera: Camera, room: QRectF, metrics: QFontMetricsF) -> Places:
    scene, web, cut = drawn.scene, drawn.web, drawn.cut
    places = Places(room)
    places.add_segments(scene.lines, camera)
    for one in drawn.laid:
        places.add_boxes([one.box])
        places.add_lines((*one.lines, *one.extensions))
    places.add_lines([QLineF(camera.to_widget(cut[0]), camera.to_widget(cut[1]))])
    places.add_boxes(end_boxes(cut, camera, metrics))
    places.add_boxes(_ring(camera, m.centre, m.radius) for m in scene.machine)
    reach = SIGN * 0.85
    places.add_boxes(_about(camera.to_widget(mark.at) + MARK_OFFSET, reach) for mark in drawn.marks)
    if web is not None:
        a, b, d = web_on_screen(web, camera)
        places.add_lines([QLineF(a - d * WEB_TAIL, b + d * WEB_TAIL)])
    return places


def _ring(camera: Camera, centre: Point, radius: float) -> QRectF:
    """The square round a ring of the machine."""
    return _about(camera.to_widget(centre), radius * camera.scale + ARROW / 2.0)


def _about(at: QPointF, reach: float) -> QRectF:
    return QRectF(at.x() - reach, at.y() - reach, 2.0 * reach, 2.0 * reach)
