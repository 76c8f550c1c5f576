"""What the readings give: each size with how far it can be trusted, and whether the insert uses it."""

from __future__ import annotations

from math import isinf
from typing import TYPE_CHECKING, Final

from PySide6.QtCore import QEvent, QRectF, Qt
from PySide6.QtGui import QPainter, QPaintEvent
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QLabel, QPushButton, QSizePolicy, QVBoxLayout, QWidget

from app.steps.measure.readings.desk import plain
from app.steps.measure.readings.explain import DEVELOPED_ASSUMES, interval_lines, of_size
from app.steps.measure.where_from import OVERRIDE_SIGN
from app.widgets.fonts import bold
from app.widgets.labels import QuietLabel, Refusal, Words
from app.widgets.layouts import bare
from app.widgets.style.marks import RULE, paint_outline
from app.widgets.theme import ink
from core import edits
from core.measure.readings.words import NO_SPREAD, SPREAD, a_family, known_words, plus_minus_words
from core.measure.sources import (
    ORIGIN_WORDS,
    is_plus_minus_typed,
    plus_minus_of,
    read_sizes,
    size_of,
    spoken_size,
    take_readings,
)
from core.measure.table.edits import insert_of
from core.part.materials import MATERIALS
from core.part.readings import Origin, SizeName

if TYPE_CHECKING:
    from app.steps.measure.readings.desk import Desk
    from app.widgets.explain import Explanation
    from core.measure.readings.results import Estimate
    from core.measure.sources import ReadSize
    from core.part.project import Project

_NOTHING: Final = "Nothing yet: a size shows here as soon as its first reading is typed in."
_CONTRADICTED: Final = (
    "The readings contradict {family}, which the insert is said to be: settle its shape first, below."
)
_SPREADLESS: Final = (
    "Fewer than three samples tell no ± for the next one bought, and no class of ISO 3302-1 stands in: it is for solid "
    "rubber, and the rims are {material}. Read three samples, or type the maker's ± under Sizes; until then the ± that "
    "stands there counts."
)
_SAME_MM: Final = 1e-3


class SizeRow(QWidget):
    """One size that the readings give. With the focus, F1 says how it comes about."""

    def __init__(self, desk: Desk, size: SizeName, parent: QWidget) -> None:
        super().__init__(parent)
        self._desk, self.size_name = desk, size
        self.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        self.name, self.value = QLabel(self), QLabel(self)
        self.name.setText(spoken_size(size).capitalize())
        self.value.setFont(bold(self.font()))
        self.value.setAlignment(Qt.AlignmentFlag.AlignRight)
        self.words = QuietLabel("", self, wrap=True)
        self.use = Words("", self)
        self.button = QPushButton("Use it", self)
        self.button.setAccessibleName(f"Use the readings for the {spoken_size(size)}")
        self.button.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
        self.button.clicked.connect(lambda _checked=False: use_readings(desk, size))
        grid = QGridLayout(self)
        space = self.fontMetrics().height() // 4
        grid.setContentsMargins(space, space, 0, space)
        grid.setHorizontalSpacing(space * 2)
        grid.setVerticalSpacing(0)
        grid.setColumnStretch(0, 1)
        grid.addWidget(self.name, 0, 0)
        grid.addWidget(self.value, 0, 1)
        grid.addWidget(self.words, 1, 0, 1, 2)
        below = QHBoxLayout()
        below.addWidget(self.use, 1)
        below.addWidget(self.button)
        grid.addLayout(below, 2, 0, 1, 2)

    def show_estimate(self, estimate: Estimate, words: str) -> None:
        """Say what the readings give now, and what counts."""
        desk, size = self._desk, self.size_name
        session = desk.session
        is_length = size is not SizeName.EXPONENT
        figure = session.show_figure if is_length else plain
        self._estimate, self._words = estimate, words
        self.value.setText(desk.sized(size, estimate))
        parts = [SPREAD if estimate.next_one is not None else NO_SPREAD]
        if not isinf(estimate.expanded):
            parts.append(known_words(estimate, desk.show_spread if is_length else plain))
        said = "; ".join([*parts, words])
        self.words.setText(f"{said[:1].upper()}{said[1:]}.")
        now = size_of(desk.insert, size)
        source = desk.insert.source(size)
        origin = None if source is None else source.origin
        found = read_sizes(desk.insert).get(size)
        self.setVisible(found is not None)
        if found is None:
            return
        is_same = isinstance(now, float) and abs(now - found.value) <= _SAME_MM
        is_used = origin is Origin.READINGS
        name = spoken_size(size).capitalize()
        came = "Typed" if origin is None else f"From {ORIGIN_WORDS[origin]}"
        self.name.setText(f"{name}, used" if is_used else name)
        typed = self._plus_minus_words(found, is_used=is_used)
        if is_used:
            self.use.setText(typed)
        elif is_same:
            self.use.setText(f"{came}, and the same.")
        else:
            has = figure(now) if isinstance(now, float) else "the usual"
            self.use.setText(f"{OVERRIDE_SIGN} {came}: {has} counts, readings say {figure(found.value)}.")
        self.is_overruled = bool(typed) or (not is_used and not is_same)
        self.use.setVisible(bool(self.use.text()))
        self.button.setVisible(bool(typed) or not is_used)
        self._tint()
        self.value.setToolTip("\n".join(interval_lines(desk, estimate)) if is_length else "")
        self.setAccessibleName(f"{self.name.text()} {self.value.text()}. {self.use.text()}")

    is_overruled = False

    def _plus_minus_words(self, found: ReadSize, *, is_used: bool) -> str:
        """What is to be said where another ± counts than that of the readings."""
        insert, size = self._desk.insert, self.size_name
        counts = plus_minus_of(insert, size)
        if not is_used or counts is None or found.plus_minus is None:
            return ""
        if not is_plus_minus_typed(insert, size):
            return ""
        return f"{OVERRIDE_SIGN} Typed: ± {self._desk.show_spread(counts)} counts."

    def explanation(self) -> Explanation:
        """The sheet for this size."""
        return of_size(self._desk, self.size_name, self._estimate, self._words)

    def paintEvent(self, event: QPaintEvent) -> None:
        super().paintEvent(event)
        with QPainter(self) as painter:
            inks = ink(self.palette())
            painter.fillRect(QRectF(0, self.height() - 1, self.width(), 1), inks.neutral)
            if self.is_overruled:
                painter.fillRect(
                    QRectF(0, 0, max(2.0, self.fontMetrics().height() / 7.0), self.height()), inks.marginal
                )
            if self.hasFocus():
                paint_outline(painter, QRectF(self.rect()), inks.highlight, RULE)

    def changeEvent(self, event: QEvent) -> None:
        super().changeEvent(event)
        if event.type() == QEvent.Type.PaletteChange and hasattr(self, "use"):
            self._tint()

    def _tint(self) -> None:
        inks = ink(self.palette())
        palette = self.use.palette()
        palette.setColor(self.use.foregroundRole(), inks.marginal if self.is_overruled else inks.quiet)
        self.use.setPalette(palette)


class SizesPanel(QWidget):
    """All sizes that the readings of the desk's insert give."""

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._desk = desk
        self.rows: dict[SizeName, SizeRow] = {}
        self.nothing = QuietLabel(_NOTHING, self, wrap=True)
        self.spreadless = QuietLabel("", self, wrap=True)
        self.contradicted = Refusal(self)
        self.developed = Words("", self)
        self.developed_note = QuietLabel(DEVELOPED_ASSUMES, self, wrap=True)
        self.refused = Refusal(self)
        self.use_all = QPushButton("Use the readings", self)
        self.use_all.setToolTip("Every size that the readings give, as they give it; it follows them from then on.")
        self.use_all.clicked.connect(lambda _checked=False: use_readings(desk))
        self._column = bare(QVBoxLayout(self), self.fontMetrics().height() // 4)
        for widget in (
            self.nothing,
            self.contradicted,
            self.spreadless,
            self.use_all,
            self.refused,
            self.developed,
            self.developed_note,
        ):
            self._column.addWidget(widget)
        desk.session.refused.connect(self._on_refused)

    def refresh(self) -> None:
        """Say it anew."""
        study = self._desk.study
        for size, estimate, words in study.sizes:
            row = self.rows.get(size)
            if row is None:
                row = self.rows[size] = SizeRow(self._desk, size, self)
                self._column.insertWidget(self._column.indexOf(self.use_all), row)
            row.show_estimate(estimate, words)
        given = {size for size, _, _ in study.sizes}
        for size, row in self.rows.items():
            if size not in given:
                row.hide()
        found = read_sizes(self._desk.insert)
        sources = [self._desk.insert.source(size) for size in found]
        is_all_used = all(source is not None and source.origin is Origin.READINGS for source in sources)
        self.nothing.setVisible(not found)
        self.spreadless.setText(_SPREADLESS.format(material=MATERIALS[self._desk.insert.material].words))
        self.spreadless.setVisible(any(read.plus_minus is None for read in found.values()))
        family = self._desk.insert.family
        fit = study.ranking.of(family)
        is_contradicted = fit is not None and not fit.is_possible
        self.contradicted.tell(_CONTRADICTED.format(family=a_family(family)) if is_contradicted else "")
        self.use_all.setVisible(bool(found))
        self.use_all.setEnabled(not is_all_used)
        self.use_all.setText("All of them are used" if is_all_used else "Use the readings for all")
        self.refused.tell("")
        show = self._desk.session.show_length
        if study.developed is not None:
            self.developed.setText(
                f"Developed length {show(study.developed.value)} "
                f"{plus_minus_words(study.developed, self._desk.show_spread)}".rstrip()
            )
            self.developed.setToolTip("\n".join(interval_lines(self._desk, study.developed)))
        for label in (self.developed, self.developed_note):
            label.setVisible(study.developed is not None)

    def _on_refused(self, path: str, message: str) -> None:
        if path == taking_path(self._desk.owner):
            self.refused.tell(message)


def use_readings(desk: Desk, *sizes: SizeName) -> None:
    """Let sizes be what the readings give, all of them when none is named."""
    owner = desk.owner

    def taken(project: Project) -> Project:
        return edits.set_value(project, owner, take_readings(insert_of(project, owner), *sizes))

    what = f"{' and '.join(spoken_size(size) for size in sizes)} from readings" if sizes else "sizes from readings"
    desk.change(what, taken, path=taking_path(owner))


def taking_path(owner: str) -> str:
    """What a refusal of taken sizes is told by: the insert itself, since several of its sizes change."""
    return owner
