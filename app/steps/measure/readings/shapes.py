"""Which oval is it? The families in the order that the readings speak for them, and what to read next."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from PySide6.QtCore import QRect, QRectF, QSize, Qt
from PySide6.QtGui import QFont, QFontMetrics, QPainter, QPaintEvent
from PySide6.QtWidgets import QLabel, QPushButton, QSizePolicy, QVBoxLayout, QWidget

from app.steps.measure.readings import edits as readings_edits
from app.steps.measure.readings.edits import insert_of
from app.steps.measure.readings.explain import of_fit
from app.steps.measure.readings.sizes import taking_path
from app.widgets.forms import Refusal
from app.widgets.rows import WRAP, RowPainter, Rows, bold, text_height
from app.widgets.theme import ink, paint_mark
from core import edits
from core.measure.readings.results import Decision, ShapeFit
from core.measure.readings.words import FAMILY_WORDS
from core.measure.sources import spoken_size, take_shape
from core.part.readings import Origin, SizeName
from core.words.verdicts import Verdict

if TYPE_CHECKING:
    from app.steps.measure.readings.desk import Desk
    from app.widgets.explain import Explanation
    from app.widgets.theme import Ink
    from core.part.project import Project

WORDS: Final = {
    Decision.DECIDED: ("Decided", Verdict.GO),
    Decision.UNDECIDED: ("Undecided", Verdict.MARGINAL),
    Decision.NONE_FITS: ("No family fits", Verdict.NO_GO),
    Decision.TOO_FEW: ("Too few readings", Verdict.MARGINAL),
}


class _Decided(QWidget):
    """The decision as shape, word and colour."""

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self.decision: Decision = Decision.TOO_FEW
        self.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Fixed)

    def put(self, decision: Decision) -> None:
        """Show a decision."""
        self.decision = decision
        self.setAccessibleName(WORDS[decision][0])
        self.update()

    def sizeHint(self) -> QSize:  # noqa: N802 - Qt's name
        metrics = QFontMetrics(self._large())
        longest = max(metrics.horizontalAdvance(word) for word, _ in WORDS.values())
        return QSize(longest + 2 * metrics.height(), round(metrics.height() * 1.3))

    def _large(self) -> QFont:
        font = bold(self.font())
        font.setPointSizeF(font.pointSizeF() * 1.2)
        return font

    def paintEvent(self, _event: QPaintEvent) -> None:  # noqa: N802 - Qt's name
        inks = ink(self.palette())
        word, verdict = WORDS[self.decision]
        with QPainter(self) as painter:
            painter.setFont(self._large())
            side = painter.fontMetrics().ascent()
            rect = QRectF(self.rect())
            paint_mark(painter, QRectF(0, rect.center().y() - side / 2.0, side, side), verdict, inks)
            painter.setPen(inks.of(verdict))
            painter.drawText(rect.adjusted(side * 1.5, 0, 0, 0), Qt.AlignmentFlag.AlignVCenter, word)


class _FitPainter(RowPainter):
    """Family, worst reading and criterion; the sizes when it is open."""

    def __init__(self, parent: ShapeList) -> None:
        super().__init__(parent)
        self._list = parent

    def draw(self, painter: QPainter, rect: QRect, value: object, inks: Ink, *, is_open: bool) -> None:
        assert isinstance(value, ShapeFit)
        font = self._list.font()
        line = QFontMetrics(font).height()
        top = QRect(rect.left(), rect.top(), rect.width(), line)
        right = self._list.worst_text(value)
        painter.setFont(font)
        painter.setPen(inks.text if value.is_possible else inks.quiet)
        painter.drawText(top, Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter, right)
        room = top.width() - QFontMetrics(font).horizontalAdvance(f"{right} ")
        painter.setFont(bold(font) if value is self._list.best else font)
        name = FAMILY_WORDS[value.family].capitalize()
        name = painter.fontMetrics().elidedText(name, Qt.TextElideMode.ElideRight, room)
        painter.drawText(top, Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter, name)
        painter.setFont(font)
        painter.setPen(inks.quiet if value.is_possible else inks.no_go)
        second = top.translated(0, line)
        painter.drawText(second, Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter, self._list.chance(value))
        painter.setPen(inks.quiet)
        painter.drawText(second, Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter, self._list.step(value))
        if is_open:
            body = QRect(rect.left(), second.bottom() + 1, rect.width(), rect.bottom() - second.bottom())
            painter.setPen(inks.text)
            painter.drawText(body, int(WRAP), self._list.sizes(value))

    def height(self, font: QFont, width: int, value: object, *, is_open: bool) -> int:
        assert isinstance(value, ShapeFit)
        tall = 2 * QFontMetrics(font).height()
        return tall + text_height(font, width, self._list.sizes(value)) + 1 if is_open else tall


class ShapeList(Rows):
    """The families, the best first; the chosen one's residuals show in the table."""

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        self._desk = desk
        super().__init__(parent)
        self.setItemDelegate(_FitPainter(self))
        self.setAccessibleName("Families, the likeliest first")
        self.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Fixed)
        self.chosen.connect(self._choose)

    @property
    def best(self) -> ShapeFit | None:
        """The likeliest family's fit."""
        return self._desk.study.ranking.best

    @property
    def shown(self) -> ShapeFit | None:
        """The chosen fit, else the best."""
        current = self.current
        return current if isinstance(current, ShapeFit) else self.best

    def refresh(self) -> None:
        """List them anew, as tall as they are."""
        fits = self._desk.study.ranking.fits
        self.put([(fit.family, fit) for fit in fits])
        self.updateGeometry()

    def worst_text(self, fit: ShapeFit) -> str:
        """Its worst reading."""
        return f"worst {self._desk.show_spread(fit.worst)} off"

    def chance(self, fit: ShapeFit) -> str:
        """Whether the readings allow it."""
        if fit.freedom == 0:
            return "untested"
        return "possible" if fit.is_possible else "not possible"

    def step(self, fit: ShapeFit) -> str:
        """How far its criterion is from the best one's."""
        best = self.best
        if best is None or fit is best:
            return ""
        by = fit.criterion - best.criterion
        return f"criterion {by:+.1f}".replace("-", "−")

    def sizes(self, fit: ShapeFit) -> str:
        """Its sizes, in words."""
        return "; ".join(f"{spoken_size(size)} {self._desk.sized(size, estimate)}" for size, estimate in fit.sizes)

    def sentence(self, value: object) -> str:
        assert isinstance(value, ShapeFit)
        parts = (FAMILY_WORDS[value.family], self.worst_text(value), self.chance(value), self.step(value))
        return ", ".join(part for part in parts if part) + f": {self.sizes(value)}"

    def explain(self, value: object) -> Explanation | None:
        return of_fit(self._desk, value) if isinstance(value, ShapeFit) else None

    def sizeHint(self) -> QSize:  # noqa: N802 - Qt's name
        tall = sum(self.sizeHintForIndex(self.rows.index(row)).height() for row in range(self.rows.rowCount()))
        return QSize(self.fontMetrics().height() * 10, tall + 2)

    def minimumSizeHint(self) -> QSize:  # noqa: N802 - Qt's name
        return QSize(self.fontMetrics().height() * 8, self.sizeHint().height())

    def _choose(self, fit: object) -> None:
        self._desk.compare(fit.family if isinstance(fit, ShapeFit) else None)
        self.updateGeometry()


class ShapesPanel(QWidget):
    """Decision, sentence, families, and what to read next."""

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._desk = desk
        self.decision = _Decided(self)
        self.sentence = QLabel(self)
        self.sentence.setWordWrap(True)
        self.list = ShapeList(desk, self)
        self.list.chosen.connect(lambda _: self._tend())
        self.use_button = QPushButton(self)
        self.use_button.setAutoDefault(False)
        self.use_button.clicked.connect(lambda _checked=False: self._use())
        self.refused = Refusal(self)
        self.next_words = QLabel(self)
        self.next_words.setWordWrap(True)
        self.next_button = QPushButton("Add this reading", self)
        self.next_button.setAutoDefault(False)
        self.next_button.clicked.connect(lambda _checked=False: self._add_next())
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(self.fontMetrics().height() // 4)
        for widget in (
            self.decision, self.sentence, self.next_words,  self.next_button, self.list,
            self.use_button, self.refused,
        ):  # fmt: skip
            column.addWidget(widget)
        desk.session.refused.connect(self._on_refused)

    def refresh(self) -> None:
        """Say it anew."""
        ranking = self._desk.study.ranking
        show = self._desk.show_in_words
        self.decision.put(ranking.decision)
        text = ranking.sentence.show(show)
        text = text.removeprefix(f"{WORDS[ranking.decision][0].lower()}: ")  # which stands over it in large letters
        self.sentence.setText(f"{text[:1].upper()}{text[1:]}.")
        self.list.refresh()
        self.list.setVisible(bool(ranking.fits))
        following = ranking.next
        for widget in (self.next_words, self.next_button):
            widget.setVisible(following is not None)
        if following is not None:
            words = following.words.show(show)
            self.next_words.setText(f"{words[:1].upper()}{words[1:]}.")
        self.refused.tell("")
        self._tend()

    def _tend(self) -> None:
        fit = self.list.shown
        self.use_button.setVisible(fit is not None)
        if fit is None:
            return
        insert = self._desk.insert
        source = insert.source(SizeName.FAMILY)
        is_used = insert.family is fit.family and source is not None and source.origin is Origin.READINGS
        name = FAMILY_WORDS[fit.family]
        self.use_button.setEnabled(not is_used)
        is_clear = self._desk.study.ranking.decision is Decision.DECIDED and fit is self.list.best
        use = "Use this shape" if is_clear else "Use this shape all the same"
        self.use_button.setText(f"Used: {name}" if is_used else f"{use}: {name}")

    def _use(self) -> None:
        fit = self.list.shown
        if fit is None:
            return
        owner, name = self._desk.owner, FAMILY_WORDS[fit.family]
        ranking = self._desk.study.ranking
        note = f"{name} through {len(fit.residuals)} rows" + (
            "" if ranking.decision is Decision.DECIDED else ", undecided"
        )

        def taken(project: Project) -> Project:
            return edits.set_value(project, owner, take_shape(insert_of(project, owner), fit, note))

        self._desk.change(f"{name} from readings", taken, path=taking_path(owner))

    def _add_next(self) -> None:
        following = self._desk.study.ranking.next
        if following is None:
            return
        owner, row = self._desk.owner, following.reading
        if self._desk.change("reading added", lambda p: readings_edits.with_row(p, owner, row)):
            self._desk.ask_for(self._desk.rows_wanted - 1)

    def _on_refused(self, path: str, message: str) -> None:
        if path == taking_path(self._desk.owner):
            self.refused.tell(message)
