"""What is said of a field is whole sentences, and each field of the project is spoken of."""

from __future__ import annotations

import re

import pytest

from app.session.words import WORDS
from core.measure.candidates.table import LINES
from core.measure.scan.words import ALLOWANCES, FIGURES

_FIGURES = (*FIGURES.values(), *ALLOWANCES.values())


@pytest.mark.parametrize("key", WORDS)
def test_a_meaning_is_whole_sentences(key: str) -> None:
    meaning = WORDS[key].meaning
    assert meaning.endswith(".")
    for sentence in re.split(r"(?<=[.]) ", meaning):
        assert len(sentence.split()) >= 4
    assert meaning[0].isupper()
    assert _is_said(meaning)


@pytest.mark.parametrize("said", [*(line.meaning for line in LINES), *(said for _, said in _FIGURES)])
def test_what_the_measuring_pages_say_of_a_figure_is_whole_sentences(said: str) -> None:
    assert said.endswith(".")
    assert _is_said(said)


def _is_said(text: str) -> bool:
    """Whether a text does not begin as a mere name or question does."""
    return not text.startswith(("The ", "What the ", "How ", "Where ", "Whether ", "Of ", "Over ", "Overall"))
