"""How near a piece of the part comes to a body through a stroke: the sheet's own outline, square edges and all.

Source: derived here; how little a distance changes between two moments is the triangle inequality.
"""

import math

import numpy as np
import shapely
from numpy.typing import NDArray

from flangewise.clearance.bodies import Body
from flangewise.clearance.stroke import Stroke
from flangewise.geometry import Points

Floats = NDArray[np.float64]

# Moments at first; between two, others are looked at until nothing nearer by as much can lie there.
MOMENTS, NEARER_MM, MOST_ROUNDS = 33, 0.02, 16
# Two lines may be farther apart between their corners than at them, by less than this.
NEARLY = 1.05


def through_stroke_mm(outline_mm: Points, stroke: Stroke, *bodies: Body, below_mm: float = math.inf) -> float:
    """Least distance of a piece of the front wing from bodies through the stroke, `below_mm` where it is not less.

    Between two moments no point moves further than its path is long, so neither does the distance change by more.
    """
    halves, first = np.linspace(0.0, stroke.half_turn_deg, MOMENTS), dict[bool, _Places]()
    for body in bodies:
        if body.with_ram not in first:
            first[body.with_ram] = _Places(stroke.laid_mm(outline_mm, halves, from_nose=body.with_ram))
        below_mm = _nearest_mm(outline_mm, stroke, body, halves, first[body.with_ram], below_mm=below_mm)
    return below_mm


class _Places:
    """Where a piece lies at some moments, the boxes about it then, and half the longest way between two of them."""

    def __init__(self, places_mm: Points) -> None:
        self.places_mm, self.low_mm, self.high_mm = places_mm, places_mm.min(axis=1), places_mm.max(axis=1)
        self.way_mm = np.linalg.norm(np.diff(places_mm, axis=0), axis=2).max() / 2


def _nearest_mm(
    outline_mm: Points, stroke: Stroke, body: Body, halves: Floats, first: _Places, *, below_mm: float
) -> float:
    corners_mm, places = np.array(body.points_mm), first.places_mm
    # Where even boxes about them are further apart: no point moves further than its path is long.
    gap_mm = np.maximum(corners_mm.min(axis=0) - first.high_mm, first.low_mm - corners_mm.max(axis=0))
    if np.hypot(*np.maximum(gap_mm, 0.0).T).min() - first.way_mm >= below_mm:
        return below_mm
    shape = shapely.Polygon(corners_mm)
    shapely.prepare(shape)
    apart = _apart_mm(places, shape)
    least = min(below_mm, float(apart.min()))
    # From one moment to the next, as long as something nearer may lie between.
    start, end = [halves[:-1], places[:-1], apart[:-1]], [halves[1:], places[1:], apart[1:]]
    for _ in range(MOST_ROUNDS):
        way_mm = np.linalg.norm(end[1] - start[1], axis=2).max(axis=1)
        near = np.flatnonzero((start[2] + end[2] - way_mm) / 2 < least - NEARER_MM)
        if not len(near):
            break
        halves = (start[0][near] + end[0][near]) / 2
        places = stroke.laid_mm(outline_mm, halves, from_nose=body.with_ram)
        apart = _apart_mm(places, shape)
        least, between = min(least, float(apart.min())), (halves, places, apart)
        start = [np.concatenate([one[near], other]) for one, other in zip(start, between, strict=True)]
        end = [np.concatenate([other, one[near]]) for one, other in zip(end, between, strict=True)]
    return least


def _apart_mm(places_mm: Points, body: shapely.Geometry) -> Floats:
    found: Floats = shapely.distance(shapely.linearrings(places_mm), body)
    return found


def lines_apart_mm(one_mm: Points, other_mm: Points) -> float:
    """How far a point of one line may be from the other line, at most."""
    return NEARLY * float(shapely.hausdorff_distance(shapely.LineString(one_mm), shapely.LineString(other_mm)))


def point_from_line_mm(point_mm: tuple[float, float], line_mm: Points) -> float:
    """How far a point lies from a line."""
    return float(shapely.distance(shapely.Point(point_mm), shapely.LineString(line_mm)))
