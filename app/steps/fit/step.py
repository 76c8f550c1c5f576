"""Step 3, fit: what the checks ask for, and all of their findings in the order of the job."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtWidgets import QPushButton

from app.steps.fit.verdict_panel import AnswerList
from app.steps.step import Step
from core.features.stud.engagement import engagement_of
from core.words.ends import Side

if TYPE_CHECKING:
    from collections.abc import Callable

    from PySide6.QtWidgets import QWidget

    from app.session.session import Session
    from core.part.project import Project

_GROUPS: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("Bearing and room", ("bearing_least", "fill")),
    ("Metal", ("web_least", "floor_least", "hole_edge")),
    ("Surroundings", ("keep_out_margin", "flush")),
)
_RARE: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("Studs", ("engagement", "threads_showing")),
    ("Air", ("open_area", "flow", "face_velocity")),
    ("Margins", ("marginal",)),
)
CAUTION = (
    "Computed from the sizes that were typed or read: lay the real insert on a 1:1 outline and try it in the finished "
    "seat before it is relied on. A rim that does not seal lets dust or water through."
)


class FitStep(Step):
    """The limits, and every finding."""

    def __init__(
        self, session: Session, parent: QWidget | None = None, *, write_outlines: Callable[[], None] = lambda: None
    ) -> None:
        super().__init__(session, parent)
        form = self.form()
        form.heading("What the fit has to reach")
        form.columns("least", "greatest")
        for side in Side:
            form.pair(f"limits.gap_{side}_least", f"limits.gap_{side}_greatest", label=f"{str(side).capitalize()} gap")
        self.column.addSpacing(form.fontMetrics().height() // 3)
        form = self.form()  # its own columns: a long label beside two fields would take room from the drawing
        for title, names in _GROUPS:
            form.note(title)
            for name in names:
                form.field(f"limits.{name}")
        for title, names in _RARE:
            fold = form.fold(title)
            for name in names:
                fold.field(f"limits.{name}", when_empty=_by_metal if name == "engagement" else None)
        form.heading("All checks, in the order of the job")
        self.answers = AnswerList(session, self, worst_first=False, is_brief=True)
        self.answers.setMinimumHeight(self.fontMetrics().height() * 12)
        self.column.addWidget(self.answers, 1)
        self.column.addSpacing(self.fontMetrics().height() // 2)
        below = self.form()
        below.note(CAUTION)
        self.write_button = QPushButton("Write the outlines …", self)
        self.write_button.setAutoDefault(False)
        self.write_button.clicked.connect(lambda _checked=False: write_outlines())
        below.widget(self.write_button)


def _by_metal(project: Project) -> str:
    return f"{engagement_of(project.housing.metal, project.limits):g}, by the metal"
