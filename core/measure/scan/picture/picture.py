"""Reading a picture file as shades of grey, within bounded memory and without trusting what the file says of itself.

Resolution as files carry it: PNG pHYs in pixels a metre (W3C PNG, 11.3.4.3), JPEG's JFIF density in dots an inch or a
centimetre (ITU-T T.871, 10.1), TIFF and EXIF XResolution with ResolutionUnit 2 inch or 3 centimetre (TIFF 6.0, p. 38).
"""

from __future__ import annotations

import struct
import warnings
import zlib
from math import isfinite
from typing import TYPE_CHECKING, BinaryIO, Final

import numpy as np

from core.measure.scan.results import GreyArray, Picture
from core.words.errors import FileError, file_error

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from PIL.Image import Image

LARGEST_PIXELS: Final = 120_000_000
"""More are not decoded: A4 at 1000 DPI has 97 million, and a colour picture of this size takes half a gigabyte."""

LARGEST_BYTES: Final = 800 * 1024 * 1024
"""A larger file is not opened: 120 million pixels of three colours at 16 bits are 720 MB."""

LEAST_PIXELS: Final = 32
"""Fewer, either way, show no edge worth fitting."""

_KINDS: Final = ("PNG", "JPEG", "TIFF")
# What cameras and drawing programs write when no resolution is known, and densities that no scanner has.
_PLACEHOLDERS: Final = (72.0, 96.0)
_LEAST_DPI, _GREATEST_DPI = 20.0, 20_000.0
_ORIENTATION, _SIDEWAYS = 274, (5, 6, 7, 8)
# Row blocks keep the working copies of a large picture small.
_ROWS = 512
# What decoders raise on damaged files: none of them is a fault of the program.
_DAMAGE: Final = (
    AttributeError, EOFError, IndexError, KeyError, OSError, OverflowError, struct.error, SyntaxError, TypeError,
    ValueError, zlib.error, ZeroDivisionError,
)  # fmt: skip


def read_picture(path: Path, tick: Callable[[float], None] = lambda _: None) -> Picture:
    """A PNG, JPEG or TIFF picture in shades of grey, upright, seen on white paper where it is transparent.

    Colours become their luma; pictures deeper than 8 bits are scaled so that their brightest pixel is white. Of a TIFF
    with several pages the first is read. A JPEG with too many pixels is read reduced.

    Args:
        path: the file.
        tick: told how much is done, 0 to 1; what it raises calls the reading off.

    Raises:
        FileError: the file can't be read, is no such picture, is damaged, or is too large or too small.
    """
    where = str(path)
    try:
        size = path.stat().st_size
        if size > LARGEST_BYTES:
            raise FileError(
                where,
                f"is {size / 1024**3:.1f} GB large, more than the {LARGEST_BYTES // 1024**2} MB that are read",
                hint="Scan it in grey at 300 to 600 DPI, or save it as a PNG.",
            )
        with path.open("rb") as file, warnings.catch_warnings():
            warnings.simplefilter("ignore")  # decoders warn of odd tags, which say nothing of the pixels
            return _read(file, path.name, where, tick)
    except OSError as error:
        raise file_error(path, error, action="read") from error
    except MemoryError:
        raise FileError(where, "needs more memory than there is", hint="Scan it at a lower resolution.") from None


def _read(file: BinaryIO, name: str, where: str, tick: Callable[[float], None]) -> Picture:
    from PIL import Image

    Image.MAX_IMAGE_PIXELS = None  # the limit below speaks the user's language, and comes before any pixel is decoded
    tick(0.0)
    try:
        image: Image.Image = Image.open(file, formats=_KINDS)
    except _DAMAGE as error:
        _pass_on_system_errors(error)
        raise FileError(where, "is no PNG, JPEG or TIFF picture", hint="Save it as one of these.") from error
    try:
        dpi, reduced = _dpi(image), _check_size(image, where)
        sideways = _orientation(image) in _SIDEWAYS
        tick(0.1)
        image.load()
        tick(0.7)
        # A TIFF is turned upright as it is decoded, and then says so itself.
        grey = _upright(_grey(image, where), _orientation(image))
    except FileError:
        raise
    except _DAMAGE as error:
        _pass_on_system_errors(error)
        raise FileError(where, "is damaged or ends too early", hint="Scan it again, or copy the file anew.") from error
    tick(1.0)
    return Picture(np.ascontiguousarray(grey), dpi[::-1] if dpi and sideways else dpi, name, reduced)


def _pass_on_system_errors(error: Exception) -> None:
    """Errors of the disk carry a number; decoders raise the same class without one."""
    if isinstance(error, OSError) and error.errno is not None:
        raise error


def _check_size(image: Image, where: str) -> int:
    """How many of the file's pixels go into one, each way, after asking the decoder for no more than are allowed."""
    w, h = image.size
    if min(w, h) < LEAST_PIXELS:
        raise FileError(
            where,
            f"is {w} × {h} pixels, which show no edge",
            hint=f"Scan at 300 DPI or more; at least {LEAST_PIXELS} pixels each way are needed.",
        )
    if w * h <= LARGEST_PIXELS:
        return 1
    # A JPEG is decoded at 1/2, 1/4 or 1/8 without holding the whole, unless it comes in passes over all of it.
    if image.format in ("JPEG", "MPO") and not image.info.get("progressive"):
        for reduced in (2, 4, 8):
            if w * h <= LARGEST_PIXELS * reduced * reduced:
                image.draft("L", (w // reduced, h // reduced))
                if image.size[0] * image.size[1] <= LARGEST_PIXELS:
                    return reduced
    raise FileError(
        where,
        f"is {w:,} × {h:,} pixels, more than the {LARGEST_PIXELS // 10**6} million that are read",
        hint="Scan at a lower resolution (600 DPI is plenty), or only the part around the edge.",
    )


def _dpi(image: Image) -> tuple[float, float] | None:
    stated = image.info.get("dpi")
    if stated is None:
        return None
    try:
        across, down = float(stated[0]), float(stated[1])
    except (TypeError, ValueError, ZeroDivisionError):
        return None
    if not all(isfinite(v) and _LEAST_DPI <= v <= _GREATEST_DPI for v in (across, down)):
        return None
    # PNG counts whole pixels a metre, so 300 comes back as 299.9994.
    if across == down and any(abs(across - v) < 0.02 for v in _PLACEHOLDERS):
        return None
    return across, down


def _orientation(image: Image) -> int:
    found = image.getexif().get(_ORIENTATION, 1)
    return found if isinstance(found, int) and 1 <= found <= 8 else 1


def _upright(grey: GreyArray, orientation: int) -> GreyArray:
    """Rows and columns as they are to be seen (EXIF 2.3, tag 274)."""
    if orientation in _SIDEWAYS:
        grey = grey.T
    if orientation in (3, 4, 7, 8):
        grey = grey[::-1]
    if orientation in (2, 3, 6, 7):
        grey = grey[:, ::-1]
    return grey


def _grey(image: Image, where: str) -> GreyArray:
    mode = image.mode
    if mode.startswith("I") or mode == "F":
        return _from_deep(np.asarray(image))
    if mode in ("P", "PA") and "transparency" in image.info:
        image = image.convert("RGBA")
    elif mode in ("PA", "La", "RGBa"):
        image = image.convert({"PA": "RGBA", "La": "LA", "RGBa": "RGBA"}[mode])
    elif mode == "LAB":
        image = image.getchannel(0)
    try:
        grey: GreyArray = np.array(image if image.mode == "L" else image.convert("L"), dtype=np.uint8)
    except ValueError:
        raise FileError(where, f"has colours of a kind that is not read ({mode})", hint="Save it in grey.") from None
    if image.mode in ("LA", "RGBA"):
        alpha = np.asarray(image.getchannel("A"))
        for i in range(0, len(grey), _ROWS):
            dark = (255 - grey[i : i + _ROWS].astype(np.uint16)) * alpha[i : i + _ROWS]
            grey[i : i + _ROWS] = 255 - (dark + 127) // 255
    return grey


def _from_deep(values: np.ndarray[tuple[int, ...], np.dtype[np.generic]]) -> GreyArray:
    """8 bits of a picture with 16 or 32, or in plain numbers: black is 0, white its brightest pixel."""
    grey = np.empty(values.shape, dtype=np.uint8)
    blocks = [slice(i, i + _ROWS) for i in range(0, len(values), _ROWS)]
    top = max(float(np.nan_to_num(values[rows].astype(np.float32), posinf=0.0).max()) for rows in blocks)
    for rows in blocks:
        part = np.nan_to_num(values[rows].astype(np.float32), posinf=top, neginf=0.0)
        grey[rows] = np.clip(part * (255.0 / top) + 0.5, 0.0, 255.0) if top > 0.0 else 0
    return grey
