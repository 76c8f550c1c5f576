"""What is said of a field is whole sentences, and each field that is typed in is spoken of."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import pytest

from core.measure.candidates.table import LINES
from core.measure.scan.words import ALLOWANCES, FIGURES
from core.part.fields import fields_of
from core.part.project import Project

if TYPE_CHECKING:
    from collections.abc import Iterator

    from core.part.fields import Field
    from core.part.schema import Value

_FIGURES = (*FIGURES.values(), *ALLOWANCES.values())


def _said(group: type[Value], seen: set[type[Value]]) -> Iterator[tuple[str, Field]]:
    """The fields of a group and of all groups in it."""
    seen.add(group)
    for name, field in fields_of(group).items():
        yield f"{group.__name__}.{name}", field
        for inner in (field.item or field).groups:
            if inner not in seen:
                yield from _said(inner, seen)


MEANINGS = {
    key: said
    for name, field in _said(Project, set())
    for key, said in ((name, field.meaning), *field.more.get("meanings", {}).items())
    if said
}


@pytest.mark.parametrize("key", MEANINGS)
def test_a_meaning_is_whole_sentences(key: str) -> None:
    meaning = MEANINGS[key]
    assert meaning.endswith(".")
    for sentence in re.split(r"(?<=[.]) ", meaning):
        assert len(sentence.split()) >= 4
    assert meaning[0].isupper()
    assert _is_said(meaning)


def test_no_fewer_fields_are_spoken_of_than_are_typed_in() -> None:
    assert len(MEANINGS) > 100


@pytest.mark.parametrize("said", [*(line.meaning for line in LINES), *(said for _, said in _FIGURES)])
def test_what_the_measuring_pages_say_of_a_figure_is_whole_sentences(said: str) -> None:
    assert said.endswith(".")
    assert _is_said(said)


def _is_said(text: str) -> bool:
    """Whether a text does not begin as a mere name or question does."""
    return not text.startswith(("The ", "What the ", "How ", "Where ", "Whether ", "Of ", "Over ", "Overall"))
