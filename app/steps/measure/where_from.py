"""Where the sizes of both inserts come from, and which typed ones count over their readings."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from PySide6.QtWidgets import QPushButton

from core import edits
from core.measure.sources import (
    MEASURED,
    ORIGIN_WORDS,
    is_overridden,
    is_plus_minus_typed,
    plus_minus_of,
    read_sizes,
    size_of,
    spoken_size,
    take_readings,
)
from core.part.readings import SizeName
from core.words.lengths import spread_shower

if TYPE_CHECKING:
    from app.session.session import Session
    from app.widgets.forms import Form
    from core.part.insert import Insert
    from core.part.readings import Source

_INSERTS: Final = (("old_insert", "old"), ("new_insert", "new"))
OVERRIDE_SIGN: Final = "△"
"""Stands before a size that was typed in although its readings give another."""


class WhereFrom:
    """A few quiet lines at the foot of a form, and a button that lets the readings count again."""

    def __init__(self, session: Session, form: Form) -> None:
        self.session = session
        form.heading("Where the sizes come from")
        self.sources = form.note("")
        self.typed_over = form.note("")
        self.use_button = QPushButton("Let the readings count", form)
        self.use_button.clicked.connect(self._use)
        form.widget(self.use_button)

    def refresh(self) -> None:
        """Say it anew."""
        lines, over = [], []
        for name, which in _INSERTS:
            insert: Insert = getattr(self.session.project, name)
            lines += self._sources(insert, which)
            over += self._typed_over(insert, which)
        self.sources.setText("\n".join(lines))
        self.typed_over.tell("\n".join(over))
        self.use_button.setVisible(bool(over))

    def _sources(self, insert: Insert, which: str) -> list[str]:
        if not insert.sources:
            return [f"{which}: all typed in"]
        by_note: dict[tuple[str, str], list[str]] = {}
        for source in insert.sources:
            words = f"{spoken_size(source.size)}{self._plus_minus(insert, source)}"
            by_note.setdefault((f"from {ORIGIN_WORDS[source.origin]}", source.note), []).append(words)
        return [
            f"{which}: {', '.join(sizes)} {origin}" + (f" ({note})" if note else "")
            for (origin, note), sizes in by_note.items()
        ] + [f"{which}: all others typed in"]

    def _plus_minus(self, insert: Insert, source: Source) -> str:
        """The ± that came with a size; or, of what was measured, which one counts instead."""
        counts = plus_minus_of(insert, source.size)
        is_typed = is_plus_minus_typed(insert, source.size)
        if source.plus_minus is None:
            if counts is None or source.origin not in MEASURED:
                return ""
            return f" (no ± for the next one bought came with it: ± {self._spread(counts)} counts)"
        words = f" ± {self._spread(source.plus_minus)}"
        return f"{words} (± {self._spread(counts)} typed in counts)" if is_typed and counts is not None else words

    def _spread(self, mm: float) -> str:
        return spread_shower(self.session.project.style)(mm)

    def _typed_over(self, insert: Insert, which: str) -> list[str]:
        show, lines = self.session.show_length, []
        for size, read in read_sizes(insert).items():
            if size is not SizeName.EXPONENT and is_overridden(insert, size):
                half = "" if read.plus_minus is None else f" ± {self._spread(read.plus_minus)}"
                lines.append(
                    f"{OVERRIDE_SIGN} {which} {spoken_size(size)}: {show(_length(insert, size))} typed in counts; the "
                    f"readings give {show(read.value)}{half}"
                )
        return lines

    def _use(self) -> None:
        project = self.session.wanted
        for name, _ in _INSERTS:
            insert: Insert = getattr(project, name)
            sizes = [size for size in read_sizes(insert) if is_overridden(insert, size)]
            if sizes:
                project = edits.set_value(project, name, take_readings(insert, *sizes))
        self.session.edit("the readings count", project)


def _length(insert: Insert, size: SizeName) -> float:
    value = size_of(insert, size)
    return value if isinstance(value, float) else 0.0
