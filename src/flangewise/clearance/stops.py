"""Is there room for a stop finger where it should stand, and on its way there from behind.

Source: derived here: overlaps of outlines; a touch of 0.05 mm is judgement.
"""

import numpy as np
import shapely

from flangewise.clearance.bodies import Body
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
    polygon = shapely.Polygon(finger_mm)
    trail = swept_straight(finger_mm, finger_mm - np.array([FAR_BEHIND_MM, 0.0]))
    coming = shapely.union(polygon, shapely.union_all(trail)).buffer(-TOUCH_MM)
    found = ["part"] if shapely.intersects(coming, shapely.make_valid(shapely.Polygon(part_mm))) else []
    return (*found, *bodies_met(finger_mm, bodies, nose_mm=nose_mm))


def bodies_met(finger_mm: Points, bodies: tuple[Body, ...], *, nose_mm: float) -> tuple[str, ...]:
    """Names of the tools and the machine's bodies that a finger meets standing at its place."""
    own, found = shapely.Polygon(finger_mm).buffer(-TOUCH_MM), []
    for body in bodies:
        shift = np.array([0.0, nose_mm if body.with_ram else 0.0])
        if shapely.intersects(own, shapely.make_valid(shapely.Polygon(body.points_mm + shift))):
            found.append(body.name)
    return tuple(found)
