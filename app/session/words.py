"""The words on screen for the project's fields: label, unit, and what the thing is; one table for form and explanation.

A path is looked up by its end: ``housing.lid.features[2].width`` finds ``crossbar.width`` when the item is a crossbar,
else ``width``. Nothing here is a number of the project's.
"""

from __future__ import annotations

import re
from contextlib import suppress
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from core import edits
from core.part.fields import FieldKind
from core.words.errors import UserError
from core.words.lengths import Style, shower, unit_of

if TYPE_CHECKING:
    from core.part.project import Project


@dataclass(frozen=True, slots=True)
class Word:
    """What a field is called and what it is.

    Attributes:
        label: before the field.
        meaning: one or two sentences for the explanation.
        unit: behind the field, where it is no length; ``kind`` gives those of percentages and angles.
        origin: where its default comes from.
    """

    label: str
    meaning: str
    unit: str = ""
    origin: str = ""


_BOUGHT: Final = (
    "of the next one bought may differ by, up or down, in 95 of 100 cases: by the readings of three samples, or by the "
    "maker's word. What a mean is known to is less."
)

WORDS: Final[dict[str, Word]] = {
    "name": Word("Name", "This says what you call it; lists, drawings and written files use this name."),
    "notes": Word("Notes", "This is anything worth keeping with the project; it is printed with it."),
    "style": Word("Lengths in", "This says how lengths are shown. A bare number typed in is in this unit."),
    "family": Word("Shape", "This says how the oval's curve is made. Length and width never decide it: compare a "
                   "diagonal."),
    "length": Word("Length", "This is the overall size along the long axis."),
    "width": Word("Width", "This is the overall size across the long axis."),
    "end_radius": Word("End radius", "This is the radius of the two ends of a four-arc oval, or of a rounded "
                       "rectangle's corners. An empty field takes the usual construction."),
    "exponent": Word("Exponent", "This is the exponent of the superellipse: 2 is an ellipse, 10 nearly a rectangle. An "
                     "empty field takes 2.5."),
    "insert.height": Word("Free height", "This is the height over both rims, unsqueezed. Measure it under a flat "
                          "plate, and take the plate's weight off."),
    "candidates.height": Word("Free height", "This is the height over both rims, unsqueezed, as the catalogue gives it "
                              "or as you measured it."),
    "material": Word("Rims of", "This is what the rims are made of. It says how much squeeze they want, and whether "
                     "they need room to swell into: solid rubber keeps its volume. A rigid rim needs a bedding gap "
                     "instead."),
    "rim": Word("Base rim", "This is the ring at the insert's base end."),
    "lid_rim": Word("Lid rim", "This is the ring at the insert's lid end, when it differs from the base's."),
    "rim.width": Word("Rim width", "This is the radial width of the end ring that sits in the seat."),
    "rim.thickness": Word("Rim thickness", "This is the height of the rim, unsqueezed. Squeeze in % counts on the soft "
                          "rims, not on the whole insert."),
    "pressed.width": Word("Pressed width", "This is the width of the shape that the rims are pressed to. Its length "
                          "follows from their developed length."),
    "resolution.calliper": Word("Calliper", "This is the smallest step that the calliper shows. It is a part of every "
                                "±."),
    "resolution.rule": Word("Steel rule", "This is the smallest step that is read off the rule. It is a part of every "
                            "±."),
    "resolution.tape": Word("Tape", "This is the smallest step that is read off the tape. It is a part of every ±."),
    "resolution.gauge": Word("Radius gauges", "This is the step from one gauge of the set to the next. It is a part of "
                             "every ±."),
    "readings.rubber": Word("Rubber class", "This is the class of ISO 3302-1 that stands in for the spread of fewer "
                            "than three samples. The standard is for solid rubber only."),
    "rim.outset": Word("Rim outset", "This says how far the rim's outer edge lies outside the insert's oval. Below 0 "
                       "it lies inside."),
    "squeeze.least": Word("Least", "This is the least squeeze at which the rim still seals. An empty field takes what "
                          "its material wants.", "%"),
    "squeeze.greatest": Word("Greatest", "More than this hurts the rim or bows the lid. An empty field takes what its "
                             "material wants.", "%"),
    "plus_minus.length": Word("Length ±", f"This says what the length {_BOUGHT}"),
    "plus_minus.width": Word("Width ±", f"This says what the width {_BOUGHT}"),
    "plus_minus.height": Word("Height ±", f"This says what the free height {_BOUGHT}"),
    "plus_minus.rim_width": Word("Rim width ±", f"This says what the rim's width {_BOUGHT}"),
    "seat.gap_outer": Word("Outer gap", "This is the normal distance from the rim to the seat's outer wall, as "
                           "designed. Below 0 the rim is pressed in."),
    "seat.gap_inner": Word("Inner gap", "This is the normal distance from the rim to the seat's inner wall, as "
                           "designed."),
    "seat.depth": Word("Seat depth", "This is the depth from the joint face down to the seat floor."),
    "seat.depth_plus_minus": Word("Seat depth ±", "This says how much deeper or shallower than this the seat may be "
                                  "made. Both seats' tolerances and the spread of the insert's height together make "
                                  "the least and greatest squeeze."),
    "seat.corner_radius": Word("Floor corner", "This is the fillet between seat wall and floor. The rim must not ride "
                               "up on it."),
    "wall": Word("Wall", "This is the metal between the seat's outer wall and the outside."),
    "lip.width": Word("Lip width", "This is the metal between the seat's inner wall and the opening."),
    "lip.height": Word("Lip height", "This is the height of the lip above the seat floor."),
    "piece.floor": Word("Floor", "This is the metal under the seat floor."),
    "tight": Word("Must be tight", "This says whether nothing may leak through this piece. Holes right through it "
                  "inside the seat are then pointed out."),
    "edge_radius": Word("Edge radius", "This is the rounding of the outside's edges. A large one eats into the corner "
                        "between wall and floor."),
    "features": Word("Features", "This says what is added to the piece, or taken from it."),
    "angle": Word("Angle", "This is the direction of its length, counter-clockwise from the long axis."),
    "offset": Word("Offset", "This is the distance of its middle line from the seat centre, to the left of its "
                   "direction."),
    "crossbar.width": Word("Width", "This is the width of the strip in plan."),
    "crossbar.height": Word("Height", "This is the height of the strip from the outer face up."),
    "rib.width": Word("Width", "This is the width of the rib in plan."),
    "rib.height": Word("Height", "This says how far the rib is raised above the outer face."),
    "rib.inset": Word("Ends short by", "This says how far inside the outside the rib ends."),
    "band.width": Word("Width", "This is the width of the band in plan."),
    "band.height": Word("Height", "This says how far the band is raised above the outer face."),
    "band.inset": Word("Inset", "This is the distance from the outside to the band's outer edge."),
    "pocket.inset": Word("Inset", "This is the distance from the seat's inner wall to the pocket's edge."),
    "pocket.floor": Word("Floor left", "This is the metal that is left under the pocket."),
    "lug.height": Word("Height", "This is the height of the lug from the outer face up."),
    "badge.length": Word("Length", "This is the length of the pad along X."),
    "badge.width": Word("Width", "This is the width of the pad along Y."),
    "badge.height": Word("Height", "This says how far the pad is raised above the outer face."),
    "height": Word("Height", "This is the height from the outer face up."),
    "x": Word("X", "This is the place of its centre along the long axis, from the seat centre."),
    "y": Word("Y", "This is the place of its centre across the long axis, from the seat centre."),
    "diameter": Word("Diameter", "This is the diameter of the finished hole."),
    "made": Word("Made", "A cored hole is in the pattern; a drilled one is made in the casting and never scaled."),
    "boss": Word("Boss", "This is the diameter of the round boss about the hole. With 0 there is none."),
    "boss_height": Word("Boss height", "This is the height of the boss from the outer face up."),
    "pad": Word("Pad", "This is the diameter of the round pad."),
    "hole": Word("Hole", "This is the diameter of the hole in the pad."),
    "neck": Word("Neck", "This is the width of the strip that joins pad and wall."),
    "fillet": Word("Fillet", "This is the radius where the neck meets the wall."),
    "follows": Word("Follows", "This says what it holds on to when the seat changes. What follows the machine never "
                    "moves."),
    "thread": Word("Thread", "This is the coarse metric thread of the stud."),
    "stud.length": Word("Length in use", "This is the length of the stud that you use now, as its kind counts it: over "
                        "all, or without the screwed-in end. The needed length is in the fit."),
    "stud.kind": Word("Kind", "This says how the stud is made. Full-length threads and cut rod are counted over all; "
                      "double-ended studs are counted without the end that is screwed into the base."),
    "stud.hole_depth": Word("Hole depth", "This says how deep the tapped hole is drilled into the base from its joint "
                            "face, without the drill's point. Empty is right through, which leaks past the thread."),
    "stud.boss": Word("Bosses", "This is the diameter of its bosses in base and lid."),
    "keep_out.length": Word("Length", "This is the length of the space that belongs to a neighbour."),
    "keep_out.width": Word("Width", "This is the width of the space that belongs to a neighbour."),
    "faces.stop": Word("Stopped by", "This says what ends the closing of lid on base. Without a hard stop the nut's "
                       "torque sets the squeeze and bows the lid."),
    "faces.distance": Word("Faces apart", "This is what is left between the joint faces when the lid is drawn down: "
                           "the thickness of a spacer."),
    "metal.name": Word("Alloy", "This is the alloy that is poured."),
    "metal.kind": Word("Sort of metal", "It decides how much thread a stud wants in the base. A metal that is not "
                       "stated wants as much as the weakest one does."),
    "metal.density": Word("Density", "It gives the weight of the casting.", "g/cm³"),
    "metal.least_section": Word("Least section", "This is the thinnest section that this alloy is cast in."),
    "choices.mode": Word("Make", "You cut a new pattern, or machine castings from the shelf out: then nothing else "
                         "moves and the wall only gets thinner."),
    "choices.hold": Word("Outside, hold", "This says what stays when the seat's outer wall moves: the wall's "
                         "thickness, or the outside's outline."),
    "choices.hold_inside": Word("Inside, hold", "This says what stays when the seat's inner wall moves: the lip's "
                                "width, or the opening's outline."),
    "choices.height_to": Word("Height goes to", "This says where a change of the insert's free height goes. 'Squeeze' "
                              "leaves the metal as it is."),
    "choices.gap_outer": Word("Outer gap", "This is the outer gap of the new seat. An empty field keeps what the "
                              "housing has."),
    "choices.gap_inner": Word("Inner gap", "This is the inner gap of the new seat. An empty field keeps what the "
                              "housing has."),
    "choices.wall": Word("Wall", "This is the wall of the new housing. An empty field keeps what the housing has."),
    "choices.lip": Word("Lip", "This is the lip of the new housing. An empty field keeps what the housing has."),
    "gap_outer_least": Word("Outer gap, least", "This is the least gap between the rim and the seat's outer wall, for "
                            "the largest insert that is bought. Below 0 allows that much interference."),
    "gap_outer_greatest": Word("Outer gap, greatest", "This is the greatest gap between the rim and the seat's outer "
                               "wall, for the smallest insert that is bought. Beyond it the insert lies loose and dust "
                               "gets past."),
    "gap_inner_least": Word("Inner gap, least", "This is the least gap between the rim and the seat's inner wall. "
                            "Below 0 allows that much interference."),
    "gap_inner_greatest": Word("Inner gap, greatest", "This is the greatest gap between the rim and the seat's inner "
                               "wall. Where the outer wall guides the rim, it may be wider than the outer one."),
    "choices.guided_by": Word("Rim guided by", "This is the seat wall that places the rim. In a rework, a wide gap at "
                              "the other wall alone is no reason to give the casting up while the rim bears fully."),
    "bearing_least": Word("Bearing, least", "This is the narrowest rim on the floor, with the insert pushed fully to "
                          "any side."),
    "fill": Word("Seat filled, most", "This says how much of the closed seat a rim may fill. Solid rubber keeps its "
                 "volume, so a rim without room to swell can't be squeezed. Foam, sponge and cork do without.", "%"),
    "web_least": Word("Thinnest metal, least", "This is the least metal between any two surfaces."),
    "floor_least": Word("Floor, least", "This is the least metal under the seat floor."),
    "hole_edge": Word("Hole to edge", "This is the least distance from a hole's centre to the nearest "
                      "edge.", "× diameter"),
    "keep_out_margin": Word("Keep-out margin", "This is the least distance between the outside and a neighbour's "
                            "space."),
    "flush": Word("Flush within", "This is the greatest step between base and lid at the joint."),
    "engagement": Word("Thread in base", "This says how much of a stud's thread must be in the base. Empty takes what "
                       "its metal wants: 2 diameters in aluminium, 1.5 in bronze and iron.", "× diameter"),
    "threads_showing": Word("Past the nut", "These are the turns of thread that show past the nut.", "× pitch"),
    "open_area": Word("Open area, least", "This is the least open area, as a part of the old one.", "× old"),
    "flow": Word("Flow", "This is what flows through the opening. Leave it empty when no flow matters.", "m³/h"),
    "face_velocity": Word("Face velocity", "This is the greatest mean velocity in the opening.", "m/s"),
    "marginal": Word("Marginal within", "A margin smaller than this part of its limit is only "
                     "marginal.", "% of the limit"),
}  # fmt: skip

CHOICE_WORDS: Final = {
    "threaded": "threaded full length",
    "cut_rod": "rod, cut to length",
    "end_1d": "double-ended, 1 d in",
    "end_1.25d": "double-ended, 1.25 d in",
    "end_2d": "double-ended, 2 d in",
    "circle": "circle",
    "obround": "obround",
    "ellipse": "ellipse",
    "four_arc": "four-arc oval",
    "rounded_rectangle": "rounded rectangle",
    "superellipse": "superellipse",
    "measured": "measured outline",
    "new_pattern": "a new pattern",
    "rework": "a rework",
    "mm": "mm",
    "in": "inches",
    "fraction": "fractions",
    "faces": "joint faces",
    "none": "the nut only",
    "spacer": "a spacer",
}
"""How a choice reads where its own word doesn't; ``none`` is only ever a stop."""

_GROUP_OF_LIST: Final = {"studs": "stud", "keep_outs": "keep_out"}
_CHOICE_FIELDS: Final = {"choices.height_to": {"spacer": "spacer"}, "readings.rubber": {"": "as the material"}}
_PREFIXES: Final = {
    "new_insert": "new insert",
    "old_insert": "old insert",
    "housing.base": "base",
    "housing.lid": "lid",
    "base": "base",
    "lid": "lid",
    "limits": "limit",
}
_KIND_UNITS: Final = {FieldKind.PERCENT: "%", FieldKind.DEGREES: "°"}


def word(project: Project, path: str) -> Word:
    """The words for the field at a path."""
    plain = re.sub(r"\[[^\]]*\]", "", path)
    last = plain.rsplit(".", 1)[-1]
    for key in (_tagged(project, path), ".".join(plain.split(".")[-2:]), last):
        if key in WORDS:
            return WORDS[key]
    return Word(last.replace("_", " ").capitalize(), "")


def unit_text(project: Project, path: str) -> str:
    """The unit behind a field, as the project shows lengths now."""
    own = word(project, path).unit
    kind = edits.kind_of(project, path)
    return own or (str(unit_of(project.style)) if kind is FieldKind.LENGTH else _KIND_UNITS.get(kind, ""))


def choice_word(path: str, value: str) -> str:
    """How one of a field's choices reads."""
    own = next((words for end, words in _CHOICE_FIELDS.items() if path.endswith(end)), {})
    return own.get(value) or CHOICE_WORDS.get(value) or value.replace("_", " ")


def spoken(project: Project, path: str) -> str:
    """A path as one says it: ``new insert: rim width``, ``left lug: pad``."""
    owner = next((name for start, name in _PREFIXES.items() if path == start or path.startswith(f"{start}.")), "")
    if found := re.match(r"(.*\[[^\]]*\])", path):
        with suppress(UserError):
            owner = str(getattr(edits.get_value(project, found[1]), "name", owner))
        if found[1] == path:
            return owner
    elif path in _PREFIXES:
        return owner
    label = word(project, path).label
    return f"{owner}: {label[:1].lower()}{label[1:]}" if owner else label


def said(error: UserError, path: str, project: Project, note: str = "") -> str:
    """A refusal beside the field at ``path``: in the user's unit, with the field's own name left out.

    Args:
        error: of the edit.
        path: of the field that was typed in; empty for none.
        project: for unit and names.
        note: what was typed there was read as.
    """
    text = error.message(shower(project.style))
    if path and text.startswith(f"{error.where}: ") and error.where in (path, ""):
        text = text.removeprefix(f"{error.where}: ")
    else:
        text = text.replace(error.where, spoken(project, error.where), 1) if _is_path(error.where) else text
    if note:
        field = spoken(project, path)
        text = f"{text.rstrip('.')}. {field[:1].upper()}{field[1:]} was {note}."
    return text[:1].upper() + text[1:]


def style_word(style: Style) -> str:
    """How a style of lengths reads in a menu."""
    return {Style.MM: "Millimetres", Style.INCH: "Inches, decimal", Style.FRACTION: "Inches, fractions"}[style]


def _is_path(text: str) -> bool:
    return re.fullmatch(r"[a-z_]+(\.[a-z_]+|\[[^\]]*\])*", text) is not None and ("." in text or text in _PREFIXES)


def _tagged(project: Project, path: str) -> str:
    """The key by what holds the field: a feature's kind, a list's item, a piece or an insert."""
    holder, _, last = path.rpartition(".")
    if not holder:
        return last
    try:
        tag = getattr(edits.get_value(project, holder), "__struct_config__", None)
    except UserError:
        tag = None
    if tag is not None and tag.tag:
        return f"{tag.tag}.{last}"
    name = re.sub(r"\[[^\]]*\]$", "", holder).rsplit(".", 1)[-1]
    if name == "lid_rim":
        return f"rim.{last}"
    if name in ("new_insert", "old_insert"):
        return f"insert.{last}"
    if name in ("base", "lid"):
        return f"piece.{last}"
    return f"{_GROUP_OF_LIST.get(name, name)}.{last}"
