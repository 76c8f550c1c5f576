"""The checks, always in sight: the overall verdict, then every conflict and finding, the worst first."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from PySide6.QtCore import QRect, QRectF, QSize, Qt
from PySide6.QtGui import QFont, QFontMetrics, QPainter, QPaintEvent, QShowEvent
from PySide6.QtWidgets import QSizePolicy, QVBoxLayout, QWidget

from app.session.figures import band_text, found_text
from app.session.gathered import alike, gathered
from app.widgets import explain
from app.widgets.rows import WRAP, RowPainter, Rows, bold, text_height
from app.widgets.theme import WORDS, Ink, ink, paint_mark
from app.widgets.veil import PENDING, Veil
from core.resize.resize import Conflict
from core.words.lengths import Style, shower
from core.words.verdicts import Finding, Verdict

if TYPE_CHECKING:
    from collections.abc import Sequence

    from app.session.session import Session
    from app.widgets.explain import Explanation
    from core.evaluate import Result
    from core.words.verdicts import Place

Answer = Conflict | Finding


class Overall(QWidget):
    """The overall verdict as shape, word and colour, and how many conflicts and findings stand behind it."""

    def __init__(self, session: Session, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Fixed)
        session.changed.connect(self._refresh)
        session.judged.connect(self._refresh)
        self._refresh()

    @property
    def verdict(self) -> Verdict:
        """The verdict of the project that is shown."""
        return self._session.result.overall

    @property
    def counts(self) -> str:
        """How many conflicts, and how many checks of each verdict."""
        return counts_text(self._session.result)

    def _refresh(self) -> None:
        known = self._session.is_judged
        self.setAccessibleName(f"Overall verdict: {WORDS[self.verdict]}" if known else PENDING)
        self.setAccessibleDescription(self.counts if known else "")
        self.update()

    def sizeHint(self) -> QSize:  # noqa: N802 - Qt's name
        return QSize(self.fontMetrics().averageCharWidth() * 30, round(self.fontMetrics().height() * 3.6))

    def paintEvent(self, _event: QPaintEvent) -> None:  # noqa: N802 - Qt's name
        inks = ink(self.palette())
        line = self.fontMetrics().height()
        with QPainter(self) as painter:
            side = line * 1.9
            top = (self.height() - side) / 2.0
            if not self._session.is_judged:
                painter.setPen(inks.quiet)
                painter.drawText(self.rect().adjusted(line // 2, 0, 0, 0), Qt.AlignmentFlag.AlignVCenter, PENDING)
                return
            paint_mark(painter, QRectF(line * 0.5, top, side, side), self.verdict, inks)
            x = line * 0.5 + side + line * 0.7
            font = bold(self.font())
            font.setPointSizeF(self.font().pointSizeF() * 1.7)
            painter.setFont(font)
            painter.setPen(inks.of(self.verdict))
            words = QRectF(x, top - line * 0.35, self.width() - x, line * 1.7)
            painter.drawText(words, Qt.AlignmentFlag.AlignVCenter, WORDS[self.verdict])
            painter.setFont(self.font())
            painter.setPen(inks.quiet)
            counts = QRectF(x, words.bottom(), self.width() - x, line * 1.2)
            text = self.fontMetrics().elidedText(self.counts, Qt.TextElideMode.ElideRight, int(counts.width()))
            painter.drawText(counts, Qt.AlignmentFlag.AlignVCenter, text)


class _AnswerPainter(RowPainter):
    """Mark, name and value; limit and margin below; what to do and the formula when it is open."""

    def __init__(self, parent: AnswerList) -> None:
        super().__init__(parent)
        self._list = parent

    def draw(self, painter: QPainter, rect: QRect, value: object, inks: Ink, *, is_open: bool) -> None:
        assert isinstance(value, Conflict | Finding)
        style = self._list.style_shown
        font = self._list.font()
        line = QFontMetrics(font).height()
        verdict = verdict_of(value)
        mark = QRectF(rect.left(), rect.top() + line * 0.06, line * 0.88, line * 0.88)
        paint_mark(painter, mark, verdict, inks)
        left = rect.left() + round(line * 1.35)
        text = QRect(left, rect.top(), rect.right() - left, line)
        number = "" if isinstance(value, Conflict) else found_text(value, style)
        painter.setFont(bold(font))
        painter.setPen(inks.text)
        painter.drawText(text, Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter, number)
        painter.setFont(font)
        room = text.width() - _wide(font, number)
        if is_open:
            name = self._whole_name(value)
            text.setHeight(text_height(font, room, name))
            painter.drawText(QRect(left, text.top(), room, text.height()), int(WRAP), name)
        else:
            painter.drawText(text, Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter, self._name(value, room))
        if self._list.is_brief and not is_open:
            return
        text = QRect(left, text.bottom() + 1, text.width(), line)
        painter.setPen(inks.of(verdict))
        word, band = _word(value), second_line(value, style)
        painter.drawText(text, Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter, word)
        after = text.adjusted(_wide_word(font, word), 0, 0, 0)
        painter.setPen(inks.quiet)
        if is_open:
            text.setHeight(max(line, text_height(font, after.width(), band)))
            after.setHeight(text.height())
            painter.drawText(after, int(WRAP), band)
            body = QRect(left, text.bottom() + line // 4, rect.right() - left, rect.bottom() - text.bottom())
            colors = (inks.text, inks.quiet, inks.text)
            for paragraph, color in zip(self._list.paragraphs(value), colors, strict=True):
                painter.setPen(color)
                painter.drawText(body, int(WRAP), paragraph)
                body.setTop(body.top() + text_height(font, body.width(), paragraph) + (line // 4 if paragraph else 0))
        else:
            band = QFontMetrics(font).elidedText(band, Qt.TextElideMode.ElideRight, after.width())
            painter.drawText(after, Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter, band)

    def _whole_name(self, value: Answer) -> str:
        others = self._list.others(value)
        return name_of(value) + (f" and {len(others)} more" if others else "")

    def _name(self, value: Answer, room: int) -> str:
        """The name in one line, cut where it does not fit; how many more there are stays."""
        metrics = QFontMetrics(self._list.font())
        words, whole = name_of(value), self._whole_name(value)
        if isinstance(value, Conflict) and self._list.is_brief:
            words = whole = f"{words}: {second_line(value, self._list.style_shown)}"
        if metrics.horizontalAdvance(whole) <= room:
            return whole
        others = self._list.others(value)
        more = f" +{len(others)}" if others else ""
        return metrics.elidedText(words, Qt.TextElideMode.ElideRight, room - metrics.horizontalAdvance(more)) + more

    def height(self, font: QFont, width: int, value: object, *, is_open: bool) -> int:
        assert isinstance(value, Conflict | Finding)
        line = QFontMetrics(font).height()
        tall = line if self._list.is_brief and not is_open else 2 * line
        if is_open:
            style = self._list.style_shown
            inner = width - round(line * 1.35) - 1  # as it is drawn: a pixel more can be a line less
            number = "" if isinstance(value, Conflict) else found_text(value, style)
            tall = text_height(font, inner - _wide(font, number), self._whole_name(value))
            after = inner - _wide_word(font, _word(value))
            tall += max(line, text_height(font, after, second_line(value, style)))
            for paragraph in self._list.paragraphs(value):
                tall += text_height(font, inner, paragraph) + (line // 4 if paragraph else 0)
            tall += line // 4
        return tall


def _wide(font: QFont, number: str) -> int:
    """The room that a value takes from its row's name."""
    return QFontMetrics(bold(font)).horizontalAdvance(number) + (QFontMetrics(font).height() // 2 if number else 0)


def _word(value: Answer) -> str:
    return "Conflict" if isinstance(value, Conflict) else WORDS[verdict_of(value)]


def _wide_word(font: QFont, word: str) -> int:
    return QFontMetrics(font).horizontalAdvance(f"{word}  ")


class AnswerList(Rows):
    """Conflicts and findings of the session's result as rows; choosing one goes to its place."""

    def __init__(
        self, session: Session, parent: QWidget | None = None, *, worst_first: bool = True, is_brief: bool = False
    ) -> None:
        """Answers of ``session``, the worst first or in the order of the checks; brief ones have one line each."""
        super().__init__(parent)
        self._session, self._worst_first, self.is_brief = session, worst_first, is_brief
        self._alike: dict[int, Sequence[Finding]] = {}  # by the identity of the finding that has the row
        self.setItemDelegate(_AnswerPainter(self))
        self.setAccessibleName("Conflicts and checks")
        self.chosen.connect(lambda answer: session.point_at(None if answer is None else place_of(answer)))
        self.asked.connect(self._go_to_field)
        self._is_behind = True
        self._veil = Veil(self.viewport(), session)
        session.changed.connect(self._fall_behind)
        session.judged.connect(self._judged)
        session.remedied.connect(self._remedied)
        if session.is_judged:
            self._catch_up()

    @property
    def style_shown(self) -> Style:
        """How lengths are shown."""
        return self._session.project.style

    def paragraphs(self, answer: Answer) -> tuple[str, str, str]:
        """What an open row says: what to do, the formula, and where else it is the same."""
        names = ", ".join(other.name for other in self.others(answer))
        where = f"The same: {names}." if names else ""
        return advice_of(answer, self.style_shown), formula_of(answer, self.style_shown), where

    def answers(self) -> tuple[Answer, ...]:
        """What is listed, in its order."""
        self._catch_up()
        values = (self.rows.value(i) for i in range(self.rows.rowCount()))
        return tuple(value for value in values if isinstance(value, Conflict | Finding))

    def sentence(self, value: object) -> str:
        assert isinstance(value, Conflict | Finding)
        return as_sentence(value, self.style_shown, self.others(value))

    def explain(self, value: object) -> Explanation | None:
        project = self._session.project
        if isinstance(value, Finding):
            return explain.of_finding(project, value)
        if isinstance(value, Conflict):
            what = value.what.show(shower(project.style))
            return explain.Explanation(f"Conflict: {_on_piece(value)}", what, "Found on the metal, before and after.")
        return None

    def showEvent(self, event: QShowEvent) -> None:  # noqa: N802 - Qt's name
        self._catch_up()
        super().showEvent(event)

    def _fall_behind(self) -> None:
        self._is_behind = True

    def _judged(self) -> None:
        if self.isVisible():
            self._catch_up()

    def _remedied(self) -> None:
        self._fall_behind()
        self._judged()

    def _catch_up(self) -> None:
        """List what has been found while the list was out of sight."""
        if self._is_behind:
            self._is_behind = False
            self._refresh()

    def _refresh(self) -> None:
        result = self._session.result
        conflicts = gathered(result.conflicts)
        if self._worst_first:
            groups = alike(sorted(result.findings, key=_urgency), self.style_shown)
        else:
            groups = tuple((finding,) for finding in result.findings)
        answers: tuple[Answer, ...] = (*conflicts, *(group[0] for group in groups))
        seen: Counter[tuple[str, ...]] = Counter()
        keys = []
        for answer in answers:  # two of one name, as a knife edge's two ends, are told apart by their order
            key = _key(answer)
            keys.append((*key, str(seen[key])))
            seen[key] += 1
        self._alike = {id(group[0]): group[1:] for group in groups}
        self.put(list(zip(keys, answers, strict=True)))

    def others(self, answer: Answer) -> Sequence[Finding]:
        """Findings that read as one does, and have no rows of their own."""
        return self._alike.get(id(answer), ())

    def _go_to_field(self, answer: object) -> None:
        assert isinstance(answer, Conflict | Finding)
        if place_of(answer).path:
            self._session.ask_for(place_of(answer).path)


class VerdictPanel(QWidget):
    """Overall verdict and answers, one below the other."""

    def __init__(self, session: Session, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.overall = Overall(session, self)
        self.answers = AnswerList(session, self)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addWidget(self.overall)
        column.addWidget(self.answers, 1)


def counts_text(result: Result) -> str:
    """``2 conflicts; 1 no-go, 3 marginal, 19 go``; what stands in one feature's way is one conflict."""
    counts = Counter(finding.verdict for finding in result.findings)
    of_checks = ", ".join(f"{counts[v]} {v}" for v in sorted(Verdict, key=lambda v: -v.rank) if counts[v])
    n = len(gathered(result.conflicts))
    return f"{n} conflict{'s' if n > 1 else ''}; {of_checks}" if n else of_checks


def verdict_of(answer: Answer) -> Verdict:
    """A conflict is a no-go."""
    return Verdict.NO_GO if isinstance(answer, Conflict) else answer.verdict


def name_of(answer: Answer) -> str:
    """What the answer is about, with a capital."""
    name = answer.name if isinstance(answer, Finding) else _on_piece(answer)
    return name[:1].upper() + name[1:]


def _on_piece(conflict: Conflict) -> str:
    return conflict.feature if conflict.place.end is None else f"{conflict.feature}, {conflict.place.end}"


def place_of(answer: Answer) -> Place:
    """Where it is."""
    return answer.place


def second_line(answer: Answer, style: Style) -> str:
    """Limit and margin; of a conflict what is in the way."""
    return answer.what.show(shower(style)) if isinstance(answer, Conflict) else band_text(answer, style)


def advice_of(answer: Answer, style: Style) -> str:
    """What to do, as a sentence."""
    text = answer.what if isinstance(answer, Conflict) else answer.advice
    shown = text.show(shower(style))
    return shown[:1].upper() + shown[1:] + ("" if shown.endswith(".") else ".")


def formula_of(answer: Answer, style: Style) -> str:
    """Where the value comes from; a conflict has none."""
    return "" if isinstance(answer, Conflict) else answer.formula.show(shower(style))


def as_sentence(answer: Answer, style: Style, others: Sequence[Finding] = ()) -> str:
    """The whole answer as one text, to be read aloud or copied, with the others that read the same."""
    if isinstance(answer, Conflict):
        return f"Conflict, {_on_piece(answer)}: {answer.what.show(shower(style))}"
    band = band_text(answer, style)
    names = ", ".join(finding.name for finding in (answer, *others))
    return f"{WORDS[answer.verdict]}, {names}: {found_text(answer, style)}" + (f" ({band})" if band else "")


def _urgency(finding: Finding) -> tuple[int, float]:
    """The worst verdicts first, then the least margin as a part of its limit."""
    bounds: Sequence[float] = [abs(b) for b in (finding.low, finding.high) if b]
    return (-finding.verdict.rank, finding.margin / min(bounds) if bounds else finding.margin)


def _key(answer: Answer) -> tuple[str, ...]:
    if isinstance(answer, Conflict):
        return ("conflict", str(answer.place.end), answer.feature)
    return (answer.check, answer.name, answer.place.feature)
