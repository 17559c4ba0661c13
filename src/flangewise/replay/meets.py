"""Do part and bodies meet, through the stroke and on the way in and out: the part's whole outline against each body.

A body is shrunk by the contact tolerance, so that a punch nose that bends the sheet and a shoulder that carries it
do not count as striking it. The part's outline is a ring of both faces; a body cannot hide inside the thickness, so
ring against body is enough. Where the part meets its stop is found by rays across from every corner, without polygons.

A way in or out is one without turning, out to the operator's side, while the ram opens.
First the plain ways: the ram opens over the part lying still, then lift by some amount and pull straight out. Each is
one test, for the whole way, of the strips the part's edges sweep. Where none is free, the places of the part on a grid
are tried for every height of the ram on its way up, and joined from neighbour to neighbour. A way out is a way in.
"""

import math
from collections.abc import Iterable

import numpy as np
import shapely
from numpy.typing import NDArray

from flangewise.records import dataclass
from flangewise.replay.bodies import Corners, Solid
from flangewise.replay.fold import Array, Rings
from flangewise.replay.stroke import Moments

# How deep two bodies may overlap before it is a collision: the chord error of arcs and the print of true contact.
CONTACT_MM = 0.05
# A coarse grid answers most; the fine one decides before "no way out" is said.
GRIDS_MM = (2.0, 1.0)
LIFT_STEP_MM = 1.0
# No way out leads further back than this: the stops and the frame of the backgauge stand there.
BACK_MM = 60.0
# Points this close to the first contact touch too.
TOUCH_MM = 0.02
# What of the part stands further than this behind the stop's face is not in front of it at all.
DEEPEST_MM = 15.0

Places = NDArray[np.bool_]


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
    # Does the ram go up over the part lying still? Seen from the ram, the part goes down.
    opens = strips(ring_mm - np.array([0.0, touch_mm]), (0.0, min(0.0, touch_mm - open_mm)))
    risen = [*fixed, *(raised(shape, open_mm) for shape in moving)]
    if not any_meets(opens, moving) and _straight_way(ring_mm, risen, lifts):
        return True
    rise = max(0.0, open_mm - touch_mm)
    above = [raised(shape, touch_mm) for shape in moving]
    return any(_wandering_way(ring_mm, fixed, above, rise_mm=rise, grid_mm=grid) for grid in GRIDS_MM)


def raised(shape: shapely.Geometry, up_mm: float) -> shapely.Geometry:
    """A shape so much further up, prepared for testing."""
    raised = shapely.transform(shape, lambda points: points + np.array([0.0, up_mm]))
    shapely.prepare(raised)
    return raised


def _straight_way(ring_mm: Array, shapes: list[shapely.Geometry], lifts_mm: Array) -> bool:
    """Lift, then straight out: the lift stops where it first strikes."""
    far = _far_mm(ring_mm, shapes)
    risen = ring_mm
    for lift in lifts_mm:
        if lift > 0 and any_meets(strips(risen, (0.0, LIFT_STEP_MM)), shapes):
            return False
        risen = ring_mm + np.array([0.0, lift])
        if not any_meets(strips(risen, (far, 0.0)), shapes):
            return True
    return False


def _far_mm(ring_mm: Array, shapes: list[shapely.Geometry]) -> float:
    """A way to the front so long that the part is past everything."""
    front = max((shapely.bounds(shape)[2] for shape in shapes), default=0.0)
    return float(front - ring_mm[:, 0].min() + 1.0)


def strips(ring_mm: Array, way_mm: tuple[float, float]) -> NDArray[np.object_]:
    """What each edge of a ring sweeps when the ring is moved straight: a parallelogram an edge."""
    begin, end, way = ring_mm, np.roll(ring_mm, -1, axis=0), np.array(way_mm)
    corners = np.stack([begin, end, end + way, begin + way], axis=1)
    index = np.repeat(np.arange(len(corners)), 4)
    strips: NDArray[np.object_] = shapely.convex_hull(shapely.multipoints(corners.reshape(-1, 2), indices=index))
    return strips


def any_meets(geometries: NDArray[np.object_], shapes: list[shapely.Geometry]) -> bool:
    """Whether any of some geometries meets any of some shapes."""
    return any(bool(shapely.intersects(shape, geometries).any()) for shape in shapes)


def _wandering_way(
    ring_mm: Array, fixed: list[shapely.Geometry], moving: list[shapely.Geometry], *, rise_mm: float, grid_mm: float
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
    """Where on a grid the part meets none of the shapes; it is drawn only where its box meets the box of one."""
    places = np.stack(np.meshgrid(across_mm, up_mm, indexing="ij"), axis=-1).reshape(-1, 1, 2)
    free = np.ones(len(places), dtype=bool)
    lowest, highest = ring_mm.min(axis=0), ring_mm.max(axis=0)
    boxes: Array = shapely.bounds(shapes).reshape(-1, 4)
    for shape, box in zip(shapes, boxes, strict=True):
        beside = np.any((places[:, 0] + highest < box[:2]) | (places[:, 0] + lowest > box[2:]), axis=1)
        near = np.flatnonzero(free & ~beside)
        for chunk in np.array_split(near, max(1, len(near) // 4000)):
            free[chunk] = ~shapely.intersects(shape, shapely.linearrings(ring_mm[None] + places[chunk]))
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
