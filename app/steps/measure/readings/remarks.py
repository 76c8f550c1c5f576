"""The lines under the table: why a text was refused, which reading stands out, what a row lacks."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from PySide6.QtCore import QEvent
from PySide6.QtWidgets import QVBoxLayout, QWidget

from app.widgets.labels import QuietLabel, Refusal, Words
from app.widgets.theme import ink
from core.measure.readings.kinds import lack_word, row_name
from core.measure.readings.words import a_family
from core.part.readings import ReadingKind, SizeName

if TYPE_CHECKING:
    from app.steps.measure.readings.desk import Desk
    from app.steps.measure.readings.model import ReadingsModel

OUTLIER_SIGN: Final = "▲"
_MOST: Final = 2  # lines of each sort; more would push the table away
_ONE_WEIGHT: Final = "Heights under one weight give no free height: read it under a second weight, or without any."
_RISING: Final = "Heights that are greater under more weight give no free height: put the weights right."
_HINT: Final = "Return goes down, Tab along the row."


class Remarks(QWidget):
    """What is to be said of the table, most pressing first."""

    def __init__(self, model: ReadingsModel, desk: Desk, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._model, self._desk = model, desk
        self._name_refused = ""
        self.refused = Refusal(self)
        self.outliers = Words("", self)
        self.quiet = QuietLabel("", self, wrap=True)
        column = QVBoxLayout(self)
        side = self.fontMetrics().height() // 2
        column.setContentsMargins(side, side // 2, side, 0)
        column.setSpacing(0)
        for label in (self.refused, self.outliers, self.quiet):
            column.addWidget(label)
        model.dataChanged.connect(self.refresh)
        model.modelReset.connect(self.refresh)
        desk.session.changed.connect(self._forget)
        desk.session.refused.connect(self._on_refused)
        self._tint()
        self.refresh()

    def refresh(self) -> None:
        """Say it anew."""
        reasons = [*self._model.reasons(), *([self._name_refused] if self._name_refused else [])]
        self.refused.tell(_joined(reasons))
        show, style = self._desk.session.show_length, self._desk.session.project.style
        rows = self._model.readings.rows
        study = self._desk.study
        lines = [
            f"{OUTLIER_SIGN} Row {o.row + 1}, {self._model.readings.samples[o.sample]}: {o.reason.show(show)}"
            for o in study.outliers
            if o.row < len(rows) and o.sample < len(self._model.readings.samples)
        ]
        self.outliers.tell(_joined(lines))
        lacking = [
            f"Row {r.row + 1}, {row_name(rows[r.row], style)}: {lack_word(rows[r.row], r.lacks).rstrip('?')} missing, "
            "so it does not count yet."
            for r in study.rows
            if r.lacks and r.row < len(rows)
        ]
        heights = {i for i, row in enumerate(rows) if row.kind is ReadingKind.HEIGHT and any(row.values)}
        if heights and study.size(SizeName.HEIGHT) is None:
            lacking.append(_RISING if any(outlier.row in heights for outlier in study.outliers) else _ONE_WEIGHT)
        fit = self._desk.fit
        off = "" if fit is None else f" Off: mean less what {a_family(fit.family)} would read."
        self.quiet.setText("\n".join(text for text in (_joined(lacking), f"{_HINT}{off}") if text))

    def _on_refused(self, path: str, message: str) -> None:
        if path.startswith(f"{self._desk.owner}.readings.samples["):
            self._name_refused = f"Sample's name: {message}"
            self.refresh()

    def _forget(self) -> None:
        self._name_refused = ""
        self.refresh()

    def changeEvent(self, event: QEvent) -> None:
        super().changeEvent(event)
        if event.type() == QEvent.Type.PaletteChange and hasattr(self, "outliers"):
            self._tint()

    def _tint(self) -> None:
        palette = self.outliers.palette()
        palette.setColor(self.outliers.foregroundRole(), ink(self.palette()).marginal)
        self.outliers.setPalette(palette)


def _joined(lines: list[str]) -> str:
    more = [f"… and {len(lines) - _MOST} more"] if len(lines) > _MOST else []
    return "\n".join([*lines[:_MOST], *more])
