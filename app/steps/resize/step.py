"""Step 2, resize: how the housing follows, the housing as it was built, its features, and its surroundings."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtWidgets import QSizePolicy, QStackedWidget

from app.steps.feature_editor import ItemList
from app.steps.step import Step
from app.widgets.labels import Heading
from app.widgets.switch import Switch
from core.features.registry import FEATURES
from core.new.item import new_feature, new_keep_out, new_stud
from core.part.project import HeightTo, Mode
from core.words.ends import End
from core.words.lengths import show_length

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from PySide6.QtWidgets import QWidget

    from app.session.session import Session
    from app.widgets.forms import Form
    from app.widgets.grid import FieldWidget
    from core.part.housing import Piece
    from core.part.project import Project
    from core.part.schema import Value

_AS_BUILT = (
    "seat.gap_outer",
    "seat.gap_inner",
    "seat.depth",
    "seat.depth_plus_minus",
    "floor",
    "wall",
    "lip.width",
    "lip.height",
)
_RARE = ("seat.corner_radius", "edge_radius")


class ResizeStep(Step):
    """What has to move, what must not, and what the castings on the shelf are like."""

    def __init__(self, session: Session, parent: QWidget | None = None) -> None:
        super().__init__(session, parent)
        has_lid = session.project.housing.lid is not None
        form = self.form()
        form.heading("How the housing follows")
        form.switch("choices.mode")
        self._held = [
            form.switch("choices.hold"),
            form.switch("choices.hold_inside"),
            form.switch("choices.height_to", choices=() if has_lid else (HeightTo.BASE, HeightTo.SQUEEZE)),
        ]
        form.switch("choices.guided_by")
        form.heading("New sizes; empty keeps what was built")
        for name, built in (
            ("gap_outer", lambda p: p.seat.gap_outer),
            ("gap_inner", lambda p: p.seat.gap_inner),
            ("wall", lambda p: p.wall),
            ("lip", lambda p: p.lip.width),
        ):
            form.field(f"choices.{name}", span=2, when_empty=partial(_as_built, built=built))
        form.heading("As it was built")
        self._built(form, _AS_BUILT, has_lid=has_lid)
        if has_lid:
            form.choice_pair("housing.base.tight", "housing.lid.tight")
        else:
            form.switch("housing.base.tight")
        self._built(form.fold("Radii"), _RARE, has_lid=has_lid)
        self._features(form, session.project.housing.ends)
        around = self.form()
        if has_lid:
            closing = around.fold("Closing and clamp studs")
            closing.switch("housing.faces.stop")
            closing.rows("housing.faces.distance")
            self._list(closing, "housing.studs", "stud", new_stud)
        self._list(around.fold("Neighbours to keep clear of"), "housing.keep_outs", "keep-out", new_keep_out)
        metal = around.fold("Metal")
        metal.rows("name", "kind", "density", "least_section", of="housing.metal")
        self.column.addStretch(1)
        session.changed.connect(self._refresh)
        self._refresh()

    def _built(self, form: Form, names: Sequence[str], *, has_lid: bool) -> None:
        if has_lid:
            form.columns("base", "lid")
            for name in names:
                form.pair(f"housing.base.{name}", f"housing.lid.{name}")
        else:
            form.rows(*names, of="housing.base")

    def _features(self, form: Form, ends: Sequence[End]) -> None:
        form.widget(Heading("Features", form))
        self._ends = tuple(ends)
        if len(ends) > 1:  # before its lists, which come after it in the order of the tab key
            self._switch = Switch([(str(end), f"of the {end}") for end in ends], "Features of", form)
        self._stack = QStackedWidget(form)
        self._by_end: list[ItemList] = []
        for end in ends:
            makers = [(kind, partial(_made, end=end, kind=kind)) for kind in FEATURES]
            items = ItemList(self.session, f"housing.{end}.features", makers, self._stack, end=end)
            self.lists.append(items)
            self._by_end.append(items)
            self._stack.addWidget(items)
        if len(ends) > 1:
            self._switch.chosen.connect(lambda key: self.session.show_end(End(key)))
            form.widget(self._switch)
            self.session.shown_end_changed.connect(self._show_end)
            self._show_end(self.session.shown_end)
        form.widget(self._stack)

    def _list(self, form: Form, path: str, word: str, make: Callable[[Project], Value]) -> None:
        items = ItemList(self.session, path, [(word, make)], form)
        self.lists.append(items)
        form.widget(items)

    def find_field(self, path: str) -> FieldWidget | None:
        for end in self._ends:
            if path.startswith(f"housing.{end}.features"):
                self.session.show_end(end)
        return super().find_field(path)

    def _show_end(self, end: End) -> None:
        self._switch.put(str(end))
        self._stack.setCurrentIndex(self._ends.index(end))
        for items in self._by_end:  # as tall as the list that is shown, not as the longest
            is_shown = items is self._stack.currentWidget()
            upright = QSizePolicy.Policy.Preferred if is_shown else QSizePolicy.Policy.Ignored
            items.setSizePolicy(QSizePolicy.Policy.Preferred, upright)
        self._stack.updateGeometry()

    def _refresh(self) -> None:
        is_new = self.session.project.choices.mode is Mode.NEW_PATTERN
        for field in self._held[:2]:
            field.setEnabled(is_new)  # a casting's outside and opening stay, whatever is chosen


def _as_built(project: Project, built: Callable[[Piece], float]) -> str:
    values = [built(piece) for end in project.housing.ends if (piece := project.housing.piece(end)) is not None]
    texts = list(dict.fromkeys(show_length(v, project.style, with_unit=False) for v in values))
    return f"built {' / '.join(texts)}"


def _made(project: Project, end: End, kind: str) -> Value:
    return new_feature(project, end, kind)
