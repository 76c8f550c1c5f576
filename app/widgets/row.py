"""What a row of a list says, as plain values: pure functions make them, `app.widgets.rows` shows them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal, NamedTuple, TypeAlias

if TYPE_CHECKING:
    from collections.abc import Callable, Hashable

    from PySide6.QtCore import QPointF
    from PySide6.QtGui import QPainter

    from app.widgets.explain import Explanation
    from app.widgets.theme import Ink
    from core.words.verdicts import Verdict

Tone: TypeAlias = Literal["text", "quiet", "go", "marginal", "no_go", "highlight"]
"""Which of the theme's inks a text is written in."""
Sign: TypeAlias = "Callable[[QPainter, QPointF, float, Ink], None]"
"""Draws a sign about a place, so far to each side."""


class Text(NamedTuple):
    """A text in one ink.

    Attributes:
        words: cut where they do not fit, wrapped in an open row.
        more: follows them, in full or, where that does not fit, short; it is never cut.
    """

    words: str
    tone: Tone = "text"
    is_bold: bool = False
    more: tuple[str, str] = ("", "")

    @property
    def whole(self) -> str:
        """All of it."""
        return self.words + self.more[0]


class Line(NamedTuple):
    """One line of a row, or one paragraph of an open one.

    Attributes:
        left: from the left; behind a ``lead``, which is never cut.
        right: at the right; several stand in columns that all rows of a list share.
        is_apart: with some air over it.
    """

    left: Text
    lead: Text | None = None
    right: tuple[Text, ...] = ()
    is_apart: bool = False


class Row(NamedTuple):
    """One row of a list.

    Attributes:
        key: stays the same from result to result.
        value: what the list tells others when the row is chosen.
        lines: of the row while another is chosen.
        said: the whole row as one text, to be read aloud or copied.
        mark: before the lines: a verdict's shape, a number, or a sign.
        opened: the lines of the chosen row; None when it says no more, and opens only where something is cut.
        sheet: what it is and where it comes from.
        is_card: laid out whole always, on paper, with a bar in the ink of its mark.
        is_block: laid out whole always, apart from the rows round it.
    """

    key: Hashable
    value: object
    lines: tuple[Line, ...]
    said: Callable[[], str]
    mark: Verdict | str | Sign | None = None
    opened: Callable[[], tuple[Line, ...]] | None = None
    sheet: Callable[[], Explanation | None] = lambda: None
    is_card: bool = False
    is_block: bool = False
