"""The sections of the scan's form: what is scanned and how large it is."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QEvent, QObject, Qt, Signal
from PySide6.QtWidgets import QPushButton, QSlider, QWidget

from app.steps.measure.scan.entry import Figure, entry_source
from app.steps.measure.scan.section import Section
from core.measure.scan import words
from core.measure.scan.asked import How
from core.measure.scan.sizes.allowances import ORIGINS, START
from core.measure.scan.state import HOW_WORDS, Part, Pick

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from app.session.session import Session
    from app.steps.measure.scan.model import ScanModel
    from app.widgets.fields import TextField
    from app.widgets.forms import Form
    from app.widgets.source import FigureOfPage

_LOWEST, _HIGHEST, _PAGE = 1, 254, 8  # grey levels that part anything, and a big step between them


class PictureSection(Section):
    """Opening a picture."""

    def __init__(
        self, session: Session, model: ScanModel, ask_picture: Callable[[QWidget], Path | None], parent: QWidget
    ) -> None:
        super().__init__(session, model, "1  The picture", parent)
        self._ask_picture = ask_picture
        self.open_button = QPushButton("Open a picture …", self)
        self.open_button.clicked.connect(self._open)
        self.line("", self.open_button)
        self.said = self.quiet()
        self.answers(Part.PICTURE)

    def show_state(self) -> None:
        super().show_state()
        self.said.tell(words.picture_text(self._scan.state))

    def _open(self) -> None:
        path = self._ask_picture(self.window())
        if path is not None:
            self._scan.open(path)


class ScaleSection(Section):
    """Where the millimetres come from."""

    def __init__(self, session: Session, model: ScanModel, parent: QWidget) -> None:
        super().__init__(session, model, "2  The scale", parent)
        choices = list(HOW_WORDS.items())
        self.how = self.choice_of(
            choices, "Scale from", lambda state: state.scaling.how, lambda how: model.set_scaling(how=how)
        )
        self.line("From", self.how)
        self.entries: dict[str, TextField] = {}
        self.pages = {how: self.page() for how in How}
        self._fill_pages()
        self.said = self.quiet()
        self.answers(Part.SCALE, works=False)

    def _fill_pages(self) -> None:
        dpi, points, corners = self.pages[How.DPI], self.pages[How.POINTS], self.pages[How.CORNERS]
        self._put_figure(dpi, "dpi_across", Figure.DOTS)
        self._put_figure(dpi, "dpi_down", Figure.DOTS)
        for name, pick in (("across", Pick.ACROSS), ("down", Pick.DOWN)):
            button = self.pick_button("Pick 2", words.FIGURES[name][0], pick, points)
            self._put_figure(points, name, Figure.LENGTH, button)
        points.note(words.RULES)
        for how in (How.DISC, How.RECTANGLE):
            self.edge_row(self.pages[how], "Its edge", f"Edge of the {how.value}", Pick.REFERENCE)
        for how, name in ((How.DISC, "diameter"), (How.RECTANGLE, "length"), (How.RECTANGLE, "width")):
            self._put_figure(self.pages[how], name)
        self.find_button = QPushButton("Find them", corners)
        self.find_button.setToolTip(words.FIND)
        self.find_button.setAccessibleDescription(words.FIND)
        self.find_button.clicked.connect(self._scan.find_corners)
        four = self.pick_button("Pick 4", "corners", Pick.CORNERS, corners)
        corners.line("Corners", four, self.find_button)
        for name in ("base", "side"):
            self._put_figure(corners, name)
        corners.note(words.ASLANT)

    def _put_figure(self, page: Form, name: str, figure: Figure = Figure.LENGTH, more: QWidget | None = None) -> None:
        source = entry_source(self._session, words.FIGURES[name], figure, page)
        self.follow(
            source, lambda state: getattr(state.scaling, name), lambda value: self._scan.set_scaling(**{name: value})
        )
        self.entries[name] = self.figure(source, page, more)

    def show_state(self) -> None:
        super().show_state()
        scaling = self._scan.state.scaling
        self.find_button.setEnabled(bool(self._scan.state.edges))
        for how, page in self.pages.items():
            page.setVisible(how is scaling.how)
        self.said.tell(words.scale_text(self._scan.state, self._session.project.style))


class AllowanceSection(Section):
    """What the picture can't tell of itself, each with the most that it may do."""

    def __init__(self, session: Session, model: ScanModel, parent: QWidget) -> None:
        super().__init__(session, model, "4  Allowances", parent)
        self.entries: dict[str, TextField] = {}
        self._sources: dict[str, FigureOfPage] = {}
        self.pencil_page = self.page()
        for name, said in words.ALLOWANCES.items():
            form = self.pencil_page if name == "pencil" else self
            source = self._sources[name] = entry_source(session, said, Figure.ALLOWANCE, form, is_needed=True)
            source.taken.connect(lambda value, n=name: model.set_allowances(**{n: value}))
            self.entries[name] = self.figure(source, form)
        self.pencil_page.line_up([label for label, _ in words.ALLOWANCES.values()])
        self.said = self.quiet()

    def show_state(self) -> None:
        super().show_state()
        state = self._scan.state
        for name, source in self._sources.items():
            value = getattr(state.allowances, name)
            source.origin = ORIGINS[name] if value == getattr(START, name) else "Typed here."
            self.entries[name].setToolTip(f"{source.meaning} {ORIGINS[name]}")
            source.set(value)
        self.pencil_page.setVisible(state.pencil.is_traced)
        self.said.tell(words.allowance_text(state, self._session.project.style))


class EdgeSection(Section):
    """Which edge counts, and what it is the edge of.

    Attributes:
        masked: whether what counts as dark is to be shown.
    """

    masked = Signal(bool)

    def __init__(self, session: Session, model: ScanModel, parent: QWidget) -> None:
        super().__init__(session, model, "3  The edge", parent)
        self.level = QSlider(Qt.Orientation.Horizontal, self)
        self.level.setRange(_LOWEST, _HIGHEST)
        self.level.setPageStep(_PAGE)
        self.level.setAccessibleName("Threshold")
        self.level.setAccessibleDescription(words.THRESHOLD)
        self.level.setToolTip(words.THRESHOLD)
        self.level.valueChanged.connect(lambda value: model.set_level(float(value)))
        self.level.installEventFilter(self)
        self.automatic = QPushButton("Automatic", self)
        self.automatic.clicked.connect(lambda: model.set_level(None))
        self.line("Threshold", self.level, self.automatic)
        self.edge = self.edge_row(self, "Edge", "Edge to measure", Pick.EDGE, has_button=False)
        self.said = self.quiet()
        self.answers(Part.EDGE)
        self.kind = self.switch_of(
            (("part", "of the part"), ("pencil", "of a pencil line")),
            "The edge is",
            lambda state: "pencil" if state.pencil.is_traced else "part",
            lambda key: model.set_pencil(is_traced=key == "pencil"),
        )
        self.line("It is", self.kind)
        self.pencil_page = self.page()
        self.side = self.switch_of(
            (("outer", "outer"), ("inner", "inner")),
            "Side of the line",
            lambda state: "outer" if state.pencil.is_outer else "inner",
            lambda key: model.set_pencil(is_outer=key == "outer"),
        )
        self.pencil_page.line("Its side", self.side)
        self.edge_row(self.pencil_page, "Disc's line", "Line round the disc", Pick.TRACED)
        disc = entry_source(session, ("Diameter", words.TRACED_DISC), Figure.LENGTH, self.pencil_page)
        self.follow(disc, lambda state: state.pencil.diameter, lambda value: model.set_pencil(diameter=value))
        self.disc = self.figure(disc, self.pencil_page)
        self.traced_note = self.quiet(self.pencil_page)

    def show_state(self) -> None:
        super().show_state()
        state = self._scan.state
        has_picture = state.opened is not None
        for widget in (self.level, self.automatic):
            widget.setEnabled(has_picture)
        self.automatic.setEnabled(has_picture and state.level is not None)
        self.level.blockSignals(True)
        self.level.setValue(round(state.shown_level))
        self.level.blockSignals(False)
        self.said.tell(words.edge_text(state))
        self.pencil_page.setVisible(state.pencil.is_traced)
        self.traced_note.tell(words.traced_text(state, self._session.project.style))

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if event.type() in (QEvent.Type.FocusIn, QEvent.Type.FocusOut):
            self.masked.emit(event.type() == QEvent.Type.FocusIn)
        return super().eventFilter(watched, event)
