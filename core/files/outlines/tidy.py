"""Outlines without the short segments that only their meeting makes: receivers of a file stumble over those.

Where two outlines meet just past a joint, a sliver of line or arc is left. It is drawn into one of its neighbours, or
these are drawn on until they meet, or both come to its middle: whichever moves least. What the design itself has as a
short segment stays, and so does what nothing takes away without moving more than `MOST_MOVED_MM`.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from core.geometry.lines.outline import Outline, bulge_through

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from core.geometry.lines.outline import FloatArray, Segments

SHORTEST_MM: Final = 0.1
"""Shorter segments make receivers of a file stumble."""

MOST_MOVED_MM: Final = 0.05
"""How far an outline may be moved for that: half a short segment, and less than a cutter keeps to."""

_SAME_MM: Final = 1e-5
_SAMPLES: Final = 13
_BENT: Final = 1.5  # neighbours that come to a middle leave their own lines: that counts for more than it moves


def short_ones(outlines: Iterable[Outline]) -> FloatArray:
    """(k, 2) the middles of all segments under 0.1 mm that a design's own outlines have [mm]."""
    middles = [np.zeros((0, 2))]
    for outline in outlines:
        s = outline.segments
        short = np.flatnonzero(s.length < SHORTEST_MM)
        middles.append(s.points(short, s.length[short] / 2.0))
    return np.concatenate(middles)


def tidied(outline: Outline, meant: FloatArray) -> tuple[Outline, float]:
    """The outline without segments under 0.1 mm that aren't meant, and how far that moved it [mm].

    Args:
        outline: closed.
        meant: (k, 2) the middles of short segments that stay [mm], see `short_ones`.
    """
    first, moved, kept = outline, 0.0, set[float]()
    while len(outline) > 2:
        s = outline.segments
        short = [k for k in np.argsort(s.length).tolist() if s.length[k] < SHORTEST_MM and s.length[k] not in kept]
        if not short:
            break
        k = short[0]
        middle = s.points(np.array([k]), s.length[[k]] / 2.0)[0]
        is_meant = len(meant) > 0 and float(np.hypot(*(meant - middle).T).min()) < _SAME_MM
        choices = [] if is_meant else list(_choices(outline, k))
        allowed = [choice for choice in choices if choice[1] <= MOST_MOVED_MM]
        best, off, _ = min(allowed, key=lambda choice: choice[1] * choice[2], default=(outline, np.inf, 1.0))
        if moved and off <= MOST_MOVED_MM:  # what has moved already may have done so at this place
            off = max(moved, off, _strays(best, range(len(best)), first))
        if off <= MOST_MOVED_MM:
            outline, moved = best, max(moved, off)
        else:
            kept.add(float(s.length[k]))
    return outline, moved


def _choices(outline: Outline, short: int) -> Iterator[tuple[Outline, float, float]]:
    """The outline without one of its segments, in each way there is, how far that moves it, and what that counts."""
    count = len(outline)
    before, after = (short - 1) % count, (short + 1) % count
    if count > 3:
        yield *_drawn_into(outline, short, before), 1.0
        yield *_drawn_into(outline, short, after), 1.0
    s = outline.segments
    for meeting in _meetings(s, before, after):
        yield *_met(outline, short, meeting), 1.0
    yield *_met(outline, short, (s.start[short] + s.end[short]) / 2.0), _BENT


def _meetings(s: Segments, one: int, other: int) -> Iterator[FloatArray]:
    """Where two segments meet when they are drawn on past their ends."""
    if s.bulge[one] == 0.0 and s.bulge[other] == 0.0:
        d, e, off = s.end[one] - s.start[one], s.end[other] - s.start[other], s.start[other] - s.start[one]
        cross = d[0] * e[1] - d[1] * e[0]
        if abs(cross) > 1e-9 * np.hypot(*d) * np.hypot(*e):
            yield s.start[one] + d * (off[0] * e[1] - off[1] * e[0]) / cross
        return
    if s.bulge[one] == 0.0:
        one, other = other, one
    centre, radius = s.centre[one], s.radius[one]
    if s.bulge[other] == 0.0:
        along = (s.end[other] - s.start[other]) / s.length[other]
        foot = s.start[other] + along * float((centre - s.start[other]) @ along)
        across, away = along, float(np.hypot(*(foot - centre)))
    else:
        between = s.centre[other] - centre
        apart = float(np.hypot(*between))
        if apart < _SAME_MM:
            return
        away = (apart + (radius - s.radius[other]) * (radius + s.radius[other]) / apart) / 2.0
        foot = centre + between / apart * away
        across = np.array([-between[1], between[0]]) / apart
    square = (radius - away) * (radius + away)
    if square >= 0.0:
        yield foot + across * square**0.5
        yield foot - across * square**0.5


def _met(outline: Outline, short: int, at: FloatArray) -> tuple[Outline, float]:
    """The outline with the ends of a short segment's neighbours brought to one place, and how far that moves it."""
    s, count = outline.segments, len(outline)
    before, after = (short - 1) % count, (short + 1) % count
    is_far = float(np.hypot(*(s.points(np.array([short]), s.length[[short]] / 2.0)[0] - at))) > SHORTEST_MM
    is_flat = count == 3 and not s.bulge[[before, after]].any()  # two straight sides hold no area
    if is_far or is_flat:
        return outline, np.inf
    vertices = outline.vertices.copy()
    vertices[after, :2] = at
    for k, start, end in ((before, s.start[before], at), (after, at, s.end[after])):
        on_circle = abs(float(np.hypot(*(at - s.centre[k]))) - s.radius[k]) < 1e-9
        if s.bulge[k] != 0.0 and on_circle:  # drawn on along its own circle
            place, far, middle = ((float(p[0]), float(p[1])) for p in (start, end, s.centre[k]))
            vertices[k, 2] = bulge_through(place, far, middle, ccw=bool(s.bulge[k] > 0.0))
    new = Outline(np.delete(vertices, short, axis=0))
    changed = [(k - (k > short)) % (count - 1) for k in (before, after)]
    return new, _apart(new, changed, outline, [before, short, after])


def _apart(new: Outline, changed: Sequence[int], old: Outline, parts: Sequence[int]) -> float:
    """How far some segments of two outlines are from the other outline at most, either way [mm]."""
    return max(_strays(new, changed, old), _strays(old, parts, new))


def _strays(outline: Outline, numbers: Sequence[int], other: Outline) -> float:
    """How far some segments of an outline are from another outline at most [mm]."""
    s, worst = outline.segments, 0.0
    for k in numbers:
        # Densely at both ends, where something has changed: over the whole it would fall between two samples.
        near = np.linspace(0.0, min(2.0 * SHORTEST_MM, s.length[k]), _SAMPLES)
        along = np.concatenate((np.linspace(0.0, s.length[k], _SAMPLES), near, s.length[k] - near))
        points = s.points(np.full(len(along), k), along)
        worst = max(worst, float(other.segments.nearest(points)[0].max()))
    return worst


def _drawn_into(outline: Outline, short: int, other: int) -> tuple[Outline, float]:
    """The outline with a segment made part of one of its neighbours, and how far that moves it [mm]."""
    s, v = outline.segments, outline.vertices
    count = len(s)
    first, gone = (other, short) if (other + 1) % count == short else (short, other)
    start, end = s.start[first], s.end[gone]
    # Through both ends and the middle of the long one: what was an arc of that circle stays one.
    middle = s.points(np.array([other]), s.length[[other]] / 2.0)[0]
    bulge = 0.0 if s.bulge[other] == 0.0 else _bulge_by(start, middle, end)
    vertices = v.copy()
    vertices[first, 2] = bulge
    new = Outline(np.delete(vertices, gone, axis=0))
    # Densely where the short one was: over the whole it would fall between two samples.
    there = new.segments.length[first - (gone < first)]
    even, near = np.linspace(0.0, 1.0, _SAMPLES) * there, np.linspace(0.0, 2.0, 2 * _SAMPLES) * s.length[short]
    along = np.concatenate((even, np.clip(near if first == short else there - near, 0.0, there)))
    index = np.full(len(along), first - (gone < first))
    ahead = outline.segments.nearest(new.segments.points(index, along))[0].max()
    old = s.points(np.full(_SAMPLES, short), np.linspace(0.0, 1.0, _SAMPLES) * s.length[short])
    back = new.segments.nearest(old)[0].max()
    return new, float(max(ahead, back))


def _bulge_by(start: FloatArray, middle: FloatArray, end: FloatArray) -> float:
    """Bulge of the arc from ``start`` through ``middle`` to ``end``: half the sweep is the turn between its chords."""
    a, b = middle - start, end - middle
    turn = np.arctan2(a[0] * b[1] - a[1] * b[0], a @ b)
    return float(np.tan(turn / 2.0))
