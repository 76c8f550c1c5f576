"""Which boxes come near each other: the same pairs as by holding each against each, however many there are."""

from __future__ import annotations

import numpy as np
import pytest

from core.geometry.lines.outline import Outline
from core.geometry.lines.rays import Rays
from core.geometry.lines.segment_sets import box_pairs, boxes_meeting, closed_segments


def _boxes(rng: np.random.Generator, n: int) -> tuple[np.ndarray, np.ndarray]:
    low = np.round(rng.uniform(0.0, 40.0, (n, 2)), 1)  # many touch, some are equal
    high = low + np.round(rng.exponential(1.0, (n, 2)), 1)  # some are lines, some points
    return low, high


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("n", [0, 1, 7, 290, 310, 900])
@pytest.mark.parametrize("pad", [0.0, 0.5, 3.0])
def test_pairs_are_those_of_holding_each_box_against_each(seed: int, n: int, pad: float) -> None:
    low, high = _boxes(np.random.default_rng(seed), n)
    i, j = box_pairs(low, high, pad) if n else (np.empty(0, int), np.empty(0, int))
    near = (low[:, None] <= high[None] + pad).all(axis=2) & (low[None] <= high[:, None] + pad).all(axis=2)
    wanted = {(a, b) for a, b in zip(*np.nonzero(near), strict=True) if a < b}
    assert {(min(a, b), max(a, b)) for a, b in zip(i.tolist(), j.tolist(), strict=True)} == wanted
    assert len(i) == len(wanted)


@pytest.mark.parametrize("sizes", [(3, 5), (700, 400), (1, 600_000 // 2)])
def test_boxes_of_two_sets_meet_as_by_holding_each_against_each(sizes: tuple[int, int]) -> None:
    rng = np.random.default_rng(1)
    one, other = _boxes(rng, sizes[0]), _boxes(rng, sizes[1])
    i, j = boxes_meeting(one, other)
    near = (one[0][:, None] <= other[1][None]).all(axis=2) & (other[0][None] <= one[1][:, None]).all(axis=2)
    assert set(zip(i.tolist(), j.tolist(), strict=True)) == set(
        zip(*map(np.ndarray.tolist, np.nonzero(near)), strict=True)
    )


@pytest.mark.parametrize("n", [1600, 4000])
def test_the_nearest_of_many_segments_is_that_of_all_of_them(n: int) -> None:
    rng = np.random.default_rng(n)
    turn = np.sort(rng.uniform(0.0, 2.0 * np.pi, n))
    bulge = np.where(rng.random(n) < 0.5, 0.0, rng.normal(0.0, 0.05, n))
    s = Outline(np.column_stack((100.0 * np.cos(turn), 60.0 * np.sin(turn), bulge))).segments
    points = np.concatenate((rng.uniform(-120.0, 120.0, (400, 2)), s.start[:200], s.centre[s.bulge != 0.0][:50]))
    distance, index = s.closest(points)
    every = s.distances(points)
    assert distance == pytest.approx(every.min(axis=1), abs=1e-9)
    assert every[np.arange(len(points)), index] == pytest.approx(every.min(axis=1), abs=1e-9)


@pytest.mark.parametrize("seed", range(5))
@pytest.mark.parametrize("most", [1, 40, 1000])
def test_rays_in_blocks_find_what_all_at_once_find(monkeypatch: pytest.MonkeyPatch, seed: int, most: int) -> None:
    rng = np.random.default_rng(seed)
    outlines = [
        Outline([[x + r, y, 1.0], [x - r, y, 1.0]])
        for x, y, r in zip(*rng.uniform(1.0, 9.0, (2, 30)), rng.uniform(0.2, 2.0, 30), strict=True)
    ]
    s, owner, _ = closed_segments(outlines)
    rays = Rays(s, owner, len(outlines))
    points = np.concatenate((rng.uniform(0.0, 10.0, (200, 2)), np.repeat(rng.uniform(0.0, 10.0, (5, 2)), 3, axis=0)))
    whole = rays.lying_in(points)
    centres, radii = (
        np.array([o.vertices[:, :2].mean(axis=0) for o in outlines]),
        np.array([o.bounds for o in outlines]),
    )
    inside = np.hypot(*(points[:, None] - centres[None]).transpose(2, 0, 1)) < (radii[:, 2] - radii[:, 0]) / 2.0
    assert rays.inside(points).tolist() == inside.tolist()
    monkeypatch.setattr("core.geometry.lines.rays._MOST", most)
    parts = rays.lying_in(points)
    assert [part.tolist() for part in parts] == [part.tolist() for part in whole]
