"""Which oval is it? The families in the order that the readings speak for them, and what to read next."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QFont, QFontMetrics, QPainter, QPaintEvent
from PySide6.QtWidgets import QPushButton, QSizePolicy, QVBoxLayout, QWidget

from app.steps.measure.readings.explain import of_fit
from app.steps.measure.readings.sizes import taking_path
from app.widgets.fonts import title
from app.widgets.labels import Refusal, Words
from app.widgets.layouts import bare
from app.widgets.row import Line, Row, Text
from app.widgets.rows import Rows
from app.widgets.theme import ink, paint_mark
from core import edits
from core.measure.readings.results import Decision, ShapeFit
from core.measure.sources import spoken_size, take_shape
from core.measure.table import edits as readings_edits
from core.measure.table.edits import insert_of
from core.part.readings import Origin, SizeName
from core.words.verdicts import Verdict

if TYPE_CHECKING:
    from app.steps.measure.readings.desk import Desk
    from app.widgets.row import Tone
    from core.part.project import Project

WORDS: Final = {
    Decision.DECIDED: ("Decided", Verdict.GO),
    Decision.UNDECIDED: ("Undecided", Verdict.MARGINAL),
    Decision.NONE_FITS: ("No family fits", Verdict.NO_GO),
    Decision.TOO_FEW: ("Too few readings", Verdict.MARGINAL),
}
_ALL: Final = 1000  # lines: there are no more than a few families


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

    def sizeHint(self) -> QSize:
        metrics = QFontMetrics(self._large())
        longest = max(metrics.horizontalAdvance(word) for word, _ in WORDS.values())
        return QSize(longest + 2 * metrics.height(), round(metrics.height() * 1.3))

    def _large(self) -> QFont:
        return title(self.font())

    def paintEvent(self, _event: QPaintEvent) -> None:
        inks = ink(self.palette())
        word, verdict = WORDS[self.decision]
        with QPainter(self) as painter:
            painter.setFont(self._large())
            side = painter.fontMetrics().ascent()
            rect = QRectF(self.rect())
            paint_mark(painter, QRectF(0, rect.center().y() - side / 2.0, side, side), verdict, inks)
            painter.setPen(inks.of(verdict))
            painter.drawText(rect.adjusted(side * 1.5, 0, 0, 0), Qt.AlignmentFlag.AlignVCenter, word)


def fit_row(fit: ShapeFit, desk: Desk) -> Row:
    """Family, worst reading and criterion; the sizes when it is open."""
    name, best = fit.family.kind.words, desk.study.ranking.best
    worst = f"worst {desk.show_spread(fit.worst)} off"
    chance = "untested" if fit.freedom == 0 else "possible" if fit.is_possible else "not possible"
    by = 0.0 if best is None else fit.criterion - best.criterion
    step = "" if best is None or fit is best else f"criterion {by:+.1f}".replace("-", "−")
    tone: Tone = "text" if fit.is_possible else "quiet"
    lines = (
        Line(Text(name.capitalize(), tone, is_bold=fit is best), right=(Text(worst, tone),)),
        Line(Text(chance, "quiet" if fit.is_possible else "no_go"), right=(Text(step, "quiet"),)),
    )

    def sizes() -> str:
        return "; ".join(f"{spoken_size(size)} {desk.sized(size, estimate)}" for size, estimate in fit.sizes)

    return Row(
        key=fit.family,
        value=fit,
        lines=lines,
        opened=lambda: (*lines, Line(Text(sizes()))),
        said=lambda: ", ".join(part for part in (name, worst, chance, step) if part) + f": {sizes()}",
        sheet=lambda: of_fit(desk, fit),
    )


class ShapeList(Rows):
    """The families, the best first; the chosen one's residuals show in the table."""

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        super().__init__("Families, the likeliest first", parent, most_lines=_ALL)
        self._desk = desk
        self.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.chosen.connect(lambda fit: desk.compare(fit.family if isinstance(fit, ShapeFit) else None))

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
        self.put(fit_row(fit, self._desk) for fit in self._desk.study.ranking.fits)

    def minimumSizeHint(self) -> QSize:
        return QSize(self.fontMetrics().height() * 8, self.sizeHint().height())


class ShapesPanel(QWidget):
    """Decision, sentence, families, and what to read next."""

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._desk = desk
        self.decision = _Decided(self)
        self.sentence = Words("", self)
        self.list = ShapeList(desk, self)
        self.list.chosen.connect(lambda _: self._tend())
        self.use_button = QPushButton(self)
        self.use_button.clicked.connect(lambda _checked=False: self._use())
        self.refused = Refusal(self)
        self.next_words = Words("", self)
        self.next_button = QPushButton("Add this reading", self)
        self.next_button.clicked.connect(lambda _checked=False: self._add_next())
        column = bare(QVBoxLayout(self), self.fontMetrics().height() // 4)
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
        name = fit.family.kind.words
        self.use_button.setEnabled(not is_used)
        is_clear = self._desk.study.ranking.decision is Decision.DECIDED and fit is self.list.best
        use = "Use this shape" if is_clear else "Use this shape all the same"
        self.use_button.setText(f"Used: {name}" if is_used else f"{use}: {name}")

    def _use(self) -> None:
        fit = self.list.shown
        if fit is None:
            return
        owner, name = self._desk.owner, fit.family.kind.words
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
