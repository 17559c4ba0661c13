"""Do part and bodies meet: the part's whole outline against each body at each moment, by shapely.

A body is shrunk by the contact tolerance, so that a punch nose that bends the sheet and a shoulder that carries it
do not count as striking it. The part's outline is a ring of both faces; a body cannot hide inside the thickness, so
ring against body is enough.
"""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from flangewise.replay.bodies import Solid
from flangewise.replay.fold import Array, Rings
from flangewise.replay.stroke import Moments

# How deep two bodies may overlap before it is a collision: the chord error of arcs and the print of true contact.
CONTACT_MM = 0.05


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
