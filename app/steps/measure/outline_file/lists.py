"""The lists beside an outline file: its loops, and the places where its strokes did not meet."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, Final

from app.drawing.base.pens import Pencil
from app.steps.measure.outline_file.marks import draw_fault
from app.widgets.explain import Explanation
from app.widgets.row import Line, Row, Text
from app.widgets.rows import Rows
from core.measure.drawing.results import Fault, Loop, Role, Trouble
from core.measure.drawing.words import ROLES, fault_word, loop_size, off_words, recovered_words, tried_words
from core.words.lengths import shower

if TYPE_CHECKING:
    from PySide6.QtCore import QPointF
    from PySide6.QtGui import QPainter
    from PySide6.QtWidgets import QWidget

    from app.steps.measure.outline_file.state import OpenDrawing
    from app.widgets.theme import Ink
    from core.words.lengths import Style

_LOOP_LINES, _FAULT_LINES = 19, 9
_UNNAMED_LAYER = "0"  # where everything lies that was put on no layer
_SIZED = (Fault.STRAY, Fault.DOUBLE)
_PRESSING: Final = (Fault.OPEN_END, Fault.CROSSING, Fault.BRANCH, Fault.GAP, Fault.STRAY, Fault.DOUBLE)
"""Those that need a hand first."""


class LoopList(Rows):
    """All loops, largest first; choosing one lights it up on the board."""

    def __init__(self, state: OpenDrawing, parent: QWidget | None = None) -> None:
        super().__init__("Outlines", parent, most_lines=_LOOP_LINES)
        self._state = state
        self.chosen.connect(lambda loop: state.choose(loop.number if isinstance(loop, Loop) else None))
        state.changed.connect(self.refresh)
        state.chosen_changed.connect(lambda: self.follow(state.chosen))

    def refresh(self) -> None:
        """List the loops of the file."""
        self.put(loop_row(loop, self._state) for loop in self._state.loops)
        self.follow(self._state.chosen)


def loop_row(loop: Loop, state: OpenDrawing) -> Row:
    """Number, role and size in one line; below, what it was recovered as; when open, why it is that, and its layer."""
    number, style, show = loop.number, state.style, state.show_length
    found, role = state.recovered(number), state.role(number)
    size, why = loop_size(loop, found, show), _why(loop, state)
    first = Line(Text(ROLES[role], "quiet" if role is Role.IGNORED else "text"), right=(Text(size),))
    short = recovered_words(found, style, show, is_short=True) or why
    meaning = "The simplest kind of oval that the outline keeps to within the tolerance stands for it."

    def below(joint: str) -> str:
        layer = f"Layer {loop.layer}." if loop.layer not in ("", _UNNAMED_LAYER) else ""
        words = recovered_words(found, style, show)
        return joint.join(part for part in (words, f"{why[:1].upper()}{why[1:]}.", layer) if part)

    return Row(
        key=number,
        value=loop,
        mark=str(number),
        lines=(first,) if role is Role.HOLE else (first, Line(Text(short, "quiet"))),
        opened=lambda: (first, Line(Text(below("\n"), "quiet"))),
        said=lambda: f"Outline {number}, {ROLES[role]}, {size}; {below('; ')}",
        sheet=lambda: Explanation(
            f"Outline {number}: {ROLES[role]}, {size}",
            meaning,
            f"Read from the file; {why}.",
            () if found is None else tried_words(found, style, show),
        ),
    )


def _why(loop: Loop, state: OpenDrawing) -> str:
    """Where its role comes from."""
    if state.is_own(loop.number):
        return "as you said"
    guess = None if state.sorted is None else state.sorted.guessed.get(loop.number)
    if guess is None:
        return "not guessed"
    role, reason = guess
    return f"guessed: {reason}" if role is state.role(loop.number) else "another outline is that now"


class FaultList(Rows):
    """Where strokes did not meet; choosing one goes to its place."""

    def __init__(self, state: OpenDrawing, parent: QWidget | None = None) -> None:
        super().__init__("Faults", parent, most_lines=_FAULT_LINES)
        self._state = state
        self.chosen.connect(lambda trouble: state.point_at(trouble if isinstance(trouble, Trouble) else None))
        state.changed.connect(self.refresh)

    def refresh(self) -> None:
        """List the faults, those that need a hand first."""
        listed = sorted(self._state.troubles, key=lambda t: (_PRESSING.index(t.fault), -t.size))
        self.put(fault_row(i, trouble, self._state.style) for i, trouble in enumerate(listed))


def fault_row(number: int, trouble: Trouble, style: Style) -> Row:
    """The sign of the drawing, what it is, and how large where that says something; when open what was done."""
    show, name, size = shower(style), fault_word(trouble.fault), ""
    if trouble.fault is Fault.GAP:  # mostly far under a sixty-fourth
        size = off_words(trouble.size, style)
    elif trouble.fault in _SIZED:
        size = show(trouble.size)
    words = f"{trouble.words[:1].upper()}{trouble.words[1:]}".rstrip(".")
    if trouble.off > 0.0:
        words += f", by {off_words(trouble.off, style)}"
    below = f"{words}. At x {show(trouble.at[0])}, y {show(trouble.at[1])}."
    first, head = Line(Text(name), right=(Text(size),)), ", ".join(part for part in (name, size) if part)
    meaning = "A place where the file's lines and arcs do not make one clean outline."
    return Row(
        key=(number, trouble.fault, trouble.at),
        value=trouble,
        mark=partial(_draw_sign, fault=trouble.fault),
        lines=(first,),
        opened=lambda: (first, Line(Text(below, "quiet"))),
        said=lambda: f"{head}, {below}",
        sheet=lambda: Explanation(head, meaning, "Read from the file.", (below,)),
    )


def _draw_sign(painter: QPainter, at: QPointF, reach: float, inks: Ink, *, fault: Fault) -> None:
    draw_fault(painter, Pencil(inks, painter.device().devicePixelRatioF()), at, fault, reach)
