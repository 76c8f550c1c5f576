"""What a field shows and edits: a value of the project at a path, or one of a page's own. One field serves both."""

from __future__ import annotations

from itertools import count
from typing import TYPE_CHECKING, Final, Protocol

from PySide6.QtCore import QObject, Signal

from app.session.words import spoken, unit_text
from app.widgets.explain import Explanation, of_field
from core import edits
from core.aim import aimed
from core.part.fields import FieldKind
from core.words.errors import LengthError, UserError
from core.words.lengths import MINUS, Style, edit_text, nudge_step, show_length, unit_of

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from PySide6.QtCore import SignalInstance

    from core.part.project import Project

    WhenEmpty = Callable[[Project], str]

KEYS: Final = count(1)
"""Of what is typed in one visit to a field."""
_NUDGES = {FieldKind.PERCENT: 1.0, FieldKind.DEGREES: 1.0, FieldKind.NUMBER: 0.1}


class _Nothing:
    """Stands for a value that isn't there, since None is one that a field may have."""


NOTHING = _Nothing()


class Editable(Protocol):
    """What holds a project: the session, or a draft that becomes one."""

    changed: SignalInstance
    refused: SignalInstance
    project: Project
    refusal: UserError | None

    @property
    def wanted(self) -> Project: ...
    def change(
        self, text: str, change: Callable[[Project], Project], *, merge_key: int = -1, path: str = ""
    ) -> bool: ...
    def focus(self, path: str) -> None: ...


class Source(QObject):
    """One value, as a field needs it.

    Attributes:
        refused: why what was put is not taken.
        moved: the value is another one, or is shown otherwise; the project's forms say so themselves.
        path: in the project; empty for a page's own.
        label: what stands before its field.
        name, meaning: for those who can't see the label, and for its tip.
        is_number: whether it stands at the right.
        is_live: whether each keystroke that can be read counts at once, or only what is typed in the end.
        mark: index of the character that can't be read; -1 for none.
    """

    refused = Signal(str)
    moved = Signal()
    path = ""
    label = ""
    name = ""
    meaning = ""
    is_number = True
    is_live = True
    mark = -1

    @property
    def style(self) -> Style:
        """How lengths are shown."""
        raise NotImplementedError

    def value(self, *, newest: bool = False) -> object:
        """The value that is shown, or the one that edits which still wait will make."""
        raise NotImplementedError

    def shown(self, value: object) -> str:
        """The text of a value to read."""
        raise NotImplementedError

    def typed(self, value: object) -> str:
        """The text of a value to go on typing from."""
        raise NotImplementedError

    def unit(self) -> str:
        """What stands behind its field."""
        return ""

    def chosen(self) -> object:
        """The value as a list of choices holds it."""
        return self.value()

    def choose(self, choice: object) -> bool:
        """Take one of the choices; False when it is refused."""
        raise NotImplementedError

    def put(self, text: str, key: int) -> bool:
        """Take a text; edits with one key in a row are one step back. False when it is refused."""
        raise NotImplementedError

    def give_back(self, value: object, key: int) -> None:
        """Take a value that was there before."""
        raise NotImplementedError

    def explanation(self) -> Explanation | None:
        """The sheet for it; None when there is nothing to say."""
        raise NotImplementedError

    def placeholder(self) -> str:
        """What stands greyed in an empty field."""
        return ""

    def step(self, *, big: bool) -> float:
        """What an arrow key adds; 0 for nothing."""
        del big
        return 0.0

    def focus(self, *, is_here: bool) -> None:
        """The focus came, or went."""


class OfProject(Source):
    """A value of a model's project at a path."""

    def __init__(self, model: Editable, path: str, parent: QObject, when_empty: WhenEmpty | None = None) -> None:
        super().__init__(parent)
        self._model, self.path, self._when_empty = model, path, when_empty
        field = self._field = edits.field_at(model.project, path)
        self.kind, self.label, self.meaning = field.kind, field.label, field.meaning
        self.name = spoken(model.project, path)
        self.is_number = self.kind is not FieldKind.TEXT
        model.refused.connect(self._on_refused)

    @property
    def style(self) -> Style:
        return self._model.project.style

    def value(self, *, newest: bool = False) -> object:
        try:
            return edits.get_value(self._model.wanted if newest else self._model.project, self.path)
        except UserError:  # the group is empty, or the item is gone and this field with it in a moment
            return NOTHING

    def shown(self, value: object) -> str:
        if self.kind is not FieldKind.LENGTH or not isinstance(value, float):
            return self.typed(value)
        exact = edit_text(value, self.style).replace("-", MINUS)
        shown = show_length(value, self.style, with_unit=False)
        if self.style is Style.FRACTION:
            return shown
        # As many decimals as elsewhere, so that columns can be compared; one or two more where they were typed.
        if len(exact) <= len(shown) or len(exact) > len(shown) + 2:
            return shown if exact.rstrip("0") in shown else f"≈ {shown}"
        return exact

    def typed(self, value: object) -> str:
        if value is None or value is NOTHING:
            return ""
        if isinstance(value, float):
            return edit_text(value, self.style) if self.kind is FieldKind.LENGTH else f"{value:.12g}"
        return str(value)

    def unit(self) -> str:
        return unit_text(self._field, self.style)

    def words(self, choices: Sequence[str] = ()) -> list[tuple[str, str]]:
        """The choices with their words, or those of ``choices``, where not all that the schema allows make sense."""
        field = self._field
        empty = ("",) if field.is_optional and not choices else ()
        return [(choice, field.word(choice)) for choice in (*empty, *(choices or field.choices))]

    def chosen(self) -> object:
        value = self.value()
        return value if value is NOTHING else self.typed(value)

    def choose(self, choice: object) -> bool:
        return self.put(str(choice), -1)

    def put(self, text: str, key: int) -> bool:
        return self._change(lambda p, path: edits.set_text(p, path, text), key)

    def give_back(self, value: object, key: int) -> None:
        if value is NOTHING:  # the typing had made the group that the field is in
            self._change(lambda p, path: edits.set_value(p, path.rpartition(".")[0], None), key)
        else:
            self.put(self.typed(value), key)  # as text, for what it sets besides (a circle's width)

    def _change(self, change: Callable[[Project, str], Project], key: int) -> bool:
        seen = self._model.project
        text = spoken(seen, self.path)
        return self._model.change(
            text, lambda p: change(p, aimed(self.path, seen, p)), merge_key=key, path=self.path
        )  # fmt: skip

    def _on_refused(self, path: str, message: str) -> None:
        if path == self.path:
            error = self._model.refusal
            self.mark = error.position if isinstance(error, LengthError) else -1
            self.refused.emit(message)

    def explanation(self) -> Explanation:
        return of_field(self._model.project, self.path, getattr(self._model, "result", None))

    def placeholder(self) -> str:
        return "" if self._when_empty is None else self._when_empty(self._model.project)

    def step(self, *, big: bool) -> float:
        if self.kind is FieldKind.LENGTH:
            return nudge_step(self.style, big=big)
        return _NUDGES.get(self.kind, 0.0) * (10.0 if big else 1.0)

    def focus(self, *, is_here: bool) -> None:
        self._model.focus(self.path if is_here else "")


class OfPage(Source):
    """A value that a page keeps, e.g. one of a few words.

    Attributes:
        taken: the new value.
        origin: where the value comes from, a whole sentence.
    """

    taken = Signal(object)
    origin = "Typed here."

    def __init__(self, words: tuple[str, str], parent: QObject) -> None:
        """A value without any yet; ``words`` are its name and its meaning."""
        super().__init__(parent)
        self.name, self.meaning = words
        self.label = self.name
        self._value: object = None

    def set(self, value: object) -> None:
        """Show a value, without telling anyone."""
        self._value = value
        self.moved.emit()

    def value(self, *, newest: bool = False) -> object:
        del newest
        return self._value

    def choose(self, choice: object) -> bool:
        self._value = choice
        self.taken.emit(choice)
        return True

    def explanation(self) -> Explanation | None:
        return None


class FigureOfPage(OfPage):
    """A figure that a page keeps: a float, or None where the field is empty."""

    def __init__(
        self,
        words: tuple[str, str],
        style: Callable[[], Style],
        read: Callable[[str, Style], float | None],
        shown: Callable[[float, Style, bool], str],
        parent: QObject,
    ) -> None:
        """A figure.

        Args:
            words: its name and its meaning.
            style: how lengths are shown now.
            read: a text; raises `UserError`.
            shown: the text of a value to read, with its unit or without.
            parent: owner.
        """
        super().__init__(words, parent)
        self._style, self._read, self._shown = style, read, shown
        self.is_length = True

    @property
    def style(self) -> Style:
        return self._style()

    def unit(self) -> str:
        return str(unit_of(self.style)) if self.is_length else ""

    def shown(self, value: object) -> str:
        return self._shown(value, self.style, False) if isinstance(value, float) else ""

    def typed(self, value: object) -> str:
        return edit_text(value, self.style) if isinstance(value, float) and self.is_length else self.shown(value)

    def put(self, text: str, key: int) -> bool:
        del key
        try:
            value = self._read(text, self.style)
        except UserError as error:
            said = f"{error.what}. {error.hint}".strip() if error.hint else f"{error.what}."
            self.refused.emit(said[:1].upper() + said[1:])
            return False
        self._take(value)
        return True

    def give_back(self, value: object, key: int) -> None:
        del key
        self._take(value if isinstance(value, float) else None)

    def _take(self, value: float | None) -> None:
        if value != self._value:
            self.choose(value)

    def explanation(self) -> Explanation:
        value = self._value
        shown = f" = {self._shown(value, self.style, True)}" if isinstance(value, float) else ": empty"
        return Explanation(f"{self.name}{shown}", self.meaning, self.origin)
