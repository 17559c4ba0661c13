"""Convex solids in space: the plates of a face and the pieces of a formed bend, and a face cut into convex parts.

Source: plane geometry; joining triangles where what they make stays convex is textbook (from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property

import numpy as np
import shapely

from flangewise.clearance.region import Geometries
from flangewise.geometry import Frame, Points, SpacePoints
from flangewise.records import dataclass

# A direction shorter than this is none, and two that differ by less are one.
NOTHING, SAME_DIRECTION = 1e-9, 1e-9
CONVEX_MM2 = 1e-6


@dataclass(frozen=True, eq=False)
class Solid:
    """What lies between two convex rings whose points go together: the skins of a plate, or the ends of a bend's piece.

    Its sides are plane. `under_mm` and `over_mm` are (corners, 3). `moved`: the solid it is when moved by a frame, so
    that its sides are worked out once.
    """

    under_mm: SpacePoints
    over_mm: SpacePoints
    moved: tuple[Solid, Frame] | None = None

    @cached_property
    def corners_mm(self) -> SpacePoints:
        """All corners, those of one ring first."""
        return np.concatenate([self.under_mm, self.over_mm])

    @cached_property
    def facets(self) -> tuple[SpacePoints, SpacePoints]:
        """Outward unit normals of its sides, and a point on each."""
        if self.moved is not None:
            solid, frame = self.moved
            return frame.turn(solid.facets[0]), frame.place(solid.facets[1])
        following = np.roll(self.under_mm, -1, axis=0)
        sides = np.cross(following - self.under_mm, self.over_mm - self.under_mm)
        normals = np.concatenate([[_normal(self.under_mm)], [_normal(self.over_mm)], sides])
        points = np.concatenate([self.under_mm[:1], self.over_mm[:1], self.under_mm])
        lengths = np.linalg.norm(normals, axis=1)
        real = lengths > NOTHING
        normals, points = normals[real] / lengths[real, None], points[real]
        middle = self.corners_mm.mean(axis=0)
        outward = np.sign(np.einsum("ij,ij->i", normals, points - middle))
        return normals * outward[:, None], points

    @cached_property
    def axes(self) -> tuple[SpacePoints, SpacePoints]:
        """Normals of its sides and directions of its edges, each once: what separates it from another solid."""
        if self.moved is not None:
            solid, frame = self.moved
            return frame.turn(solid.axes[0]), frame.turn(solid.axes[1])
        around = [np.roll(ring, -1, axis=0) - ring for ring in (self.under_mm, self.over_mm)]
        return _once(self.facets[0]), _once(np.concatenate([*around, self.over_mm - self.under_mm]))


@dataclass(frozen=True, eq=False)
class Solids:
    """Solids that move together."""

    each: tuple[Solid, ...]

    @cached_property
    def _corners_mm(self) -> SpacePoints:
        return np.concatenate([solid.corners_mm for solid in self.each])

    def corners_at(self, frame: Frame) -> SpacePoints:
        """All corners moved by a frame."""
        return frame.place(self._corners_mm)

    def placed(self, frame: Frame) -> tuple[Solid, ...]:
        """All of them moved by a frame."""
        corners, found, at = frame.place(self._corners_mm), [], 0
        for solid in self.each:
            count = len(solid.under_mm)
            found.append(Solid(corners[at : at + count], corners[at + count : at + 2 * count], (solid, frame)))
            at += 2 * count
        return tuple(found)


def _normal(ring_mm: SpacePoints) -> SpacePoints:
    """Square to a plane ring, as long as twice its area."""
    from_first = ring_mm[1:] - ring_mm[0]
    total: SpacePoints = np.cross(from_first[:-1], from_first[1:]).sum(axis=0)
    return total


def _once(vectors: SpacePoints) -> SpacePoints:
    """Unit vectors, one of those that are parallel."""
    lengths = np.linalg.norm(vectors, axis=1)
    units = vectors[lengths > NOTHING] / lengths[lengths > NOTHING, None]
    alike = np.triu(np.abs(units @ units.T) > 1 - SAME_DIRECTION, k=1).any(axis=0)
    kept: SpacePoints = units[~alike]
    return kept


def shadows(solids: Sequence[Solid]) -> Geometries:
    """The outlines of solids seen along the bed, as polygons in (across, up)."""
    corners = [solid.corners_mm[:, 1:] for solid in solids]
    owners = np.repeat(np.arange(len(solids)), [len(each) for each in corners])
    hulls: Geometries = shapely.convex_hull(shapely.multipoints(np.concatenate(corners), indices=owners))
    return hulls


def convex_rings(outline_mm: Sequence[tuple[float, float]]) -> tuple[Points, ...]:
    """A plain face cut into convex parts that cover it, counterclockwise; itself where it is convex."""
    ring = np.array(outline_mm, dtype=float)
    if _is_convex(ring):
        return (ring,)
    parts = [
        shapely.get_coordinates(part.exterior)[:-1]
        for part in shapely.get_parts(shapely.constrained_delaunay_triangles(shapely.Polygon(ring)))
    ]
    parts = [part if _area_mm2(part) > 0 else part[::-1] for part in parts]
    return tuple(_joined(parts))


def _joined(parts: list[Points]) -> list[Points]:
    """Parts that share an edge made one, as long as it stays convex."""
    done: list[Points] = []
    while parts:
        own, *parts = parts
        for at, part in enumerate(parts):
            both = _over_edge(own, part)
            if both is not None:
                parts = [both, *parts[:at], *parts[at + 1 :]]
                break
        else:
            done.append(own)
    return done


def _over_edge(one: Points, other: Points) -> Points | None:
    """Two rings made one over an edge they share, None where they share none or the whole is not convex."""
    following = np.roll(one, -1, axis=0)
    edges = {(tuple(start), tuple(end)): at for at, (start, end) in enumerate(zip(one, following, strict=True))}
    for at, (start, end) in enumerate(zip(other, np.roll(other, -1, axis=0), strict=True)):
        shared = edges.get((tuple(end), tuple(start)))
        if shared is not None:
            # From the shared edge's end once round the one, then round the other, without their two common corners.
            both = np.concatenate([np.roll(one, -shared - 1, axis=0), np.roll(other, -at - 1, axis=0)[1:-1]])
            return both if _is_convex(both) else None
    return None


def _is_convex(ring: Points) -> bool:
    along = np.roll(ring, -1, axis=0) - ring
    after = np.roll(along, -1, axis=0)
    return bool(np.all(along[:, 0] * after[:, 1] - along[:, 1] * after[:, 0] >= -CONVEX_MM2))


def _area_mm2(ring: Points) -> float:
    x, y = ring[:, 0], ring[:, 1]
    return float((x * np.roll(y, -1) - np.roll(x, -1) * y).sum() / 2)
