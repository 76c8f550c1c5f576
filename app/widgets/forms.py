"""Forms that read like a sentence in the shop: label, field, unit; rare fields folded, refusals beside their field."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import Struct
from PySide6.QtCore import QEvent, QRectF, Qt
from PySide6.QtGui import QPainter, QPaintEvent
from PySide6.QtWidgets import (
    QGridLayout,
    QLabel,
    QSizePolicy,
    QWidget,
)

from app.session.words import unit_text
from app.widgets.choice_field import ChoiceField
from app.widgets.fields import TextField
from app.widgets.folds import Fold
from app.widgets.notes_field import NotesField
from app.widgets.source import OfProject
from app.widgets.switch import SwitchField
from app.widgets.theme import ink
from core import edits
from core.words.errors import UserError

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from PySide6.QtGui import QColor

    from app.widgets.source import Editable
    from app.widgets.theme import Ink
    from core.part.fields import Field
    from core.part.project import Project

FieldWidget = TextField | ChoiceField | SwitchField | NotesField


class QuietLabel(QLabel):
    """A text that only accompanies."""

    def __init__(self, text: str = "", parent: QWidget | None = None, *, wrap: bool = False) -> None:
        super().__init__(text, parent)
        self.setWordWrap(wrap)
        self._tint()

    def changeEvent(self, event: QEvent) -> None:
        super().changeEvent(event)
        if event.type() == QEvent.Type.PaletteChange:
            self._tint()

    def _tint(self) -> None:
        _tint(self, lambda inks: inks.quiet)


class Refusal(QLabel):
    """Why a field's text is refused; takes no room while there is no reason."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWordWrap(True)
        self.setTextFormat(Qt.TextFormat.PlainText)
        self.hide()
        self._tint()

    def tell(self, reason: str) -> None:
        """Show a reason, or nothing."""
        self.setText(reason)
        self.setVisible(bool(reason))

    def changeEvent(self, event: QEvent) -> None:
        super().changeEvent(event)
        if event.type() == QEvent.Type.PaletteChange:
            self._tint()

    def _tint(self) -> None:
        _tint(self, lambda inks: inks.no_go)


def _tint(label: QLabel, color_of: Callable[[Ink], QColor]) -> None:
    """Colour a label's words by the palette that surrounds it."""
    owner = label.parentWidget()
    wanted = color_of(ink(label.palette() if owner is None else owner.palette()))
    palette = label.palette()
    if palette.color(label.foregroundRole()) != wanted:  # setting it tells of a change of palette again
        palette.setColor(label.foregroundRole(), wanted)
        label.setPalette(palette)


class Heading(QLabel):
    """The head of a group of fields: its words over a thin rule."""

    def __init__(self, text: str, parent: QWidget | None = None) -> None:
        super().__init__(text, parent)
        font = self.font()
        font.setBold(True)
        self.setFont(font)
        gap = self.fontMetrics().height() // 3
        self.setContentsMargins(0, gap * 2, 0, gap)
        self.setAccessibleName(text)

    def paintEvent(self, event: QPaintEvent) -> None:
        super().paintEvent(event)
        with QPainter(self) as painter:
            painter.fillRect(QRectF(0, self.height() - 2, self.width(), 1), ink(self.palette()).neutral)


class Row(Struct, frozen=True):
    """The widgets of one row, to show and hide together."""

    widgets: tuple[QWidget, ...]

    def show(self, is_shown: bool) -> None:  # noqa: FBT001 - as Qt's setVisible
        """Show or hide the row; a hidden one takes no room."""
        for widget in self.widgets:
            widget.setVisible(is_shown)


class Form(QWidget):
    """Rows of fields for paths of one model; it keeps them up to date and finds the one of a path."""

    def __init__(self, model: Editable, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._model = model
        self._fields: list[FieldWidget] = []
        self._units: list[tuple[QLabel, str]] = []
        self._folds: list[Fold] = []
        self._parts: list[Form] = []
        self._style = model.project.style
        self._row = 0
        self._grid = QGridLayout(self)
        self.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Preferred)
        self._grid.setContentsMargins(0, 0, 0, 0)
        space = self.fontMetrics().height() // 3
        self._grid.setHorizontalSpacing(space * 2)
        self._grid.setVerticalSpacing(space)
        self._grid.setColumnStretch(3, 1)
        model.changed.connect(self._on_changed)

    # What a step builds its form from

    def heading(self, text: str) -> None:
        """A head over the rows that follow."""
        self._wide(Heading(text, self))

    def note(self, text: str) -> QuietLabel:
        """A quiet sentence."""
        label = QuietLabel(text, self, wrap=True)
        self._wide(label)
        return label

    def field(
        self,
        path: str,
        *,
        label: str = "",
        chars: int = 8,
        write: Callable[[Project, str, str], Project] | None = None,
        when_empty: Callable[[Project], str] | None = None,
        is_wide: bool = False,
        span: int = 1,
    ) -> TextField:
        """A row with one length, number or text; a wide one takes all the room there is, others ``span`` columns."""
        made = TextField(self._source(path, write, when_empty), self, chars=chars)
        text = label or self._said(path).label
        if is_wide:
            made.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
            self._label(text, made, path)
            self._grid.addWidget(made, self._row, 1, 1, 3)
            self._refusals(made)
            self._keep(made)
        else:
            self._labelled(text, made, path, span=span)
        return made

    def notes(self, path: str) -> NotesField:
        """A row of its own for free text."""
        made = NotesField(self._model, path, self)
        self._wide(made)
        self._keep(made)
        return made

    def pair(
        self,
        left: str,
        right: str,
        *,
        label: str = "",
        write: Callable[[Project, str, str], Project] | None = None,
        when_empty: Sequence[Callable[[Project], str] | None] = (None, None),
    ) -> Row:
        """A row with the same quantity of two things side by side, e.g. of the old and the new insert."""
        fields = [
            TextField(self._source(path, write, text), self, chars=7)
            for path, text in zip((left, right), when_empty, strict=True)
        ]
        return self._paired(label or self._said(right).label, fields, right)

    def choice_pair(self, left: str, right: str, *, write: Callable[[Project, str, str], Project] | None = None) -> Row:
        """A row with the same choice for two things side by side."""
        fields = [ChoiceField(self._model, path, self, write=write or edits.set_text) for path in (left, right)]
        for field in fields:
            field.setSizeAdjustPolicy(ChoiceField.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
            field.setMinimumContentsLength(4)
            field.currentTextChanged.connect(field.setToolTip)  # the list is narrow, and cuts long words
            field.setToolTip(field.currentText())
        return self._paired(self._said(right).label, fields, right)

    def _paired(self, label: str, fields: Sequence[FieldWidget], path: str) -> Row:
        name = self._label(label, fields[-1], path)
        for i, field in enumerate(fields):
            self._grid.addWidget(field, self._row, 1 + i)
        unit = self._unit(path, 3)
        self._refusals(*fields)
        self._keep(*fields)
        return Row((name, *fields, unit))

    def choice(
        self,
        path: str,
        *,
        label: str = "",
        choices: Sequence[str] = (),
        write: Callable[[Project, str, str], Project] | None = None,
    ) -> ChoiceField:
        """A row with a list of words to choose from."""
        made = ChoiceField(self._model, path, self, choices=choices, write=write or edits.set_text)
        self._labelled(label or self._said(path).label, made, path, span=3)
        return made

    def switch(self, path: str, *, label: str = "", choices: Sequence[str] = ()) -> SwitchField:
        """A row with a few words, all of them in sight."""
        made = SwitchField(self._model, path, self, choices=choices)
        self._labelled(label or self._said(path).label, made, path, span=3)
        return made

    def fold(self, text: str) -> Form:
        """A form of its own behind one line of text."""
        inner = self.part()
        inner.setParent(None)
        fold = Fold(text, inner, self)
        self._folds.append(fold)
        self._wide(fold)
        return inner

    def show_fold(self, content: Form, *, is_shown: bool) -> None:
        """Show or hide a fold with its line of text."""
        for fold in self._folds:
            if fold.content is content:
                fold.setVisible(is_shown)

    def part(self) -> Form:
        """A form that belongs to this one; the caller lays it out."""
        inner = Form(self._model, self)
        inner.set_margin(self.fontMetrics().height() // 2)
        self._parts.append(inner)
        return inner

    def set_margin(self, left: int) -> None:
        """Indent the rows."""
        self._grid.setContentsMargins(left, 0, 0, 0)

    def label_of(self, path: str) -> str:
        """The schema's label of a path."""
        return self._said(path).label

    def widget(self, widget: QWidget) -> None:
        """A row of its own for any other widget."""
        self._wide(widget)

    def says(self, text: str, meaning: str) -> None:
        """A row without a field: a word, and what is said of it."""
        label, words = QLabel(text, self), QuietLabel(meaning, self, wrap=True)
        label.setAlignment(Qt.AlignmentFlag.AlignTop)
        self._grid.addWidget(label, self._row, 0)
        self._grid.addWidget(words, self._row, 1, 1, 4)
        self._row += 1

    def columns(self, *texts: str) -> None:
        """Quiet heads over the columns of the rows that follow, from the first field on."""
        for i, text in enumerate(texts):
            label = QuietLabel(text, self)
            label.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignBottom)
            self._grid.addWidget(label, self._row, 1 + i)
        self._row += 1

    # Finding and refreshing

    def find_field(self, path: str) -> FieldWidget | None:
        """The field of a path, or of the nearest thing inside it; what folds it away is opened."""

        def is_it(own: str) -> bool:
            return own == path

        def is_inside(own: str) -> bool:
            return own.startswith((f"{path}.", f"{path}["))

        for match in (is_it, is_inside):
            for field in self._fields:
                if match(field.path) and not field.isHidden():
                    return field
            for part in self._parts:
                found = next((f for f in part.fields() if match(f.path)), None)
                if found is not None:
                    self.unfold(part)
                    return part.find_field(path)
        return None

    def fields(self) -> list[FieldWidget]:
        """All fields, those of the folded parts too."""
        return self._fields + [field for part in self._parts for field in part.fields()]

    def unfold(self, widget: QWidget) -> None:
        """Open the folds that a widget lies in."""
        for fold in self._folds:
            if fold.content is widget or fold.content.isAncestorOf(widget):
                fold.open()
        for part in self._parts:
            part.unfold(widget)

    def _on_changed(self) -> None:
        for field in self._fields:
            field.refresh()
        style = self._model.project.style
        if style is not self._style:  # all that a unit depends on
            self._style = style
            for label, path in self._units:
                label.setText(_unit(self._model.project, path))

    def _source(
        self,
        path: str,
        write: Callable[[Project, str, str], Project] | None,
        when_empty: Callable[[Project], str] | None,
    ) -> OfProject:
        return OfProject(self._model, path, self, write or edits.set_text, when_empty)

    def _said(self, path: str) -> Field:
        return edits.field_at(self._model.project, path)

    # Rows

    def _labelled(self, text: str, field: FieldWidget, path: str, *, span: int = 1) -> None:
        self._label(text, field, path)
        fills = isinstance(field, TextField)  # so that fields over one another have one edge
        self._grid.addWidget(field, self._row, 1, 1, span, Qt.AlignmentFlag(0) if fills else Qt.AlignmentFlag.AlignLeft)
        if fills:
            self._unit(path, 1 + span)
        self._refusals(field)
        self._keep(field)

    def _label(self, text: str, buddy: QWidget, path: str) -> QLabel:
        label = QLabel(text, self)
        label.setBuddy(buddy)
        label.setToolTip(self._said(path).meaning)
        self._grid.addWidget(label, self._row, 0)
        return label

    def _unit(self, path: str, column: int) -> QLabel:
        label = QuietLabel(_unit(self._model.project, path), self)
        self._units.append((label, path))
        self._grid.addWidget(label, self._row, column, 1, 4 - column)
        return label

    def _refusals(self, *fields: FieldWidget) -> None:
        self._row += 1
        for field in fields:
            refusal = Refusal(self)
            field.told.connect(refusal.tell)
            self._grid.addWidget(refusal, self._row, 0, 1, 4)
            self._row += 1

    def _wide(self, widget: QWidget) -> None:
        self._grid.addWidget(widget, self._row, 0, 1, 4)
        self._row += 1

    def _keep(self, *fields: FieldWidget) -> None:
        self._fields += fields


def _unit(project: Project, path: str) -> str:
    try:
        return unit_text(edits.field_at(project, path), project.style)
    except UserError:  # the item is gone, and this row with it in a moment
        return ""
