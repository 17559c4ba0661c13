"""What can be seen of a section drawn out along its length, looked at along the space diagonal.

Coordinates: (across, up) in the plane of the section and a depth behind its front end. The eye looks from the right,
from above and from the front alike, so a line of sight goes one mm right and one up for every mm it comes forward.
A point is hidden exactly if that line, drawn in the plane of the section, runs through the section before it comes
out at the front end. No depth buffer is needed. Derived here; no source.
"""

import itertools
import math
from collections.abc import Iterator, Sequence
from functools import lru_cache
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from flangewise.drawing.items import Point, between, moved

Outline: TypeAlias = tuple[Point, ...]
Points: TypeAlias = NDArray[np.float64]

SIGHT = (1.0, 1.0)
TOUCH_MM = 1e-6


def entry_mm(section: Outline, point: Point, *, within_mm: float) -> float:
    """How far behind the front a point may lie and still be seen; within_mm if it is seen all the way.

    A point whose line of sight goes into the section at once is seen nowhere: 0.
    """
    # How far along the line of sight it meets an edge.
    shares = _meetings(point, moved(point, SIGHT, within_mm), *_edges(section))
    cuts = sorted({0.0, within_mm, *(share * within_mm for share in shares if share * within_mm > TOUCH_MM)})
    for near, far in itertools.pairwise(cuts):
        if far - near > TOUCH_MM and inside(section, moved(point, SIGHT, (near + far) / 2)):
            return near
    return within_mm


def inside(section: Outline, point: Point) -> bool:
    """Whether a point lies in the section, by counting edges to its right."""
    across, up = point
    here, there = _edges(section)
    spans = (here[:, 1] > up) != (there[:, 1] > up)
    (x0, y0), (x1, y1) = here[spans].T, there[spans].T
    return int((x0 + (up - y0) * (x1 - x0) / (y1 - y0) > across).sum()) % 2 == 1


@lru_cache(maxsize=4)
def _edges(section: Outline) -> tuple[Points, Points]:
    """Beginnings and ends of the section's edges."""
    here = np.array(section)
    return here, np.roll(here, -1, axis=0)


def seen_runs(section: Outline, line: Sequence[Point], *, depth_mm: float) -> Iterator[tuple[Point, Point]]:
    """The visible stretches of a run of strokes that lies in the plane a depth behind the front end."""
    hiding = _hiding(section, depth_mm)
    for here, there in itertools.pairwise(line):
        spots = sorted({0.0, 1.0, *_meetings(here, there, *hiding)})
        for start, end in itertools.pairwise(spots):
            middle = between(here, there, (start + end) / 2)
            if end - start > 1e-9 and entry_mm(section, middle, within_mm=depth_mm) >= depth_mm:
                yield between(here, there, start), between(here, there, end)


def _hiding(section: Outline, depth_mm: float) -> tuple[Points, Points]:
    """Edges at which visibility can change: the section's, those moved back along the sight, and behind corners."""
    here, there = _edges(section)
    shift = -depth_mm * np.array(SIGHT)
    return np.concatenate([here + shift, here, here]), np.concatenate([there + shift, here + shift, there])


def _meetings(here: Point, there: Point, firsts: Points, seconds: Points) -> list[float]:
    """Where along a stroke it meets edges, as shares of its length strictly between 0 and 1."""
    one, two = np.array(there) - np.array(here), seconds - firsts
    cross = one[0] * two[:, 1] - one[1] * two[:, 0]
    meet = np.abs(cross) >= 1e-12
    away, two, cross = firsts[meet] - np.array(here), two[meet], cross[meet]
    share = (away[:, 0] * two[:, 1] - away[:, 1] * two[:, 0]) / cross
    other = (away[:, 0] * one[1] - away[:, 1] * one[0]) / cross
    on_both = (share > 0) & (share < 1) & (other >= -1e-9) & (other <= 1 + 1e-9)
    found: list[float] = share[on_both].tolist()
    return found


def ridges(section: Outline, *, corner_deg: float = 40.0) -> tuple[Point, ...]:
    """Points of the section whose long edges are drawn: sharp corners, and where the surface turns from the eye."""
    found = []
    for before, here, after in zip((section[-1], *section[:-1]), section, (*section[1:], section[0]), strict=True):
        came, goes = (here[0] - before[0], here[1] - before[1]), (after[0] - here[0], after[1] - here[1])
        turn = math.atan2(came[0] * goes[1] - came[1] * goes[0], came[0] * goes[0] + came[1] * goes[1])
        sides = [SIGHT[0] * edge[1] - SIGHT[1] * edge[0] for edge in (came, goes)]
        if abs(math.degrees(turn)) > corner_deg or sides[0] * sides[1] < 0:
            found.append(here)
    return tuple(found)
