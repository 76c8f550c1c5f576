"""What the resizing changed: feature, was, now, by how much, and why; on request also what stayed."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QRect, QSize, Qt
from PySide6.QtGui import QFont, QFontMetrics, QPainter, QPaintEvent
from PySide6.QtWidgets import QCheckBox, QHBoxLayout, QLabel, QSizePolicy, QVBoxLayout, QWidget

from app.session.figures import length_text
from app.session.settings import SHOW_KEPT
from app.widgets import explain
from app.widgets.forms import QuietLabel
from app.widgets.rows import WRAP, RowPainter, Rows, bold, text_height
from app.widgets.theme import Ink, ink
from core.resize.changes import Change

if TYPE_CHECKING:
    from app.session.session import Session
    from app.widgets.explain import Explanation

_NONE = "–"


class _ChangePainter(RowPainter):
    """The quantity and its three numbers in columns; below, why."""

    def __init__(self, parent: ChangeList) -> None:
        super().__init__(parent)
        self._list = parent

    def draw(self, painter: QPainter, rect: QRect, value: object, inks: Ink, *, is_open: bool) -> None:
        assert isinstance(value, Change)
        font = self._list.font()
        metrics = QFontMetrics(font)
        line = metrics.height()
        columns = self._list.columns
        right = rect.right()
        stacked = self._list.is_stacked(rect.width())
        is_open = is_open and not self._list.fits(value, rect.width())
        top = rect.top() + (line if stacked else 0)
        for i, text in reversed(list(enumerate(self._list.numbers(value)))):
            cell = QRect(right - columns[i], top, columns[i], line)
            painter.setFont(bold(font) if i == 2 and value.is_change else font)
            painter.setPen(inks.quiet if i == 0 else inks.text)
            painter.drawText(cell, Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter, text)
            right -= columns[i] + self._list.space
        painter.setFont(font)
        painter.setPen(inks.text if value.is_change else inks.quiet)
        room = QRect(rect.left(), rect.top(), rect.width() if stacked else right - rect.left(), line)
        name = metrics.elidedText(name_of(value), Qt.TextElideMode.ElideRight, room.width())
        painter.drawText(room, Qt.AlignmentFlag.AlignVCenter, name)
        painter.setPen(inks.quiet)
        below = QRect(rect.left(), rect.top() + line, rect.width(), rect.height() - line)
        if stacked:
            below.setTop(below.top() + (line if is_open else 0))
            below.setRight(below.right() if is_open else right)
        why = why_of(value)
        if is_open:
            painter.drawText(below, int(WRAP), why)
        else:
            below.setHeight(line)
            shown = metrics.elidedText(why, Qt.TextElideMode.ElideRight, below.width())
            painter.drawText(below, Qt.AlignmentFlag.AlignVCenter, shown)

    def height(self, font: QFont, width: int, value: object, *, is_open: bool) -> int:
        assert isinstance(value, Change)
        line = QFontMetrics(font).height()
        if not is_open or self._list.fits(value, width):
            return 2 * line
        return line * (2 if self._list.is_stacked(width) else 1) + text_height(font, width, why_of(value))


class ChangeList(Rows):
    """Rows of the changes; choosing one goes to its place."""

    def __init__(self, session: Session, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self._shows_kept = False
        self.columns = [0, 0, 0]
        self._longest = 0
        self._numbers: dict[int, tuple[str, str, str]] = {}
        self.setItemDelegate(_ChangePainter(self))
        self.setAccessibleName("Changes")
        self.chosen.connect(lambda c: session.point_at(c.place if isinstance(c, Change) else None))
        self.asked.connect(self._go_to_field)
        self._is_behind = True
        session.changed.connect(self._fall_behind)
        session.settled.connect(self.catch_up)

    @property
    def space(self) -> int:
        """Between two columns; less where the numbers would else be cut."""
        side = self.fontMetrics().height() // 2
        return min(side, max((self.viewport().width() - 2 * side - sum(self.columns)) // 3, 2))

    def show_kept(self, is_shown: bool) -> None:  # noqa: FBT001 - a check box's signal carries it
        """List what stayed as well."""
        self._shows_kept = is_shown
        self.refresh()

    def changes(self) -> tuple[Change, ...]:
        """What is listed, in its order."""
        self.catch_up()
        values = (self.rows.value(i) for i in range(self.rows.rowCount()))
        return tuple(value for value in values if isinstance(value, Change))

    def _fall_behind(self) -> None:
        self._is_behind = True

    def catch_up(self) -> None:
        """List what has changed since it was listed last."""
        if self._is_behind:
            self.refresh()

    def refresh(self) -> None:
        """List the session's changes."""
        self._is_behind = False
        listed = [c for c in self._session.result.changes if c.is_change or self._shows_kept]
        metrics, heavy = QFontMetrics(self.font()), QFontMetrics(bold(self.font()))
        # By identity: the rows keep the changes alive, and comparing all of a change would cost as much as its texts.
        self._numbers = {id(c): self._written(c) for c in listed}
        texts = list(self._numbers.values()) or [("", "", "")]
        for i, head in enumerate(COLUMNS):
            metrics_of = heavy if i == 2 else metrics
            self.columns[i] = max(metrics.horizontalAdvance(head), *(metrics_of.horizontalAdvance(t[i]) for t in texts))
        self._longest = max((metrics.horizontalAdvance(name_of(c)) for c in listed), default=0)
        self.put([((c.end, c.feature, c.quantity, i), c) for i, c in _counted(listed)])

    def is_stacked(self, width: int) -> bool:
        """Whether the numbers stand below the names, because they would cut them."""
        return self._longest + sum(self.columns) + 3 * self.space > width

    def fits(self, change: Change, width: int) -> bool:
        """Whether the reason is whole in its one line."""
        room = width - (sum(self.columns) + 3 * self.space if self.is_stacked(width) else 0)
        return self.fontMetrics().horizontalAdvance(why_of(change)) <= room

    def numbers(self, change: Change) -> tuple[str, str, str]:
        """Was, now, and by how much of a listed change, without their unit."""
        return self._numbers[id(change)]

    def _written(self, change: Change) -> tuple[str, str, str]:
        style = self._session.project.style
        was, now = (_NONE if v is None else length_text(v, style, with_unit=False) for v in (change.was, change.now))
        by = length_text(change.by, style, with_unit=False, signed=True) if change.is_change else "stays"
        return was, now, by

    def explain(self, value: object) -> Explanation | None:
        return explain.of_change(self._session.project, value) if isinstance(value, Change) else None

    def sentence(self, value: object) -> str:
        assert isinstance(value, Change)
        was, now, by = self.numbers(value)
        return f"{name_of(value)}: was {was}, now {now}, {by}; {why_of(value)}"

    def _go_to_field(self, change: object) -> None:
        if isinstance(change, Change) and change.place.path:
            self._session.ask_for(change.place.path)


COLUMNS = ("was", "now", "by")


class _Head(QWidget):
    """The words over the columns, where the rows have them."""

    def __init__(self, rows: ChangeList, session: Session, parent: QWidget) -> None:
        super().__init__(parent)
        self._rows, self._session = rows, session
        self.unit = ""
        self.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Fixed)
        session.settled.connect(self.update)

    def sizeHint(self) -> QSize:  # noqa: N802 - Qt's name
        return QSize(self.fontMetrics().averageCharWidth() * 20, round(self.fontMetrics().height() * 1.3))

    def paintEvent(self, _event: QPaintEvent) -> None:  # noqa: N802 - Qt's name
        inks = ink(self.palette())
        with QPainter(self) as painter:
            painter.setPen(inks.quiet)
            side = self._rows.fontMetrics().height() // 2
            right = self._rows.viewport().width() - side // 2 - 1
            for i in (2, 1, 0):
                width = self._rows.columns[i]
                cell = QRect(right - width, 0, width, self.height())
                painter.drawText(cell, Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter, COLUMNS[i])
                right -= width + self._rows.space
            if side + self.fontMetrics().horizontalAdvance(self.unit) < right - self._rows.space:
                left = QRect(side, 0, right - side, self.height())
                painter.drawText(left, Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter, self.unit)
            painter.fillRect(0, self.height() - 1, self.width(), 1, inks.neutral)


class ChangesTable(QWidget):
    """Title, toggle, heads and rows."""

    def __init__(self, session: Session, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self.list = ChangeList(session, self)
        self.kept = QCheckBox("What stayed", self)
        title = QLabel("Changes", self)
        title.setFont(bold(title.font()))
        self._count = QuietLabel("", self)
        self._none = QuietLabel("Nothing has to change: old and new insert want the same housing.", self, wrap=True)
        head = QHBoxLayout()
        side = self.fontMetrics().height() // 2
        head.setContentsMargins(side, side, side, 0)
        head.addWidget(title)
        head.addSpacing(side)
        head.addWidget(self._count)
        head.addStretch(1)
        head.addWidget(self.kept)
        self._none.setAlignment(Qt.AlignmentFlag.AlignTop)
        self._none.setContentsMargins(side, side, side, side)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addLayout(head)
        self._head = _Head(self.list, session, self)
        column.addWidget(self._head)
        column.addWidget(self._none, 1)
        column.addWidget(self.list, 1)
        self.kept.toggled.connect(self._toggled)
        self.kept.setChecked(SHOW_KEPT.get())
        session.settled.connect(self._refresh)
        if session.is_judged:
            self._refresh()

    def _toggled(self, is_shown: bool) -> None:  # noqa: FBT001 - the check box's signal carries it
        SHOW_KEPT.put(is_shown)
        self.list.show_kept(is_shown)
        self._refresh()

    def _refresh(self) -> None:
        changed = sum(c.is_change for c in self._session.result.changes)
        unit = "mm" if str(self._session.project.style) == "mm" else "inches"
        self._count.setText(str(changed) if changed else "")
        self._head.unit = f"in {unit}"
        has_rows = bool(self.list.changes())
        self._none.setVisible(not has_rows)
        for part in (self._head, self.list):
            part.setVisible(has_rows)


def name_of(change: Change) -> str:
    """``base: seat outer, length``."""
    quantity = "" if change.quantity == "size" else f" {change.quantity}"
    return f"{change.end}: {change.feature}{quantity}" if change.end is not None else f"{change.feature}{quantity}"


def why_of(change: Change) -> str:
    """The reason, as a sentence's beginning."""
    return change.why[:1].upper() + change.why[1:]


def _counted(changes: list[Change]) -> list[tuple[int, Change]]:
    """Rows with a number that tells two of one name apart."""
    seen: dict[tuple[object, ...], int] = {}
    counted: list[tuple[int, Change]] = []
    for change in changes:
        key = (change.end, change.feature, change.quantity)
        seen[key] = seen.get(key, -1) + 1
        counted.append((seen[key], change))
    return counted
