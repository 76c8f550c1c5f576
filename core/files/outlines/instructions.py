"""What whoever cuts has to know of one written outline: cut or not, from which face, how deep, which side stays.

Depths count from the face that is cut from. An outline can be reached from a face where nothing of the piece stands
between the two, on the side that is taken away; that is read off the slabs at places all along it.
"""

from __future__ import annotations

from enum import StrEnum
from typing import TYPE_CHECKING, Final, assert_never

import numpy as np
from msgspec import Struct

from core.files.outlines.contents import FileKind
from core.files.outlines.rings import DRILLED
from core.geometry.lines.outline import as_circle
from core.words.lengths import ABOUT, Style, show_length

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from core.files.outlines.rings import Ring
    from core.geometry.lines.outline import FloatArray, Outline
    from core.metal.slabs import ResolvedPiece

_PLACES: Final = 64
_ASIDE_MM: Final = 1e-3
_LEVEL_MM: Final = 1e-9


class Face(StrEnum):
    """The face that an outline is cut from."""

    EITHER = "open to both faces"
    JOINT = "cut from the joint face"
    OUTER = "cut from the outer face, which the file shows from behind"
    NEITHER = "open to neither face all along, since other metal lies over it"


class Instruction(Struct, frozen=True):
    """One outline, told to whoever cuts.

    Attributes:
        is_cut: whether it is cut where the file is cut.
        why: the reason, in words.
        face: where it is cut from.
        depth_mm: from and to, below that face; below the joint face where it goes through.
        stays: the side of the outline that stays, ``inside`` or ``outside``.
        diameter_mm: of a hole; None for everything else.
    """

    is_cut: bool
    why: str
    face: Face
    depth_mm: tuple[float, float]
    stays: str
    diameter_mm: float | None

    def words(self, style: Style) -> str:
        """All of it in one line."""
        start, end = (to_cut(mm, style) for mm in self.depth_mm)
        size = "" if self.diameter_mm is None else f"diameter {to_cut(self.diameter_mm, style)}, "
        cut = "cut" if self.is_cut else "NOT CUT"
        level = "the highest place of the outer face" if self.face is Face.OUTER else "the joint face"
        depth = f"from {start} to {end} below {level}"
        return f"{size}{cut}: {self.why}; {self.face}, {depth}; what lies {self.stays} it stays"


def to_cut(mm: float, style: Style) -> str:
    """A length to cut by: what a fraction only comes near to stands in millimetres beside it."""
    shown = show_length(mm, style)
    return f"{shown} ({show_length(mm, Style.MM)})" if shown.startswith(ABOUT) else shown


def instructions(rings: Sequence[Ring], piece: ResolvedPiece, kind: FileKind) -> tuple[Instruction, ...]:
    """What is to be told of outlines, as the plan shows them, in a file of some kind.

    Args:
        rings: of the piece, not turned over.
        piece: that they belong to.
        kind: of the file.
    """
    return tuple(_told(ring, piece, kind, face) for ring, face in zip(rings, _faces(rings, piece, kind), strict=True))


def _told(ring: Ring, piece: ResolvedPiece, kind: FileKind, face: Face) -> Instruction:
    circle = as_circle(ring.outline)
    return Instruction(
        kind is not FileKind.DRILLING,
        _why(ring, kind),
        face,
        _depth(ring, piece, face),
        "outside" if ring.is_hole else "inside",
        None if circle is None or not ring.is_hole else 2.0 * circle[1],
    )


def _why(ring: Ring, kind: FileKind) -> str:
    match kind:
        case FileKind.PATTERN:
            return "cored, so it is in the pattern" if ring.kind == "cored hole" else "part of the pattern"
        case FileKind.DRILLING:
            return f"{ring.purpose} after casting, at its finished place"
        case FileKind.REWORK:
            return "machined out of the casting"
        case _:
            assert_never(kind)


def _faces(rings: Sequence[Ring], piece: ResolvedPiece, kind: FileKind) -> Iterator[Face]:
    slabs = piece.slabs if kind is FileKind.REWORK else piece.as_cast
    beside = np.concatenate([_beside(ring.outline) for ring in rings])
    stands = np.array([slab.region.contains(beside).reshape(-1, _PLACES).any(axis=1) for slab in slabs])
    for i, ring in enumerate(rings):
        over = [s.z0 >= ring.z0 - _LEVEL_MM for s in slabs]
        under = [s.z1 <= ring.z1 + _LEVEL_MM for s in slabs]
        if ring.kind == DRILLED:
            from_joint = ring.z1 >= piece.thickness - _LEVEL_MM
            from_outer = ring.z0 <= _LEVEL_MM or not from_joint
        else:
            from_joint, from_outer = (not stands[some, i].any() for some in (over, under))
        if from_joint:
            yield Face.EITHER if from_outer else Face.JOINT
        else:
            yield Face.OUTER if from_outer else Face.NEITHER


def _beside(outline: Outline) -> FloatArray:
    """Places along an outline on the side that is taken away: its right, since metal lies on its left as it runs."""
    stations = outline.length * (np.arange(_PLACES) + 0.5) / _PLACES
    return outline.points_at(stations) + _ASIDE_MM * outline.normals_at(stations)


def _depth(ring: Ring, piece: ResolvedPiece, face: Face) -> tuple[float, float]:
    match face:
        case Face.OUTER:
            return ring.z0 - piece.top, ring.z1 - piece.top
        case Face.JOINT | Face.EITHER | Face.NEITHER:
            return piece.thickness - ring.z1, piece.thickness - ring.z0
        case _:
            assert_never(face)
