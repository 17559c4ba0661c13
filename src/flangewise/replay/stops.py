"""Where the part really meets the stop: rays across from every corner, by hand, no polygons."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from flangewise.replay.bodies import Corners
from flangewise.replay.fold import Array, Rings


@dataclass(frozen=True)
class StopContact:
    """The first contact of the part with the stop as the part is pushed back.

    `gap_mm` is how far it must still be pushed (negative: it stands in the stop), `labels` the flats (counted from the
    back) and zones (-1 - zone) that touch. A gap of infinity is a stop that nothing of the part can reach.
    """

    gap_mm: float
    labels: frozenset[int]


# Points this close to the first contact touch too.
TOUCH_MM = 0.02
# What of the part stands further than this behind the stop's face is not in front of it at all.
DEEPEST_MM = 15.0


def contact(ring: Rings, finger_mm: Corners, *, x_mm: float, r_mm: float) -> StopContact:
    """The contact of the part (one moment) with a finger whose face's lower edge stands x behind, r above the die."""
    finger = np.array(finger_mm) + np.array([-x_mm, r_mm])
    part = ring.points_mm[0]
    found = _rays(part, finger, ring.labels) + _rays_back(finger, part, ring.labels)
    found = [(gap, label) for gap, label in found if gap > -DEEPEST_MM]
    if not found:
        return StopContact(math.inf, frozenset())
    least = min(gap for gap, _ in found)
    return StopContact(least, frozenset(label for gap, label in found if gap <= least + TOUCH_MM))


def _rays(part: Array, finger: Array, labels: tuple[int, ...]) -> list[tuple[float, int]]:
    """From each corner of the part straight back onto the edges of the finger."""
    found = []
    for (across, up), label in zip(part, labels, strict=True):
        hits = [hit for hit in _across_at(finger, up) if hit - across <= DEEPEST_MM]
        if hits:
            found.append((float(across - max(hits)), label))
    return found


def _rays_back(finger: Array, part: Array, labels: tuple[int, ...]) -> list[tuple[float, int]]:
    """From each corner of the finger straight forward onto the edges of the part."""
    found = []
    following = np.roll(part, -1, axis=0)
    for across, up in finger:
        for index, (begin, end) in enumerate(zip(part, following, strict=True)):
            hit = _cut(begin, end, up)
            if hit is not None and hit - across >= -DEEPEST_MM:
                other = labels[(index + 1) % len(labels)]
                found.append((float(hit - across), min(labels[index], other) if labels[index] != other else other))
    return found


def _across_at(outline: Array, up: float) -> list[float]:
    cuts = (_cut(begin, end, up) for begin, end in zip(outline, np.roll(outline, -1, axis=0), strict=True))
    return [cut for cut in cuts if cut is not None]


def _cut(begin: Array, end: Array, up: float) -> float | None:
    """Where an edge crosses a height; its nearer end where it lies along it."""
    low, high = min(begin[1], end[1]), max(begin[1], end[1])
    if not low - 1e-9 <= up <= high + 1e-9:
        return None
    if high - low < 1e-12:
        return float(max(begin[0], end[0]))
    share = (up - begin[1]) / (end[1] - begin[1])
    return float(begin[0] + share * (end[0] - begin[0]))
