"""Can the part be brought in and taken out at an opening: moved without turning, out to the operator's side.

First the plain ways: lift by some amount, then straight out. Each is one test, for the whole way, of the strips the
part's edges sweep. Where none is free, all places on a grid are tried and joined from neighbour to neighbour.
"""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
import shapely
from numpy.typing import NDArray

from flangewise.replay.fold import Array
from flangewise.replay.meets import Obstacle

# A coarse grid answers most; the fine one decides before "no way out" is said.
GRIDS_MM = (2.0, 1.0)
LIFT_STEP_MM = 1.0


def way_out(ring_mm: Array, bodies: Iterable[Obstacle], *, open_mm: float) -> bool:
    """Whether a part lying where `ring_mm` shows it can be moved out, the punch nose `open_mm` over the die top."""
    shapes = _opened(bodies, open_mm)
    lifts = np.arange(0.0, open_mm + float(np.ptp(ring_mm[:, 1])) + LIFT_STEP_MM, LIFT_STEP_MM)
    if _straight_way(ring_mm, shapes, lifts):
        return True
    return any(_wandering_way(ring_mm, shapes, open_mm, grid_mm=grid) for grid in GRIDS_MM)


def _opened(bodies: Iterable[Obstacle], open_mm: float) -> list[shapely.Geometry]:
    shapes = []
    for body in bodies:
        shape = (
            shapely.transform(body.shrunk, lambda points: points + np.array([0.0, open_mm]))
            if body.with_ram
            else body.shrunk
        )
        shapely.prepare(shape)
        shapes.append(shape)
    return shapes


def _straight_way(ring_mm: Array, shapes: list[shapely.Geometry], lifts_mm: Array) -> bool:
    """Lift, then straight out: the lift stops where it first strikes."""
    far = _far_mm(ring_mm, shapes)
    risen = ring_mm
    for lift in lifts_mm:
        if lift > 0 and _any_meets(_strips(risen, (0.0, LIFT_STEP_MM)), shapes):
            return False
        risen = ring_mm + np.array([0.0, lift])
        if not _any_meets(_strips(risen, (far, 0.0)), shapes):
            return True
    return False


def _far_mm(ring_mm: Array, shapes: list[shapely.Geometry]) -> float:
    """A way to the front so long that the part is past everything."""
    front = max((shapely.bounds(shape)[2] for shape in shapes), default=0.0)
    return float(front - ring_mm[:, 0].min() + 1.0)


def _strips(ring_mm: Array, way_mm: tuple[float, float]) -> NDArray[np.object_]:
    """What each edge of a ring sweeps when the ring is moved straight: a parallelogram an edge."""
    begin, end, way = ring_mm, np.roll(ring_mm, -1, axis=0), np.array(way_mm)
    corners = np.stack([begin, end, end + way, begin + way], axis=1)
    index = np.repeat(np.arange(len(corners)), 4)
    strips: NDArray[np.object_] = shapely.convex_hull(shapely.multipoints(corners.reshape(-1, 2), indices=index))
    return strips


def _any_meets(geometries: NDArray[np.object_], shapes: list[shapely.Geometry]) -> bool:
    return any(bool(shapely.intersects(shape, geometries).any()) for shape in shapes)


def _wandering_way(ring_mm: Array, shapes: list[shapely.Geometry], open_mm: float, *, grid_mm: float) -> bool:
    """Every place of the part on a grid; out where a chain of free neighbours leads from where it lies to the front."""
    height = float(np.ptp(ring_mm[:, 1]))
    across = np.arange(-height - open_mm, _far_mm(ring_mm, shapes) + grid_mm, grid_mm)
    across = np.unique(np.append(across, 0.0))
    up = np.unique(np.append(np.arange(-height, open_mm + height + grid_mm, grid_mm), 0.0))
    free = _free_places(ring_mm, shapes, across, up)
    start = (int(np.searchsorted(across, 0.0)), int(np.searchsorted(up, 0.0)))
    return bool(_reached(free, start)[-1].any())


def _free_places(ring_mm: Array, shapes: list[shapely.Geometry], across_mm: Array, up_mm: Array) -> NDArray[np.bool_]:
    places = np.stack(np.meshgrid(across_mm, up_mm, indexing="ij"), axis=-1).reshape(-1, 1, 2)
    free = np.ones(len(places), dtype=bool)
    for chunk in np.array_split(np.arange(len(places)), max(1, len(places) // 4000)):
        rings = shapely.linearrings(ring_mm[None] + places[chunk])
        for shape in shapes:
            free[chunk] &= ~shapely.intersects(shape, rings)
    return free.reshape(len(across_mm), len(up_mm))


def _reached(free: NDArray[np.bool_], start: tuple[int, int]) -> NDArray[np.bool_]:
    """The free places joined to the start by free neighbours, sideways or up and down."""
    reached = np.zeros_like(free)
    front = [start] if free[start] else []
    while front:
        place = front.pop()
        if reached[place]:
            continue
        reached[place] = True
        front.extend(near for near in _neighbours(place, free.shape) if free[near] and not reached[near])
    return reached


def _neighbours(place: tuple[int, int], shape: tuple[int, ...]) -> list[tuple[int, int]]:
    i, j = place
    near = [(i - 1, j), (i + 1, j), (i, j - 1), (i, j + 1)]
    return [(a, b) for a, b in near if 0 <= a < shape[0] and 0 <= b < shape[1]]
