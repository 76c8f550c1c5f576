"""The sizes of the old insert beside those of the new one, and where they come from."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, Final

from PySide6.QtWidgets import QPushButton

from app.steps.measure.where_from import WhereFrom
from app.steps.step import Step
from core import edits
from core.geometry.ovals.ovals import exact_length
from core.geometry.ovals.pressed import grown_to
from core.part.insert import Pressed

if TYPE_CHECKING:
    from collections.abc import Callable

    from PySide6.QtWidgets import QWidget

    from app.session.session import Session
    from app.widgets.forms import Form
    from app.widgets.source import WhenEmpty
    from core.part.insert import Insert
    from core.part.project import Project

_OLD, _NEW = "old_insert", "new_insert"
_BOTH = (_OLD, _NEW)
WHEN_EMPTY: Final[dict[str, WhenEmpty]] = {"end_radius": lambda _: "usual", "exponent": lambda _: "2.5"}
"""Sizes that only some families have, and what they are when nothing is typed."""
PRESSED = (
    "A soft rim can be pressed to another oval of the same developed length. That assumes that it bends freely and "
    "neither stretches nor buckles: try it in a ring of the wanted shape first (common practice, no source)."
)


class SizesForm(Step):
    """The sizes that count, of the insert that is gone and of the one that replaces it."""

    title = "Sizes"

    def __init__(self, session: Session, parent: QWidget | None = None) -> None:
        super().__init__(session, parent)
        form = self.form()
        form.heading("Project")
        form.field("name", chars=10, is_wide=True)
        form.heading("The insert")
        form.columns("old", "new")
        form.pair(*_paths("name"))
        form.choice_pair(*_paths("family"))
        self._length = form.pair(*_paths("length"))
        self._width = form.pair(*_paths("width"))
        self._radius, self._exponent = (
            form.pair(*_paths(name), when_empty=(text, text)) for name, text in WHEN_EMPTY.items()
        )
        form.pair(*_paths("height"))
        form.choice_pair(*_paths("material"))
        form.heading("Its rims")
        form.columns("old", "new")
        for name in ("width", "thickness", "outset"):
            form.pair(*_paths(f"rim.{name}"))
        self._lid_rims(form)
        self._pressed(form)
        self._squeeze = form.fold("Squeeze that the rims want")
        self._squeeze.note("Of the soft rims' free height, both together.")
        self._squeeze.columns("old", "new")
        self._squeeze_rows = [
            self._squeeze.pair(
                *_paths(f"squeeze.{name}"), when_empty=[partial(_wanted, name=owner, bound=i) for owner in _BOTH]
            )
            for i, name in enumerate(("least", "greatest"))
        ]
        spread = form.fold("What the next one bought may differ by")
        spread.note(
            "From the readings of three samples or more, or by the maker's word: 95 of 100 lie within. It is more than "
            "what the mean of the samples is known to, and least and greatest squeeze, gap and bearing use it."
        )
        spread.columns("old", "new")
        for name in ("length", "width", "height", "rim_width"):
            spread.pair(*_paths(f"plus_minus.{name}"))
        self.where_from = WhereFrom(session, form)
        form.fold("Notes").notes("notes")
        self.column.addStretch(1)
        session.changed.connect(self._refresh)
        self._refresh()

    def _lid_rims(self, form: Form) -> None:
        inner = form.fold("Lid rim, when it differs")
        inner.note("Empty fields are as at the base. Type a size and the lid's rim has its own.")
        inner.columns("old", "new")
        for name in ("width", "thickness", "outset"):
            inner.pair(*_paths(f"lid_rim.{name}"), when_empty=_on_both(lambda _: "as base"))
        self._like_base = QPushButton("Lid rims like the base's", inner)
        self._like_base.clicked.connect(lambda: self.session.change("lid rims like the base's", _without_lid_rims))
        inner.widget(self._like_base)

    def _pressed(self, form: Form) -> None:
        """Yielding rims in a seat of another shape."""
        inner = form.fold("Rims pressed to another shape")
        inner.note(PRESSED)
        inner.columns("old", "new")
        inner.pair(*_paths("pressed.width"), label="Pressed width", when_empty=_on_both(lambda _: "free"))
        self.pressed_size = inner.note("")
        self.press_button = QPushButton("Press the new rims to the old shape", inner)
        self.press_button.clicked.connect(
            lambda: self.session.change("new rims pressed to the old shape", press_to_old)
        )
        self.free_button = QPushButton("Leave all rims free", inner)
        self.free_button.clicked.connect(lambda: self.session.change("rims left free", _without_pressing))
        for button in (self.press_button, self.free_button):
            inner.widget(button)

    def _show_pressed(self, project: Project) -> None:
        new = project.new_insert
        self.press_button.setEnabled(new.is_yielding and project.old_insert.family.kind.is_sized)
        self.free_button.setEnabled(any(_insert(project, name).pressed is not None for name in _BOTH))
        lies = [
            f"The {which} rim lies pressed as {insert.oval.family.kind.words}, "
            f"{self.session.show_length(insert.oval.length)} × {self.session.show_length(insert.oval.width)}, "
            f"{self.session.show_length(exact_length(insert.free_oval))} all round as when it is free."
            for which, insert in (("old", project.old_insert), ("new", new))
            if insert.pressed is not None
        ]
        self.pressed_size.tell(" ".join(lies))

    def _refresh(self) -> None:
        project = self.session.project
        self._show_pressed(project)
        self.where_from.refresh()
        families = {project.old_insert.family, project.new_insert.family}
        self._radius.show(any(family.kind.has("end_radius") for family in families))
        self._exponent.show(any(family.kind.has("exponent") for family in families))
        soft = [_insert(project, name).is_yielding for name in _BOTH]
        for row in self._squeeze_rows:
            for i, is_soft in enumerate(soft):
                row.widgets[1 + i].setVisible(is_soft)  # a rigid insert has no squeeze
        self.forms[0].show_fold(self._squeeze, is_shown=any(soft))
        self._like_base.setEnabled(any(_insert(project, name).lid_rim is not None for name in _BOTH))


def press_to_old(project: Project) -> Project:
    """The new rims pressed to the old shape, grown all round until it is as long as they are."""
    new = project.new_insert
    oval = grown_to(project.old_insert.oval, exact_length(new.free_oval))
    pressed = Pressed(oval.family, oval.width, oval.end_radius, oval.exponent)
    return edits.set_value(project, f"{_NEW}.pressed", pressed)


def _without_pressing(project: Project) -> Project:
    for name in _BOTH:
        project = edits.set_value(project, f"{name}.pressed", None)
    return project


def _without_lid_rims(project: Project) -> Project:
    for name in _BOTH:
        project = edits.set_value(project, f"{name}.lid_rim", None)
    return project


def _insert(project: Project, name: str) -> Insert:
    return project.old_insert if name == _OLD else project.new_insert


def _wanted(project: Project, name: str, bound: int) -> str:
    """What the material of an insert's rims wants, for an empty limit of its squeeze."""
    return f"{_insert(project, name).squeeze_wanted[bound]:g}"


def _paths(name: str) -> tuple[str, str]:
    return f"{_OLD}.{name}", f"{_NEW}.{name}"


def _on_both(text: Callable[[Project], str]) -> tuple[Callable[[Project], str], Callable[[Project], str]]:
    return text, text
