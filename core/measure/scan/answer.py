"""A scan's answer: the scale, the oval through the edge, the mean with a turned scan; and what is missing for them."""

from __future__ import annotations

from enum import StrEnum
from typing import TYPE_CHECKING, assert_never

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from core.geometry.ovals.ovals import SIZED_FAMILIES, Family
from core.measure.scan.asked import Fitted, How
from core.measure.scan.picture.looked import nearest
from core.measure.scan.picture.perspective import ordered_corners, rectified, relative_uncertainty
from core.measure.scan.picture.scale import from_disc, from_dpi, from_plate, from_rules, traced_excess
from core.measure.scan.results import Aslant, ScanError
from core.measure.scan.sizes.allowances import NONE
from core.measure.scan.sizes.fit import fit_edge, in_millimetres
from core.measure.scan.sizes.turned import averaged
from core.measure.scan.sizes.uncertainty import Doubt
from core.words.errors import UserError

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from core.measure.scan.asked import Asked
    from core.measure.scan.picture.looked import Looked
    from core.measure.scan.picture.scale import Excess
    from core.measure.scan.results import Edge, Picture, Scale, ScanFit

    Tick = Callable[[float], None]


class Stage(StrEnum):
    """The steps of the answer, any of which may be refused."""

    SCALE = "scale"
    SHAPE = "shape"
    TURNED = "turned"


class Answer(Struct, frozen=True, eq=False):
    """What is known now: as much of scale and oval as there is, and why there is no more."""

    view: Scale | Aslant | None
    fitted: Fitted | None
    refused: tuple[tuple[Stage, UserError], ...]


def missing(asked: Asked) -> str:
    """What is still wanted for the scale, as a sentence; empty when all is there."""
    s = asked.scaling
    match s.how:
        case How.DPI:
            has = s.dpi_across is not None
            return "" if has else "The file says no DPI: type what the scanner was set to, or choose another way."
        case How.POINTS:
            return "" if asked.rules else "Pick two lines of the rule far apart, and type the distance between them."
        case How.DISC:
            has = s.diameter is not None and asked.reference is not None
            return "" if has else "Pick the disc's edge and type its diameter."
        case How.RECTANGLE:
            has = None not in (s.length, s.width) and asked.reference is not None
            return "" if has else "Pick the rectangle's edge and type both its sides."
        case How.CORNERS:
            has = None not in (s.base, s.side) and len(asked.corners) == 4
            return "" if has else "Pick the four corners of the known rectangle and type its sides."


def answer(asked: Asked, tick: Tick = lambda _: None) -> Answer:
    """Scale and oval, for which nothing is `missing`; what can't be had is said in the answer's refusals.

    Args:
        asked: the question.
        tick: told how much is done, 0 to 1; what it raises calls the work off.
    """
    view: Scale | Aslant | None = None
    fitted: Fitted | None = None
    stage = Stage.SCALE
    try:
        view = view_of(asked)
        stage = Stage.SHAPE
        fitted = _fitted(asked, view, tick)
        stage = Stage.TURNED
        if fitted is not None and asked.turned is not None:
            fitted = _with_turned(asked, asked.turned, fitted, tick)
    except UserError as error:
        return Answer(view, fitted, ((stage, error),))
    return Answer(view, fitted, ())


def view_of(asked: Asked) -> Scale | Aslant:
    """How the picture's pixels become millimetres; nothing may be `missing`.

    Raises:
        ScanError: what was picked or typed makes no scale.
    """
    s = asked.scaling
    match s.how:
        case How.DPI:
            return _by_dpi(asked.picture, s.dpi_across or 0.0, s.dpi_down or s.dpi_across or 0.0)
        case How.POINTS:
            return from_rules(asked.rules, asked.picture.dpi)
        case How.CORNERS:
            seen = tuple((float(x), float(y)) for x, y in ordered_corners(asked.corners))
            return Aslant(seen, s.base or 0.0, s.side or 0.0, relative_uncertainty(asked.corners))
        case How.DISC:
            assert asked.reference is not None
            return from_disc(asked.reference, s.diameter or 0.0)
        case How.RECTANGLE:
            assert asked.reference is not None
            return from_plate(asked.reference, s.length or 0.0, s.width or 0.0)
        case _:
            assert_never(s.how)


def _by_dpi(picture: Picture, across: float, down: float) -> Scale:
    scale = from_dpi(replace(picture, dpi=(across, down)))
    if picture.dpi == (across, down):
        return scale
    said = f"{across:.4g}" if across == down else f"{across:.4g} × {down:.4g}"
    return replace(scale, note=f"{said} DPI as typed, not calibrated")


def _fitted(asked: Asked, view: Scale | Aslant, tick: Tick) -> Fitted | None:
    """The oval through the edge; None while no edge is picked, or the pencil's excess isn't known."""
    excess = _excess(asked, view, tick)
    if asked.edge is None or (asked.pencil.is_traced and excess is None):
        return None
    families = SIZED_FAMILIES if asked.family is None else (asked.family,)
    fit = _fit(asked, asked.picture, view, asked.edge, families, excess, lambda part: tick(0.1 + 0.6 * part))
    return Fitted(fit, fit, asked.edge, view, excess)


def _excess(asked: Asked, view: Scale | Aslant, tick: Tick) -> Excess | None:
    """How far outside the part its pencil line runs; None while that isn't known."""
    disc, diameter = asked.traced, asked.pencil.diameter
    if not asked.pencil.is_traced or disc is None or diameter is None:
        return None
    # A line on paper throws no shadow; what its plane does to it, it does to so short a line by next to nothing.
    line = replace(asked, allowances=NONE)
    return traced_excess(_fit(line, asked.picture, view, disc, (Family.CIRCLE,), None, tick), diameter)


def _fit(
    asked: Asked,
    picture: Picture,
    view: Scale | Aslant,
    edge: Edge,
    families: Sequence[Family],
    excess: Excess | None,
    tick: Tick,
) -> ScanFit:
    if isinstance(view, Aslant):
        points = rectified(edge.points, view.corners, view.base, view.side)
        span = np.hypot(*np.subtract(view.corners[1], view.corners[0]))
        doubt = Doubt(view.relative, view.base / float(span))
    else:
        points = in_millimetres(picture, view, edge.points)
        doubt = Doubt(view.relative, (view.x + view.y) / 2.0, view.reference)
    if excess is None:
        doubt = replace(doubt, allowances=replace(asked.allowances, pencil=0.0))
        return fit_edge(points, families, doubt=doubt, tick=tick)
    doubt = replace(doubt, excess=excess.standard, allowances=asked.allowances)
    return fit_edge(points, families, doubt=doubt, outside=excess.value, tick=tick)


def _with_turned(asked: Asked, turned: Looked, fitted: Fitted, tick: Tick) -> Fitted:
    where = turned.picture.name
    if isinstance(fitted.view, Aslant):
        raise ScanError(where, "is a second scan, but the first is a photograph", hint="Scan both the same way.")
    if not fitted.fit.family.kind.is_sized:
        raise ScanError(
            where, "two measured outlines have no sizes to average", hint="Choose a family, or forget the second scan."
        )
    edge = nearest(fitted.edge, turned.edges, where)
    tick(0.75)
    families = (fitted.fit.family,)
    second = _fit(asked, turned.picture, fitted.view, edge, families, fitted.excess, lambda _: None)
    tick(0.9)
    both = averaged(fitted.fit, second)
    return replace(fitted, result=both.fit, differences=both.differences)
