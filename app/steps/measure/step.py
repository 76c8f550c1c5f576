"""Step 1, measure: the sizes that count, and the ways to come by them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, cast

from PySide6.QtCore import Signal

from app.steps.measure.sizes.sizes import SizesForm
from app.steps.step import Step
from app.widgets.switch import Switch

if TYPE_CHECKING:
    from pathlib import Path

    from PySide6.QtWidgets import QWidget

    from app.session.session import Session
    from app.steps.dialogs import MeasuringDialogs
    from app.steps.measure.topic import FileTopic, Topic
    from app.widgets.grid import FieldWidget

SIZES, READINGS, DRAWING, SCAN, CANDIDATES = "sizes", "readings", "drawing", "scan", "candidates"
_WORDS: Final = (
    (SIZES, "Sizes"),
    (READINGS, "Readings"),
    (DRAWING, "Outline file"),
    (SCAN, "Scan"),
    (CANDIDATES, "Candidates"),
)
_OWNERS: Final = {"candidates": CANDIDATES, "readings": READINGS}


class MeasureStep(Step):
    """What is known of the insert that is gone and of the one that replaces it.

    Attributes:
        board_changed: the `QWidget` that takes the place of the drawings, or None for the drawings.
        part_made: a new `Project` from an old drawing.
    """

    board_changed = Signal(object)
    part_made = Signal(object)

    def __init__(self, session: Session, dialogs: MeasuringDialogs, parent: QWidget | None = None) -> None:
        super().__init__(session, parent)
        self._dialogs = dialogs
        self._topics: dict[str, Topic] = {}
        self.ways = Switch(_WORDS, "Way to measure", self)
        self.ways.chosen.connect(self.choose)
        self.sizes = SizesForm(session, self)
        for widget in (self.ways, self.sizes):
            self.column.addWidget(widget)
        self.ways.put(SIZES)

    @property
    def board(self) -> QWidget | None:
        """What takes the place of the drawings; None for the drawings themselves."""
        topic = self._topics.get(self.ways.key)
        return None if topic is None else topic.board

    def topic(self, key: str) -> Topic:
        """One way to measure, built when it is first asked for."""
        if key not in self._topics:
            made = self._topics[key] = self._made(key)
            made.form.hide()
            self.column.addWidget(made.form)
        return self._topics[key]

    def choose(self, key: str) -> None:
        """Go to a way to measure."""
        self.ways.put(key)
        chosen = None if key == SIZES else self.topic(key)
        self.sizes.setVisible(chosen is None)
        for topic in self._topics.values():
            topic.form.setVisible(topic is chosen)
        self.board_changed.emit(self.board)

    def open_file(self, key: str, path: Path) -> None:
        """Open a file with the way to measure that reads such files."""
        self.choose(key)
        cast("FileTopic", self.topic(key)).open(path)

    def find_field(self, path: str) -> FieldWidget | None:
        found = self.sizes.find_field(path)
        if found is not None:
            self.choose(SIZES)
            return found
        key = next((key for part, key in _OWNERS.items() if part in path), None)
        if key is None:
            return None
        found = self.topic(key).form.find_field(path)
        if found is not None:
            self.choose(key)
        return found

    def fields(self) -> list[FieldWidget]:
        return self.sizes.fields() + [field for topic in self._topics.values() for field in topic.form.fields()]

    def close_down(self) -> None:
        """Wait for whatever runs beside the window."""
        for topic in self._topics.values():
            topic.close_down()

    def _made(self, key: str) -> Topic:
        # Deferred: the first frame must not wait for the ways that few start with.
        if key == READINGS:
            from app.steps.measure.readings.topic import ReadingsTopic  # noqa: PLC0415

            return ReadingsTopic(self.session, self._dialogs, self)
        if key == DRAWING:
            from app.steps.measure.outline_file.topic import DrawingTopic  # noqa: PLC0415

            topic = DrawingTopic(self.session, self._dialogs, self)
            topic.part_made.connect(self.part_made)
            return topic
        if key == SCAN:
            from app.steps.measure.scan.topic import ScanTopic  # noqa: PLC0415

            return ScanTopic(self.session, self._dialogs, self)
        from app.steps.measure.candidates.topic import CandidatesTopic  # noqa: PLC0415

        return CandidatesTopic(self.session, self._dialogs, self)
