"""What every value of a project file has in common: frozen, checked on reading, no unknown fields.

The values are msgspec structs: frozen dataclasses in all but name, whose types and bounds are also the schema of the
project file, so that a file and an edit in the window pass through the same check.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import msgspec
from msgspec import Meta

if TYPE_CHECKING:
    from collections.abc import Mapping

# ``extra["kind"]`` tells `core.part.fields` how a number is typed in and described; without it it is a plain one.


def says(
    label: str = "",
    meaning: str = "",
    unit: str = "",
    *,
    words: Mapping[str, str] | None = None,
    **more: object,
) -> Meta:
    """What a field is called and what it is, beside its type.

    Args:
        label: before the field; without one it is the field's own name.
        meaning: one or two sentences for the explanation.
        unit: behind the field, where it is no length, percentage or angle.
        words: how choices read where their own word doesn't.
        more: what else is said of it, for `core.part.fields.Field.more`.
    """
    extra = {name: value for name, value in (("unit", unit), ("words", words), *more.items()) if value}
    return Meta(title=label or None, description=meaning or None, extra=extra)


# Two metres: longer than any housing that a one-person shop lifts, short enough to catch a slipped decimal mark.
LONGEST_MM = 2000.0

# A tenth of a millimetre: less than is cast, cut, or kept to; what is drawn thinner by a slip is caught here.
SHORTEST_MM = 0.1
# Half a metre of metal, or of rim: no housing's height, wall or floor is more.
THICKEST_MM = 500.0

Size = Annotated[float, Meta(ge=SHORTEST_MM, le=LONGEST_MM, extra={"kind": "length"})]
"""A length in plan, or of something bought [mm]."""
Thickness = Annotated[float, Meta(ge=SHORTEST_MM, le=THICKEST_MM, extra={"kind": "length"})]
"""How thick or how high metal or a rim is [mm]."""
Read = Annotated[float, Meta(ge=0.01, le=5.0 * LONGEST_MM, extra={"kind": "length"})]
"""What an instrument shows: from a gap under a jaw to a tape round all of it [mm]."""
Step = Annotated[float, Meta(ge=0.001, le=10.0, extra={"kind": "length"})]
"""The smallest step that an instrument shows [mm]."""
Extent = Annotated[float, Meta(ge=0.0, le=LONGEST_MM, extra={"kind": "length"})]
"""A length of 0 or more [mm]."""
Coordinate = Annotated[float, Meta(ge=-LONGEST_MM, le=LONGEST_MM, extra={"kind": "length"})]
"""A place or a signed distance [mm]."""
Degrees = Annotated[float, Meta(ge=-360.0, le=360.0, extra={"kind": "degrees"})]
"""An angle as it stands in the file and on screen [degrees]."""
X = Annotated[Coordinate, says("X", "This is the place of its centre along the long axis, from the seat centre.")]
Y = Annotated[Coordinate, says("Y", "This is the place of its centre across the long axis, from the seat centre.")]
"""A centre's place from the seat centre [mm]."""
Angle = Annotated[Degrees, says("Angle", "This is the direction of its length, counter-clockwise from the long axis.")]
"""Of a length from the long axis [degrees]."""
Percent = Annotated[float, Meta(ge=0.0, le=100.0, extra={"kind": "percent"})]
"""A part of a whole [%]."""
Factor = Annotated[float, Meta(gt=0.0, le=100.0)]
"""A plain number over 0: a ratio, a multiple, a density."""
Flow = Annotated[float, Meta(gt=0.0, le=1e6)]
"""A flow of air or water [m³/h]."""
Velocity = Annotated[float, Meta(gt=0.0, le=1000.0)]
"""A mean velocity [m/s]."""
Name = Annotated[
    str,
    Meta(min_length=1, max_length=60, pattern=r"^\S(.*\S)?\Z"),
    says("Name", "This says what you call it; lists, drawings and written files use this name."),
]
"""What the user calls something; within one list no two are alike."""


Note = Annotated[str, Meta(max_length=200)]
"""A few words of the user's; may be empty."""
Grams = Annotated[float, Meta(ge=0.0, le=50_000.0)]
"""A weight laid on something soft [g]."""
_Part = Annotated[float, Meta(ge=-LONGEST_MM, le=LONGEST_MM)]
Vertex = tuple[_Part, _Part, _Part]
"""x, y [mm] and bulge of a vertex of a measured outline."""
Count = Annotated[float, Meta(ge=1.0, le=100.0)]
"""How many times something was done."""


# Hashes are kept: what is worked out is remembered by value, and a lid with its features would be hashed at every edit.
class Value(msgspec.Struct, frozen=True, cache_hash=True, forbid_unknown_fields=True, omit_defaults=False):
    """Base of the values that a project file holds."""
