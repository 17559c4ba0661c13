"""What can be seen of a section drawn out along its length, looked at along the space diagonal.

Coordinates: (across, up) in the plane of the section and a depth behind its front end. The eye looks from the right,
from above and from the front alike, so a line of sight goes one mm right and one up for every mm it comes forward.
A point is hidden exactly if that line, drawn in the plane of the section, runs through the section before it comes
out at the front end. No depth buffer is needed. Derived here; no source.
"""

import itertools
import math
from collections.abc import Iterator, Sequence

from flangewise.sheet.data import Outline, Point

SIGHT = (1.0, 1.0)
TOUCH_MM = 1e-6


def entry_mm(section: Outline, point: Point, *, within_mm: float) -> float:
    """How far behind the front a point may lie and still be seen; within_mm if it is seen all the way.

    A point whose line of sight goes into the section at once is seen nowhere: 0.
    """
    cuts = sorted({0.0, within_mm, *_crossings(section, point, within_mm)})
    for near, far in itertools.pairwise(cuts):
        middle = (near + far) / 2
        if far - near > TOUCH_MM and inside(section, (point[0] + middle * SIGHT[0], point[1] + middle * SIGHT[1])):
            return near
    return within_mm


def _crossings(section: Outline, point: Point, within_mm: float) -> Iterator[float]:
    for here, there in _edges(section):
        edge = (there[0] - here[0], there[1] - here[1])
        cross = SIGHT[0] * edge[1] - SIGHT[1] * edge[0]
        if abs(cross) < 1e-12:
            continue
        away = (here[0] - point[0], here[1] - point[1])
        on_edge = (away[0] * SIGHT[1] - away[1] * SIGHT[0]) / cross
        on_sight = (away[0] * edge[1] - away[1] * edge[0]) / cross
        if -1e-9 <= on_edge <= 1 + 1e-9 and TOUCH_MM < on_sight < within_mm:
            yield on_sight


def inside(section: Outline, point: Point) -> bool:
    """Whether a point lies in the section, by counting edges to its right."""
    across, up = point
    crossed = 0
    for (x0, y0), (x1, y1) in _edges(section):
        if (y0 > up) != (y1 > up) and x0 + (up - y0) * (x1 - x0) / (y1 - y0) > across:
            crossed += 1
    return crossed % 2 == 1


def _edges(section: Outline) -> Iterator[tuple[Point, Point]]:
    return zip(section, (*section[1:], section[0]), strict=True)


def seen_runs(section: Outline, line: Sequence[Point], *, depth_mm: float) -> Iterator[tuple[Point, Point]]:
    """The visible stretches of a run of strokes that lies in the plane a depth behind the front end."""
    for here, there in itertools.pairwise(line):
        spots = sorted({0.0, 1.0, *_changes(section, here, there, depth_mm)})
        for start, end in itertools.pairwise(spots):
            middle = _between(here, there, (start + end) / 2)
            if end - start > 1e-9 and entry_mm(section, middle, within_mm=depth_mm) >= depth_mm:
                yield _between(here, there, start), _between(here, there, end)


def _changes(section: Outline, here: Point, there: Point, depth_mm: float) -> Iterator[float]:
    """Where along a stroke its visibility can change: at the section moved back along the sight, and behind corners."""
    shift = (-SIGHT[0] * depth_mm, -SIGHT[1] * depth_mm)
    for first, second in _edges(section):
        moved = ((first[0] + shift[0], first[1] + shift[1]), (second[0] + shift[0], second[1] + shift[1]))
        yield from _meeting(here, there, *moved)
        yield from _meeting(here, there, first, moved[0])
        yield from _meeting(here, there, first, second)


def _meeting(here: Point, there: Point, first: Point, second: Point) -> Iterator[float]:
    one = (there[0] - here[0], there[1] - here[1])
    two = (second[0] - first[0], second[1] - first[1])
    cross = one[0] * two[1] - one[1] * two[0]
    if abs(cross) < 1e-12:
        return
    away = (first[0] - here[0], first[1] - here[1])
    share = (away[0] * two[1] - away[1] * two[0]) / cross
    other = (away[0] * one[1] - away[1] * one[0]) / cross
    if 0 < share < 1 and -1e-9 <= other <= 1 + 1e-9:
        yield share


def _between(here: Point, there: Point, share: float) -> Point:
    return (here[0] + share * (there[0] - here[0]), here[1] + share * (there[1] - here[1]))


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
