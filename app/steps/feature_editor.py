"""Lists of the housing's items: features of a piece, studs, keep-outs. One at a time is open, its fields below it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QHBoxLayout, QMenu, QPushButton, QToolButton, QVBoxLayout, QWidget

from app.widgets.folds import FoldButton
from app.widgets.forms import Form
from app.widgets.layouts import bare
from app.widgets.plain import on_button, tip
from core import edits
from core.aim import aimed
from core.features.kind import Kind
from core.part.fields import FieldKind, fields_of
from core.words.errors import UserError
from core.words.verdicts import Place

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from app.session.session import Session
    from app.widgets.grid import FieldWidget
    from core.part.project import Project
    from core.part.schema import Value
    from core.words.ends import End


class ItemList(QWidget):
    """The items at one path, each a line that opens to its fields; new ones are added at the end.

    Attributes:
        opened: path of the item that was opened, empty when it was closed.
    """

    opened = Signal(str)

    def __init__(
        self,
        session: Session,
        path: str,
        makers: Sequence[tuple[str, Callable[[Project], Value]]],
        parent: QWidget | None = None,
        *,
        end: End | None = None,
    ) -> None:
        """A list for ``path``.

        Args:
            session: whose project it edits.
            path: of the list.
            makers: what can be added: a word, and how a new one is made.
            parent: owner.
            end: the piece that the items belong to.
        """
        super().__init__(parent)
        self._session, self.list_path, self._makers, self._end = session, path, makers, end
        self._lines: list[_Line] = []
        self._column = bare(QVBoxLayout(self), self.fontMetrics().height() // 6)
        self._items = QVBoxLayout()
        self._items.setSpacing(0)
        self._column.addLayout(self._items)
        self._column.addWidget(self._add_button(), 0, Qt.AlignmentFlag.AlignLeft)
        self._column.addStretch(1)  # beside a longer list, a short one keeps its lines together
        session.changed.connect(self._refresh)
        self._rebuild()

    @property
    def lines(self) -> Sequence[_Line]:
        """The items' lines, in their order."""
        return tuple(self._lines)

    def item(self, index: int) -> Value:
        """The item of a line."""
        return self._items_now()[index]

    def add(self, word: str) -> bool:
        """Add a new item of that word and open it; False when it is refused."""
        make = dict(self._makers)[word]

        def added(project: Project) -> Project:
            return edits.add_item(project, self.list_path, make(project))

        if not self._session.change(f"add {word}", added):
            return False
        self._open_wanted = len(self._wanted_items()) - 1
        self._refresh()
        return True

    def remove(self, index: int) -> bool:
        """Remove an item; False when that is refused."""
        name, seen = getattr(self.item(index), "name", "item"), self._session.project
        path = f"{self.list_path}[{index}]"
        return self._session.change(f"remove {name}", lambda p: edits.remove_item(p, aimed(path, seen, p)))

    def find_field(self, path: str) -> FieldWidget | None:
        """The field of a path inside one of the items, which is opened for it."""
        for i, line in enumerate(self._lines):
            own = f"{self.list_path}[{i}]"
            if path == own or path.startswith(f"{own}."):
                line.open()
                return line.find_field(path)
        return None

    def fields(self) -> list[FieldWidget]:
        """The fields of the open item."""
        return [field for line in self._lines for field in line.fields()]

    _open_wanted: int | None = None

    def _add_button(self) -> QWidget:
        button = QPushButton("Add …" if len(self._makers) > 1 else f"Add {self._makers[0][0]}", self)
        if len(self._makers) == 1:
            button.clicked.connect(lambda: self.add(self._makers[0][0]))
        else:
            menu = QMenu(button)
            for word, _ in self._makers:
                menu.addAction(word).triggered.connect(lambda _checked=False, w=word: self.add(w))
            button.setMenu(menu)
        self.add_button = button
        return button

    def _items_now(self) -> Sequence[Value]:
        return self._at(self._session.project)

    def _wanted_items(self) -> Sequence[Value]:
        return self._at(self._session.wanted)

    def _at(self, project: Project) -> Sequence[Value]:
        try:
            items = edits.get_value(project, self.list_path)
        except UserError:  # a project without a lid
            return ()
        assert isinstance(items, tuple)
        return items

    def _refresh(self) -> None:
        items = self._items_now()
        if [line.tag for line in self._lines] != [_tag(item) for item in items]:
            self._rebuild()
        for line, item in zip(self._lines, items, strict=True):
            line.refresh(item)
        if self._open_wanted is not None and self._open_wanted < len(self._lines):
            line, self._open_wanted = self._lines[self._open_wanted], None
            line.open()
            line.focus_first()

    def _rebuild(self) -> None:
        was_open = next((line.name for line in self._lines if line.is_open), None)
        for line in self._lines:
            self._items.removeWidget(line)
            line.hide()
            line.deleteLater()
        self._lines = []
        for i, item in enumerate(self._items_now()):
            line = _Line(self._session, self, i, item, self._end)
            line.toggled.connect(self._toggled)
            self._items.addWidget(line)
            self._lines.append(line)
            if line.name == was_open:
                line.open()
        before: QWidget = self.add_button.previousInFocusChain() or self.add_button
        for line in self._lines:
            QWidget.setTabOrder(before, line.button)
            before = line.last_in_order()
        QWidget.setTabOrder(before, self.add_button)
        self.add_button.raise_()  # the last child, as it is the last to be read

    def _toggled(self, index: int) -> None:
        line = self._lines[index]
        for other in self._lines:
            if line.is_open and other is not line:
                other.close_up()
        self.opened.emit(f"{self.list_path}[{index}]" if line.is_open else "")


_WHEN_EMPTY: Final = {"hole_depth": lambda _project: "through"}
"""What an empty field of an item stands for."""


class _Line(QWidget):
    """One item: a line of words, and its fields once it is open."""

    toggled = Signal(int)

    def __init__(self, session: Session, owner: ItemList, index: int, item: Value, end: End | None) -> None:
        super().__init__(owner)
        self._session, self._owner, self._index, self._end = session, owner, index, end
        self.tag = _tag(item)
        self.name = ""
        self._form: Form | None = None
        self.button = FoldButton("", self)
        self.button.toggled.connect(self._on_toggled)
        self.remove_button = QToolButton(self)
        self.remove_button.setAutoRaise(True)
        self.remove_button.setText("Remove")
        self.remove_button.clicked.connect(lambda: owner.remove(self._index))
        self.remove_button.hide()
        head = bare(QHBoxLayout())
        head.addWidget(self.button)
        head.addStretch(1)
        head.addWidget(self.remove_button)
        self._column = bare(QVBoxLayout(self))
        self._column.addLayout(head)
        self.refresh(item)

    @property
    def is_open(self) -> bool:
        """Whether the fields are in sight."""
        return self.button.isChecked()

    def open(self) -> None:
        """Show the fields."""
        self.button.setChecked(True)

    def close_up(self) -> None:
        """Hide the fields."""
        self.button.setChecked(False)

    def refresh(self, item: Value) -> None:
        """Show the item's name, kind, and what it follows."""
        self.name = str(getattr(item, "name", ""))
        follows = getattr(item, "follows", None)
        words = [] if self.tag in ("", self.name) else [self.tag]
        words += [f"follows {follows}"] if follows is not None and self.tag != "stud" else []
        # An open item says the rest in its fields, and needs the room for its button.
        text = self.name if self.is_open or not words else f"{self.name}  ·  {', '.join(words)}"
        self.button.setText(on_button(text))
        self.button.setToolTip(tip(text))
        self.remove_button.setAccessibleName(f"Remove {self.name}")

    def fields(self) -> list[FieldWidget]:
        """The fields, if they are built."""
        return [] if self._form is None or not self.is_open else self._form.fields()

    def find_field(self, path: str) -> FieldWidget | None:
        """The field of a path, or the first one for the item itself."""
        assert self._form is not None
        return self._form.find_field(path)

    def last_in_order(self) -> QWidget:
        """Put line, fields and button in the order of the tab key; the last of them."""
        before: QWidget = self.button
        for part in (*(self._form.fields() if self._form is not None else ()), self.remove_button):
            QWidget.setTabOrder(before, part)
            before = part
        return before

    def focus_first(self) -> None:
        """Bring the focus to the first field."""
        fields = self.fields()
        if fields:
            fields[0].setFocus(Qt.FocusReason.OtherFocusReason)

    def _on_toggled(self, is_open: bool) -> None:  # noqa: FBT001 - Qt's signal carries it
        self.remove_button.setVisible(is_open)
        self.refresh(self._owner.item(self._index))
        if is_open and self._form is None:
            self._form = self._built()
            self._column.addWidget(self._form)
            self.last_in_order()
        if self._form is not None:
            self._form.setVisible(is_open)
        if is_open:
            path = f"{self._owner.list_path}[{self._index}]"
            self._session.point_at(Place(self._end, feature=self.name, path=path))
        self.toggled.emit(self._index)

    def _built(self) -> Form:
        """Rows for every field of the schema that is typed in; curves that are held are the resizing's business."""
        form = Form(self._session, self)
        form.set_margin(self.fontMetrics().height())
        path = f"{self._owner.list_path}[{self._index}]"
        item = self._owner.item(self._index)
        typed = (
            name for name, field in fields_of(type(item)).items() if field.kind not in (FieldKind.GROUP, FieldKind.LIST)
        )
        choices = {"follows": item.may_follow} if isinstance(item, Kind) else {}
        form.rows(*typed, of=path, when_empty=_WHEN_EMPTY, choices=choices)
        return form


def _tag(item: Value) -> str:
    """The item's kind in a word."""
    return item.word() if isinstance(item, Kind) else ""
