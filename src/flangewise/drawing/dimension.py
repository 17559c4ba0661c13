"""Dimensions: a length or an angle with its arrows, and the label that says it.

The lines are made here; the words go to the label placer, which finds them room beside the dimension line. Arrows of a
short dimension stand outside and point inward. Source: common practice (ISO 129-1, from memory).
"""

import math
from dataclasses import dataclass, replace

from flangewise.drawing.items import Line
from flangewise.drawing.marks import HEAD_MM, arrow, head, towards
from flangewise.drawing.metrics import text_width_mm
from flangewise.drawing.pens import THIN, Point
from flangewise.drawing.place import LABEL_MM, Label

EXTEND_MM = 1.2
"""How far an extension line runs past the dimension line."""
CLEAR_MM = 0.8
"""Gap between the part and the start of an extension line."""


@dataclass(frozen=True)
class Dimension:
    """The strokes of one dimension and the label that belongs to it."""

    lines: tuple[Line, ...]
    label: Label


def linear(start: Point, end: Point, *, off_mm: float, words: str) -> Dimension:
    """The distance between two points, its line laid off sideways: to the left of start -> end as seen, for off_mm > 0.

    Edges: two points in one place give a dimension without direction, drawn level.
    """
    right, down, length_mm = towards(start, end)
    side = (down, -right)
    shift = (side[0] * off_mm, side[1] * off_mm)
    ends = ((start[0] + shift[0], start[1] + shift[1]), (end[0] + shift[0], end[1] + shift[1]))
    extensions = tuple(_extension(foot, side, off_mm=off_mm) for foot in (start, end))
    middle = ((ends[0][0] + ends[1][0]) / 2, (ends[0][1] + ends[1][1]) / 2)
    outward = (side[0] * math.copysign(1, off_mm), side[1] * math.copysign(1, off_mm))
    prefer = (_eased(outward), _eased((-outward[0], -outward[1])))
    short = length_mm < 3 * HEAD_MM
    lines = (*extensions, *_measured(ends, short=short))
    if text_width_mm(words, LABEL_MM) + 1.0 > length_mm and abs(right) > abs(down):
        # Too wide to stand over its own line: it goes beyond the end, along the line.
        tail_mm = 2 * HEAD_MM if short else EXTEND_MM
        beyond = (ends[1][0] + right * tail_mm, ends[1][1] + down * tail_mm)
        return Dimension(lines, Label((words,), beyond, prefer=(_eased((right, down)), *prefer)))
    return Dimension(lines, Label((words,), middle, prefer=prefer))


def _eased(direction: Point) -> Point:
    """No negative zeros and no dust: directions are compared as they stand."""
    return (round(direction[0], 6) + 0.0, round(direction[1], 6) + 0.0)


def _extension(foot: Point, side: Point, *, off_mm: float) -> Line:
    sense = math.copysign(1, off_mm)
    reach = (CLEAR_MM * sense, off_mm + EXTEND_MM * sense)
    return Line(tuple((foot[0] + side[0] * far, foot[1] + side[1] * far) for far in reach), THIN)


def _measured(ends: tuple[Point, Point], *, short: bool) -> tuple[Line, ...]:
    if not short:
        return arrow(ends[0], ends[1], both=True)
    right, down, _ = towards(*ends)
    tail = 2 * HEAD_MM
    outer = (
        (ends[0][0] - right * tail, ends[0][1] - down * tail),
        (ends[1][0] + right * tail, ends[1][1] + down * tail),
    )
    return (Line((outer[0], outer[1]), THIN), head(ends[0], outer[0]), head(ends[1], outer[1]))


def lettered(dimension: Dimension, *, size_mm: float, bold: bool = False) -> Dimension:
    """The dimension with its label in another size."""
    return replace(dimension, label=replace(dimension.label, size_mm=size_mm, bold=bold))
