"""A gripper's body at many places at once: does it come near to tools, standing there or moved on a straight way."""

from collections.abc import Sequence
from functools import lru_cache

import numpy as np
import shapely
from numpy.typing import NDArray

from flangewise.clearance import Body
from flangewise.geometry import Points

Bools = NDArray[np.bool_]
Geometries = NDArray[np.object_]

SAME_MM = 1e-6


@lru_cache(maxsize=512)
def tool_shape(body: Body) -> shapely.Geometry:
    """A body of the machine where it is drawn, made ready to be asked often."""
    shape = shapely.make_valid(shapely.Polygon(body.points_mm))
    shapely.prepare(shape)
    return shape


class BodiesInHand:
    """Outlines of one gripper at its places, in the order of the grips that are asked."""

    def __init__(self, bodies_mm: Sequence[Points]) -> None:
        """Those with as many corners are asked together."""
        self._bodies = list(bodies_mm)
        corners = np.array([len(body) for body in self._bodies], dtype=np.int64)
        self._groups = [
            (rows, np.stack([self._bodies[row] for row in rows]))
            for rows in (np.flatnonzero(corners == count) for count in sorted(set(corners.tolist())))
        ]
        self._low = np.array([body[:, 0].min() for body in self._bodies])
        self._high = np.array([body[:, 0].max() for body in self._bodies])

    def polygons(self, up_mm: float = 0.0) -> Geometries:
        """The outlines as areas, moved up."""
        found = np.empty(len(self._bodies), dtype=object)
        for rows, stacked in self._groups:
            found[rows] = shapely.polygons(stacked + np.array([0.0, up_mm]))
        return found

    def near(self, tools: Sequence[Body], clear_mm: float, *, up_mm: float) -> Bools:
        """Which come nearer to one of the tools than is to be kept; moved up by so much."""
        found = np.zeros(len(self._bodies), dtype=bool)
        shapes = self.polygons(up_mm)
        for tool in tools:
            found |= shapely.dwithin(tool_shape(tool), shapes, clear_mm - SAME_MM)
        return found

    def sweeps_near(
        self, among: Bools, ways_mm: Points, tools: Sequence[Body], clear_mm: float, *, up_mm: float = 0.0
    ) -> Bools:
        """Of some, the same anywhere on a straight way, one for each or one for all; moved up by so much at first."""
        found = np.zeros(len(self._bodies), dtype=bool)
        ways = np.broadcast_to(ways_mm, (len(self._bodies), 2))
        low, high = self._low + np.minimum(ways[:, 0], 0.0), self._high + np.maximum(ways[:, 0], 0.0)
        reach = [tool_shape(tool).bounds for tool in tools]
        reached = [(low <= each[2] + clear_mm) & (high >= each[0] - clear_mm) for each in reach]
        some = among & np.logical_or.reduce(reached) if reached else found
        for rows, stacked in self._groups:
            kept = some[rows]
            if not kept.any():
                continue
            hulls = _hulls(stacked[kept] + np.array([0.0, up_mm]), ways[rows[kept]])
            for tool in tools:
                met = shapely.dwithin(tool_shape(tool), hulls, clear_mm - SAME_MM).any(axis=1)
                found[rows[kept][met]] = True
        return found

    def swept_apart_mm(self, row: int, way_mm: Points, other: shapely.Geometry) -> float:
        """How near one of them comes to a shape on a straight way."""
        return float(shapely.distance(_hulls(self._bodies[row][None], way_mm[None]), other).min())


def _hulls(bodies_mm: Points, ways_mm: Points) -> Geometries:
    """What the edges of bodies sweep on straight ways: (bodies, edges)."""
    following = np.roll(bodies_mm, -1, axis=1)
    moved = ways_mm[:, None, :]
    corners = np.stack([bodies_mm, following, following + moved, bodies_mm + moved], axis=2)
    hulls: Geometries = shapely.convex_hull(shapely.linestrings(corners))
    return hulls
