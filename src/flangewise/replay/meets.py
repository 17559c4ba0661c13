"""Do part and bodies meet: the part's whole outline against each body at each moment, by shapely.

A body is shrunk by the contact tolerance, so that a punch nose that bends the sheet and a shoulder that carries it
do not count as striking it. The part's outline is a ring of both faces; a body cannot hide inside the thickness, so
ring against body is enough. Where the part meets its stop is found by rays across from every corner, without polygons.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from flangewise.replay.bodies import Corners, Solid
from flangewise.replay.fold import Array, Rings
from flangewise.replay.stroke import Moments

# How deep two bodies may overlap before it is a collision: the chord error of arcs and the print of true contact.
CONTACT_MM = 0.05
# Points this close to the first contact touch too.
TOUCH_MM = 0.02
# What of the part stands further than this behind the stop's face is not in front of it at all.
DEEPEST_MM = 15.0


@dataclass(frozen=True)
class Obstacle:
    """A body ready for testing: its shape shrunk by the contact tolerance, and whether it goes with the ram."""

    name: str
    shrunk: shapely.Geometry
    whole: shapely.Geometry
    with_ram: bool


@dataclass(frozen=True)
class Strike:
    """Two bodies that meet: which, at which moment (its index), and how far one reaches into the other."""

    body: str
    moment: int
    overlap_mm: float


def obstacles(solids: Iterable[Solid], *, contact_mm: float = CONTACT_MM) -> tuple[Obstacle, ...]:
    """Bodies ready for testing, those of a stack or others. Each is prepared; not to be shared between threads."""
    ready = []
    for solid in solids:
        whole = shapely.make_valid(shapely.Polygon(solid.points_mm))
        shrunk = shapely.buffer(whole, -contact_mm, join_style="mitre")
        shapely.prepare(shrunk)
        ready.append(Obstacle(solid.name, shrunk, whole, solid.with_ram))
    return tuple(ready)


def struck(moments: Moments, bodies: Iterable[Obstacle]) -> tuple[Strike, ...]:
    """Every body the part meets, at the moment it reaches deepest into it."""
    # What goes with the ram sees the part from the nose.
    seen = {False: moments.rings.points_mm, True: moments.rings.moved(up_mm=-moments.nose_up_mm).points_mm}
    rings = {with_ram: shapely.linearrings(points) for with_ram, points in seen.items()}
    met = (_strike(seen[body.with_ram], rings[body.with_ram], body) for body in bodies)
    return tuple(strike for strike in met if strike is not None)


def _strike(points_mm: Array, rings: NDArray[np.object_], body: Obstacle) -> Strike | None:
    hits = np.flatnonzero(shapely.intersects(body.shrunk, rings))
    if not len(hits):
        return None
    # Some moments spread over the contact are enough to tell how deep it goes.
    chosen = hits[np.linspace(0, len(hits) - 1, min(len(hits), 12)).astype(int)]
    depths = [overlap_mm(points_mm[index], body.whole) for index in chosen]
    deepest = int(np.argmax(depths))
    return Strike(body.name, int(chosen[deepest]), depths[deepest])


def overlap_mm(ring_mm: Array, body: shapely.Geometry) -> float:
    """How far the part reaches into a body: the furthest point of what they share from the body's surface."""
    shared = shapely.intersection(shapely.make_valid(shapely.Polygon(ring_mm)), body)
    if shapely.is_empty(shared):
        return 0.0
    corners = shapely.points(shapely.get_coordinates(shared))
    return float(shapely.distance(shapely.boundary(body), corners).max())


def crosses_itself(rings: Rings) -> int | None:
    """The first moment at which the part meets itself, or None.

    The rings are to be drawn with the contact tolerance off each face, so that a closed hem does not count.
    """
    crossing = np.flatnonzero(~shapely.is_simple(shapely.linearrings(rings.points_mm)))
    return int(crossing[0]) if len(crossing) else None


@dataclass(frozen=True)
class StopContact:
    """The first contact of the part with the stop as the part is pushed back.

    `gap_mm` is how far it must still be pushed (negative: it stands in the stop), `labels` the flats (counted from the
    back) and zones (-1 - zone) that touch. A gap of infinity is a stop that nothing of the part can reach.
    """

    gap_mm: float
    labels: frozenset[int]


def contact(ring: Rings, finger_mm: Corners, *, x_mm: float, r_mm: float) -> StopContact:
    """The contact of the part (one moment) with a finger whose face's lower edge stands x behind, r above the die."""
    finger = np.array(finger_mm) + np.array([-x_mm, r_mm])
    part, labels = ring.points_mm[0], np.array(ring.labels)
    # From each corner of the part straight back onto the edges of the finger: the foremost that is not far before it.
    hits = _cuts(finger, part[:, 1])
    foremost = np.where(hits - part[:, 0] <= DEEPEST_MM, hits, -np.inf).max(axis=0)
    # From each corner of the finger straight forward onto the edges of the part.
    forward = _cuts(part, finger[:, 1]) - finger[:, 0]
    of_edges = np.minimum(labels, np.roll(labels, -1))
    gaps = np.concatenate([part[:, 0] - foremost, forward.min(axis=1, where=forward > -DEEPEST_MM, initial=np.inf)])
    touching = np.concatenate([labels, of_edges])
    gaps[gaps <= -DEEPEST_MM] = np.inf
    least = float(gaps.min())
    if math.isinf(least):
        return StopContact(math.inf, frozenset())
    return StopContact(least, frozenset(touching[gaps <= least + TOUCH_MM].tolist()))


def _cuts(outline: Array, heights: Array) -> Array:
    """Where each edge of an outline crosses each height (edges, heights), NaN where not; the nearer end if along it."""
    begin, end = outline[:, :, None], np.roll(outline, -1, axis=0)[:, :, None]
    rise = end[:, 1] - begin[:, 1]
    level = np.abs(rise) < 1e-12
    shares = (heights - begin[:, 1]) / np.where(level, 1.0, rise)
    across = np.where(level, np.maximum(begin[:, 0], end[:, 0]), begin[:, 0] + shares * (end[:, 0] - begin[:, 0]))
    low, high = np.minimum(begin[:, 1], end[:, 1]), np.maximum(begin[:, 1], end[:, 1])
    crossed: Array = np.where((low - 1e-9 <= heights) & (heights <= high + 1e-9), across, np.nan)
    return crossed
