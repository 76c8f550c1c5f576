"""What is said of an outline file: what was left out, what was read otherwise than it stands there, what is doubted."""

from __future__ import annotations

from collections import Counter
from enum import StrEnum
from typing import TYPE_CHECKING

from msgspec import Struct

from core.words.lengths import Style, shower
from core.words.verdicts import Sentence, plain

if TYPE_CHECKING:
    from collections.abc import Iterator

    from core.geometry.lines.outline import Point


class RemarkKind(StrEnum):
    """What a remark is about."""

    LEFT_OUT = "left out"
    LAYER = "layer"
    READ_AS = "read as"
    FILE = "file"
    UNIT = "unit"
    FRAME = "frame"


class Remark(Struct, frozen=True):
    """A whole sentence about a file.

    Attributes:
        kind: what it is about; of what was found where lines should meet, the fault's own name.
        words: the sentence.
        at: where the first of it is; None where it is nowhere in particular. While a file is read, in its own unit;
            afterwards [mm].
    """

    kind: str
    words: Sentence
    at: Point | None = None

    @classmethod
    def of(cls, kind: RemarkKind, text: str, at: Point | None = None) -> Remark:
        """A remark in which there is no length to be shown; braces stay braces."""
        return cls(kind, Sentence(plain(text)), at)

    @property
    def text(self) -> str:
        """The sentence with its lengths in millimetres."""
        return self.words.show(shower(Style.MM))


class Notes:
    """What was left out, or read otherwise than it stands in the file.

    Attributes:
        kinds: how many of each kind of thing that no outline is made of.
        unusable: by kind and reason, where in the file the entities begin that could not be used.
        bands: how many polylines have a width, and how wide the widest is, in the file's unit.
    """

    def __init__(self) -> None:
        self.kinds: Counter[str] = Counter()
        self.unusable: dict[tuple[str, str], list[int]] = {}
        self.bands: tuple[int, float] = (0, 0.0)
        self._places: dict[object, Point] = {}

    def leave_out(self, words: str, at: Point | None) -> None:
        """Note a thing that no outline is made of."""
        self.kinds[words] += 1
        self._keep(words, at)

    def refuse(self, kind: str, reason: str, line: int, at: Point | None = None) -> None:
        """Note an entity that can't be used."""
        self.unusable.setdefault((kind, reason), []).append(line)
        self._keep((kind, reason), at)

    def take_band(self, width: float, at: Point | None) -> None:
        """Note a polyline that has a width, whose middle line is taken."""
        self.bands = self.bands[0] + 1, max(self.bands[1], width)
        self._keep(self.take_band.__name__, at)

    def _keep(self, key: object, at: Point | None) -> None:
        if at is not None:
            self._places.setdefault(key, at)

    def add_from_block(self, other: Notes) -> None:
        """Take over what was noted of a block, whose places are its own."""
        self.kinds += other.kinds
        self.bands = self.bands[0] + other.bands[0], max(self.bands[1], other.bands[1])
        for key, at in other.unusable.items():
            self.unusable.setdefault(key, []).extend(at)

    def remarks(self) -> Iterator[Remark]:
        """A whole sentence for each kind of thing, with the place of the first of it."""
        for words, count in self.kinds.most_common():
            yield Remark.of(RemarkKind.LEFT_OUT, f"Left out: {words} ({count:,}).", self._places.get(words))
        for key, lines in self.unusable.items():
            first = "the one that begins" if len(lines) == 1 else "the first begins"
            text = f"Left out: {key[0]} that {key[1]} ({len(lines):,}; {first} at line {min(lines):,})."
            yield Remark.of(RemarkKind.LEFT_OUT, text, self._places.get(key))
        count, width = self.bands
        if count:
            text = (
                f"Taken by the middle line: polylines drawn as a band, up to {width:g} of the file's units wide "
                f"({count:,}). If its edge is meant, the outline is off by half the width."
            )
            yield Remark.of(RemarkKind.READ_AS, text, self._places.get(self.take_band.__name__))
