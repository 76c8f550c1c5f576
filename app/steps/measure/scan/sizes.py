"""The sizes that were fitted, with how sure they are: a short list that is painted."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QFontMetricsF, QPainter
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.widgets.explain import Explanation
from app.widgets.style.marks import RULE, paint_outline
from app.widgets.theme import ink
from core.measure.scan.words import allowance_text, fine
from core.part.fields import fields_of
from core.part.insert import Insert
from core.part.readings import SizeName
from core.words.lengths import show_length

if TYPE_CHECKING:
    from PySide6.QtGui import QPaintEvent

    from app.session.session import Session
    from app.steps.measure.scan.model import ScanModel

_LINE: Final = 1.35  # of a text's height
_SHAPE: Final = "It is"
_LEAST_SHOWN: Final = 0.01
"""Of an exponent: a ± of nothing would claim too much."""


class ScanSizes(QWidget):
    """Label, value and its 95 % interval, a row each."""

    def __init__(self, session: Session, model: ScanModel, parent: QWidget) -> None:
        super().__init__(parent)
        self._session, self._model = session, model
        self._rows: tuple[tuple[str, str, str], ...] = ()
        self.setAccessibleName("Fitted sizes")
        self.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.refresh()

    @property
    def rows(self) -> tuple[tuple[str, str, str], ...]:
        """Label, value and half width of the 95 % interval, as they are read."""
        return self._rows

    def refresh(self) -> None:
        """Show what is fitted now."""
        fitted = self._model.state.fitted
        style = self._session.project.style
        rows: list[tuple[str, str, str]] = []
        if fitted is not None:
            rows.append((_SHAPE, fitted.result.family.kind.words, ""))
            for name, estimate in fitted.result.sizes:
                label = fields_of(Insert)[name].label
                if name is SizeName.EXPONENT:
                    rows.append((label, f"{estimate.value:.2f}", f"within {max(estimate.expanded, _LEAST_SHOWN):.2f}"))
                else:
                    value, spread = show_length(estimate.value, style), fine(estimate.expanded, style)
                    rows.append((label, value, f"within {spread}"))
        if tuple(rows) != self._rows:
            self._rows = tuple(rows)
            self.setAccessibleDescription("; ".join(" ".join(row) for row in rows))
            self.setVisible(bool(rows))
            self.updateGeometry()
            self.update()
        elif not rows:
            self.hide()

    def explanation(self) -> Explanation:
        """What F1 says of it."""
        fitted = self._model.state.fitted
        title = "; ".join(f"{label} {value} {spread}".strip() for label, value, spread in self._rows if label != _SHAPE)
        figures: list[str] = []
        if fitted is not None:
            figures.append(f"Uncertainty of the scale: {fitted.view.relative * 100.0:.2g} % (one standard deviation)")
            figures.append(allowance_text(self._model.state, self._session.project.style))
            figures.append(f"Points of the edge used: {int(fitted.fit.used.sum())} of {len(fitted.fit.used)}")
        return Explanation(
            title or "Fitted sizes",
            "The oval that most of the edge lies on, by normal distances; points that stray far more than the others "
            "are left out. Within: half the 95 % interval of the edge's own scatter and of the scale, and on top of "
            "that the whole of what is allowed for: a shadow, an edge off the plane, a pencil. It is of this sample; "
            "the next one bought is known no better.",
            "Computed from the picture and the scale.",
            tuple(figures),
        )

    def sizeHint(self) -> QSize:
        line = self.fontMetrics().height()
        return QSize(20 * line, round(line * _LINE * max(1, len(self._rows))))

    def minimumSizeHint(self) -> QSize:
        return QSize(self.fontMetrics().height() * 14, self.sizeHint().height())

    def paintEvent(self, _event: QPaintEvent) -> None:
        inks, metrics = ink(self.palette()), QFontMetricsF(self.font())
        line = metrics.height() * _LINE
        label_end = max((metrics.horizontalAdvance(label) for label, _, _ in self._rows), default=0.0)
        value_end = max(
            (metrics.horizontalAdvance(value) for label, value, _ in self._rows if label != _SHAPE), default=0
        )
        left = label_end + metrics.height() * 0.8
        with QPainter(self) as painter:
            for i, (label, value, spread) in enumerate(self._rows):
                base = i * line + (line - metrics.height()) / 2.0 + metrics.ascent()
                painter.setPen(inks.quiet)
                painter.drawText(QPointF(0.0, base), label)
                painter.setPen(inks.text)
                # Figures end in one column, so that their decimals stand over one another; a word begins where they do.
                wide = metrics.horizontalAdvance(value)
                painter.drawText(QPointF(left if label == _SHAPE else left + value_end - wide, base), value)
                painter.setPen(inks.quiet)
                painter.drawText(QPointF(left + value_end + metrics.height() * 0.5, base), spread)
            if self.hasFocus():
                paint_outline(painter, QRectF(self.rect()), inks.highlight, RULE)
