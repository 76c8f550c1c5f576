"""A DXF drawing read into strokes: blocks in place, curves as arcs, and a sentence about all that was left out."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from core.measure.drawing.progress import part_of
from core.measure.drawing.reading.dxf_blocks import Block, Entity, Placed, check_blocks, placed, reached
from core.measure.drawing.reading.dxf_entities import READERS, polyline, width_of
from core.measure.drawing.reading.dxf_fields import Fields
from core.measure.drawing.reading.dxf_layers import Layers
from core.measure.drawing.reading.dxf_shapes import Chain, UnusableError, as_chain, extent, joined_chain
from core.measure.drawing.reading.dxf_tags import MAX_PIECES, NO_DXF, Record, decoded, records
from core.measure.drawing.reading.unit_guess import OTHER_UNITS, STATED, likely_unit
from core.measure.drawing.remarks import Notes, Remark, RemarkKind
from core.measure.drawing.results import MM_PER, Drawing, DrawingUnit, Stroke
from core.words.errors import FileError

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

    from core.geometry.lines.outline import Point
    from core.measure.drawing.progress import Tick
    from core.measure.drawing.reading.dxf_tags import Value

FIT_MM: Final = 0.0009
"""Splines and ellipses become arcs within this distance: a micrometre, less what sampling may miss."""

_MOST_RECORDS: Final = 2 * MAX_PIECES
"""A million vertices of an old polyline are as many records; more than twice that is no drawing of outlines."""

_WITHOUT_SECTION: Final = 1000
"""Records before the first section that are enough to tell that there is none."""

_WORDS: Final[dict[str, str]] = {
    "TEXT": "text", "MTEXT": "text", "ATTRIB": "text", "ATTDEF": "text",
    "DIMENSION": "dimensions", "ARC_DIMENSION": "dimensions", "LEADER": "dimensions", "MULTILEADER": "dimensions",
    "TOLERANCE": "dimensions", "HATCH": "hatches", "MPOLYGON": "hatches", "SOLID": "filled areas",
    "TRACE": "filled areas", "POINT": "single points", "3DFACE": "bodies in space", "3DSOLID": "bodies in space",
    "BODY": "bodies in space", "REGION": "bodies in space", "SURFACE": "bodies in space", "MESH": "bodies in space",
    "IMAGE": "pictures", "WIPEOUT": "pictures", "RAY": "lines without end", "XLINE": "lines without end",
}  # fmt: skip
_SILENT: Final = {"", "SEQEND", "VERTEX", "VIEWPORT", "ENDBLK"}
_ELSEWHERE: Final = 4  # bit of a block's flags (70): another file holds it (DXF reference, "BLOCK")


def read_dxf(path: Path, tick: Tick) -> Drawing:
    """The strokes of a DXF file.

    Args:
        path: the file, text or binary, of any version from R12 on.
        tick: told how much is done, 0 to 1; what it raises calls the reading off.

    Raises:
        FileError: the file can't be read, is no DXF file, breaks off, or holds nothing that could be an outline.
    """
    reader = _Reader(path)
    for number, record in enumerate(records(path, part_of(tick, 0.0, 0.6))):
        if reader.take(record) or (number > _WITHOUT_SECTION and not reader.has_section):
            break
        if number > _MOST_RECORDS:
            raise FileError(
                str(path),
                f"the file holds more than {_MOST_RECORDS:,} entities and vertices",
                hint="Save only the part's outlines to a file of their own.",
            )
    return reader.drawing(part_of(tick, 0.6, 1.0))


class _Reader:
    """What has been read so far, and where in the file that was."""

    def __init__(self, path: Path) -> None:
        self._path = path
        self._section = ""
        self._sections: set[str] = set()
        self._header: dict[str, str] = {}
        self._entities: list[Entity] = []
        self._blocks: dict[str, Block] = {}
        self._into: list[Entity] | None = None
        self._head: Record | None = None  # a POLYLINE whose vertices are being read
        self._vertices: list[Record] = []
        self._notes = Notes()
        self._noted = self._notes  # those of the block that is being read, or these
        self._layers = Layers()
        self._mended: list[Remark] = []
        self._has_ended = False

    @property
    def has_section(self) -> bool:
        """Whether a section has begun."""
        return bool(self._sections)

    def take(self, record: Record) -> bool:
        """The next record; true at the end of the file."""
        kind = record.kind
        if kind == "SECTION":
            self._section = str(_first(record, 2)).strip()
            self._sections.add(self._section)
            self._into, self._noted = (self._entities if self._section == "ENTITIES" else None), self._notes
            if self._section == "HEADER":
                self._read_header(record)
        elif kind == "ENDSEC":
            self._end_polyline()
            self._section, self._into = "", None
        elif kind == "EOF":
            self._has_ended = True
        elif kind == "LAYER" and self._section == "TABLES":
            self._layers.read(self._decoded(str(_first(record, 2))), record)
        elif kind == "BLOCK" and self._section == "BLOCKS":
            self._begin_block(record)
        elif self._into is not None:
            self._take_entity(record, self._into)
        return self._has_ended

    def _read_header(self, record: Record) -> None:
        name = ""
        for code, value in zip(record.codes, record.values, strict=True):
            if code == 9:
                name = str(value).strip()
            elif name:
                self._header.setdefault(name, str(value).strip())

    def _begin_block(self, record: Record) -> None:
        fields = Fields(record)
        block = Block()
        try:
            block.base = fields.place(10)
        except UnusableError as error:
            block.notes.refuse("BLOCK", str(error), record.at)
        if not _whole(fields.text(70)) & _ELSEWHERE:
            self._blocks[fields.text(2).upper()] = block  # names are the same in capitals
        self._into, self._noted = block.entities, block.notes

    def _take_entity(self, record: Record, into: list[Entity]) -> None:
        kind = record.kind
        if self._head is not None:
            if kind == "VERTEX":
                self._vertices.append(record)
                return
            self._end_polyline()
        if kind in _SILENT:
            return
        paper, hidden = (_is_set(record, code) for code in (67, 60))
        if paper or hidden:
            self._leave_out("what lies in paper space" if paper else "what the file hides", record)
        elif kind == "POLYLINE":
            self._head, self._vertices = record, []
        elif kind in READERS:
            try:
                into.append(Entity(kind, self._layer(record), READERS[kind](record), record.at))
            except UnusableError as error:
                self._noted.refuse(kind, str(error), record.at, self._place(record))
            else:
                self._note_width(record)
        else:
            self._leave_out(_WORDS.get(kind, f"entities of the kind {kind[:40]}"), record)

    def _leave_out(self, words: str, record: Record) -> None:
        self._noted.leave_out(words, None if words in self._noted.kinds else self._place(record))

    def _end_polyline(self) -> None:
        if self._head is None or self._into is None:
            return
        head, self._head = self._head, None
        try:
            self._into.append(Entity("POLYLINE", self._layer(head), polyline(head, self._vertices), head.at))
        except UnusableError as error:
            self._noted.refuse("POLYLINE", str(error), head.at)
        else:
            self._note_width(head, *self._vertices)

    def _note_width(self, *records: Record) -> None:
        width = width_of(*records)
        if width > 0.0:
            self._noted.take_band(width, self._place(records[-1]))

    def _place(self, record: Record) -> Point | None:
        """Where an entity begins; None of a block's, whose places are its own, and where the file does not say it."""
        if self._into is not self._entities:
            return None
        try:
            return Fields(record).xy(10)
        except UnusableError:
            return None

    def _layer(self, record: Record) -> str:
        return self._decoded(str(_first(record, 8, "0")))

    def _decoded(self, name: str) -> str:
        return decoded(name, self._header.get("$DWGCODEPAGE", ""))

    def drawing(self, tick: Tick) -> Drawing:
        """All that was read, in place.

        Raises:
            FileError: there is nothing, or not all of it.
        """
        self._check_whole()
        pieces = check_blocks(str(self._path), self._entities, self._blocks)
        places = list(placed(self._entities, self._blocks, self._layers, pieces, part_of(tick, 0.0, 0.5)))
        unit, guess = self._units(extent([part for place in places for part in place.parts]))
        # Where the unit is in doubt, it has to be as fine as inches would need it.
        tolerance = FIT_MM / (MM_PER[guess] if unit == guess else max(MM_PER[guess], MM_PER[DrawingUnit.INCH]))
        strokes: list[Stroke] = []
        for i, place in enumerate(places):
            if i % 256 == 0 or not isinstance(place.parts[0], Chain):
                tick(0.5 + 0.5 * i / len(places))
            try:
                strokes.append(_stroke(place, tolerance))
            except (UnusableError, ValueError) as error:
                self._notes.refuse(place.entity.kind, str(error), place.entity.at)
            except ArithmeticError:  # the arcs' radii have no digits left
                self._notes.refuse(place.entity.kind, "is too wild a curve for arcs", place.entity.at)
        remarks = tuple(self._remarks())
        if not strokes:
            raise FileError(
                str(self._path), "there are no lines or arcs in it to make an outline of" + _in_brackets(remarks),
                hint="Draw the outlines as lines, arcs, circles or polylines in model space, on a layer that is seen.",
            )  # fmt: skip
        tick(1.0)
        return Drawing(tuple(strokes), unit, guess, remarks)

    def _check_whole(self) -> None:
        if not self._sections:
            raise FileError(str(self._path), "the file is no DXF file: it has no section", hint=NO_DXF)
        if self._section or (not self._has_ended and "ENTITIES" not in self._sections):
            raise FileError(
                str(self._path),
                f"the file breaks off in the section {self._section or 'before ENTITIES'}, so part of it is missing",
                hint="Fetch or save the file again.",
            )
        if not self._has_ended:
            text = "The file's last line, the mark of its end, is missing; its outlines are whole."
            self._mended.append(Remark.of(RemarkKind.FILE, text))

    def _units(self, size: float) -> tuple[DrawingUnit | None, DrawingUnit]:
        """The unit that the header states, and the likely one of a drawing of this size."""
        stated = _whole(self._header.get("$INSUNITS", "0"))
        if stated in OTHER_UNITS:
            text = f"The file states {OTHER_UNITS[stated]} as its unit, which no housing is drawn in."
            self._mended.append(Remark.of(RemarkKind.UNIT, text))
        unit = STATED.get(stated)
        return unit, likely_unit(size, unit, is_imperial=self._header.get("$MEASUREMENT") == "0")

    def _remarks(self) -> Iterable[Remark]:
        yield from self._mended
        yield from self._layers.remarks()
        used = reached(self._entities, self._blocks)
        for name in sorted(used & self._blocks.keys()):
            self._notes.add_from_block(self._blocks[name].notes)
        yield from self._notes.remarks()
        missing = sorted(used - self._blocks.keys())
        if missing:
            text = f"Left out: blocks that the file does not hold ({', '.join(missing[:5])})."
            yield Remark.of(RemarkKind.LEFT_OUT, text)


def _stroke(place: Placed, tolerance: float) -> Stroke:
    """What an entity is in lines and arcs.

    Raises:
        UnusableError: there is nothing of it.
        ValueError: a curve too small or too wild for arcs.
    """
    found = [as_chain(part, tolerance) for part in place.parts]
    chain = found[0][0] if len(found) == 1 else joined_chain([one for one, _ in found])
    kind = place.entity.kind
    return Stroke(
        chain.vertices, chain.is_closed, place.layer, f"{kind} on layer {place.layer}", any(f for _, f in found)
    )


def _first(record: Record, code: int, default: Value = "") -> Value:
    """The first value of a group code."""
    return record.values[record.codes.index(code)] if code in record.codes else default


def _is_set(record: Record, code: int) -> bool:
    return _whole(str(_first(record, code))) != 0


def _whole(text: str) -> int:
    try:
        return int(text)
    except ValueError:
        return 0


def _in_brackets(remarks: tuple[Remark, ...]) -> str:
    return f" ({' '.join(remark.text for remark in remarks[:3])})" if remarks else ""
