"""Whether a panel comes out of the tools as its plan says: walked level across the bed, slid along it, or turned in its
plane about what of the row hangs down between its flanges.

The part is a cloud of points; those that lie at one place across the bed are one. A stair of level and upright moves is
looked for, so what is found is a way. Source: derived here.
"""

import heapq
import math
from collections.abc import Iterator, Sequence
from functools import cached_property

import numpy as np
import shapely
import shapely.affinity
from numpy.typing import NDArray

from flangewise.records import dataclass
from flangewise.replay.panel_fold import Array
from flangewise.replay.panel_stroke import Standing

# Points are taken together on a grid so fine; so deep a body may seem to be met.
GRID_MM, TOUCH_MM = 0.25, 0.3
# No part is more cells of the grid long.
MOST_CELLS = 1 << 20
RISE_MM, STEP_MM, MOST_STEPS = 2.5, 5.0, 2000
FAR_MM = 2000.0
# Turned in its plane: by so much at a time, to places so near each other, no further from the last than this.
TURN_DEG, PLACE_MM, NEAR_MM = 1.0, 0.5, 6.0
FLOOR_MM = 0.4


@dataclass(frozen=True)
class _Met:
    """A body, and the places across the bed and up of what of the part stands over it."""

    outline: shapely.Geometry
    places_mm: Array
    with_ram: bool

    def strikes(self, way: tuple[Array, Array]) -> bool:
        """Whether any place meets the body on a straight move, given as (across, up) from and to."""
        if not len(self.places_mm):
            return False
        first, last = (self.places_mm + at for at in way)
        moved = shapely.points(first) if np.allclose(*way) else shapely.linestrings(np.stack([first, last], axis=1))
        return bool(shapely.intersects(self.outline, moved).any())


@dataclass(frozen=True)
class WaysOut:
    """A part as it lies after a hit, x along the bed, y to the back, z up, among bodies; the ram at `nose_up_mm`, which
    opens to `open_mm`."""

    points_mm: Array
    bodies: Sequence[Standing]
    nose_up_mm: float
    open_mm: float

    def to_the_front(self, *, with_punch: bool) -> bool:
        """Whether it comes out to the front: from where it lies, or from where the punch has lifted it to."""
        return any(self._is_out(at) for at in self._reached(with_punch=with_punch))

    def along_the_bed(self, *, with_punch: bool) -> bool:
        """Whether it comes to where no tool is in its way to one end of the bed, other stations on that side too."""
        sides = (
            [body for body in self.bodies if not body.beside or _is_on(body, self.points_mm, side)]
            for side in (-1.0, 1.0)
        )
        everywhere = [self._met(bodies, whole=True) for bodies in sides]
        return any(
            not any(met.strikes((at, at)) for met in bodies)
            for at in self._reached(with_punch=with_punch)
            for bodies in everywhere
        )

    def _met(self, bodies: Sequence[Standing], *, whole: bool = False) -> list[_Met]:
        found = []
        for body in bodies:
            outline = shapely.buffer(body.outline, -TOUCH_MM)
            rise_mm = self.open_mm if body.with_ram else 0.0
            for low, high, foot_mm in body.runs_mm:
                cut = outline if math.isinf(foot_mm) else shapely.intersection(outline, _below(foot_mm))
                own = self.points_mm
                if not whole:
                    own = own[(own[:, 0] > low) & (own[:, 0] < high)]
                shape = shapely.affinity.translate(cut, yoff=rise_mm)
                shapely.prepare(shape)
                found.append(_Met(shape, _places(own), body.with_ram))
        return found

    @cached_property
    def _bodies(self) -> list[_Met]:
        return self._met(self.bodies)

    def _is_free(self, one: Array, other: Array) -> bool:
        return not any(met.strikes((one, other)) for met in self._bodies)

    def _is_out(self, at: Array) -> bool:
        """Whether it goes straight to the front from there."""
        return self._is_free(at, at + np.array([FAR_MM, 0.0]))

    def _reached(self, *, with_punch: bool) -> Iterator[Array]:
        """Places that it comes to, those furthest to the front first: how far to the front, and up."""
        begin = np.array([0.0, self.open_mm - self.nose_up_mm if with_punch else 0.0])
        if with_punch and any(met.strikes((np.zeros(2), begin)) for met in self._bodies if not met.with_ram):
            return
        if not self._is_free(begin, begin):
            return
        most_mm = self.open_mm + float(np.ptp(self.points_mm[:, 2]))
        steps_mm = np.array([STEP_MM, RISE_MM])
        waiting, seen = [(0, 0, 0)], {(0, 0)}
        for _ in range(MOST_STEPS):
            if not waiting:
                return
            _, out, up = heapq.heappop(waiting)
            at = begin + steps_mm * (out, up)
            yield at
            for next_out, next_up in ((out, up + 1), (out, up - 1), (out + 1, up), (out - 1, up)):
                to = begin + steps_mm * (next_out, next_up)
                if (next_out, next_up) in seen or abs(to[1]) > most_mm:
                    continue
                if self._is_free(at, to):
                    seen.add((next_out, next_up))
                    heapq.heappush(waiting, (-next_out, next_out, next_up))


def _is_on(body: Standing, points_mm: Array, side: float) -> bool:
    """Whether another station stands to that side of the part."""
    middle_mm = float(points_mm[:, 0].mean())
    low, high, _ = body.runs_mm[0]
    return ((low + high) / 2 - middle_mm) * side > 0


def _below(up_mm: float) -> shapely.Geometry:
    return shapely.box(-FAR_MM, -FAR_MM, FAR_MM, up_mm)


def _places(points_mm: Array) -> Array:
    """Where points lie across the bed, toward the operator, and up, each place once."""
    return _once(np.column_stack([-points_mm[:, 1], points_mm[:, 2]]), GRID_MM)


def _once(points_mm: Array, grid_mm: float) -> Array:
    """Points on a grid, each once."""
    cells = np.round(points_mm / grid_mm).astype(np.int64) + MOST_CELLS // 2
    keys = cells @ MOST_CELLS ** np.arange(cells.shape[1])
    found = (cells[np.unique(keys, return_index=True)[1]] - MOST_CELLS // 2) * grid_mm
    return np.asarray(found, dtype=np.float64)


@dataclass(frozen=True)
class TurnedOut:
    """A part that lies level with a row inside it: x along the bed, y out from the bend into it, z over the die's top.

    `punch` as it stands for the hit, its row's middle at `middle_mm`.
    """

    points_mm: Array
    thickness_mm: float
    punch: Standing

    def passes(self, turns_deg: tuple[float, float]) -> bool:
        """Whether the row, turned from where it stands to the middle of what is told, can be lifted out of the part."""
        wanted = sum(turns_deg) / 2
        at = self._begin()
        count = max(1, math.ceil(abs(wanted) / TURN_DEG))
        for turn_deg in np.linspace(0.0, wanted, count + 1):
            if at is None:
                return False
            near = at + _window()
            free = near[self._free(near, float(turn_deg), through=False)]
            at = free[np.linalg.norm(free - free.mean(axis=0), axis=1).argmin()] if len(free) else None
        if at is None:
            return False
        return bool(self._free(at + _window(), wanted, through=True).any())

    def _begin(self) -> Array | None:
        """A place of the row over the floor, as far from all as may be, near the bend."""
        deep_mm = float(self._standing[:, 1].max())
        middle_mm = self._middle_mm
        xs, ys = np.meshgrid(middle_mm + np.array([-4.0, 0.0, 4.0]), np.arange(0.0, deep_mm, 1.0))
        places = np.column_stack([xs.ravel(), ys.ravel()])
        free = places[self._free(places, 0.0, through=False)]
        return free[np.linalg.norm(free - free.mean(axis=0), axis=1).argmin()] if len(free) else None

    @property
    def _middle_mm(self) -> float:
        return (min(low for low, _, _ in self.punch.runs_mm) + max(high for _, high, _ in self.punch.runs_mm)) / 2

    @cached_property
    def _standing(self) -> Array:
        """What stands over the floor, each place once."""
        over = self.points_mm[self.points_mm[:, 2] > self.thickness_mm + FLOOR_MM]
        return _once(over, 1.0)

    @cached_property
    def _spans(self) -> tuple[tuple[float, float, Array, Array], ...]:
        """Of each stretch of the row, where it begins and ends, and how far it reaches across at and below each
        point's height."""
        floor_mm = self.thickness_mm + FLOOR_MM
        heights = np.unique(self._standing[:, 2])
        at = np.searchsorted(heights, self._standing[:, 2])
        found = []
        for low, high, foot_mm in self.punch.runs_mm:
            spans = []
            for up_mm in heights - floor_mm:
                cut = shapely.intersection(self.punch.outline, _below(min(up_mm, foot_mm)))
                here = shapely.intersection(
                    self.punch.outline,
                    shapely.LineString([(-FAR_MM, min(up_mm, foot_mm - 0.01)), (FAR_MM, min(up_mm, foot_mm - 0.01))]),
                )
                inside = here if up_mm < foot_mm else shapely.Polygon()
                spans.append([*_across(inside), *_across(cut)])
            table = np.array(spans)[at]
            found.append((low - self._middle_mm, high - self._middle_mm, table[:, :2], table[:, 2:]))
        return tuple(found)

    def _free(self, places: Array, turn_deg: float, *, through: bool) -> NDArray[np.bool_]:
        """Whether the row meets nothing at places of its middle, turned so far, over the floor or all the way up."""
        cos, sin = math.cos(math.radians(turn_deg)), math.sin(math.radians(turn_deg))
        turn = np.array([[cos, -sin], [sin, cos]])
        # Along the row and out from it, of points and places alike.
        local, at = self._standing[:, :2] @ turn, places @ turn
        (least_x, least_y), (most_x, most_y) = at.min(axis=0), at.max(axis=0)
        free = np.ones(len(places), dtype=bool)
        for low, high, here, below in self._spans:
            span = below if through else here
            near = (local[:, 0] > low + least_x) & (local[:, 0] < high + most_x)
            near &= (local[:, 1] > span[:, 0] + least_y) & (local[:, 1] < span[:, 1] + most_y)
            along, out = (local[near, axis][None] - at[:, axis][:, None] for axis in (0, 1))
            met = (along > low) & (along < high) & (out > span[near, 0]) & (out < span[near, 1])
            free &= ~met.any(axis=1)
        return free


def _across(shape: shapely.Geometry) -> tuple[float, float]:
    """From where to where a piece of an outline reaches across; nothing for an empty one."""
    if shapely.is_empty(shape):
        return math.inf, -math.inf
    low, _, high, _ = shapely.bounds(shape)
    return float(low), float(high)


def _window() -> Array:
    at = np.arange(-NEAR_MM, NEAR_MM + PLACE_MM / 2, PLACE_MM)
    xs, ys = np.meshgrid(at, at)
    return np.column_stack([xs.ravel(), ys.ravel()])
