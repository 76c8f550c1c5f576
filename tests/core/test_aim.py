"""An edit reaches what it was aimed at, whatever a waiting edit has done to the list before it."""

from __future__ import annotations

import re

import numpy as np
import pytest
from msgspec.structs import replace

from core.aim import aimed, counted_again
from core.edits import get_value, remove_item, set_value
from core.files.project.demos import load_demo
from core.words.errors import UserError

LIST = "housing.lid.features"


@pytest.mark.parametrize("seed", range(20))
def test_after_removing_some_the_path_leads_to_the_same_item_or_says_that_it_is_gone(seed: int) -> None:
    rng = np.random.default_rng(seed)
    seen = load_demo("compressor-intake")
    features = get_value(seen, LIST)
    assert isinstance(features, tuple)
    wanted = seen
    for _ in range(int(rng.integers(1, len(features) - 1))):
        left = get_value(wanted, LIST)
        assert isinstance(left, tuple)
        wanted = remove_item(wanted, f"{LIST}[{int(rng.integers(len(left)))}]")
    left = get_value(wanted, LIST)
    assert isinstance(left, tuple)
    for i, feature in enumerate(features):
        path = f"{LIST}[{i}].name"
        if feature in left:
            assert get_value(wanted, aimed(path, seen, wanted)) == feature.name
        else:
            with pytest.raises(UserError, match=re.escape(f"{feature.name} has just been removed")):
                aimed(path, seen, wanted)


def test_an_item_that_was_only_changed_keeps_its_place_even_when_it_is_renamed() -> None:
    seen = load_demo("compressor-intake")
    for field, value in (("name", "renamed"), ("width", 9.0)):
        wanted = set_value(seen, f"{LIST}[1].{field}", value)
        for i in range(3):
            assert aimed(f"{LIST}[{i}].name", seen, wanted) == f"{LIST}[{i}].name"


def test_a_path_without_counts_and_one_on_the_same_project_stay_as_they_are() -> None:
    seen = load_demo("compressor-intake")
    other = replace(seen, name="other")
    assert aimed("new_insert.length", seen, other) == "new_insert.length"
    assert aimed(f"{LIST}[99].name", seen, seen) == f"{LIST}[99].name"


def test_items_without_a_name_are_known_by_value_and_order() -> None:
    seen = (1.5, 2.5, 1.5, 3.5)
    assert [counted_again(seen, i, (1.5, 1.5, 3.5)) for i in range(4)] == [0, None, 1, 2]
    assert counted_again(seen, 0, (2.5, 1.5, 1.5, 3.5)) == 1
    assert counted_again(seen, 2, (1.5, 2.5, 3.5)) is None
    assert counted_again(seen, 1, (1.5, 9.0, 1.5, 3.5)) == 1
    assert counted_again(seen, 1, (1.5, 1.5, 3.5, 9.0)) is None  # one was removed and another added
