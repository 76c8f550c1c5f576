"""What the steps have in common: forms, and the way from a path to its field."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtWidgets import QVBoxLayout, QWidget

from app.widgets.forms import Form
from app.widgets.layouts import bare

if TYPE_CHECKING:
    from app.session.session import Session
    from app.steps.feature_editor import ItemList
    from app.widgets.grid import FieldWidget


class Page(QWidget):
    """A column of forms."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.forms: list[Form] = []
        self.lists: list[ItemList] = []
        self.column = bare(QVBoxLayout(self), 0)

    def find_field(self, path: str) -> FieldWidget | None:
        """The field of a path; None when it is another step's."""
        for items in self.lists:
            found = items.find_field(path)
            if found is not None:
                self.unfold(items)
                return found
        return next((found for form in self.forms if (found := form.find_field(path)) is not None), None)

    def unfold(self, widget: QWidget) -> None:
        """Open the folds that a widget lies in."""
        for form in self.forms:
            form.unfold(widget)

    def fields(self) -> list[FieldWidget]:
        """All fields of the step."""
        return [field for form in self.forms for field in form.fields()]


class Step(Page):
    """A column of forms for the project of a session: one step of the job, or a part of one."""

    def __init__(self, session: Session, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.session = session

    def form(self) -> Form:
        """A form below what is there already."""
        made = Form(self.session, self)
        self.forms.append(made)
        self.column.addWidget(made)
        return made
