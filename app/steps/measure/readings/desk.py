"""What the parts of the readings' page share: whose readings, which row, which shape; and the study of them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from PySide6.QtCore import QObject, Signal

from core.measure.readings.words import plus_minus_words
from core.measure.sources import insert_study
from core.measure.table import edits as readings_edits
from core.part.readings import SizeName
from core.words.lengths import mixed_shower, show_length, spread_style

if TYPE_CHECKING:
    from collections.abc import Callable

    from app.session.session import Session
    from core.geometry.ovals.ovals import Family
    from core.measure.readings.results import Estimate, ShapeFit, Study
    from core.part.insert import Insert
    from core.part.project import Project
    from core.part.readings import Readings

OWNERS: Final = (("old_insert", "old insert"), ("new_insert", "new insert"))
"""Path and word of the inserts that have readings."""


def plain(value: float) -> str:
    """An exponent to read."""
    return f"{value:.3g}"


class Desk(QObject):
    """Whose readings are on the desk.

    Attributes:
        turned: the other insert's readings are shown.
        lit: number of the row that is typed in, or -1.
        asked: number of the row that was pointed at in the drawing.
        compared: another family's residuals are shown.
    """

    turned = Signal()
    lit = Signal(int)
    asked = Signal(int)
    compared = Signal()

    def __init__(self, session: Session, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.session = session
        self.owner = "new_insert"
        self.row = -1
        self._family: Family | None = None

    @property
    def spoken(self) -> str:
        """The owner as one says it."""
        return dict(OWNERS)[self.owner]

    @property
    def insert(self) -> Insert:
        """The insert as it is shown."""
        return readings_edits.insert_of(self.session.project, self.owner)

    @property
    def readings(self) -> Readings:
        """Its readings."""
        return self.insert.readings

    @property
    def rows_wanted(self) -> int:
        """How many rows there are, with those that are only made in a moment."""
        return len(readings_edits.readings_of(self.session.wanted, self.owner).rows)

    @property
    def study(self) -> Study:
        """What follows from them."""
        return insert_study(self.insert)

    @property
    def fit(self) -> ShapeFit | None:
        """The fit whose residuals are shown: of the family that was chosen, else the best."""
        ranking = self.study.ranking
        return (None if self._family is None else ranking.of(self._family)) or ranking.best

    def show_spread(self, mm: float, *, signed: bool = False, with_unit: bool = True) -> str:
        """A small difference to read: where lengths are fractions of an inch, in decimals, which are fine enough."""
        return show_length(mm, spread_style(self.session.project.style), signed=signed, with_unit=with_unit)

    def show_in_words(self, mm: float) -> str:
        """A length in a sentence: how far something is off like a spread, a size as sizes are shown."""
        return mixed_shower(self.session.project.style)(mm)

    def sized(self, size: SizeName, estimate: Estimate) -> str:
        """A size with the ± of the next one bought, as ``219.20 mm ± 0.50 mm``; without where it is not known."""
        is_length = size is not SizeName.EXPONENT
        show, spread = (self.session.show_length, self.show_spread) if is_length else (plain, plain)
        return f"{show(estimate.value)} {plus_minus_words(estimate, spread)}".rstrip()

    def turn_to(self, owner: str) -> None:
        """Show another insert's readings."""
        if owner != self.owner:
            self.owner, self._family = owner, None
            self.light(-1)
            self.turned.emit()

    def light(self, row: int) -> None:
        """Light up a row in the drawing; -1 for none."""
        if row != self.row:
            self.row = row
            self.lit.emit(row)

    def ask_for(self, row: int) -> None:
        """Bring the focus to a row of the table."""
        self.asked.emit(row)

    def compare(self, family: Family | None) -> None:
        """Show how far the readings lie off another family."""
        if family is not self._family:
            self._family = family
            self.compared.emit()

    def change(self, what: str, change: Callable[[Project], Project], *, path: str = "") -> bool:
        """One undo step on the owner's readings, named after it."""
        return self.session.change(f"{self.spoken}: {what}", change, path=path)
