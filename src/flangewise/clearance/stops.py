"""Is there room for a stop finger where it should stand, and on its way there from behind.

Source: derived here: overlaps of outlines; a touch of 0.05 mm is judgement.
"""

from functools import lru_cache

import numpy as np
import shapely
import shapely.affinity

from flangewise.clearance.bodies import Body, Outline, outline_of
from flangewise.clearance.swept import swept_straight
from flangewise.geometry import Points

TOUCH_MM = 0.05
FAR_BEHIND_MM = 1000.0


def finger_obstacles(
    finger_mm: Points, part_mm: Points, bodies: tuple[Body, ...], *, nose_mm: float
) -> tuple[str, ...]:
    """Names of what a finger meets standing at its place or coming there from behind; empty if nothing.

    All in machine coordinates, behind negative: the finger's outline, the sheet's outline, the bodies with
    the punch nose at `nose_mm`. A touch of 0.05 mm counts as contact, not as meeting.
    """
    start_mm = finger_mm[0]
    coming = _coming(outline_of(np.round(finger_mm - start_mm, 9)))
    found = ["part"] if shapely.intersects(coming, shapely.make_valid(shapely.Polygon(part_mm - start_mm))) else []
    return (*found, *bodies_met(finger_mm, bodies, nose_mm=nose_mm))


def bodies_met(finger_mm: Points, bodies: tuple[Body, ...], *, nose_mm: float) -> tuple[str, ...]:
    """Names of the tools and the machine's bodies that a finger meets standing at its place."""
    own = shapely.Polygon(finger_mm).buffer(-TOUCH_MM)
    with_ram = shapely.affinity.translate(own, yoff=-nose_mm)
    return tuple(body.name for body in bodies if shapely.intersects(with_ram if body.with_ram else own, _shape(body)))


@lru_cache(maxsize=64)
def _coming(finger_mm: Outline) -> shapely.Geometry:
    """All that a finger passes through from far behind to its place, but for what counts as a touch."""
    at_place = np.array(finger_mm)
    trail = swept_straight(at_place, at_place - np.array([FAR_BEHIND_MM, 0.0]))
    coming = shapely.union(shapely.Polygon(finger_mm), shapely.union_all(trail)).buffer(-TOUCH_MM)
    shapely.prepare(coming)
    return coming


@lru_cache(maxsize=512)
def _shape(body: Body) -> shapely.Geometry:
    return shapely.make_valid(shapely.Polygon(body.points_mm))
