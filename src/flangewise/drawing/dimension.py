"""Sizes: a length with its arrows, and the words that belong to it as a label.

Arrows of a short dimension stand outside and point inward. Source: common practice (ISO 129-1, from memory).
"""

import math
from itertools import pairwise

import numpy as np

from flangewise.drawing.ink import Ink
from flangewise.drawing.items import THIN, Line, Point, between, moved, text_width_mm
from flangewise.drawing.marks import HEAD_MM, arrow, head, towards
from flangewise.drawing.place import LABEL_MM, Label
from flangewise.records import dataclass

EXTEND_MM = 1.2
"""How far an extension line runs past the dimension line."""
CLEAR_MM = 0.8
"""Gap between the part and the start of an extension line."""
SHARES = np.arange(21)[:, None] / 20
"""Where a stroke is looked at, as shares of its length."""


@dataclass(frozen=True)
class Dimension:
    """The strokes of one dimension and the label that belongs to it."""

    lines: tuple[Line, ...]
    label: Label


def linear(start: Point, end: Point, *, off_mm: float, words: str, size_mm: float = LABEL_MM) -> Dimension:
    """The distance between two points, its line laid off sideways: to the left of start -> end as seen, for off_mm > 0.

    Edges: two points in one place give a dimension without direction, drawn level.
    """
    right, down, length_mm = towards(start, end)
    along, side, sense = (right, down), (down, -right), math.copysign(1, off_mm)
    ends = (moved(start, side, off_mm), moved(end, side, off_mm))
    reach = (CLEAR_MM * sense, off_mm + EXTEND_MM * sense)
    extensions = (Line(tuple(moved(foot, side, far) for far in reach), THIN) for foot in (start, end))
    prefer = (_eased(side, sense), _eased(side, -sense))
    short = length_mm < 3 * HEAD_MM
    lines = (*extensions, *(_pointed_at(ends, along) if short else arrow(*ends, both=True)))
    if text_width_mm(words, size_mm) + 1.0 > length_mm and abs(right) > abs(down):
        # Too wide to stand over its own line: it goes beyond the end, along the line.
        beyond = moved(ends[1], along, 2 * HEAD_MM if short else EXTEND_MM)
        return Dimension(lines, Label((words,), beyond, size_mm, prefer=(_eased(along, 1.0), *prefer)))
    return Dimension(lines, Label((words,), between(*ends), size_mm, prefer=prefer))


def crossed(size: Dimension, ink: Ink) -> int:
    """How much of a dimension's strokes runs over what is drawn."""
    strokes = np.array([stroke for line in size.lines for stroke in pairwise(line.points_mm)])
    here, there = strokes[:, None, 0], strokes[:, None, 1]
    spots = (here + SHARES * (there - here)).reshape(-1, 2)
    return int(np.count_nonzero(~ink.free_places(np.tile(spots, 2))))


def _eased(direction: Point, sense: float) -> Point:
    """No negative zeros and no dust: directions are compared as they stand."""
    return (round(direction[0] * sense, 6) + 0.0, round(direction[1] * sense, 6) + 0.0)


def _pointed_at(ends: tuple[Point, Point], along: Point) -> tuple[Line, ...]:
    """A short dimension: its arrows stand outside and point inward."""
    outer = (moved(ends[0], along, -2 * HEAD_MM), moved(ends[1], along, 2 * HEAD_MM))
    return (Line(outer, THIN), head(ends[0], outer[0]), head(ends[1], outer[1]))
