"""DXF text written by hand, group code by group code (DXF reference), with no writer between test and file."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pathlib import Path

    from core.measure.drawing.results import Drawing

Pairs = list[tuple[int, object]]


def pairs_text(pairs: Pairs) -> str:
    """Group codes and values, each on a line."""
    return "".join(f"{code:>3}\n{value}\n" for code, value in pairs)


def section(name: str, *records: Pairs) -> Pairs:
    """A section with some records."""
    return [(0, "SECTION"), (2, name), *(pair for record in records for pair in record), (0, "ENDSEC")]


def entity(kind: str, *pairs: tuple[int, object], layer: str = "0") -> Pairs:
    """An entity on a layer."""
    return [(0, kind), (8, layer), *pairs]


def line(x0: float, y0: float, x1: float, y1: float, layer: str = "0") -> Pairs:
    """A LINE."""
    return entity("LINE", (10, x0), (20, y0), (11, x1), (21, y1), layer=layer)


def block(name: str, *records: Pairs, base: tuple[float, float] = (0.0, 0.0)) -> Pairs:
    """A block and what it holds."""
    inner = [pair for record in records for pair in record]
    return [(0, "BLOCK"), (8, "0"), (2, name), (10, base[0]), (20, base[1]), *inner, (0, "ENDBLK")]


def insert(name: str, x: float = 0.0, y: float = 0.0, *more: tuple[int, object], layer: str = "0") -> Pairs:
    """A block put somewhere."""
    return entity("INSERT", (2, name), (10, x), (20, y), *more, layer=layer)


def header(**variables: tuple[int, object]) -> Pairs:
    """A HEADER section; the names without their dollar sign."""
    return section("HEADER", [p for name, pair in variables.items() for p in ((9, f"${name}"), pair)])


def write(path: Path, *sections: Pairs, end: bool = True) -> Path:
    """A file of some sections, with its mark of the end."""
    pairs = [pair for one in sections for pair in one]
    path.write_text(pairs_text([*pairs, (0, "EOF")] if end else pairs), encoding="utf-8")
    return path


def texts(drawing: Drawing) -> str:
    """All that was said of a file, in one text."""
    return " ".join(remark.text for remark in drawing.remarks)
