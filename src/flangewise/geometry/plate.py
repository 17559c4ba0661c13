"""Convex plates in space, and by how much two of them overlap; a test by separating axes. Plain numbers in mm."""

from __future__ import annotations

import numpy as np

from flangewise.geometry.frame import SpacePoints
from flangewise.records import dataclass

# A direction shorter than this is none, and two that differ by less are one.
PARALLEL = 1e-9
SAME_DIRECTION = 1e-6


@dataclass(frozen=True)
class Plate:
    """A convex body: its corners, and the directions of its edges, each once."""

    corners_mm: SpacePoints
    edges: SpacePoints

    @property
    def box_mm(self) -> tuple[SpacePoints, SpacePoints]:
        """The least and the largest coordinates."""
        return self.corners_mm.min(axis=0), self.corners_mm.max(axis=0)


def plate_of(under_mm: SpacePoints, over_mm: SpacePoints) -> Plate:
    """The plate between two convex rings whose points go together, one skin each."""
    around = [np.roll(ring, -1, axis=0) - ring for ring in (under_mm, over_mm)]
    return Plate(np.vstack([under_mm, over_mm]), _directions(np.vstack([*around, over_mm - under_mm])))


def _directions(vectors: SpacePoints) -> SpacePoints:
    """Unit vectors, one of those that are parallel."""
    lengths = np.linalg.norm(vectors, axis=1)
    units = vectors[lengths > PARALLEL] / lengths[lengths > PARALLEL][:, None]
    kept: list[SpacePoints] = []
    for unit in units:
        if all(abs(float(unit @ other)) < 1 - SAME_DIRECTION for other in kept):
            kept.append(unit)
    return np.array(kept).reshape(-1, 3)


def depth_mm(one: Plate, other: Plate) -> float:
    """How far two plates would have to be moved to come apart; 0 where they are apart or only touch.

    The axes are square to every pair of edges of both: among them are the normals of all their sides.
    """
    (low, high), (other_low, other_high) = one.box_mm, other.box_mm
    if np.any(low >= other_high) or np.any(other_low >= high):
        return 0.0
    edges = np.vstack([one.edges, other.edges])
    first, second = np.triu_indices(len(edges), k=1)
    axes = np.cross(edges[first], edges[second])
    lengths = np.linalg.norm(axes, axis=1)
    axes = axes[lengths > PARALLEL] / lengths[lengths > PARALLEL][:, None]
    mine, its = one.corners_mm @ axes.T, other.corners_mm @ axes.T
    overlaps = np.minimum(mine.max(axis=0) - its.min(axis=0), its.max(axis=0) - mine.min(axis=0))
    return max(0.0, float(overlaps.min()))
