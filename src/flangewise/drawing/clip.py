"""Lines and shapes cut off at the edge of a window."""

from collections.abc import Sequence
from itertools import pairwise

from flangewise.drawing.items import Box
from flangewise.drawing.pens import Point


def clipped(points_mm: Sequence[Point], window: Box, *, closed: bool) -> tuple[tuple[Point, ...], ...]:
    """The parts of a run of strokes that lie inside the window, each an open run.

    Source: Liang and Barsky 1984, from memory.
    """
    ring = (*points_mm, points_mm[0]) if closed else tuple(points_mm)
    runs: list[list[Point]] = []
    for here, there in pairwise(ring):
        inside = _inside(here, there, window)
        if inside is None:
            continue
        start, end = inside
        if runs and runs[-1][-1] == start:
            runs[-1].append(end)
        else:
            runs.append([start, end])
    if closed and len(runs) > 1 and runs[0][0] == runs[-1][-1]:
        runs[0] = [*runs.pop(), *runs[0][1:]]
    return tuple(tuple(run) for run in runs)


def _inside(here: Point, there: Point, window: Box) -> tuple[Point, Point] | None:
    """The stretch of one stroke inside the window; None for nothing, or for a mere touch."""
    right, down = there[0] - here[0], there[1] - here[1]
    enter, leave = 0.0, 1.0
    bounds = (
        (-right, here[0] - window.left_mm),
        (right, window.right_mm - here[0]),
        (-down, here[1] - window.top_mm),
        (down, window.bottom_mm - here[1]),
    )
    for move, room in bounds:
        if abs(move) < 1e-12:
            if room < 0:
                return None
        elif move < 0:
            enter = max(enter, room / move)
        else:
            leave = min(leave, room / move)
    if enter >= leave:
        return None
    start = here if enter == 0.0 else (here[0] + enter * right, here[1] + enter * down)
    end = there if leave == 1.0 else (here[0] + leave * right, here[1] + leave * down)
    return start, end


def crossings_mm(outline_mm: Sequence[Point], at_mm: float, *, axis: int = 1) -> list[float]:
    """Where a closed outline crosses the line `at_mm` down (axis 1, in mm to the right) or to the right (axis 0)."""
    other = 1 - axis
    return sorted(
        here[other] + (at_mm - here[axis]) * (there[other] - here[other]) / (there[axis] - here[axis])
        for here, there in zip(outline_mm, (*outline_mm[1:], outline_mm[0]), strict=True)
        if (here[axis] > at_mm) != (there[axis] > at_mm)
    )


def cut_to(outline_mm: Sequence[Point], window: Box) -> tuple[Point, ...]:
    """A closed shape cut to the window, for filling and hatching. Sutherland and Hodgman 1974, from memory.

    Edges: nothing of it inside gives no points. A shape cut in two stays joined along the window's edge.
    """
    shape: list[Point] = list(outline_mm)
    for axis, limit, sense in (
        (0, window.left_mm, 1.0),
        (0, window.right_mm, -1.0),
        (1, window.top_mm, 1.0),
        (1, window.bottom_mm, -1.0),
    ):
        shape = _cut(shape, axis, limit=limit, sense=sense)
    return tuple(shape)


def _cut(shape: list[Point], axis: int, *, limit: float, sense: float) -> list[Point]:
    kept: list[Point] = []
    for here, there in zip(shape, shape[1:] + shape[:1], strict=True):
        before, after = (here[axis] - limit) * sense, (there[axis] - limit) * sense
        if before >= 0:
            kept.append(here)
        if before * after < 0:
            share = before / (before - after)
            kept.append((here[0] + share * (there[0] - here[0]), here[1] + share * (there[1] - here[1])))
    return kept
