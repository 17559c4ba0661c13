"""Can the part be brought in and taken out: moved without turning, out to the operator's side, while the ram opens.

First the plain ways: the ram opens over the part lying still, then lift by some amount and pull straight out. Each is
one test, for the whole way, of the strips the part's edges sweep. Where none is free, the places of the part on a grid
are tried for every height of the ram on its way up, and joined from neighbour to neighbour. A way out is a way in.
"""

from collections.abc import Iterable

import numpy as np
import shapely
from numpy.typing import NDArray

from flangewise.replay.fold import Array
from flangewise.replay.meets import Obstacle

# A coarse grid answers most; the fine one decides before "no way out" is said.
GRIDS_MM = (2.0, 1.0)
LIFT_STEP_MM = 1.0
# No way out leads further back than this: the stops and the frame of the backgauge stand there.
BACK_MM = 60.0

Places = NDArray[np.bool_]


def way_out(ring_mm: Array, bodies: Iterable[Obstacle], *, touch_mm: float, open_mm: float) -> bool:
    """Whether a part lying where `ring_mm` shows it can be moved out to the front.

    The punch nose stands `touch_mm` over the die top at first and `open_mm` with the ram up; a ram that does not open
    as far as it touches is taken at `open_mm` all the time.
    """
    touch_mm = min(touch_mm, open_mm)
    listed = tuple(bodies)
    fixed = [body.shrunk for body in listed if not body.with_ram]
    moving = [body.shrunk for body in listed if body.with_ram]
    lifts = np.arange(0.0, max(open_mm, 0.0) + float(np.ptp(ring_mm[:, 1])) + LIFT_STEP_MM, LIFT_STEP_MM)
    if _rises(ring_mm, moving, touch_mm, open_mm) and _straight_way(
        ring_mm, [*fixed, *(_raised(shape, open_mm) for shape in moving)], lifts
    ):
        return True
    rise = max(0.0, open_mm - touch_mm)
    raised = [_raised(shape, touch_mm) for shape in moving]
    return any(_wandering_way(ring_mm, fixed, raised, rise_mm=rise, grid_mm=grid) for grid in GRIDS_MM)


def _raised(shape: shapely.Geometry, up_mm: float) -> shapely.Geometry:
    raised = shapely.transform(shape, lambda points: points + np.array([0.0, up_mm]))
    shapely.prepare(raised)
    return raised


def _rises(ring_mm: Array, moving: list[shapely.Geometry], touch_mm: float, open_mm: float) -> bool:
    """Whether the ram goes up over the part lying still: seen from the ram, the part goes down."""
    seen = ring_mm - np.array([0.0, touch_mm])
    return not _any_meets(_strips(seen, (0.0, min(0.0, touch_mm - open_mm))), moving)


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


def _wandering_way(
    ring_mm: Array,
    fixed: list[shapely.Geometry],
    moving: list[shapely.Geometry],
    *,
    rise_mm: float,
    grid_mm: float,
) -> bool:
    """Every place of the part on a grid while the ram rises step by step: out where a chain of neighbours leads.

    The ram is tested once for all its heights, since part and ram only matter by their height against each other.
    """
    height, steps = float(np.ptp(ring_mm[:, 1])), round(rise_mm / grid_mm)
    back = round(min(height + rise_mm, BACK_MM) / grid_mm)
    across: Array = (
        np.arange(-back, round(_far_mm(ring_mm, [*fixed, *moving]) / grid_mm) + 2, dtype=np.float64) * grid_mm
    )
    above, below = round((rise_mm + height) / grid_mm) + 1, round(height / grid_mm) + 1
    up: Array = np.arange(-below, above, dtype=np.float64) * grid_mm
    beside_fixed = _free_places(ring_mm, fixed, across, up)
    from_ram: Array = np.arange(-below - steps, above, dtype=np.float64) * grid_mm
    beside_moving = _free_places(ring_mm, moving, across, from_ram)
    reached = np.zeros_like(beside_fixed)
    reached[back, below] = True
    for step in range(steps + 1):
        free = beside_fixed & beside_moving[:, steps - step : steps - step + len(up)]
        reached = _spread(reached & free, free)
    return bool(reached[-1].any())


def _free_places(ring_mm: Array, shapes: list[shapely.Geometry], across_mm: Array, up_mm: Array) -> Places:
    places = np.stack(np.meshgrid(across_mm, up_mm, indexing="ij"), axis=-1).reshape(-1, 1, 2)
    free = np.ones(len(places), dtype=bool)
    for chunk in np.array_split(np.arange(len(places)), max(1, len(places) // 4000)):
        rings = shapely.linearrings(ring_mm[None] + places[chunk])
        for shape in shapes:
            free[chunk] &= ~shapely.intersects(shape, rings)
    return free.reshape(len(across_mm), len(up_mm))


def _spread(reached: Places, free: Places) -> Places:
    """All free places joined to the reached ones by free neighbours, sideways or up and down."""
    count = -1
    while count != (count := int(reached.sum())):
        grown = reached.copy()
        grown[1:] |= reached[:-1]
        grown[:-1] |= reached[1:]
        grown[:, 1:] |= reached[:, :-1]
        grown[:, :-1] |= reached[:, 1:]
        reached = grown & free
    return reached
