"""Do part and bodies meet: the part's whole outline against each body at each moment, by shapely.

A body is shrunk by the contact tolerance, so that a punch nose that bends the sheet and a shoulder that carries it
do not count as striking it. The part's outline is a ring of both faces; a body cannot hide inside the thickness, so
ring against body is enough.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely

from flangewise.replay.bodies import Solid, Stack
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
class Meeting:
    """Two bodies that meet: which, at which moment (its index), and how far one reaches into the other."""

    body: str
    moment: int
    overlap_mm: float


def obstacles(solids: Iterable[Solid], *, contact_mm: float = CONTACT_MM) -> tuple[Obstacle, ...]:
    """Bodies ready for testing. Each is prepared; not to be shared between threads."""
    return tuple(_obstacle(solid, contact_mm) for solid in solids)


def stack_obstacles(stack: Stack, *, contact_mm: float = CONTACT_MM) -> tuple[Obstacle, ...]:
    """The bodies of a stack ready for testing."""
    return obstacles(stack.solids, contact_mm=contact_mm)


def _obstacle(solid: Solid, contact_mm: float) -> Obstacle:
    whole = shapely.make_valid(shapely.Polygon(solid.points_mm))
    shrunk = shapely.buffer(whole, -contact_mm, join_style="mitre")
    shapely.prepare(shrunk)
    return Obstacle(solid.name, shrunk, whole, solid.with_ram)


def struck(moments: Moments, bodies: Iterable[Obstacle]) -> tuple[Meeting, ...]:
    """Every body the part meets, at the moment it reaches deepest into it."""
    seen = _Seen(moments)
    met = (_struck_one(seen.by(body), body) for body in bodies)
    return tuple(meeting for meeting in met if meeting is not None)


@dataclass(frozen=True)
class _SeenRings:
    """Rings as a body sees them (moments, points, 2), and the corners of the box around each."""

    points_mm: Array
    low_mm: Array
    high_mm: Array


class _Seen:
    """The part as what stands sees it, and as what goes with the ram does, whose nose is its origin."""

    def __init__(self, moments: Moments) -> None:
        self._moments = moments

    def by(self, body: Obstacle) -> _SeenRings:
        return self._from_ram if body.with_ram else self._from_bed

    @cached_property
    def _from_bed(self) -> _SeenRings:
        return _viewed(self._moments.rings.points_mm)

    @cached_property
    def _from_ram(self) -> _SeenRings:
        return _viewed(self._moments.rings.moved(up_mm=-self._moments.nose_up_mm).points_mm)


def _viewed(points_mm: Array) -> _SeenRings:
    by_axis = np.ascontiguousarray(points_mm.transpose(0, 2, 1))
    return _SeenRings(points_mm, by_axis.min(axis=2), by_axis.max(axis=2))


def _hits(seen: _SeenRings, body: Obstacle) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    low, high, box = seen.low_mm, seen.high_mm, shapely.bounds(body.shrunk)
    near = (low[:, 0] <= box[2]) & (high[:, 0] >= box[0]) & (low[:, 1] <= box[3]) & (high[:, 1] >= box[1])
    hits = np.zeros(len(seen.points_mm), dtype=bool)
    if near.any():
        hits[near] = shapely.intersects(body.shrunk, shapely.linearrings(seen.points_mm[near]))
    return hits


def _struck_one(seen: _SeenRings, body: Obstacle) -> Meeting | None:
    hits = np.flatnonzero(_hits(seen, body))
    if not len(hits):
        return None
    # Some moments spread over the contact are enough to tell how deep it goes.
    chosen = hits[np.linspace(0, len(hits) - 1, min(len(hits), 12)).astype(int)]
    depths = [overlap_mm(seen.points_mm[index], body.whole) for index in chosen]
    deepest = int(np.argmax(depths))
    return Meeting(body.name, int(chosen[deepest]), depths[deepest])


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
