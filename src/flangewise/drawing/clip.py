"""Lines and shapes cut off at the edge of a window, and shapes hatched: by lines never closer than 1 mm of paper."""

import math
from collections.abc import Sequence
from itertools import pairwise

from flangewise.drawing.items import HATCH_PITCH_MM, THIN, Box, Line, Point, between


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
    start = here if enter == 0.0 else between(here, there, enter)
    end = there if leave == 1.0 else between(here, there, leave)
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
        kept: list[Point] = []
        for here, there in zip(shape, shape[1:] + shape[:1], strict=True):
            before, after = (here[axis] - limit) * sense, (there[axis] - limit) * sense
            if before >= 0:
                kept.append(here)
            if before * after < 0:
                kept.append(between(here, there, before / (before - after)))
        shape = kept
    return tuple(shape)


def hatch(
    outline_mm: Sequence[Point], *, pitch_mm: float = HATCH_PITCH_MM, angle_deg: float = 45.0
) -> tuple[Line, ...]:
    """Lines at an angle that fill a closed outline, even-odd where it crosses itself.

    Edges: a shape narrower than the pitch may get no line. Raises ValueError for a pitch under 1 mm, which a
    photocopy closes to black.
    """
    if pitch_mm < 1.0:
        raise ValueError("hatch lines closer than 1 mm run together on a copy")
    turned = [_turn(point, -angle_deg) for point in outline_mm]
    first = math.floor(min(down for _, down in turned) / pitch_mm) + 1
    last = math.ceil(max(down for _, down in turned) / pitch_mm)
    lines: list[Line] = []
    for row in range(first, last):
        # Half a hundredth aside, so that no corner lies exactly on a hatch line.
        level_mm = row * pitch_mm + 0.005
        crossings = crossings_mm(turned, level_mm)
        for left, right in zip(crossings[::2], crossings[1::2], strict=False):
            lines.append(Line((_turn((left, level_mm), angle_deg), _turn((right, level_mm), angle_deg)), THIN))
    return tuple(lines)


def _turn(point: Point, angle_deg: float) -> Point:
    sine, cosine = math.sin(math.radians(angle_deg)), math.cos(math.radians(angle_deg))
    return (point[0] * cosine - point[1] * sine, point[0] * sine + point[1] * cosine)
