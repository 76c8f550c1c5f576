"""The kinds of features: one line each, in the order of a menu, and of the making within a stage."""

from __future__ import annotations

from typing import Final, TypeAlias, get_args

from core.features.badge import Badge
from core.features.band import Band
from core.features.crossbar import Crossbar
from core.features.hole import Hole
from core.features.lug import Lug
from core.features.pocket import Pocket
from core.features.rib import Rib

Feature: TypeAlias = (
    Crossbar
    | Hole
    | Lug
    | Pocket
    | Band
    | Rib
    | Badge
)  # fmt: skip

FEATURES: Final[dict[str, type[Feature]]] = {kind.word(): kind for kind in get_args(Feature)}
"""By the word for it."""
