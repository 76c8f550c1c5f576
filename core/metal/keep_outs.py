"""What the machine has beside a housing, as outlines."""

from __future__ import annotations

from functools import lru_cache
from math import cos, radians, sin
from typing import TYPE_CHECKING

from core.geometry.lines.outline import polygon_outline

if TYPE_CHECKING:
    from core.geometry.lines.outline import Outline
    from core.part.housing import KeepOut


@lru_cache(maxsize=64)
def keep_out_outline(keep_out: KeepOut) -> Outline:
    """The rectangle of a keep-out, counter-clockwise."""
    c, s = cos(radians(keep_out.angle)), sin(radians(keep_out.angle))
    along = (keep_out.length / 2.0 * c, keep_out.length / 2.0 * s)
    aside = (-keep_out.width / 2.0 * s, keep_out.width / 2.0 * c)
    return polygon_outline(
        [
            (keep_out.x + i * along[0] + j * aside[0], keep_out.y + i * along[1] + j * aside[1])
            for i, j in ((-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0))
        ]
    )
