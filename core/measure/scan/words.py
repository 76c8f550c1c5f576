"""What the scan's form says: meanings of its fields, cautions, and sentences of what is known so far."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from core.measure.scan.asked import How
from core.measure.scan.results import Aslant
from core.measure.scan.sizes.allowances import START, reference_of, scale_within, widening
from core.measure.scan.state import HOW_WORDS, POINTS, Pick
from core.measure.scan.taken import note
from core.part.readings import Origin, SizeName
from core.words.lengths import Style, show_length, spread_style

if TYPE_CHECKING:
    from core.measure.scan.state import ScanState
    from core.part.insert import Insert

_ON_A_RULE: Final = "This is the true distance of two lines of a rule along this edge; pick both lines in the picture."
_PLATE: Final = "This is of a gauge plate or ground block that lies beside the part, flat on the glass."
_FRAME: Final = (
    "This is of a rectangle that lies flat in the plane of the edge: a frame drawn to size, a sheet of paper."
)
FIGURES: Final = {
    "dpi_across": ("DPI across", "These are the dots per inch along X, as the scanner was set."),
    "dpi_down": ("DPI down", "These are the dots per inch along Y. Empty is as across."),
    "across": ("Along X", _ON_A_RULE),
    "down": ("Along Y", _ON_A_RULE),
    "diameter": ("Diameter", "This is of a disc, ring or turned blank that lies beside the part, flat on the glass."),
    "length": ("Longer side", _PLATE),
    "width": ("Shorter side", _PLATE),
    "base": ("Lower side", _FRAME),
    "side": ("Left side", _FRAME),
}
"""Label and meaning of the scale's figures."""

ALLOWANCES: Final = {
    "pencil": (
        "Pencil",
        "This says how differently the pencil may have run outside the part and outside the disc, at most.",
    ),
    "shadow": (
        "Shadow",
        "This says how wide a shadow along one side of the edge may be, at most, on a disc or plate as well.",
    ),
    "off_plane": (
        "Off the plane",
        "This says how far the edge may lie over or under the glass, or the plane of disc, plate, rule or rectangle.",
    ),
    "lens": (
        "Lens away",
        "This is from the lens to that plane, along the light's way: with it, being off the plane counts.",
    ),
}
"""Label and meaning of what is allowed for."""

RULES: Final = "Zoom in with the wheel to pick; one rule alone tells no stretch of the other axis."
FIND: Final = (
    "This takes the largest edge with four straight sides for the rectangle, and puts its corners where they meet."
)
ASLANT: Final = (
    "What stands above the rectangle's plane comes out too large, and the lens bends straight lines near the border: "
    "photograph from far away, the part in the middle."
)
THRESHOLD: Final = "What is darker than this counts as dark; it is tinted in the picture while you move it."
TRACED_DISC: Final = (
    "This is the true diameter of a disc that was traced beside the part with the same pencil, held alike."
)
_TRACED: Final = "A pencil runs outside the edge. Trace a disc of known diameter beside the part, held alike."
_HALF_NAME: Final = 13  # characters
_LEAST: Final = {Style.MM: 0.01, Style.INCH: 0.0254}  # what is shown last [mm]


def fine(mm: float, style: Style, *, signed: bool = False) -> str:
    """A small length to read: what is a part of a 64th goes into decimals, and nothing reads as 0 that isn't."""
    style = spread_style(style)
    text = show_length(mm, style, signed=signed)
    if any(digit in text for digit in "123456789"):
        return text
    least = show_length(_LEAST[style], style)
    return f"under {least}" if not signed else text


def short(name: str) -> str:
    """A file's name, with its middle left out where it would widen the form."""
    return name if len(name) <= 2 * _HALF_NAME + 1 else f"{name[:_HALF_NAME]}…{name[-_HALF_NAME:]}"


def picture_text(state: ScanState) -> str:
    """Which picture is on the board."""
    if state.opened is None:
        return "PNG, JPEG or TIFF, from a flatbed scanner or a camera."
    picture = state.opened.picture
    h, w = picture.grey.shape
    dpi = "no DPI in the file" if picture.dpi is None else f"{picture.dpi[0]:.4g} × {picture.dpi[1]:.4g} DPI"
    reduced = f", read at 1/{picture.reduced} of its size" if picture.reduced > 1 else ""
    return f"{short(picture.name)}: {w} × {h} pixels, {dpi}{reduced}"


def scale_text(state: ScanState, style: Style) -> str:
    """What is still wanted for the scale, or what it is and how sure."""
    if state.opened is None:
        return ""
    wanted = state.lacks
    view = state.view
    if wanted or view is None:
        return wanted
    within = scale_within(state.allowances, view)
    sure = f"lengths are sure within {within * 100.0:.2g} %"
    fitted = state.fitted
    if fitted is not None:
        length = fitted.fit.oval.length
        sure += f", which is {fine(within * length, style)} on {show_length(length, style)}"
    if isinstance(view, Aslant):
        return f"Put right by the four corners; {sure}."
    said = f"{25.4 / view.x:.5g} × {25.4 / view.y:.5g} pixels an inch; {sure}."
    if state.scaling.how is How.DPI:
        said += (
            " Not calibrated: a stretch of 0.6 % along one axis has been reported. Lay a rule along both edges, or a "
            "disc or plate of known size beside the part."
        )
    else:
        said += f" From {HOW_WORDS[state.scaling.how]}."
        if state.scaling.how is How.POINTS and None in (state.scaling.across, state.scaling.down):
            said += " The other axis is taken to be alike, though scanners may stretch it by 0.6 %."
    return said


_PICKS: Final = {
    Pick.REFERENCE: "Click the edge of known size",
    Pick.TRACED: "Click the line that was traced round the disc",
    Pick.ACROSS: "Click two lines of the rule along X",
    Pick.DOWN: "Click two lines of the rule along Y",
    Pick.CORNERS: "Click the four corners of the known rectangle",
}


def pick_text(state: ScanState) -> str:
    """What the picture waits for; empty while it is only the edge."""
    if state.pick is Pick.EDGE:
        return ""
    if state.pick not in POINTS:
        return f"{_PICKS[state.pick]}. Escape gives up."
    done, count = len(state.picked_points(state.pick)), POINTS[state.pick]
    return f"{_PICKS[state.pick]}: {done + 1} of {count}. Arrows and Return do it too; Escape gives up."


def edge_text(state: ScanState) -> str:
    """Which edges there are."""
    if state.opened is None or not state.edges:
        return ""
    count = len(state.edges)
    found = "One edge found." if count == 1 else f"{count} edges found, the largest first."
    if state.pick is not Pick.EDGE:
        return found
    return found if count == 1 else f"{found} Click the one to measure."


def traced_text(state: ScanState, style: Style) -> str:
    """What the pencil adds."""
    fitted = state.fitted
    if fitted is None or fitted.excess is None:
        return _TRACED
    return f"The line runs {fine(fitted.excess.value, style)} outside the disc; that is taken off all round."


def allowance_text(state: ScanState, style: Style) -> str:
    """Where the allowances come from, and what they do."""
    mine = [name for name in ALLOWANCES if getattr(state.allowances, name) == getattr(START, name)]
    shown = [name for name in mine if name != "pencil" or state.pencil.is_traced]
    said = ""
    if shown:
        named = ", ".join(ALLOWANCES[name][0].lower() for name in shown)
        said = f"Start values (common practice, no source): {named}. Zoom in on all sides, and type what you see. "
    fitted = state.fitted
    if fitted is None:
        return said.rstrip()
    length = fitted.result.oval.length
    wider = widening(state.allowances, length, reference_of(fitted.view), is_traced=state.pencil.is_traced)
    return f"{said}Together they make up about {fine(wider, style)} of what the length is known to."


def shape_text(state: ScanState, style: Style) -> str:
    """How well the oval fits, and what else would."""
    fitted = state.fitted
    if fitted is None:
        return "" if state.opened is None or state.view is not None else "The sizes follow once the scale is known."
    fit = fitted.fit
    out = int((~fit.used).sum())
    kept = f"{out} left out as stray; the others lie" if out else "all of them used; they lie"
    said = f"{len(fit.used)} points of the edge, {kept} {fine(fit.rms, style)} off (rms)."
    if fit.tried:
        others = [f"{f.kind.words} {fine(rms, style)}" for f, rms in fit.tried[:3]]
        said += f" Others: {', '.join(others)}."
    if not fit.family.kind.is_sized:
        said += " The outline follows the edge with all its dents; choose a family for a seat that is smooth."
    return said


def turned_text(state: ScanState, style: Style) -> str:
    """What the second scan says."""
    fitted = state.fitted
    if state.scaling.how is How.CORNERS:
        return "A second scan is of no use to a photograph: take two, and compare their sizes."
    if state.turned is None:
        return "The part turned by 180° on the glass: the mean of both counts."
    name = short(state.turned.picture.name)
    if fitted is None or not fitted.differences:
        return f"{name} is the turned scan."
    by = [
        f"{size.value.replace('_', ' ')} {fine(off, style, signed=True)}"
        for size, off in fitted.differences
        if size is not SizeName.EXPONENT
    ]
    return f"{name} is off by {', '.join(by)}; the sizes above are the mean of both."


def is_taken(state: ScanState, insert: Insert) -> bool:
    """Whether an insert's sizes are those that are fitted now."""
    source = insert.source(SizeName.LENGTH)
    if source is None or source.origin is not Origin.SCAN or state.fitted is None or state.opened is None:
        return False
    is_same = abs(insert.length - state.fitted.result.oval.length) < 1e-3
    return is_same and source.note == note(state.fitted, state.opened.picture.name)[: len(source.note)]


def take_text(state: ScanState, holders: list[str]) -> str:
    """What is taken, and that it was."""
    if holders:
        return f"Used for the {' and the '.join(holders)}. Undo gives back what there was."
    if state.fitted is None:
        return ""
    if not state.fitted.fit.family.kind.is_sized:
        return "Takes the outline itself, in place of a family with sizes."
    return "Takes the shape with its sizes. The ± of the next one bought gets as wide at least; height and rims stay."
