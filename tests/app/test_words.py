"""What is said of a field is whole sentences, and each field of the project is spoken of."""

from __future__ import annotations

import re

import pytest

from app.words import WORDS


@pytest.mark.parametrize("key", WORDS)
def test_a_meaning_is_whole_sentences(key: str) -> None:
    meaning = WORDS[key].meaning
    assert meaning.endswith(".")
    for sentence in re.split(r"(?<=[.]) ", meaning):
        assert len(sentence.split()) >= 4
    assert meaning[0].isupper()
