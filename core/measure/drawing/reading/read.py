"""A drawing's file, whatever it is: told by its content first, by its name's ending second."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from core.measure.drawing.progress import no_tick
from core.measure.drawing.reading.dxf import read_dxf
from core.measure.drawing.reading.dxf_tags import NO_DXF
from core.measure.drawing.reading.points import read_points
from core.words.errors import FileError

if TYPE_CHECKING:
    from pathlib import Path

    from core.measure.drawing.progress import Tick
    from core.measure.drawing.results import Drawing

_BOMS: Final = (b"\xff\xfe", b"\xfe\xff", b"\xef\xbb\xbf")


def read_drawing(path: Path, tick: Tick = no_tick) -> Drawing:
    """The strokes of a drawing: of a DXF file, or of a text file with points.

    Args:
        path: the file.
        tick: told how much is done, 0 to 1, every few hundredths of a second; may raise ``Cancelled``.

    Raises:
        FileError: the file can't be read, or holds no outlines; it says what to do.
    """
    from ezdxf.lldxf.validator import is_binary_dxf_file

    try:
        with path.open("rb") as file:
            head = file.read(4096)
        if not head:
            raise FileError(str(path), "the file is empty", hint="Fetch or save the file again.")
        if is_binary_dxf_file(str(path)) or _is_dxf(head):
            return read_dxf(path, tick)
        if b"\0" in head and not head.startswith(_BOMS):
            raise FileError(str(path), "the file holds no text, so it is neither a DXF file nor points", hint=NO_DXF)
        return read_dxf(path, tick) if path.suffix.lower() == ".dxf" else read_points(path, tick)
    except OSError as error:
        raise FileError(
            str(path), f"the file can't be read: {error.strerror or error}", hint="Choose another file."
        ) from error


def _is_dxf(head: bytes) -> bool:
    """Whether the first pairs of lines are comments, and a section after them."""
    lines = head.removeprefix(b"\xef\xbb\xbf").splitlines()
    for code, value in zip(lines[::2], lines[1::2], strict=False):
        if code.strip() == b"0":
            return value.strip() == b"SECTION"
        if code.strip() != b"999":
            return False
    return False
