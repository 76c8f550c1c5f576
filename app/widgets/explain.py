"""What a number is, where it comes from, and its formula with the project's own figures: one small sheet for each."""

from __future__ import annotations

from html import escape
from typing import TYPE_CHECKING

from msgspec import Struct
from PySide6.QtCore import QPoint, QRect, Qt
from PySide6.QtGui import QAction, QKeyEvent, QKeySequence
from PySide6.QtWidgets import QFrame, QLabel, QVBoxLayout, QWidget

from app.session.words import spoken, unit_text
from app.widgets.theme import ink
from core import edits
from core.measure.sources import ORIGIN_WORDS, is_overridden, read_sizes
from core.part.fields import FieldKind, fields_of
from core.part.materials import MATERIALS
from core.part.project import Limits
from core.part.readings import SizeName
from core.words.errors import UserError
from core.words.findings import band_text, found_text
from core.words.lengths import MINUS, show_length, shower, spread_shower
from core.words.verdicts import WORDS

if TYPE_CHECKING:
    from core.evaluate import Result
    from core.part.fields import Field
    from core.part.insert import Insert
    from core.part.project import Project
    from core.resize.changes import Change
    from core.words.lengths import Style
    from core.words.verdicts import Finding

_MOST_FIGURES = 4


class Explanation(Struct, frozen=True):
    """One sheet.

    Attributes:
        title: what is asked about, with its value.
        meaning: what it is.
        origin: where it comes from.
        figures: formulas and what follows, a line each.
    """

    title: str
    meaning: str
    origin: str
    figures: tuple[str, ...] = ()


def of_field(project: Project, path: str, result: Result | None = None) -> Explanation:
    """The sheet for a field of the project."""
    field = edits.field_at(project, path)
    try:
        value = edits.get_value(project, path)
    except UserError:
        return Explanation(field.label, field.meaning, "")
    shown = _shown(field, value, project.style)
    name = _capital(spoken(project, path))
    title = f"{name}: empty" if value is None else f"{name} = {shown}" if shown else name
    figures = () if result is None else _that_follow(path, result)
    origin = _source(project, path) or _origin(project, path, value)
    return Explanation(title, field.meaning, origin, figures)


def of_finding(project: Project, finding: Finding) -> Explanation:
    """The sheet for what a check found."""
    show = shower(project.style)
    band = band_text(finding, project.style)
    verdict = f"{WORDS[finding.verdict]}: {band}" if band else ""
    return Explanation(
        f"{_capital(finding.name)} = {found_text(finding, project.style)}",
        f"{_capital(finding.advice.show(show))}.",
        f"Computed from the project's sizes. {verdict}." if verdict else "Computed from the project's sizes.",
        (finding.formula.show(show),),
    )


def of_change(project: Project, change: Change) -> Explanation:
    """The sheet for one row of the changes."""
    show = shower(project.style)
    was = "none" if change.was is None else show(change.was)
    now = "none" if change.now is None else show(change.now)
    title = f"{_capital(change.feature)}: {change.quantity} = {now}"
    signed = show_length(change.by, project.style, signed=True)
    return Explanation(title, f"{_capital(change.why)}.", "Computed by the resizing.", (f"{was} {signed} = {now}",))


def as_html(explanation: Explanation) -> str:
    """The sheet's text for a label."""
    parts = [f"<b>{escape(explanation.title)}</b>"]
    parts += [escape(text) for text in (explanation.meaning, explanation.origin) if text]
    if explanation.figures:
        parts.append("<br>".join(f"• {escape(line)}" for line in explanation.figures))
    return "".join(f"<p style='margin-top:0'>{part}</p>" for part in parts)


def explain_action(field: QWidget, parent: QWidget) -> QAction:
    """The menu's entry that opens a field's sheet."""
    action = QAction("What is this?", parent)
    action.setShortcut(QKeySequence(Qt.Key.Key_F1))
    action.triggered.connect(lambda: explain_widget(field))
    return action


def explain_widget(widget: QWidget | None) -> Sheet | None:
    """Open the sheet of whatever has the focus; None when there is nothing to say about it."""
    if widget is None:
        return None
    # Fields say it themselves, a switch for each of its words; lists know which of their rows is meant.
    asked = widget if hasattr(widget, "explanation") else widget.parentWidget()
    if asked is None or not hasattr(asked, "explanation"):
        return None
    explanation = asked.explanation()
    return Sheet.beside(asked, explanation) if isinstance(explanation, Explanation) else None


class Sheet(QFrame):
    """The small sheet beside a value; any click or Escape puts it away."""

    def __init__(self, parent: QWidget, explanation: Explanation) -> None:
        super().__init__(parent, Qt.WindowType.Popup)
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.setFrameShape(QFrame.Shape.StyledPanel)
        self.setAccessibleName(explanation.title)
        self.explanation_shown = explanation
        inks = ink(self.palette())
        palette = self.palette()
        palette.setColor(self.backgroundRole(), inks.paper)
        palette.setColor(self.foregroundRole(), inks.text)
        self.setPalette(palette)
        label = QLabel(as_html(explanation), self)
        label.setTextFormat(Qt.TextFormat.RichText)
        label.setWordWrap(True)
        label.setFixedWidth(self.fontMetrics().averageCharWidth() * 52)
        label.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        column = QVBoxLayout(self)
        column.addWidget(label)
        self.adjustSize()

    @classmethod
    def beside(cls, widget: QWidget, explanation: Explanation) -> Sheet:
        """A sheet under a widget, kept on its screen."""
        sheet = cls(widget.window(), explanation)
        at = widget.mapToGlobal(QPoint(0, widget.height()))
        area: QRect = widget.screen().availableGeometry()
        if widget.height() > sheet.height():  # a list: beside its top, not under its end
            at = widget.mapToGlobal(QPoint(0, 0)) - QPoint(sheet.width(), 0)
        at.setX(max(area.left(), min(at.x(), area.right() - sheet.width())))
        at.setY(max(area.top(), min(at.y(), area.bottom() - sheet.height())))
        sheet.move(at)
        sheet.show()
        return sheet

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() in (Qt.Key.Key_Escape, Qt.Key.Key_F1, Qt.Key.Key_Return):
            self.close()
        else:
            super().keyPressEvent(event)


def _shown(field: Field, value: object, style: Style) -> str:
    if field.kind is FieldKind.LENGTH and isinstance(value, float):
        return show_length(value, style)
    if isinstance(value, float):
        return f"{value:g} {unit_text(field, style)}".strip().replace("-", MINUS)
    return "" if field.kind in (FieldKind.GROUP, FieldKind.LIST) else str(value).replace("_", " ")


def _origin(project: Project, path: str, value: object) -> str:
    if value is None and ".squeeze." in path:
        insert: Insert = getattr(project, path.partition(".")[0])
        row = MATERIALS[insert.material]
        return f"Empty, so what a rim {row.words} wants counts: {row.origin}."
    name = path.rpartition(".")[2]
    if path.startswith("limits.") and value == getattr(Limits(), name, object()):
        return f"Seatwright's default: {fields_of(Limits)[name].more['origin'].show(shower(project.style))}."
    if value is None:
        return "Nothing is typed: what the housing has, or the usual construction, counts."
    return "Typed, or taken over from the demo or the new part that this project began as."


def _source(project: Project, path: str) -> str:
    """Where a size of an insert comes from, when it was not typed in."""
    owner, _, name = path.partition(".")
    if owner not in ("old_insert", "new_insert") or name not in set(SizeName):
        return ""
    insert: Insert = getattr(project, owner)
    size, show, small = SizeName(name), shower(project.style), spread_shower(project.style)
    source = insert.source(size)
    if source is None:
        if not is_overridden(insert, size):
            return ""
        read = read_sizes(insert)[size]
        half = "" if read.plus_minus is None else f" ± {small(read.plus_minus)}"
        return f"Typed in, over what the readings give: {show(read.value)}{half} ({read.words})."
    known = "" if source.known_to is None else f", known to within {small(source.known_to)}"
    bought = "" if source.plus_minus is None else f"; the next one bought: ± {small(source.plus_minus)}"
    note = f": {source.note}" if source.note else ""
    return f"Taken from {ORIGIN_WORDS[source.origin]}{note}{known}{bought}."


def _that_follow(path: str, result: Result) -> tuple[str, ...]:
    """What the result says of this value: rows of the changes, and formulas of the checks that it decides."""
    show = shower(result.project.style)
    lines = [
        f"{c.feature}, {c.quantity}: {show(c.was)} → {show(c.now)} ({c.why})"
        for c in result.changes
        if c.place.path == path and c.was is not None and c.now is not None
    ]
    lines += [
        f"{f.name} = {found_text(f, result.project.style)}: {f.formula.show(show)}"
        for f in sorted(result.findings, key=lambda f: -f.verdict.rank)
        if f.place.path == path
    ]
    return tuple(lines[:_MOST_FIGURES])


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
