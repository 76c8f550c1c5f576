"""What a scan found, as lines to read and as values for other programs."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np
from msgspec import Struct

from core.measure.scan.picture.perspective import rectified
from core.measure.scan.results import Aslant
from core.measure.scan.sizes.allowances import ORIGINS, START, scale_within
from core.measure.scan.sizes.fit import in_millimetres
from core.measure.sources import spoken_size
from core.part.readings import SizeName
from core.words.lengths import Style, show_length, shower

if TYPE_CHECKING:
    from collections.abc import Iterator

    from core.measure.readings.results import Estimate
    from core.measure.scan.asked import Asked, Fitted
    from core.measure.scan.results import Edge

_SHOW = shower(Style.MM)
_FACTOR_95: Final = 1.96
_FLAGS: Final = {
    "shadow": "--shadow",
    "off_plane": "--off-plane",
    "lens": "--lens-away",
    "pencil": "--pencil-within",
}
_ALLOWED: Final = {
    "shadow": "a shadow of up to {} along one side, of a disc or plate as well",
    "off_plane": "an edge up to {} off the scale's plane",
    "lens": "a lens {} away from it",
    "pencil": "a pencil held alike within {}",
}


class _Remark(Struct, frozen=True):
    """A whole sentence, and what it is about."""

    kind: str
    text: str


def as_lines(asked: Asked, fitted: Fitted, numbers: dict[str, int], only: frozenset[SizeName] | None) -> Iterator[str]:
    """What was found, to read.

    Args:
        asked: the question.
        fitted: the answer.
        numbers: by role the index of each edge that counted.
        only: the sizes that are wanted; None is all.
    """
    h, w = asked.picture.grey.shape
    within = scale_within(asked.allowances, fitted.view)
    yield f"{asked.picture.name}: {w} × {h} pixels"
    yield f"Scale: {_scale_words(fitted)}; lengths are sure within {within * 100.0:.2g} %"
    yield "Edges: " + ", ".join(f"{role} {index + 1}" for role, index in numbers.items())
    yield f"Shape: {fitted.result.family.kind.words}"
    for name, size in _wanted(fitted, only):
        yield f"  {spoken_size(name)}: {_value(name, size)}"
    for remark in _remarks(asked, fitted):
        yield remark.text


def as_builtins(
    asked: Asked, fitted: Fitted, numbers: dict[str, int], only: frozenset[SizeName] | None
) -> dict[str, object]:
    """The same as plain values; lengths in mm. The arguments are those of `as_lines`."""
    fit, view = fitted.result, fitted.view
    within = scale_within(asked.allowances, view)
    scale: dict[str, object] = {"note": _scale_words(fitted), "standard": view.relative, "expanded": within}
    if not isinstance(view, Aslant):
        scale |= {"x_mm": view.x, "y_mm": view.y}
    allowances = {f"{name}_mm": getattr(asked.allowances, name) for name in _names(asked)}
    return {
        "picture": asked.picture.name,
        "unit": "mm",
        "scale": scale,
        "loops": list(_loops(asked, fitted, numbers)),
        "sizes": [
            {
                "size": name.value,
                "value": size.value,
                "standard": size.standard,
                "expanded": size.expanded,
                "next": [size.next_low, size.next_high],
                "how": f"fitted to {int(fit.used.sum())} points of the edge",
            }
            for name, size in _wanted(fitted, only)
        ],
        "families": [
            {"family": fitted.fit.family.value, "rms_mm": fitted.fit.rms},
            *({"family": family.value, "rms_mm": rms} for family, rms in fitted.fit.tried),
        ],
        "excess_mm": None if fitted.excess is None else fitted.excess.value,
        "differences": {name.value: off for name, off in fitted.differences},
        "allowances": allowances,
        "remarks": [{"kind": one.kind, "text": one.text, "place": None} for one in _remarks(asked, fitted)],
    }


def _loops(asked: Asked, fitted: Fitted, numbers: dict[str, int]) -> Iterator[dict[str, object]]:
    """Every edge that counts; the part's own with the oval through it."""
    fit, oval = fitted.result, fitted.result.oval
    own = {
        "family": oval.family.value,
        "length_mm": oval.length,
        "width_mm": oval.width,
        "end_radius_mm": oval.end_radius,
        "exponent": oval.exponent,
        "worst_mm": float(np.abs(fit.off[fit.used]).max()),
    }
    for role, index in sorted(numbers.items(), key=lambda pair: pair[1]):
        edge = {"edge": asked.edge, "reference": asked.reference, "disc's line": asked.traced}[role]
        row: dict[str, object] = {"loop": index + 1, "role": role, "parent": None}
        if edge is not None:
            row["area_mm2"] = _area(asked, fitted, edge)
        yield row | own if role == "edge" else row


def _wanted(fitted: Fitted, only: frozenset[SizeName] | None) -> list[tuple[SizeName, Estimate]]:
    return [(name, size) for name, size in fitted.result.sizes if only is None or name in only]


def _value(name: SizeName, size: Estimate) -> str:
    if name is SizeName.EXPONENT:
        return f"{size.value:.2f}, known within {max(size.expanded, 0.01):.2f} (95 %)"
    return f"{_SHOW(size.value)}, known within {_SHOW(size.expanded)} (95 %)"


def _scale_words(fitted: Fitted) -> str:
    return "put right by four corners" if isinstance(fitted.view, Aslant) else fitted.view.note


def _names(asked: Asked) -> list[str]:
    return [name for name in _FLAGS if name != "pencil" or asked.pencil.is_traced]


def _remarks(asked: Asked, fitted: Fitted) -> Iterator[_Remark]:
    fit = fitted.fit
    out = int((~fit.used).sum())
    left = f"{out} left out as stray; the others lie" if out else "none is left out; they lie"
    yield _Remark("fit", f"{len(fit.used)} points of the edge: {left} {_fine(fit.rms)} off (rms).")
    if fit.tried:
        others = ", ".join(f"{family.kind.words} {_fine(rms)}" for family, rms in fit.tried[:3])
        yield _Remark("fit", f"Other shapes lie off by: {others}.")
    if fitted.excess is not None:
        excess, sure = _SHOW(fitted.excess.value), _fine(_FACTOR_95 * fitted.excess.standard)
        yield _Remark("pencil", f"The line runs {excess} outside the disc, known within {sure}; that is taken off.")
    if fitted.differences:
        by = ", ".join(
            f"{spoken_size(name)} {show_length(off, Style.MM, signed=True)}"
            for name, off in fitted.differences
            if name is not SizeName.EXPONENT
        )
        yield _Remark("turned", f"The turned scan differs by: {by}. The sizes are the mean of both.")
    allowed = ", ".join(_ALLOWED[name].format(_SHOW(getattr(asked.allowances, name))) for name in _names(asked))
    yield _Remark("allowance", f"Allowed for: {allowed}.")
    for name in _names(asked):
        if getattr(asked.allowances, name) == getattr(START, name):
            yield _Remark("allowance", f"{_FLAGS[name]}: {ORIGINS[name]}")


def _fine(mm: float) -> str:
    """A small length to read: nothing reads as 0 that isn't."""
    return _SHOW(mm) if mm >= 0.005 else f"under {_SHOW(0.01)}"


def _area(asked: Asked, fitted: Fitted, edge: Edge) -> float:
    """Of what the edge goes round [mm²]."""
    view = fitted.view
    if isinstance(view, Aslant):
        p = rectified(edge.points, view.corners, view.base, view.side)
    else:
        p = in_millimetres(asked.picture, view, edge.points)
    x, y = (p - p.mean(axis=0)).T
    return abs(float(x @ np.roll(y, -1) - y @ np.roll(x, -1))) / 2.0
