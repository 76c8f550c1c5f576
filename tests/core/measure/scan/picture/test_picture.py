"""Pictures are read as they are to be seen, and nothing that poses as one does harm. Pillow writes the files."""

from __future__ import annotations

import struct
import zlib
from importlib import import_module
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest

from core.measure.scan.picture.picture import LARGEST_BYTES, LARGEST_PIXELS, read_picture
from core.words.errors import Cancelled, FileError

if TYPE_CHECKING:
    from pathlib import Path

Image = import_module("PIL.Image")
RAMP = np.linspace(0, 255, 40 * 60).reshape(40, 60).astype(np.uint8)


def _saved(folder: Path, image: Any, name: str, **options: Any) -> Path:  # noqa: ANN401 - Pillow's own
    path = folder / name
    image.save(path, **options)
    return path


@pytest.mark.parametrize("name", ["a.png", "a.tif", "a.jpg"])
def test_a_grey_picture_reads_back_as_written(tmp_path: Path, name: str) -> None:
    options = {"quality": 100} if name.endswith("jpg") else {}
    picture = read_picture(_saved(tmp_path, Image.fromarray(RAMP), name, dpi=(300, 150), **options))
    assert np.abs(picture.grey.astype(int) - RAMP).max() <= (3 if name.endswith("jpg") else 0)
    # PNG keeps whole pixels a metre (W3C PNG 11.3.4.3): 300 DPI are 11811.02 of them.
    assert picture.dpi == pytest.approx((300.0, 150.0), abs=0.02)
    assert (picture.name, picture.reduced) == (name, 1)


def test_16_bits_become_8_with_the_brightest_white(tmp_path: Path) -> None:
    deep = RAMP.astype(np.uint16) * 16  # as a 12 bit scanner writes them
    for name in ("a.png", "a.tif"):
        picture = read_picture(_saved(tmp_path, Image.fromarray(deep), name))
        assert np.abs(picture.grey.astype(int) - RAMP).max() <= 1


def test_plain_numbers_become_grey_and_what_is_no_number_does_no_harm(tmp_path: Path) -> None:
    values = RAMP.astype(np.float32) / 255.0
    values[3, 4], values[5, 6] = np.nan, -np.inf
    grey = read_picture(_saved(tmp_path, Image.fromarray(values), "a.tif")).grey
    assert grey[3, 4] == grey[5, 6] == 0
    assert np.abs(grey.astype(int) - RAMP)[10:].max() <= 1


def test_what_is_transparent_is_seen_on_white(tmp_path: Path) -> None:
    rgba = np.zeros((40, 60, 4), dtype=np.uint8)
    rgba[:, :20, 3], rgba[:, 20:40, 3] = 255, 128  # black: opaque, half, not there
    grey = read_picture(_saved(tmp_path, Image.fromarray(rgba), "a.png")).grey
    assert [int(grey[0, x]) for x in (5, 25, 50)] == [0, 127, 255]


def test_a_palette_a_line_drawing_and_printing_colours_become_their_shades(tmp_path: Path) -> None:
    line = Image.fromarray((RAMP > 127).astype(np.uint8) * 255).convert("1")
    for image, name in ((line, "line.tif"), (line.convert("P"), "palette.png"), (line.convert("CMYK"), "press.tif")):
        grey = read_picture(_saved(tmp_path, image, name)).grey
        assert np.array_equal(grey > 127, RAMP > 127), name
    palette = Image.fromarray((RAMP > 127).astype(np.uint8)).convert("P")
    palette.putpalette([255, 0, 0, 0, 0, 255])
    grey = read_picture(_saved(tmp_path, palette, "colours.png")).grey
    # Luma of red and blue by ITU-R BT.601: 0.299 and 0.114 of 255.
    assert (int(grey[0, 0]), int(grey[-1, -1])) == (76, 29)


def test_resolution_in_dots_a_centimetre_is_told_in_dots_an_inch(tmp_path: Path) -> None:
    tiff = _saved(tmp_path, Image.fromarray(RAMP), "a.tif", resolution=118.11, resolution_unit="cm")
    assert read_picture(tiff).dpi == pytest.approx((300.0, 300.0), abs=0.01)
    jpeg = _saved(tmp_path, Image.fromarray(RAMP), "a.jpg")
    data = bytearray(jpeg.read_bytes())
    at = data.index(b"JFIF\0") + 7  # unit 2 is the centimetre; then two densities (ITU-T T.871, 10.1)
    data[at : at + 5] = struct.pack(">BHH", 2, 118, 59)
    jpeg.write_bytes(data)
    assert read_picture(jpeg).dpi == pytest.approx((118 * 2.54, 59 * 2.54))


@pytest.mark.parametrize("dpi", [(72, 72), (96, 96), (1, 1)])
def test_a_placeholder_is_no_resolution(tmp_path: Path, dpi: tuple[int, int]) -> None:
    # That cameras and drawing programs write 72 or 96 where nothing is known: common practice, no source.
    for name in ("a.png", "a.jpg", "a.tif"):
        assert read_picture(_saved(tmp_path, Image.fromarray(RAMP), name, dpi=dpi)).dpi is None
    assert read_picture(_saved(tmp_path, Image.fromarray(RAMP), "none.png")).dpi is None


@pytest.mark.parametrize("orientation", range(1, 9))
@pytest.mark.parametrize("name", ["a.png", "a.jpg", "a.tif"])
def test_a_picture_is_upright_however_it_was_taken(tmp_path: Path, orientation: int, name: str) -> None:
    marked = np.full((40, 60), 255, dtype=np.uint8)
    marked[:20, :20], marked[:20, 40:] = 0, 128  # row 0 and column 0 as stored
    exif = Image.Exif()
    exif[274] = orientation
    extra = {"tiffinfo": {274: orientation}} if name.endswith("tif") else {"exif": exif}
    picture = read_picture(_saved(tmp_path, Image.fromarray(marked), name, dpi=(300, 150), **extra))
    # Where the stored first row and first column are seen: TIFF 6.0, p. 36, Orientation.
    row, column = {
        1: ("top", "left"), 2: ("top", "right"), 3: ("bottom", "right"), 4: ("bottom", "left"),
        5: ("left", "top"), 6: ("right", "top"), 7: ("right", "bottom"), 8: ("left", "bottom"),
    }[orientation]  # fmt: skip
    grey = picture.grey
    corner = grey[2 if "top" in (row, column) else -3, 2 if "left" in (row, column) else -3]
    assert corner < 20
    sideways = row in ("left", "right")
    assert grey.shape == ((60, 40) if sideways else (40, 60))
    assert picture.dpi == pytest.approx((150, 300) if sideways else (300, 150), abs=0.02)


def _png(width: int, height: int, data: bytes) -> bytes:
    """A PNG by hand, whatever its header says (W3C PNG 5.3: length, name, data, checksum)."""

    def chunk(name: bytes, body: bytes) -> bytes:
        return struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))

    header = struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + chunk(b"IDAT", zlib.compress(data)) + chunk(b"IEND", b"")


def test_a_picture_of_900_million_pixels_is_refused_before_it_is_decoded(tmp_path: Path) -> None:
    path = tmp_path / "bomb.png"
    path.write_bytes(_png(30_000, 30_000, b"\0" * 1_000_000))
    with pytest.raises(FileError, match=r"30,000 × 30,000 pixels, more than the 120 million.*lower resolution"):
        read_picture(path)


def test_a_large_jpeg_is_read_reduced_with_its_scale_kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("core.measure.scan.picture.picture.LARGEST_PIXELS", 400 * 600 // 4)
    image = Image.fromarray(RAMP).resize((600, 400))
    picture = read_picture(_saved(tmp_path, image, "a.jpg", dpi=(600, 600), quality=95))
    assert picture.reduced == 2
    assert picture.grey.shape == (200, 300)
    assert picture.dpi == (600.0, 600.0)
    # In passes over the whole picture, it would have to be held whole.
    with pytest.raises(FileError, match=r"600 × 400 pixels"):
        read_picture(_saved(tmp_path, image, "b.jpg", progressive=True))


def test_a_file_of_two_gigabytes_is_not_opened(tmp_path: Path) -> None:
    path = tmp_path / "large.tif"
    with path.open("wb") as f:
        f.truncate(2 * 1024**3)  # a hole: takes no room on the disk
    with pytest.raises(FileError, match=r"2\.0 GB large, more than the 800 MB"):
        read_picture(path)
    assert LARGEST_BYTES < 2 * 1024**3
    assert LARGEST_PIXELS == 120_000_000


@pytest.mark.parametrize("name", ["a.png", "a.jpg", "a.tif"])
@pytest.mark.parametrize("part", [0.3, 0.6, 0.9])
def test_a_truncated_file_is_refused_with_words(tmp_path: Path, name: str, part: float) -> None:
    noise = np.random.default_rng(1).integers(0, 256, (200, 300)).astype(np.uint8)
    path = _saved(tmp_path, Image.fromarray(noise), name)
    data = path.read_bytes()
    path.write_bytes(data[: int(part * len(data))])
    with pytest.raises(FileError, match=r"damaged or ends too early|is no PNG, JPEG or TIFF"):
        read_picture(path)


@pytest.mark.parametrize("name", ["a.png", "a.jpg", "a.tif"])
def test_damage_anywhere_is_read_or_refused_with_words(tmp_path: Path, name: str) -> None:
    path = _saved(tmp_path, Image.fromarray(RAMP), name, dpi=(300, 300))
    data = path.read_bytes()
    rng = np.random.default_rng(7)
    refused: list[FileError] = []
    for _ in range(150):
        broken = bytearray(data)
        for at in rng.integers(0, len(data), 6):
            broken[at] = rng.integers(0, 256)
        path.write_bytes(broken)
        try:
            read_picture(path)
        except FileError as error:
            refused.append(error)
    assert len(refused) > 10
    assert all(error.where == str(path) and error.hint for error in refused)


@pytest.mark.parametrize(
    "content", [b"", b"these are words, not a picture\n" * 50, bytes(range(256)) * 40, b"%!PS-Adobe"]
)
def test_what_only_has_the_name_of_a_picture_is_refused(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "scan.png"
    path.write_bytes(content)
    with pytest.raises(FileError, match=r"is no PNG, JPEG or TIFF picture\. Save it as one of these\."):
        read_picture(path)


def test_other_kinds_of_picture_are_refused_whatever_their_name(tmp_path: Path) -> None:
    with pytest.raises(FileError, match=r"is no PNG, JPEG or TIFF"):
        read_picture(_saved(tmp_path, Image.fromarray(RAMP), "scan.png", format="GIF"))


def test_a_picture_of_a_few_pixels_and_a_missing_one_are_refused(tmp_path: Path) -> None:
    with pytest.raises(FileError, match=r"20 × 10 pixels, which show no edge"):
        read_picture(_saved(tmp_path, Image.new("L", (20, 10)), "a.png"))
    with pytest.raises(FileError, match=r"there is no such file"):
        read_picture(tmp_path / "none.png")
    with pytest.raises(FileError, match=r"can't be read"):
        read_picture(tmp_path)


def test_reading_can_be_called_off(tmp_path: Path) -> None:
    parts: list[float] = []

    def tick(part: float) -> None:
        parts.append(part)
        if part >= 0.7:
            raise Cancelled("by the test")

    with pytest.raises(Cancelled, match="by the test"):
        read_picture(_saved(tmp_path, Image.fromarray(RAMP), "a.png"), tick)
    assert parts == sorted(parts)
