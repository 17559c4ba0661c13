"""Forbidden regions of strokes in which a wing does not swing: offsets pressed in one hit, hems flattened.

An offset moves each wing level, along a straight line against the die, while the punch comes down; a
flattened hem lies still on the lower plate while the upper plate comes down on it. Both are taken as
straight-line motions, for which the hull of the two end positions of an edge is exact. Source: derived here.
"""

import numpy as np
import shapely

from flangewise.clearance.bodies import Body
from flangewise.clearance.region import Geometries, Region, Sweep
from flangewise.clearance.swept import grow_mm, swept_straight, within_reach
from flangewise.geometry import Point, Points
from flangewise.records import dataclass

LIFT_MM = 1000.0
UPSIDE_DOWN = np.array([1.0, -1.0])


@dataclass(frozen=True)
class Slide:
    """A wing's way: where its frame stands in front of the die's centre at the start and at the end of the
    stroke, and how high the nose stands above the die top then. `turned_over` for a folded-over leg, which
    goes back over its own bend with its upper face down."""

    edge_start_mm: Point
    edge_end_mm: Point
    nose_start_mm: float
    nose_end_mm: float
    turned_over: bool = False


def slid_region(bodies: tuple[Body, ...], slide: Slide, *, thickness_mm: float, reach_mm: float) -> Region:
    """Forbidden region of one wing during a straight-line stroke (for the wing behind: give turned bodies)."""
    far = reach_mm + max(abs(value) for value in (*slide.edge_start_mm, *slide.edge_end_mm))
    sweeps = []
    for body in bodies:
        for outline in within_reach(body, far):
            first = _seen(np.array(outline), slide.edge_start_mm, slide.nose_start_mm if body.with_ram else 0.0)
            last = _seen(np.array(outline), slide.edge_end_mm, slide.nose_end_mm if body.with_ram else 0.0)
            pieces = _between(first, last)
            if slide.turned_over:
                pieces = shapely.transform(pieces, lambda points: points * UPSIDE_DOWN)
            sweeps.append(Sweep(body.name, pieces))
    return Region(sweeps, grow_mm(thickness_mm))


def _seen(outline_mm: Points, edge_mm: Point, lift_mm: float) -> Points:
    result: Points = outline_mm + np.array([-edge_mm[0], lift_mm - edge_mm[1]])
    return result


def _between(first: Points, last: Points) -> Geometries:
    """Polygon at the start and what its edges sweep on a straight way to the end."""
    start = np.array([shapely.make_valid(shapely.Polygon(first))], dtype=object)
    if np.allclose(first, last):
        return start
    pieces = np.concatenate([start, swept_straight(first, last)])
    result: Geometries = pieces[~shapely.is_empty(pieces)]
    return result
