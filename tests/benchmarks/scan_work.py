"""Benchmark of a scan: A4 at 600 DPI from the pixels to the fitted oval."""

from __future__ import annotations

import numpy as np

from core.geometry.ovals.ovals import Family, Oval, oval_outline
from core.measure.scan.picture.edges import find_edges
from core.measure.scan.picture.scale import from_dpi
from core.measure.scan.results import Picture
from core.measure.scan.sizes.fit import scan
from tests.benchmarks.timing import Ratio, compare

A4_AT_600 = (4960, 7016)
_PER_MM = 600.0 / 25.4


def scanned_a4() -> Picture:
    """An obround of 219.2 × 139.6 mm on a sheet of A4, blurred and noisy as a scanner gives it."""
    from PIL import Image, ImageDraw
    from scipy.ndimage import gaussian_filter

    image = Image.new("L", A4_AT_600, 230)
    outline = oval_outline(Oval(Family.OBROUND, 219.2, 139.6)).turned(np.pi / 2.0 - 0.03).chords(0.001)
    points = outline * _PER_MM + np.array(A4_AT_600) / 2.0
    ImageDraw.Draw(image).polygon([(float(x), float(y)) for x, y in points], fill=40)
    grey = gaussian_filter(np.asarray(image), 1.5, output=np.float32)
    grey += np.random.default_rng(1).normal(0.0, 5.0, grey.shape).astype(np.float32)
    return Picture(np.clip(grey, 0, 255).astype(np.uint8), (600.0, 600.0), "a4.png")


def scan_to_oval() -> Ratio:
    """(g) A4 at 600 DPI to the fitted oval; one Gaussian blur of the same picture is the yardstick."""
    from scipy.ndimage import gaussian_filter

    picture = scanned_a4()
    scale = from_dpi(picture)
    return compare(
        "scan of A4 at 600 DPI to its oval",
        lambda _: scan(picture, scale, find_edges(picture)[0]),
        rounds=3,
        yardstick=lambda: gaussian_filter(picture.grey, 1.5, output=np.float32),
        yardstick_name="one Gaussian blur of it",
    )
