"""Forms for a project: rows for its paths, as the schema says; rare ones folded."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import Struct
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.widgets.choice_field import ChoiceField
from app.widgets.fields import TextField
from app.widgets.folds import Fold
from app.widgets.grid import Grid
from app.widgets.notes_field import NotesField
from app.widgets.source import OfProject
from app.widgets.switch import SwitchField
from core import edits
from core.part.fields import FieldKind

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from app.widgets.grid import FieldWidget
    from app.widgets.source import Editable, WhenEmpty


class FieldRow(Struct, frozen=True):
    """The widgets of one row, to show and hide together."""

    widgets: tuple[QWidget, ...]

    def show(self, is_shown: bool) -> None:  # noqa: FBT001 - as Qt's setVisible
        """Show or hide the row; a hidden one takes no room."""
        for widget in self.widgets:
            widget.setVisible(is_shown)


class Form(Grid):
    """Rows of fields, for paths of one model or for what a page keeps.

    It keeps them up to date and finds the one of a path.
    """

    def __init__(self, model: Editable, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._model = model
        self._folds: list[Fold] = []
        self._parts: list[Form] = []
        self._style = model.project.style
        model.changed.connect(self._on_changed)

    # What a step builds its form from

    def rows(
        self,
        *names: str,
        of: str = "",
        when_empty: Mapping[str, WhenEmpty | None] | None = None,
        choices: Mapping[str, Sequence[str]] | None = None,
    ) -> None:
        """A row for each of these fields, or of those of what is at ``of``, by the kind that the schema says."""
        for name in names:
            path = f"{of}.{name}" if of else name
            match edits.field_at(self._model.project, path).kind:
                case FieldKind.CHOICE:
                    self.choice(path, choices=(choices or {}).get(name, ()))
                case FieldKind.TEXT:
                    self.field(path, is_wide=True)
                case _:
                    self.field(path, when_empty=(when_empty or {}).get(name))

    def field(
        self,
        path: str,
        *,
        label: str = "",
        chars: int = 8,
        when_empty: WhenEmpty | None = None,
        is_wide: bool = False,
        span: int = 1,
    ) -> TextField:
        """A row with one length, number or text; a wide one takes all the room there is, others ``span`` columns."""
        made = TextField(self._source(path, when_empty), self, chars=chars)
        if is_wide:
            made.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.row(made, label=label, span=3 if is_wide else span, has_unit=not is_wide)
        return made

    def notes(self, path: str) -> NotesField:
        """A row of its own for free text."""
        made = NotesField(self._source(path), self)
        self.widget(made)
        self._keep(made)
        return made

    def pair(
        self, left: str, right: str, *, label: str = "", when_empty: Sequence[WhenEmpty | None] = (None, None)
    ) -> FieldRow:
        """A row with the same quantity of two things side by side, e.g. of the old and the new insert."""
        fields = [
            TextField(self._source(path, text), self, chars=7)
            for path, text in zip((left, right), when_empty, strict=True)
        ]
        return self._paired(fields, label)

    def choice_pair(self, left: str, right: str) -> FieldRow:
        """A row with the same choice for two things side by side."""
        sources = [self._source(path) for path in (left, right)]
        return self._paired([ChoiceField(source, source.words(), self, chars=4) for source in sources])

    def _paired(self, fields: Sequence[FieldWidget], label: str = "") -> FieldRow:
        name = self._label(label or fields[-1].source.label, fields[-1])
        for i, field in enumerate(fields):
            self._grid.addWidget(field, self._row, 1 + i)
        unit = self._unit(fields[-1].source, 3)
        self._refusals(*fields)
        self._keep(*fields)
        return FieldRow((name, *fields, unit))

    def choice(self, path: str, *, choices: Sequence[str] = ()) -> ChoiceField:
        """A row with a list of words to choose from."""
        source = self._source(path)
        made = ChoiceField(source, source.words(choices), self)
        self.row(made)
        return made

    def switch(self, path: str, *, label: str = "", choices: Sequence[str] = ()) -> SwitchField:
        """A row with a few words, all of them in sight."""
        source = self._source(path)
        made = SwitchField(source, source.words(choices), self)
        self.row(made, label=label)
        return made

    def fold(self, text: str) -> Form:
        """A form of its own behind one line of text."""
        inner = self.part()
        inner.setParent(None)
        fold = Fold(text, inner, self)
        self._folds.append(fold)
        self.widget(fold)
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

    def label_of(self, path: str) -> str:
        """The schema's label of a path."""
        return edits.field_at(self._model.project, path).label

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
            self.show_units()

    def _source(self, path: str, when_empty: WhenEmpty | None = None) -> OfProject:
        return OfProject(self._model, path, self, when_empty)
