"""The first minute: a demo, a new part from a described shape, or a project from the shelf."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import TYPE_CHECKING, Final

from PySide6.QtCore import QObject, QPointF, QRect, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import (
    QAbstractButton,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from app.drawing.base.paths import outline_path
from app.session import settings
from app.session.journal import forget, left_behind
from app.session.words import said
from app.widgets.fonts import WRAP, bold, small, text_height, verdict
from app.widgets.forms import Form
from app.widgets.labels import Heading, QuietLabel
from app.widgets.layouts import bare
from app.widgets.plain import off_button, on_button, tip
from app.widgets.switch import Switch
from app.widgets.theme import ink
from core import edits
from core.files.project.demos import demo_names, load_demo
from core.geometry.ovals.ovals import SIZED_FAMILIES
from core.new.item import starting_insert
from core.new.part import single_ring, two_piece
from core.part.insert import rim_outlines
from core.words.ends import End
from core.words.errors import UserError

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from PySide6.QtGui import QKeyEvent, QResizeEvent

    from core.files.project.journal import Entry
    from core.part.insert import Insert
    from core.part.project import Project

TWO, ONE = "two", "one"
_TALL_LINES: Final = 11
_WORD_LINES: Final = 4.6
_LEAST_SKETCH_LINES: Final = 4.0
_MOST_BESIDE: Final = 0.42  # of a card's width, for a sketch beside its words
_CARD_SIDES: Final = (0.8, 0.5)  # left and right of its words
_ORDER: Final = (
    ("Measure", "the insert that is gone, and the one that replaces it"),
    ("Resize", "what has to move, and what the machine holds where it is"),
    ("Fit", "gap, bearing, squeeze and metal: checked before anything is cut"),
)
_AFTERWARDS: Final = (
    "Then write the outlines, at finished size, and lay the real insert on them at 1:1 before anything is cut. A size "
    "that can't be says why beside its field, and every edit can be undone."
)
_MAKERS: Final = {TWO: two_piece, ONE: single_ring}


class Draft(QObject):
    """The new part while it is described: a project without a window, undo or checks, edited by the same fields."""

    changed = Signal(object)
    refused = Signal(str, str)

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.kind = TWO
        self.project = two_piece(starting_insert())
        self.refusal: UserError | None = None

    @property
    def wanted(self) -> Project:
        """The project: nothing here is slow enough to wait."""
        return self.project

    def change(self, text: str, change: Callable[[Project], Project], *, merge_key: int = -1, path: str = "") -> bool:
        """Take what ``change`` makes, if a part can be made of it."""
        del text, merge_key  # there is no undo before there is a part
        try:
            project = change(self.project)
            _MAKERS[self.kind](project.new_insert)
        except UserError as error:
            self.refusal = error
            self.refused.emit(path, said(error, path, self.project))
            return False
        self.project = project
        self.changed.emit(project)
        return True

    def focus(self, path: str) -> None:
        """Nothing is drawn that could light up."""

    def choose(self, kind: str) -> None:
        """Two pieces, or one ring."""
        self.kind = kind
        self.changed.emit(self.project)

    def part(self) -> Project:
        """The part as described, complete."""
        insert = edits.get_value(self.project, "new_insert")
        named = edits.set_value(self.project, "new_insert.name", "insert").new_insert
        assert insert == self.project.new_insert
        return _MAKERS[self.kind](named, style=self.project.style)


class Sketch(QWidget):
    """The rims of an insert, as large as the room allows; of the old one a broken line."""

    def __init__(self, parent: QWidget | None = None, *, is_framed: bool = False) -> None:
        super().__init__(parent)
        self._is_framed = is_framed
        self._new: Insert | None = None
        self._old: Insert | None = None
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)

    def put(self, new: Insert, old: Insert | None = None) -> None:
        """Show an insert, and the one before it."""
        self._new, self._old = new, old
        self.update()

    def sizeHint(self) -> QSize:
        line = self.fontMetrics().height()
        return QSize(line * 9, line * 6)

    def minimumSizeHint(self) -> QSize:
        line = self.fontMetrics().height()
        return QSize(line * 6, line * 4)

    def paintEvent(self, _event: QPaintEvent) -> None:
        if self._new is None:
            return
        inks = ink(self.palette())
        outer, inner = rim_outlines(self._new, End.BASE)
        x0, y0, x1, y1 = outer.bounds
        margin = self.fontMetrics().height() * 1.2
        scale = min((self.width() - 2 * margin) / (x1 - x0), (self.height() - 2 * margin) / (y1 - y0))
        with QPainter(self) as painter:
            if self._is_framed:
                painter.fillRect(self.rect(), inks.paper)
                painter.setPen(inks.neutral)
                painter.drawRect(self.rect().adjusted(0, 0, -1, -1))
            painter.setRenderHint(QPainter.RenderHint.Antialiasing)
            painter.translate(QPointF(self.width() / 2, self.height() / 2))
            painter.scale(scale, -scale)
            pen = QPen(inks.line, 1.4 * self.devicePixelRatioF())
            pen.setCosmetic(True)
            painter.setPen(pen)
            painter.setBrush(inks.insert_fill)
            painter.drawPath(outline_path(outer, inner))
            if self._old is not None:
                ghost = QPen(inks.ghost, 1.0 * self.devicePixelRatioF(), Qt.PenStyle.DashLine)
                ghost.setCosmetic(True)
                painter.setPen(ghost)
                painter.setBrush(Qt.BrushStyle.NoBrush)
                painter.drawPath(outline_path(*rim_outlines(self._old, End.BASE)))


class Card(QAbstractButton):
    """A sheet on the board that can be taken: a sketch, a name, a line about it."""

    def __init__(self, title: str, about: str, parent: QWidget | None = None, *, sketch: Sketch | None = None) -> None:
        super().__init__(parent)
        self.setText(on_button(title))
        self.setAccessibleName(title)
        self.setAccessibleDescription(about)
        self.setToolTip(about)
        self._about = about
        self._sketch = sketch
        self.setAttribute(Qt.WidgetAttribute.WA_Hover)
        upright = QSizePolicy.Policy.Fixed if sketch is None else QSizePolicy.Policy.Expanding
        self.setSizePolicy(QSizePolicy.Policy.Expanding, upright)
        if sketch is not None:
            sketch.setParent(self)

    def sizeHint(self) -> QSize:
        line = self.fontMetrics().height()
        lines = 8.5 if self._sketch is not None else 3.0
        return QSize(self.fontMetrics().averageCharWidth() * 40, round(line * lines))

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        if self._sketch is not None:
            self._sketch.setGeometry(self._room_for_sketch())

    def _room_for_sketch(self) -> QRect:
        """Above the words on a tall card, else beside them."""
        line = self.fontMetrics().height()
        if self.height() > line * _TALL_LINES:
            left, right = line * _CARD_SIDES[0], line * _CARD_SIDES[1]
            words = line * 2.2 + text_height(small(self.font()), round(self.width() - left - right), self._about)
            words = min(max(words, line * _WORD_LINES), self.height() - line * _LEAST_SKETCH_LINES)
            return QRect(0, line // 2, self.width(), self.height() - round(words))
        return QRect(0, 0, round(min(self.height() * 1.35, self.width() * _MOST_BESIDE)), self.height())

    def paintEvent(self, _event: QPaintEvent) -> None:
        inks = ink(self.palette())
        line = self.fontMetrics().height()
        left, top = line * _CARD_SIDES[0], line * 0.5
        if self._sketch is not None:
            drawn = self._room_for_sketch()
            if drawn.width() < self.width():
                left = drawn.right() + line * 0.4
            else:
                top = drawn.bottom()
        with QPainter(self) as painter:
            painter.fillRect(self.rect(), inks.paper)
            is_hot = self.underMouse() or self.hasFocus()
            painter.setPen(QPen(inks.highlight if is_hot else inks.neutral, 2.0 if self.hasFocus() else 1.0))
            painter.drawRect(QRectF(self.rect()).adjusted(1, 1, -1, -1))
            painter.setPen(inks.text)
            name, about = bold(self.font()), small(self.font())
            painter.setFont(name)
            room = QRectF(left, top, self.width() - left - line * _CARD_SIDES[1], self.height() - top)
            painter.drawText(room, int(WRAP), off_button(self.text()))
            room.setTop(room.top() + text_height(name, int(room.width()), off_button(self.text())) + line * 0.2)
            if text_height(about, int(room.width()), self._about) <= room.height():  # whole, or not at all
                painter.setFont(about)
                painter.setPen(inks.quiet)
                painter.drawText(room, int(WRAP), self._about)


class StartPage(QWidget):
    """Where the program begins.

    Attributes:
        demo_chosen: name of a demo.
        part_described: a new `Project`.
        file_chosen: path of a recent project.
        open_asked: the user wants to look for a file.
        drawing_asked: the user has an old part's outline file to begin from.
        back_asked: the user goes on with the project that is open.
        recover_asked: the user goes on with an `Entry` of the journal.
    """

    demo_chosen = Signal(str)
    part_described = Signal(object)
    file_chosen = Signal(object)
    open_asked = Signal()
    drawing_asked = Signal()
    back_asked = Signal()
    recover_asked = Signal(object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.draft = Draft(self)
        line = self.fontMetrics().height()
        title = QLabel("Seatwright", self)
        title.setFont(verdict(title.font()))
        about = QuietLabel("A cast housing, made to fit the insert that can still be bought.", self)
        grid = QGridLayout(self)
        grid.setContentsMargins(line * 3, line, line * 3, line)
        grid.setHorizontalSpacing(line * 3)
        grid.addWidget(title, 0, 0, 1, 3)
        grid.addWidget(about, 1, 0, 1, 3)
        for i, part in enumerate((self._demos(), self._new_part(), self._shelf())):
            grid.addWidget(part, 2, i)
            grid.setColumnStretch(i, (5, 6, 4)[i])
        grid.setRowStretch(2, 1)

    def refresh(self, open_project: str = "") -> None:
        """List the recent projects anew, above them the one that is open behind this page, by its name."""
        while (item := self._recent.takeAt(0)) is not None:
            widget = item.widget()
            if widget is not None:
                widget.hide()
                widget.deleteLater()
        if open_project:
            self._recent.addWidget(self._back_card(open_project))
        left = left_behind()
        for entry in left:
            self._recent.addWidget(self._left_card(entry))
        paths = settings.RECENT.get()
        for path in paths:
            self._recent.addWidget(self._recent_card(path))
        if not paths and not open_project and not left:
            self._recent.addWidget(QuietLabel("Projects that you save are kept in reach here.", self, wrap=True))

    def _demos(self) -> QWidget:
        column, box = _column("Look at a demo", self)
        self.demo_cards: list[Card] = []
        for name in demo_names():
            try:
                project = load_demo(name)
            except UserError:  # said when it is chosen: a missing demo must not stop the start
                card = Card(name, "", self)
            else:
                sketch = Sketch()
                sketch.put(project.new_insert, project.old_insert)
                card = Card(project.name, _about(project), self, sketch=sketch)
            card.clicked.connect(lambda _checked=False, n=name: self.demo_chosen.emit(n))
            self.demo_cards.append(card)
            column.addWidget(card, 1)
        column.addWidget(QuietLabel("Invented data, to try everything on.", self, wrap=True))
        return box

    def _new_part(self) -> QWidget:
        column, box = _column("Begin a new part", self)
        kinds = [(TWO, "base and lid around an insert"), (ONE, "one ring with a seat")]
        self.kind = Switch(kinds, "Kind of part", self)
        self.kind.put(TWO)
        self.kind.chosen.connect(self.draft.choose)
        column.addWidget(self.kind)
        self.sketch = Sketch(self, is_framed=True)
        self.sketch.put(self.draft.project.new_insert)
        self.form = Form(self.draft, self)
        self.form.switch("style", label="Lengths in")
        # A measured outline comes from a file or a scan, not from sizes.
        self.form.choice("new_insert.family", choices=[family.value for family in SIZED_FAMILIES])
        self.form.rows("length", "width", "rim.width", "rim.thickness", "height", "material", of="new_insert")
        column.addWidget(self.form)
        self.start_button = QPushButton("Begin", self)
        self.start_button.setProperty("filled", True)
        self.start_button.setSizePolicy(QSizePolicy.Policy.Maximum, QSizePolicy.Policy.Fixed)
        self.start_button.clicked.connect(lambda: self.part_described.emit(self.draft.part()))
        self.drawing_button = QPushButton("From an old outline file …", self)
        self.drawing_button.clicked.connect(self.drawing_asked)
        begin = QHBoxLayout()
        begin.addWidget(self.start_button)
        begin.addWidget(self.drawing_button)
        begin.addStretch(1)
        column.addLayout(begin)
        column.addWidget(
            QuietLabel(
                "Complete and checked at once, with common sizes round the insert; make it true field by field.",
                self,
                wrap=True,
            )
        )
        column.addWidget(self.sketch, 1)
        self.draft.changed.connect(lambda project: self.sketch.put(project.new_insert))
        return box

    def _shelf(self) -> QWidget:
        column, box = _column("Go on with a project", self)
        self.open_button = QPushButton("Open a file …", self)
        self.open_button.setSizePolicy(QSizePolicy.Policy.Maximum, QSizePolicy.Policy.Fixed)
        self.open_button.clicked.connect(self.open_asked)
        column.addWidget(self.open_button)
        self._recent = QVBoxLayout()
        column.addLayout(self._recent)
        column.addStretch(1)
        column.addWidget(Heading("The order of the job", box))
        steps = Form(self.draft, box)
        for number, (title, about) in enumerate(_ORDER, 1):
            steps.says(f"{number}  {title}", about)
        column.addWidget(steps)
        column.addWidget(QuietLabel(_AFTERWARDS, box, wrap=True))
        self.refresh()
        return box

    def _back_card(self, name: str) -> Card:
        card = Card(name, "Open, as you left it.", self)
        card.clicked.connect(self.back_asked)
        return card

    def _left_card(self, entry: Entry) -> QWidget:
        """A part that was not saved when its program ended: to go on with, or to give up."""
        box = QWidget(self)
        row = bare(QHBoxLayout(box))
        when = datetime.fromtimestamp(entry.kept, tz=UTC).astimezone().strftime("%d.%m., %H:%M")
        of = "never saved" if entry.source is None else entry.source.name
        card = Card(entry.project.name, f"Not saved when the program ended, {when}; {of}.", box)
        card.clicked.connect(lambda: self.recover_asked.emit(entry))
        give_up = QPushButton("Give up", box)
        give_up.setAutoDefault(False)
        give_up.setAccessibleName(f"Give up {entry.project.name}")
        give_up.clicked.connect(lambda: self._give_up(entry, box))
        row.addWidget(card, 1)
        row.addWidget(give_up, 0, Qt.AlignmentFlag.AlignTop)
        return box

    @staticmethod
    def _give_up(entry: Entry, box: QWidget) -> None:
        forget(entry)
        box.hide()

    def _recent_card(self, path: Path) -> Card:
        card = Card(path.stem, str(path.parent), self)
        card.setToolTip(tip(str(path)))
        card.clicked.connect(lambda: self.file_chosen.emit(path))
        return card

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            focus = self.focusWidget()
            if isinstance(focus, QAbstractButton):
                focus.click()
                return
        super().keyPressEvent(event)


def _column(title: str, parent: QWidget) -> tuple[QVBoxLayout, QWidget]:
    box = QWidget(parent)
    column = bare(QVBoxLayout(box), parent.fontMetrics().height() // 2)
    column.addWidget(Heading(title, box))
    return column, box


def _about(project: Project) -> str:
    """The demo's own first sentence."""
    notes = project.notes.strip()
    return notes.split("\n")[0] if notes else project.housing.metal.name
