"""Where the part really meets the stop: rays across from every corner, by hand, no polygons."""

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
    part, labels = ring.points_mm[0], np.array(ring.labels)
    # From each corner of the part straight back onto the edges of the finger: the foremost that is not far before it.
    hits = _cuts(finger, part[:, 1])
    foremost = np.where(hits - part[:, 0] <= DEEPEST_MM, hits, -np.inf).max(axis=0)
    # From each corner of the finger straight forward onto the edges of the part.
    forward = _cuts(part, finger[:, 1]) - finger[:, 0]
    of_edges = np.minimum(labels, np.roll(labels, -1))
    gaps = np.concatenate([part[:, 0] - foremost, forward.min(axis=1, where=forward > -DEEPEST_MM, initial=np.inf)])
    touching = np.concatenate([labels, of_edges])
    gaps[gaps <= -DEEPEST_MM] = np.inf
    least = float(gaps.min())
    if math.isinf(least):
        return StopContact(math.inf, frozenset())
    return StopContact(least, frozenset(touching[gaps <= least + TOUCH_MM].tolist()))


def _cuts(outline: Array, heights: Array) -> Array:
    """Where each edge of an outline crosses each height (edges, heights), NaN where not; the nearer end if along it."""
    begin, end = outline[:, :, None], np.roll(outline, -1, axis=0)[:, :, None]
    rise = end[:, 1] - begin[:, 1]
    level = np.abs(rise) < 1e-12
    shares = (heights - begin[:, 1]) / np.where(level, 1.0, rise)
    across = np.where(level, np.maximum(begin[:, 0], end[:, 0]), begin[:, 0] + shares * (end[:, 0] - begin[:, 0]))
    low, high = np.minimum(begin[:, 1], end[:, 1]), np.maximum(begin[:, 1], end[:, 1])
    crossed: Array = np.where((low - 1e-9 <= heights) & (heights <= high + 1e-9), across, np.nan)
    return crossed
