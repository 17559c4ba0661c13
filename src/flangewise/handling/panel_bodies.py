"""Bodies in hand in space: where wings stand in the machine, what a gripper's pieces come near to at rest or moved."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from functools import cached_property, lru_cache

import numpy as np
import shapely
import shapely.affinity
from numpy.typing import NDArray

from flangewise.clearance import Body, Geometries, Region, Solid, Solids, Stroke, at_rest, swept_region
from flangewise.geometry import Frame, as_frame
from flangewise.handling.bodies_in_hand import tool_shape
from flangewise.handling.gripper import SAME_MM
from flangewise.handling.step_grips import REACH_STEP_MM
from flangewise.panel_order import SpaceHit

Bools = NDArray[np.bool_]
Floats = NDArray[np.float64]
Run = tuple[float, float]
ENDLESS: Run = (-math.inf, math.inf)
# A stroke is looked at in so many steps where it is asked moment by moment.
SHARES = 16


def machine_frame(hit: SpaceHit, *, front: bool, share: float) -> Frame:
    """From a wing's frame to the machine at a share of the stroke: x to the right, y to the back, z up.

    Shares are taken to the nearest of `SHARES`.
    """
    two = hit.through_mm(np.array([[0.0, 0.0], [1.0, 0.0]]), SHARES + 1, behind=not front)[round(share * SHARES)]
    # A wing's second axis runs outward: in front toward the operator, its first from right to left.
    first, second = np.array([-1.0 if front else 1.0, 0.0, 0.0]), np.array([0.0, *((two[1] - two[0]) * (-1.0, 1.0))])
    rotation = np.column_stack([first, second, np.cross(first, second)])
    return as_frame(rotation, np.array([hit.shift_mm, -two[0, 0], two[0, 1]]))


def nose_mm(hit: SpaceHit, share: float) -> float:
    """Height of the nose over the die's top: at the pinch, at the end, and between where both are pressed straight."""
    stack, thickness_mm = hit.tools.stack, hit.shapes.blank.thickness_mm
    start_mm = thickness_mm + (max(stack.levels_mm) if hit.tools.kind == "offset" else 0.0)
    return start_mm + share * (hit.lowest_mm - start_mm)


def placed(solids: Sequence[Solid], where: Frame) -> tuple[Solid, ...]:
    """Solids moved by a frame; there may be none."""
    return Solids(tuple(solids)).placed(where) if solids else ()


def overlaps(body: Sequence[Solid], others: Sequence[Solid]) -> bool:
    """Whether any solid of a body lies in one of others."""
    return any(at_rest(one, other) > SAME_MM for one in body for other in in_reach(others, [one.corners_mm]))


def in_reach(others: Sequence[Solid], corners: Sequence[Floats]) -> Iterator[Solid]:
    """Those whose boxes overlap the one round all of some corners."""
    own = np.concatenate(corners)
    low, high = own.min(axis=0), own.max(axis=0)
    for other in others:
        if (other.corners_mm.min(axis=0) < high).all() and (other.corners_mm.max(axis=0) > low).all():
            yield other


class SeenBodies:
    """Pieces of bodies seen along the bed: outlines in (toward the operator, up), each with its stretch of the bed."""

    def __init__(self, corners: Sequence[Floats], each: int) -> None:
        """`each`: so many pieces to a body."""
        self._corners, self._each = list(corners), each
        self.count = len(self._corners) // each
        self._runs = np.array([(own[:, 0].min(), own[:, 0].max()) for own in self._corners])

    def moved(self, way_mm: tuple[float, ...]) -> SeenBodies:
        """What they sweep on a straight way."""
        return self.moved_each(np.tile(way_mm, (self.count, 1)))

    def moved_each(self, ways_mm: Floats) -> SeenBodies:
        """What they sweep, each on a way of its own."""
        own = zip(self._corners, np.repeat(ways_mm, self._each, axis=0), strict=True)
        return SeenBodies([np.concatenate([corners, corners + way]) for corners, way in own], self._each)

    @cached_property
    def _outlines(self) -> Geometries:
        return hulls([own[:, 1:] * (-1.0, 1.0) for own in self._corners])

    def over(self, run: Run, clear_mm: float) -> Geometries:
        """Of a wing's own pieces the outlines over a stretch, as the wing has them: outward, up."""
        low, high = run
        some = [
            own[:, 1:]
            for own, (left, right) in zip(self._corners, self._runs.tolist(), strict=True)
            if left < high + clear_mm and right > low - clear_mm
        ]
        return hulls(some)

    def near(self, body: Body, run: Run, clear_mm: float, *, up_mm: float) -> Bools:
        """Which bodies come nearer to one that stands over a stretch than is to be kept; it is moved up by so much."""
        low, high = run
        over = (self._runs[:, 0] < high + clear_mm - SAME_MM) & (self._runs[:, 1] > low - clear_mm + SAME_MM)
        found = np.zeros(len(self._corners), dtype=bool)
        if over.any():
            # Its outline goes up rather than theirs down: theirs are made once for all bodies.
            shape = shapely.affinity.translate(tool_shape(body), 0.0, up_mm)
            shapely.prepare(shape)
            found[over] = shapely.dwithin(shape, self._outlines[over], clear_mm - SAME_MM)
        return np.asarray(found.reshape(-1, self._each).any(axis=1), dtype=bool)


def hulls(corners: Sequence[Floats]) -> Geometries:
    """The convex outlines of lists of points."""
    if not corners:
        return np.zeros(0, dtype=object)
    owners = np.repeat(np.arange(len(corners)), [len(each) for each in corners])
    hulls: Geometries = shapely.convex_hull(shapely.multipoints(np.concatenate(corners), indices=owners))
    return hulls


@lru_cache(maxsize=256)
def region_of(body: Body, stroke: Stroke, reach_mm: float, clear_mm: float) -> Region:
    """What one body sweeps as a wing sees it, with what is kept from it."""
    far_mm = REACH_STEP_MM * math.ceil(reach_mm / REACH_STEP_MM)
    return Region(swept_region((body,), stroke, reach_mm=far_mm).sweeps, clear_mm)


def seen_run(run: Run, shift_mm: float, *, behind: bool) -> Run:
    """A stretch of the bed on a wing's first axis."""
    low, high = run
    return (low - shift_mm, high - shift_mm) if behind else (shift_mm - high, shift_mm - low)
