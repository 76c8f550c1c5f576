"""The long work on a scan, as it runs beside the window: reading, finding edges, scaling and fitting."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

import numpy as np

from app.measuring.scan_state import POINTS, Aslant, Fitted, How, Opened, Part, Pick
from core.errors import UserError
from core.ovals import Family
from core.scan.edges import find_edges, threshold
from core.scan.fit import FITTED, fit_edge, in_millimetres
from core.scan.perspective import ordered_corners, rectified, relative_uncertainty
from core.scan.picture import read_picture
from core.scan.results import ScanError
from core.scan.scale import Rule, from_disc, from_dpi, from_plate, from_rules, traced_excess
from core.scan.turned import averaged

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from app.background import Tick
    from app.measuring.scan_state import ScanState
    from core.outline import FloatArray
    from core.scan.results import Edge, GreyArray, Picture, Scale, ScanFit

_SMALLEST: Final = 256  # pixels of the longer side below which a picture is not halved again
_READING: Final = 0.6  # share of the time that reading takes before the edges are looked for
_DOT_A_METRE: Final = 0.0254  # in dots per inch
_ALIKE: Final = 0.1  # edges of one thing differ by less, as a part of their size


def open_picture(path: Path, tick: Tick, like: Edge | None = None) -> Opened:
    """Read a picture, make its smaller copies and find its edges.

    Args:
        path: of the file.
        tick: told how much is done, 0 to 1.
        like: for a second scan of the same thing: one edge at least must be about as large.

    Raises:
        FileError: the file can't be read, or is no picture.
        ScanError: a second scan shows no such edge.
    """
    picture = read_picture(path, lambda part: tick(part * _READING))
    if picture.dpi is not None:
        picture = replace(picture, dpi=(_whole(picture.dpi[0]), _whole(picture.dpi[1])))
    levels = _halved(picture.grey, tick)
    level = threshold(picture)
    try:
        edges = find_edges(picture, level, tick=lambda part: tick(0.7 + 0.3 * part))
    except ScanError:
        if like is not None:
            raise
        edges = ()  # the picture is shown all the same: another threshold may find them
    if like is not None:
        nearest(like, edges, picture.name)
    return Opened(path, picture, levels, level, edges)


def _whole(dpi: float) -> float:
    """The whole number that a resolution was rounded from: PNG counts whole pixels a metre, so 150 is 150.012."""
    return float(round(dpi)) if abs(dpi - round(dpi)) <= _DOT_A_METRE / 2.0 else dpi


def _halved(grey: GreyArray, tick: Tick) -> tuple[GreyArray, ...]:
    levels = [grey]
    while max(levels[-1].shape) > _SMALLEST:
        tick(_READING + 0.05)
        g = levels[-1]
        h, w = g.shape[0] // 2 * 2, g.shape[1] // 2 * 2
        total = g[0:h:2, 0:w:2].astype(np.uint16)
        for part in (g[1:h:2, 0:w:2], g[0:h:2, 1:w:2], g[1:h:2, 1:w:2]):
            total += part
        levels.append((total >> 2).astype(np.uint8))
    return tuple(levels)


def nearest(like: Edge, edges: Sequence[Edge], where: str) -> Edge:
    """The edge as large as another one, as it lies in the second scan.

    Raises:
        ScanError: none is.
    """
    size = _size(like)
    found = min(edges, key=lambda edge: float(np.abs(_size(edge) - size).max()), default=None)
    if found is None or float((np.abs(_size(found) - size) / size).max()) > _ALIKE:
        raise ScanError(where, "shows no edge as large as the one that was chosen", hint="Scan the same part again.")
    return found


def same_edge(old: Edge, edges: Sequence[Edge]) -> int | None:
    """Index of the edge that lies where an old one lay; None when it is gone."""
    box, size = _box(old), float(_size(old).max())
    off = [float(np.abs(_box(edge) - box).max()) for edge in edges]
    if not off or min(off) > _ALIKE * size:
        return None
    return int(np.argmin(off))


def _box(edge: Edge) -> FloatArray:
    return np.concatenate((edge.points.min(axis=0), edge.points.max(axis=0)))


def _size(edge: Edge) -> FloatArray:
    """Its longest and shortest way across [pixel], whichever way it lies."""
    p = edge.points - edge.points.mean(axis=0)
    values = np.linalg.eigvalsh(np.cov(p.T))
    return np.asarray(np.sqrt(values))


# The scale


def missing(state: ScanState) -> str:
    """What is still wanted for the scale, as a sentence; empty when all is there."""
    s = state.scaling
    match s.how:
        case How.DPI:
            has = s.dpi_across is not None
            return "" if has else "The file says no DPI: type what the scanner was set to, or choose another way."
        case How.POINTS:
            lines = ((Pick.ACROSS, s.across), (Pick.DOWN, s.down))
            if any(length is not None and len(state.picked_points(pick)) == 2 for pick, length in lines):
                return ""
            return "Pick two lines of the rule far apart, and type the distance between them."
        case How.DISC:
            has = s.diameter is not None and state.picked_edge(Pick.REFERENCE) is not None
            return "" if has else "Pick the disc's edge and type its diameter."
        case How.RECTANGLE:
            has = None not in (s.length, s.width) and state.picked_edge(Pick.REFERENCE) is not None
            return "" if has else "Pick the rectangle's edge and type both its sides."
        case How.CORNERS:
            has = None not in (s.base, s.side) and len(state.picked_points(Pick.CORNERS)) == 4
            return "" if has else "Pick the four corners of the known rectangle and type its sides."


def view_of(state: ScanState) -> Scale | Aslant:
    """How the picture's pixels become millimetres; nothing may be `missing`.

    Raises:
        ScanError: what was picked or typed makes no scale.
    """
    assert state.opened is not None
    s, picture = state.scaling, state.opened.picture
    match s.how:
        case How.DPI:
            return _by_dpi(picture, s.dpi_across or 0.0, s.dpi_down or s.dpi_across or 0.0)
        case How.POINTS:
            rules = []
            for pick, length in ((Pick.ACROSS, s.across), (Pick.DOWN, s.down)):
                points = state.picked_points(pick)
                if length is not None and len(points) == POINTS[pick]:
                    rules.append(Rule(points[0], points[1], length))
            return from_rules(rules, picture.dpi)
        case How.CORNERS:
            corners = state.picked_points(Pick.CORNERS)
            seen = tuple((float(x), float(y)) for x, y in ordered_corners(corners))
            return Aslant(seen, s.base or 0.0, s.side or 0.0, relative_uncertainty(corners))
    edge = state.picked_edge(Pick.REFERENCE)
    assert edge is not None
    if s.how is How.DISC:
        return from_disc(edge, s.diameter or 0.0)
    return from_plate(edge, s.length or 0.0, s.width or 0.0)


def _by_dpi(picture: Picture, across: float, down: float) -> Scale:
    scale = from_dpi(replace(picture, dpi=(across, down)))
    if picture.dpi == (across, down):
        return scale
    said = f"{across:.4g}" if across == down else f"{across:.4g} × {down:.4g}"
    return replace(scale, note=f"{said} DPI as typed, not calibrated")


# The fit


@dataclass(frozen=True, eq=False)
class Answer:
    """What is known now: as much of scale and oval as there is, and why there is no more."""

    view: Scale | Aslant | None
    fitted: Fitted | None
    refused: tuple[tuple[Part, UserError], ...]


def answer(state: ScanState, tick: Tick) -> Answer:
    """Scale and oval of a state, for which nothing is `missing`; what can't be had is said in the answer's refusals."""
    view: Scale | Aslant | None = None
    fitted: Fitted | None = None
    part = Part.SCALE
    try:
        view = view_of(state)
        part = Part.SHAPE
        fitted = _fitted(state, view, tick)
        part = Part.TURNED
        if fitted is not None and state.turned is not None:
            fitted = _with_turned(state.turned, fitted, tick)
    except UserError as error:
        return Answer(view, fitted, ((part, error),))
    return Answer(view, fitted, ())


def _fitted(state: ScanState, view: Scale | Aslant, tick: Tick) -> Fitted | None:
    """The oval through the edge; None while no edge is picked, or the pencil's excess isn't known."""
    edge = state.picked_edge(Pick.EDGE)
    excess = _excess(state, view, tick)
    if edge is None or (state.pencil.is_traced and excess is None):
        return None
    families = tuple(FITTED) if state.family is None else (state.family,)
    fit = _fit(state.opened, view, edge, families, excess or 0.0, lambda part: tick(0.1 + 0.6 * part))
    return Fitted(fit, fit, edge, view, excess)


def _excess(state: ScanState, view: Scale | Aslant, tick: Tick) -> float | None:
    """How far outside the part its pencil line runs [mm]; None while that isn't known."""
    disc, diameter = state.picked_edge(Pick.TRACED), state.pencil.diameter
    if not state.pencil.is_traced or disc is None or diameter is None:
        return None
    return traced_excess(_fit(state.opened, view, disc, (Family.CIRCLE,), 0.0, tick), diameter)


def _fit(
    opened: Opened | None,
    view: Scale | Aslant,
    edge: Edge,
    families: Sequence[Family],
    outside: float,
    tick: Tick,
) -> ScanFit:
    assert opened is not None
    if isinstance(view, Aslant):
        points = rectified(edge.points, view.corners, view.base, view.side)
        span = np.hypot(*np.subtract(view.corners[1], view.corners[0]))
        pixel = view.base / float(span)
    else:
        points, pixel = in_millimetres(opened.picture, view, edge.points), (view.x + view.y) / 2.0
    return fit_edge(points, families, relative=view.relative, pixel=pixel, outside=outside, tick=tick)


def _with_turned(turned: Opened, fitted: Fitted, tick: Tick) -> Fitted:
    where = turned.picture.name
    if isinstance(fitted.view, Aslant):
        raise ScanError(where, "is a second scan, but the first is a photograph", hint="Scan both the same way.")
    if fitted.fit.family is Family.MEASURED:
        raise ScanError(
            where, "two measured outlines have no sizes to average", hint="Choose a family, or forget the second scan."
        )
    edge = nearest(fitted.edge, turned.edges, where)
    tick(0.75)
    families = (fitted.fit.family,)
    second = _fit(turned, fitted.view, edge, families, fitted.excess or 0.0, lambda _: None)
    tick(0.9)
    both = averaged(fitted.fit, second)
    return replace(fitted, result=both.fit, differences=both.differences)
