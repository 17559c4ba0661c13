"""What of a panel's solids a stop finger meets at its height: their footprints on the bed, cut to a band of heights.

A convex solid cut between two heights is the hull of its corners in between and of the places where lines from corner
to corner go through the two heights: its edges are among them, and no such line leaves it.
"""

from __future__ import annotations

import numpy as np

from flangewise.geometry import Points, SpacePoints
from flangewise.records import dataclass

# Places so near each other are one line along the bed; what stands out by less stands out not at all.
SAME_MM = 0.02


@dataclass(frozen=True)
class Footprint:
    """One solid at a finger's height: points (along the bed, outward) whose hull it covers."""

    points_mm: Points

    @property
    def far_mm(self) -> float:
        """How far out it reaches."""
        return float(self.points_mm[:, 1].max())

    @property
    def far_edge_mm(self) -> tuple[float, float]:
        """The stretch of the bed along which it reaches so far."""
        along = self.points_mm[self.points_mm[:, 1] > self.far_mm - SAME_MM, 0]
        return float(along.min()), float(along.max())

    def beyond_mm(self, out_mm: float) -> tuple[float, float] | None:
        """The stretch of the bed that it takes up further out than that, None for nothing."""
        points, off = self.points_mm, self.points_mm[:, 1] - out_mm
        if not (off > 0).any():
            return None
        along = np.concatenate([points[off > 0, 0], crossings(points, off)[:, 0]])
        return float(along.min()), float(along.max())


def footprint(corners_mm: SpacePoints, low_mm: float, high_mm: float) -> Footprint | None:
    """A solid, by its corners, between two heights; None where nothing of it is."""
    up = corners_mm[:, 2]
    if up.max() <= low_mm or up.min() >= high_mm:
        return None
    found = [corners_mm[(up >= low_mm) & (up <= high_mm)]]
    found += [crossings(corners_mm, up - height_mm) for height_mm in (low_mm, high_mm)]
    return Footprint(np.concatenate(found)[:, :2])


def crossings(points: Points, off: Points) -> Points:
    """Where lines between points go from one side to the other of what they are `off`."""
    under, over = np.flatnonzero(off < 0), np.flatnonzero(off > 0)
    one, other = np.repeat(under, len(over)), np.tile(over, len(under))
    share = (off[one] / (off[one] - off[other]))[:, None]
    crossed: Points = points[one] + share * (points[other] - points[one])
    return crossed
