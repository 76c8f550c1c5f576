"""Rings to a DXF file: lines, real arcs and circles, each once, on layers of our own.

R2010 has LWPOLYLINEs and says that its unit is the millimetre; R12 has neither, so its curves are POLYLINEs and its
size can only be told from the check square. Every file says in comments (group code 999) which size it holds.
"""

from __future__ import annotations

import unicodedata
from enum import StrEnum
from io import StringIO
from typing import TYPE_CHECKING, Final

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from core.files.atomic import write_atomically
from core.files.outlines.dxf_entities import entities_text
from core.files.outlines.rings import outline_key
from core.geometry.lines.outline import Outline, rectangle_outline

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from pathlib import Path

    from ezdxf.document import Drawing

    from core.files.outlines.rings import Ring

CHECK_LAYER: Final = "CHECK-SQUARE-100"
CHECK_SIDE_MM: Final = 100.0
OLD_SUFFIX: Final = "-OLD"
MILLIMETRES: Final = 4
"""$INSUNITS for millimetres (DXF reference, header variables)."""
METRIC: Final = 1
"""$MEASUREMENT for metric (same)."""

_CHECK_GAP_MM: Final = 20.0
_DASHED: Final = "NOT-CUT"
_GREY, _CHECK_COLOUR = 8, 30
# The plain colours of the index, in the order of the layers; what isn't cut has colours of its own.
_COLOURS: Final = (7, 5, 3, 4, 6, 2, 1)
_NO_ENTITIES: Final = "  0\nSECTION\n  2\nENTITIES\n"
"""What stands in a file before its entities."""


class DxfVersion(StrEnum):
    """The versions of the format that are on offer."""

    R2010 = "R2010"
    R12 = "R12"


class SizeKind(StrEnum):
    """Which of a casting's sizes a file holds."""

    FINISHED = "finished"
    REWORK = "rework"
    DRILLED = "drilled"

    @property
    def words(self) -> str:
        """What the file says of itself."""
        return {
            SizeKind.FINISHED: "finished size, without contraction or finishing allowance",
            SizeKind.REWORK: "rework of a casting that is there, finished size, not to be scaled",
            SizeKind.DRILLED: "holes to drill into the casting, finished size, not to be scaled; not for the pattern",
        }[self]


class WrittenFile(Struct, frozen=True):
    """What a file is meant to hold.

    Attributes:
        rings: on their own layers.
        old: on layers whose names end in ``-OLD``.
        check_square: on ``CHECK-SQUARE-100``, clear of the part.
        notes: further lines for the comments.
    """

    path: Path
    version: DxfVersion
    size_kind: SizeKind
    rings: tuple[Ring, ...]
    old: tuple[Ring, ...]
    check_square: Outline
    notes: tuple[str, ...] = ()

    @property
    def expected(self) -> tuple[tuple[str, Outline], ...]:
        """Layer and outline of everything in it."""
        return (*((ring.layer, ring.outline) for ring in (*self.rings, *self.old)), (CHECK_LAYER, self.check_square))


def write_dxf(
    path: Path,
    rings: Sequence[Ring],
    *,
    version: DxfVersion = DxfVersion.R2010,
    old: Sequence[Ring] = (),
    size_kind: SizeKind = SizeKind.FINISHED,
    title: str = "",
    notes: Sequence[str] = (),
) -> WrittenFile:
    """Write rings, and a check square below them, whole or not at all.

    Args:
        path: of the file; one that is there is replaced.
        rings: at least one; what is to be cut.
        version: of the format.
        old: outlines as they were, for comparison; those that are also in ``rings`` are left out.
        size_kind: which size it is.
        title: put into the comments, in ASCII.
        notes: further lines for the comments.

    Raises:
        FileError: the file can't be written; the old one is untouched.
        ValueError: there is no ring.
    """
    if not rings:
        raise ValueError("a file needs at least one outline")
    there = {outline_key(ring.outline) for ring in rings}
    before = tuple(
        replace(ring, layer=ring.layer + OLD_SUFFIX) for ring in old if outline_key(ring.outline) not in there
    )
    square = check_square([ring.outline for ring in (*rings, *before)])
    written = WrittenFile(path, version, size_kind, tuple(rings), before, square, tuple(notes))
    write_atomically(path, _content(written, title), keep_previous=False)
    return written


def check_square(outlines: Iterable[Outline]) -> Outline:
    """A square of 100 mm below everything, clear of it, its left edge at the leftmost place."""
    bounds = np.array([outline.bounds for outline in outlines])
    x, y = float(np.floor(bounds[:, 0].min())), float(np.floor(bounds[:, 1].min())) - _CHECK_GAP_MM
    return rectangle_outline(x, y - CHECK_SIDE_MM, x + CHECK_SIDE_MM, y)


def _content(written: WrittenFile, title: str) -> bytes:
    from ezdxf._options import options
    from ezdxf.document import Drawing

    # The same design gives the same bytes: no stamp of the time, no identifier drawn by lot.
    options.write_fixed_meta_data_for_testing = True
    # Not ezdxf.new: that sets a unit for R12 as well, and warns that R12 has none.
    doc = Drawing.new(written.version.value)
    if written.version is not DxfVersion.R12:  # R12 has no such variables
        doc.header["$INSUNITS"] = MILLIMETRES
        doc.header["$MEASUREMENT"] = METRIC
    _add_layers(doc, written)
    space = doc.modelspace()
    owner = None if written.version is DxfVersion.R12 else space.layout_key
    entities = entities_text(written.expected, doc.entitydb.handles.next, owner)
    bounds = np.array([outline.bounds for _, outline in written.expected])
    low, high = bounds[:, :2].min(axis=0).tolist(), bounds[:, 2:].max(axis=0).tolist()
    space.reset_extents((*low, 0.0), (*high, 0.0))
    doc.header["$EXTMIN"], doc.header["$EXTMAX"] = (*low, 0.0), (*high, 0.0)
    _drop_empty_layers(doc)
    if written.version is not DxfVersion.R12:
        _order_classes(doc)
    stream = StringIO()
    doc.write(stream)
    before, mark, after = stream.getvalue().partition(_NO_ENTITIES)
    return bytes(doc.encode(_comments(written, title) + before + mark + entities + after))


def _order_classes(doc: Drawing) -> None:
    """Add the classes that the library will ask for, in one order: it walks a set, which each process orders anew."""
    classes = doc.classes
    classes.doc = None  # so that it adds only those that every file has
    classes.add_required_classes(doc.dxfversion)
    classes.doc = doc
    for name in sorted(doc.entitydb.dxf_types_in_use()):
        classes.add_class(name)


def _comments(written: WrittenFile, title: str) -> str:
    """Comments in ASCII, since every version has its own encoding for the rest."""
    x0, y0, x1, y1 = _part_bounds(written)
    lines = [
        "Written by Seatwright",
        *([_ascii(title)] if title else []),
        f"Size: {written.size_kind.words}",
        *(_ascii(note) for note in written.notes),
        "Unit: millimetre. Scale 1:1",
        f"Part: {x1 - x0:.3f} x {y1 - y0:.3f} mm. Layer {CHECK_LAYER} is a 100 mm square to check the size by: not cut",
    ]
    return "".join(f"999\n{line}\n" for line in lines)


def _part_bounds(written: WrittenFile) -> tuple[float, float, float, float]:
    b = np.array([ring.outline.bounds for ring in written.rings])
    low, high = b[:, :2].min(axis=0), b[:, 2:].max(axis=0)
    return float(low[0]), float(low[1]), float(high[0]), float(high[1])


def _ascii(text: str) -> str:
    plain = unicodedata.normalize("NFKD", text).encode("ascii", "ignore").decode()
    return " ".join(plain.split())


def _add_layers(doc: Drawing, written: WrittenFile) -> None:
    doc.linetypes.add(_DASHED, [9.0, 6.0, -3.0], description="not cut: __ __ __ __")
    cut = dict.fromkeys(ring.layer for ring in written.rings)
    for i, layer in enumerate(cut):
        doc.layers.add(layer, color=_COLOURS[i % len(_COLOURS)])
    for layer in dict.fromkeys(ring.layer for ring in written.old):
        doc.layers.add(layer, color=_GREY, linetype=_DASHED)
    doc.layers.add(CHECK_LAYER, color=_CHECK_COLOUR, linetype=_DASHED)


def _drop_empty_layers(doc: Drawing) -> None:
    """Without the layers that the library adds of its own; layer 0 is demanded by the format."""
    for name in [layer.dxf.name for layer in doc.layers]:
        if name.lower() == "defpoints":
            doc.layers.remove(name)
