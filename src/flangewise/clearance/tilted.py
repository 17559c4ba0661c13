"""A way out of the open tools for a part that does not come out level: tilted in its plane, place by place proven free.

The tilts are cut into sectors of few degrees. For each, the places are worked out in which the part can be turned
through the whole sector without leaving a clearance to the tools: the plane less the Minkowski sums of tool parts and
the hulls of each piece of the sheet at both ends of its sector, grown by what an arc bulges over its chord. From such a
place to another of one piece the part may be moved, and from sector to sector where their places overlap: so each
motion told is free as a whole, and not at samples alone. No way found proves nothing: there may be one that is turned
while it is moved through a gap, or while the ram goes up.

Source: free space by Minkowski sums and its cells, textbook (from memory); the rest is derived here.
"""

import itertools
import math
from collections import deque
from collections.abc import Iterator
from functools import cached_property

import numpy as np
import shapely
import shapely.affinity
from numpy.typing import NDArray

from flangewise.clearance.exits import AREA_MM2, ENDLESS_MM, Movables, WayOut, sums
from flangewise.geometry import Point, Points
from flangewise.records import dataclass

# A sector, the tilt that is tried to either side, and the distance kept once the part has come off its tools.
SECTOR_DEG, MOST_TILT_DEG, KEPT_MM = 2.0, 60.0, 0.5
# So far behind its stops a part may be pushed; arcs of the sheet are drawn no finer.
PUSHED_MM, SHEET_CHORD_MM = 20.0, 0.1
# Two regions that overlap by less have no common place; this far inside their common places the way goes on.
INSIDE_MM = 0.05
MOST_REGIONS = 400
# A circle of four times as many corners lies within the true one by 2 %.
ROUND_SEGMENTS = 4


@dataclass(frozen=True)
class Place:
    """Where the part is: moved by (across, up) from where it lay and tilted, front up positive.

    Tilted about the spot of it that lay in the middle of the die's top.
    """

    across_mm: float
    up_mm: float
    tilt_deg: float


# Between two places the part is moved straight while it is tilted evenly; in what is found here one or the other.
TiltedWay = tuple[Place, ...]


@dataclass(frozen=True)
class _Cell:
    """Places of one piece that are free through a sector, the first of all: level alone; and from where it is come."""

    region: shapely.Geometry
    sector: int | None
    before: "_Cell | None" = None

    @property
    def tilts_deg(self) -> tuple[float, float]:
        """The ends of the sector."""
        return (0.0, 0.0) if self.sector is None else (self.sector * SECTOR_DEG, (self.sector + 1) * SECTOR_DEG)


class Tilting:
    """A part among its tools, looked at sector by sector as far as it gets; kept for other openings of the ram."""

    def __init__(
        self, tools: Movables, points_mm: Points, level: WayOut, *, thickness_mm: float, nose_mm: float
    ) -> None:
        """As `way_out`, whose answer for the part without tilt is `level`."""
        self._fixed, self._level = tools.fixed, level
        self._moving = tuple(part + np.array([0.0, nose_mm]) for part in tools.moving)
        self._points = shapely.get_coordinates(shapely.simplify(shapely.LineString(points_mm), SHEET_CHORD_MM))
        self._reach_mm = float(np.linalg.norm(self._points, axis=1).max())
        self._front_mm = tools.reach_mm + self._reach_mm + thickness_mm + 1.0
        bulge_mm = self._reach_mm * (1 - math.cos(math.radians(SECTOR_DEG) / 2))
        self._grow_mm = 1.02 * (thickness_mm / 2 + SHEET_CHORD_MM + bulge_mm + KEPT_MM)
        self._kept: dict[int, tuple[shapely.Geometry, shapely.Geometry]] = {}

    def out_at(self, lift_mm: float, *, hung: bool = True) -> TiltedWay | None:
        """A way out to the front with the nose lifted so far, the least tilted first; None where none is found.

        It begins where the part lies, the ram at the bottom of its stroke. Its second place is the same while the ram
        goes up alone, or, where that strikes and `hung` is allowed, as far up as the ram goes with the part on it.
        """
        starts = [start for start in self._level.starts(lift_mm) if hung or start[1] == 0.0]
        for start in starts:
            found = self._from(start, lift_mm)
            if found is not None:
                return (Place(0.0, 0.0, 0.0), *_without_stops(found))
        return None

    def _from(self, start: Point, lift_mm: float) -> TiltedWay | None:
        level = self._level.free(lift_mm, self._room)
        first = next((_Cell(each, None) for each in level if shapely.intersects(each, shapely.Point(start))), None)
        waiting, seen = deque([first] if first is not None else []), 0
        left: dict[int, list[shapely.Geometry]] = {}
        while waiting and seen < MOST_REGIONS:
            cell = waiting.popleft()
            seen += 1
            if shapely.bounds(cell.region)[2] >= self._front_mm - INSIDE_MM and cell.sector is not None:
                return tuple(_places(cell, start, self._front_mm))
            beside = (0, -1) if cell.sector is None else (cell.sector - 1, cell.sector + 1)
            for sector in sorted(beside, key=abs):
                if max(-sector, sector + 1) * SECTOR_DEG > MOST_TILT_DEG:
                    continue
                if sector not in left:
                    left[sector] = list(self._regions(sector, lift_mm))
                shared = [not shapely.is_empty(_common(cell.region, region)) for region in left[sector]]
                pairs = list(zip(left[sector], shared, strict=True))
                waiting.extend(_Cell(region, sector, cell) for region, common in pairs if common)
                left[sector] = [region for region, common in pairs if not common]
        return None

    @cached_property
    def _room(self) -> shapely.Geometry:
        return shapely.box(-PUSHED_MM, -ENDLESS_MM / 2, self._front_mm, ENDLESS_MM / 2)

    def _regions(self, sector: int, lift_mm: float) -> Iterator[shapely.Geometry]:
        """The pieces of the places that are free through a sector."""
        if sector not in self._kept:
            ends = [_turned(self._points, (sector + end) * SECTOR_DEG) for end in (0, 1)]
            pieces = np.concatenate([np.stack([each[:-1], each[1:]], axis=1) for each in ends], axis=1)
            fixed, moving = (
                sums(parts, pieces, self._grow_mm, quad_segs=ROUND_SEGMENTS) for parts in (self._fixed, self._moving)
            )
            self._kept[sector] = fixed, moving
        fixed, moving = self._kept[sector]
        lifted = shapely.affinity.translate(moving, yoff=lift_mm)
        yield from shapely.get_parts(shapely.difference(self._room, shapely.union(fixed, lifted)))


def _without_stops(way: TiltedWay) -> Iterator[Place]:
    """A way without the places at which it is only tilted further on the same spot."""
    for number, place in enumerate(way):
        beside = way[max(number - 1, 0) : number + 2]
        if number == 0 or len({(each.across_mm, each.up_mm) for each in beside}) > 1 or number == len(way) - 1:
            yield place


def _turned(points_mm: Points, tilt_deg: float) -> Points:
    turn = math.radians(tilt_deg)
    turned: Points = points_mm @ np.array([[math.cos(turn), math.sin(turn)], [-math.sin(turn), math.cos(turn)]])
    return turned


def _common(one: shapely.Geometry, other: shapely.Geometry) -> shapely.Geometry:
    """Places well within both."""
    if not shapely.intersects(one, other):
        return shapely.Polygon()
    return shapely.buffer(shapely.intersection(one, other), -INSIDE_MM, join_style="mitre")


def _places(last: _Cell, start: Point, front_mm: float) -> Iterator[Place]:
    """The way through the cells: moved within each, tilted where two overlap, and at last straight to the front."""
    cells = [last]
    while cells[-1].before is not None:
        cells.append(cells[-1].before)
    cells.reverse()
    at, tilt_deg = start, 0.0
    yield Place(*at, tilt_deg)
    for number, (cell, after) in enumerate(itertools.pairwise(cells)):
        goal = _nearest(_common_to_most(cells[number:]), at)
        yield from (Place(*point, tilt_deg) for point in _moved(cell.region, at, goal))
        at, before_deg = goal, tilt_deg
        tilt_deg = next(each for each in after.tilts_deg if each in cell.tilts_deg)
        if tilt_deg != before_deg:
            yield Place(*at, tilt_deg)
    gate = shapely.LineString([(front_mm - INSIDE_MM, -ENDLESS_MM), (front_mm - INSIDE_MM, ENDLESS_MM)])
    goal = _nearest(shapely.intersection(last.region, gate), at)
    yield from (Place(*point, tilt_deg) for point in _moved(last.region, at, goal))


def _common_to_most(cells: list[_Cell]) -> shapely.Geometry:
    """Places common to the first two cells and as many more as have any: there the part is tilted on the spot."""
    common = _common(cells[0].region, cells[1].region)
    for cell in cells[2:]:
        more = shapely.intersection(common, cell.region)
        if more.area < AREA_MM2:
            break
        common = more
    return common


def _nearest(region: shapely.Geometry, to_mm: Point) -> Point:
    across, up = shapely.get_coordinates(shapely.shortest_line(region, shapely.Point(to_mm)))[0]
    return float(across), float(up)


def _moved(region: shapely.Geometry, begin: Point, end: Point) -> list[Point]:
    """Corners of the shortest way of straight pieces within a region, `end` the last: it bends about its own corners.

    Textbook (from memory): the shortest way among polygons, by the corners that see each other.
    """
    if begin == end:
        return []
    shapely.prepare(region)
    points = np.array([begin, end, *_corners(region)])
    sees = np.zeros((len(points), len(points)), dtype=bool)
    for row in range(len(points) if not _sees(region, points[:1], points[1:2])[0] else 1):
        sees[row] = _sees(region, points[row], points)
    long_mm = np.where(sees, np.linalg.norm(points[:, None] - points[None], axis=2), np.inf)
    way_mm, through = long_mm[:, 1], np.ones(len(points), dtype=int)
    for _ in range(len(points)):
        over = long_mm + way_mm[None]
        nearer = over.min(axis=1) < way_mm - AREA_MM2
        if not nearer.any():
            break
        way_mm, through = np.where(nearer, over.min(axis=1), way_mm), np.where(nearer, over.argmin(axis=1), through)
    way, at = [], 0
    while at != 1:
        at = int(through[at])
        way.append((float(points[at][0]), float(points[at][1])))
    return way


def _sees(region: shapely.Geometry, one: Points, others: Points) -> NDArray[np.bool_]:
    lines = shapely.linestrings(np.stack(np.broadcast_arrays(one, others), axis=1))
    seen: NDArray[np.bool_] = shapely.covers(region, lines)
    return seen


def _corners(region: shapely.Geometry) -> Iterator[Point]:
    """Corners of a region that stand into it."""
    for ring in shapely.get_rings(shapely.normalize(region)):
        points = shapely.get_coordinates(ring)[:-1]
        before, after = points - np.roll(points, 1, axis=0), np.roll(points, -1, axis=0) - points
        # Normalized rings run clockwise outside and counterclockwise about holes: the region lies on their right.
        inward = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0] > 0
        yield from map(tuple, points[inward])
