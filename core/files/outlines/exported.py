"""What was written, and what each drawing was meant to hold."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from msgspec import Struct

from core.files.outlines.contents import FileKind
from core.files.outlines.dxf_write import SizeKind
from core.words.ends import End

if TYPE_CHECKING:
    from pathlib import Path

    from core.files.outlines.contents import Contents
    from core.files.outlines.dxf_write import DxfVersion
    from core.files.outlines.instructions import Instruction

AS_BUILT: Final = "as built, there to compare with"
"""Why an old outline is not cut."""
_SIZE_KINDS: Final = {
    FileKind.PATTERN: SizeKind.FINISHED,
    FileKind.DRILLING: SizeKind.DRILLED,
    FileKind.REWORK: SizeKind.REWORK,
}


class PlannedFile(Struct, frozen=True):
    """A drawing that is to be written."""

    file: str
    version: DxfVersion
    contents: Contents

    @property
    def size_kind(self) -> SizeKind:
        """Which size its outlines have."""
        return _SIZE_KINDS[self.contents.kind]

    @property
    def hand(self) -> str:
        """How the piece lies in the drawing, in words."""
        end = self.contents.end
        turned = ", turned over about its long axis against the plan" if end is End.LID else ", as in the plan"
        return f"The {end} is drawn with its joint face up{turned}; what is cut from its outer face is seen from behind"


class ExportedRing(Struct, frozen=True):
    """One outline as it stands in one written file.

    Attributes:
        file: the file's name.
        kind: of outline, as ``seat outer``.
        spans: heights from the outer face that it goes through [mm].
        deviation_mm: worst distance from the exact curve, or an upper bound of it; see `dxf_audit`.
        size_kind: which size it has.
        told: what whoever cuts has to know; None for an old outline, which is there to compare with.
    """

    file: str
    layer: str
    piece: str
    feature: str
    kind: str
    spans: tuple[tuple[float, float], ...]
    area_mm2: float
    length_mm: float
    deviation_mm: float
    size_kind: SizeKind
    told: Instruction | None

    @property
    def is_cut(self) -> bool:
        """Whether it is cut where its file is cut."""
        return self.told is not None and self.told.is_cut

    def to_builtins(self) -> dict[str, object]:
        """The outline for JSON; heights count from the outer face, depths from the face it is cut from."""
        told = self.told
        return {
            "file": self.file,
            "layer": self.layer,
            "piece": self.piece,
            "feature": self.feature,
            "cut": self.is_cut,
            "why": AS_BUILT if told is None else told.why,
            "z_from_mm": self.spans[0][0],
            "z_to_mm": self.spans[-1][1],
            "face": None if told is None else told.face.name.lower(),
            "depth_from_mm": None if told is None else told.depth_mm[0],
            "depth_to_mm": None if told is None else told.depth_mm[1],
            "stays": None if told is None else told.stays,
            "diameter_mm": None if told is None else told.diameter_mm,
            "size": str(self.size_kind),
            "area_mm2": self.area_mm2,
            "length_mm": self.length_mm,
            "deviation_mm": self.deviation_mm,
        }


class ExportReport(Struct, frozen=True):
    """What was written.

    Attributes:
        folder: where.
        files: names of all files, those to cut first.
        size_kind: which size the outlines of the pieces have.
        rings: the outlines in the files, in their order.
        remarks: what is in order but worth knowing.
    """

    folder: Path
    files: tuple[str, ...]
    size_kind: SizeKind
    rings: tuple[ExportedRing, ...]
    remarks: tuple[str, ...]

    @property
    def worst_mm(self) -> float:
        """The worst deviation of all outlines [mm]."""
        return max((ring.deviation_mm for ring in self.rings), default=0.0)

    @property
    def to_print(self) -> str:
        """The file to print 1:1 and lay the real insert on: the base's, which has the seat."""
        return self.files[0]
