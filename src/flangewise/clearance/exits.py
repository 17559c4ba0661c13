"""How far the ram must open so that a part can be brought in and taken out to the front.

The part is moved freely in its plane without turning. Where it may be is what is left of the plane after taking away,
for each tool, the Minkowski sum of the tool and the part reflected; bodies above the nose go up with the ram, so their
share only moves. The ram has no upper end and the bed no lower end, and behind there is no way out.

Source: Minkowski sums for moving without turning, textbook (from memory); the rest is derived here.
"""

import itertools
import math
from collections.abc import Sequence
from functools import cached_property, lru_cache
from typing import Protocol

import numpy as np
import shapely
import shapely.affinity

from flangewise.clearance.bodies import Body, Outline
from flangewise.clearance.region import Geometries
from flangewise.clearance.swept import CONTACT_MM, swept_line
from flangewise.geometry import Points
from flangewise.records import dataclass

ENDLESS_MM = 5000.0
BEHIND_MM = 400.0
GRID_MM = 5.0
CHORD_MM = 0.03
AREA_MM2 = 1e-6


@dataclass(frozen=True)
class WayOut:
    """Where a part may be among the tools: what is forbidden by fixed bodies, and by those with the ram.

    Forbidden places are those of the part's own origin; (0, 0) is where it lies now, the ram at the
    bottom of its stroke.
    """

    fixed: shapely.Geometry
    moving: shapely.Geometry
    front_mm: float

    def open_at(self, lift_mm: float) -> bool:
        """Whether the part can leave to the front with the nose `lift_mm` above the bottom of its stroke."""
        starts = self.starts(lift_mm)
        if not starts:
            return False
        lifted = shapely.affinity.translate(self.moving, yoff=lift_mm)
        free = shapely.get_parts(shapely.difference(self._beside_fixed, lifted))
        ways = free[shapely.intersects(free, shapely.LineString([(self.front_mm, -1.0e3), (self.front_mm, 1.0e3)]))]
        return bool(shapely.intersects(ways[:, None], shapely.points(starts)[None, :]).any()) if len(ways) else False

    @cached_property
    def _beside_fixed(self) -> shapely.Geometry:
        """Where the part may be among the bodies that stand."""
        room = shapely.box(-BEHIND_MM, -ENDLESS_MM / 2, self.front_mm, ENDLESS_MM / 2)
        return shapely.difference(room, self.fixed)

    def free(self, lift_mm: float, room: shapely.Geometry) -> Geometries:
        """The pieces of a room in which the part may be with the nose lifted so far."""
        lifted = shapely.affinity.translate(self.moving, yoff=lift_mm)
        pieces: Geometries = shapely.get_parts(shapely.difference(room, shapely.union_all([self.fixed, lifted])))
        return pieces

    def starts(self, lift_mm: float) -> list[tuple[float, float]]:
        """Where the part may be once the ram is up: where it lay, if the punch leaves it straight up without
        striking it; lifted with the punch, if nothing fixed holds it down."""
        starts = []
        if self.free_in_place(lift_mm):
            starts.append((0.0, 0.0))
        if not shapely.intersects(self.fixed, shapely.LineString([(0.0, 0.0), (0.0, lift_mm)])):
            starts.append((0.0, float(lift_mm)))
        return starts

    def free_in_place(self, lift_mm: float) -> bool:
        """Whether the nose can be lifted while the part stays: then it can also be slid out along the bed."""
        risen = shapely.intersects(self.moving, shapely.LineString([(0.0, 0.0), (0.0, -lift_mm)]))
        return not risen and not shapely.intersects(self.fixed, shapely.Point(0.0, 0.0))

    def most_in_place_mm(self) -> float:
        """How far the nose can be lifted while the part stays, before something that goes with the ram strikes it."""
        strikes = shapely.intersection(self.moving, shapely.LineString([(0.0, 0.0), (0.0, -ENDLESS_MM)]))
        return math.inf if shapely.is_empty(strikes) else -float(shapely.bounds(strikes)[3])


class Opens(Protocol):
    """What can be asked whether a part leaves to the front with the nose lifted so far."""

    def open_at(self, lift_mm: float) -> bool:
        """Whether it does."""
        ...


@dataclass(frozen=True)
class Movables:
    """Tools cut into convex parts, once for a stack: those that stand, and those that go with the ram.

    The latter have the punch nose at the origin. The topmost body goes on upward without end, the lowest
    downward. `reach_mm`: how far in front or behind anything reaches.
    """

    fixed: tuple[Points, ...]
    moving: tuple[Points, ...]
    reach_mm: float

    @cached_property
    def polygons(self) -> tuple[Geometries, Geometries]:
        """Those that stand, and those that go with the ram, as polygons."""
        fixed, moving = (
            np.array([shapely.Polygon(part) for part in parts], dtype=object) for parts in (self.fixed, self.moving)
        )
        return fixed, moving


def movables(bodies: tuple[Body, ...]) -> Movables:
    """The tools as the way out needs them."""
    parts: dict[bool, list[Points]] = {False: [], True: []}
    for body in bodies:
        parts[body.with_ram].extend(convex_parts(body.points_mm))
    for with_ram in (False, True):
        parts[with_ram].extend(_endless(bodies, with_ram=with_ram))
    reach = max((abs(across) for body in bodies for across, _ in body.points_mm), default=0.0)
    return Movables(tuple(parts[False]), tuple(parts[True]), reach)


def tallest_gap_mm(bodies: tuple[Body, ...], open_mm: float) -> float:
    """How long an upright line is at most that passes under the nose, which is `open_mm` above the die top or lower.

    What is brought in to behind the tools goes through the plane under the nose, and all of an upright line at once: so
    it lies in one gap of that plane then. Source: derived here.
    """
    spans, ends = list[tuple[float, float]](), {False: ENDLESS_MM, True: -ENDLESS_MM}
    for body in bodies:
        ups = [up + (open_mm if body.with_ram else 0.0) for up in _under_nose_mm(body.points_mm)]
        spans += zip(ups[::2], ups[1::2], strict=True)
        ends[body.with_ram] = (max if body.with_ram else min)(ends[body.with_ram], *ups)
    # Over what goes with the ram lies more of it, under what stands the bed.
    spans = sorted([*spans, (-ENDLESS_MM, ends[False]), (ends[True], ENDLESS_MM)])
    tops = itertools.accumulate((top for _, top in spans), max)
    return max(low - top for top, (low, _) in zip(tops, spans[1:], strict=False))


@lru_cache(maxsize=256)
def _under_nose_mm(outline_mm: Outline) -> list[float]:
    """Where an outline goes through the plane under the nose, ascending; kept for the stacks that share a body."""
    sides = zip(outline_mm, (*outline_mm[1:], outline_mm[0]), strict=True)
    return sorted(
        up + across / (across - beyond) * (over - up)
        for (across, up), (beyond, over) in sides
        if (across < 0) != (beyond < 0)
    )


def way_out(
    tools: Movables, points_mm: Points, *, thickness_mm: float, nose_mm: float, tight_mm: float = CONTACT_MM
) -> WayOut:
    """The way out for a part whose middle surface is `points_mm` in machine coordinates.

    `nose_mm`: height of the punch nose above the die top now (negative: minus the depth). `tight_mm`: how much
    of the sheet may lie in the tools now without being caught there (contact; more where it was pressed).
    """
    # The middle surface, its arcs no finer than they need be.
    points = shapely.get_coordinates(shapely.simplify(shapely.LineString(points_mm), CHORD_MM))
    lines = np.stack([points[:-1], points[1:]], axis=1)
    moving = [part + np.array([0.0, nose_mm]) for part in tools.moving]
    grow = max(0.0, thickness_mm / 2 - tight_mm)
    front = tools.reach_mm - float(points_mm[:, 0].min()) + thickness_mm + 1.0
    return WayOut(sums(tools.fixed, lines, grow), sums(moving, lines, grow), front)


@lru_cache(maxsize=256)
def convex_parts(points_mm: Outline) -> tuple[Points, ...]:
    """Convex parts of an outline, its arcs no finer than they need be; kept for the parts that follow."""
    polygon = shapely.simplify(shapely.make_valid(shapely.Polygon(points_mm)), CHORD_MM)
    parts = list(shapely.get_parts(shapely.constrained_delaunay_triangles(polygon)))
    joined = True
    while joined:
        joined = False
        for one, other in itertools.combinations(range(len(parts)), 2):
            both = shapely.union(parts[one], parts[other])
            if shapely.area(shapely.convex_hull(both)) <= shapely.area(both) + AREA_MM2:
                parts = [part for k, part in enumerate(parts) if k not in (one, other)] + [shapely.convex_hull(both)]
                joined = True
                break
    return tuple(shapely.get_coordinates(part)[:-1] for part in parts)


def _endless(bodies: tuple[Body, ...], *, with_ram: bool) -> list[Points]:
    own = [np.array(body.points_mm, dtype=float) for body in bodies if body.with_ram == with_ram]
    if not own:
        return []
    sign = 1.0 if with_ram else -1.0
    last = max(own, key=lambda points: float((sign * points[:, 1]).max()))
    level = float((sign * last[:, 1]).max())
    edge = last[np.abs(sign * last[:, 1] - level) < 1e-6][:, 0]
    low, high = float(edge.min()), float(edge.max())
    corners = [(low, level), (high, level), (high, level + ENDLESS_MM), (low, level + ENDLESS_MM)]
    return [np.array(corners) * [1.0, sign]]


def sums(parts: Sequence[Points], lines: Points, grow_mm: float, *, quad_segs: int = 16) -> shapely.Geometry:
    """Union of the Minkowski sums of convex parts with reflected segments, or hulls of corners, grown by the sheet."""
    hulls = convex_sums(parts, lines)
    return shapely.buffer(shapely.union_all(hulls), grow_mm, quad_segs=quad_segs) if len(hulls) else shapely.Polygon()


def convex_sums(parts: Sequence[Points], lines: Points) -> Geometries:
    """The Minkowski sums of convex parts with reflected segments, or hulls of corners, each by itself."""
    found: Geometries = np.zeros(0, dtype=object)
    if parts and len(lines):
        corners = [(part[None, :, None, :] - lines[:, None]).reshape(len(lines), -1, 2) for part in parts]
        found = np.concatenate([shapely.convex_hull(shapely.linestrings(each)) for each in corners])
    return found


def pulls_out(
    tools: Movables,
    points_mm: Points,
    *,
    thickness_mm: float,
    nose_mm: float,
    tight_mm: float = CONTACT_MM,
    lift_mm: float,
    spare_mm: float = 0.0,
    edge_mm: float = 0.0,
    slope_deg: float = 0.0,
) -> bool:
    """Whether the part leaves on one of the plainest ways, the nose lifted by so much; False says nothing.

    The ram goes up, the part with it or after it as far as what hangs behind needs, and maybe half of the spare room
    higher; then to the front: straight, or once it is over the die's front edge, `edge_mm` out, down the slope of the
    wing behind. Asked of the tools themselves; for the rest see `way_out`.
    """
    points = shapely.get_coordinates(shapely.simplify(shapely.LineString(points_mm), CHORD_MM))
    grow_mm = max(0.0, thickness_mm / 2 - tight_mm)
    far_mm = tools.reach_mm - float(points[:, 0].min()) + thickness_mm + 1.0
    fixed, moving = tools.polygons

    def clear(start: Points, end: Points, bodies: Geometries, up_mm: float) -> bool:
        swept = swept_line(points + start - np.array([0.0, up_mm]), end - start)
        return not shapely.dwithin(swept[:, None], bodies[None], grow_mm).any()

    def both(start: Points, end: Points) -> bool:
        return clear(start, end, fixed, 0.0) and clear(start, end, moving, nose_mm + lift_mm)

    rest, risen = np.zeros(2), np.array([0.0, lift_mm])
    with_ram, alone = clear(rest, risen, fixed, 0.0), clear(rest, -risen, moving, nose_mm)
    hangs_mm = max(0.0, thickness_mm / 2 - float(points[points[:, 0] <= 0, 1].min(initial=0.0)))
    heights_mm = dict.fromkeys(
        min(up, lift_mm) for up in (0.0, hangs_mm, hangs_mm + spare_mm / 2, hangs_mm + GRID_MM / 2)
    )
    for raised in (np.array([0.0, up]) for up in heights_mm):
        if not (alone and both(rest, raised)) and not (with_ram and both(risen, raised)):
            continue
        if both(raised, raised + np.array([far_mm, 0.0])):
            return True
        over, slope = raised + np.array([edge_mm, 0.0]), math.radians(slope_deg)
        if slope_deg and both(raised, over) and both(over, over + far_mm * np.array([1.0, -math.tan(slope)])):
            return True
    return False


def least_lift_mm(way: Opens, *, most_mm: float, likely_mm: float = 0.0) -> float | None:
    """Least lift on a grid of 5 mm with which the part can leave to the front, None up to `most_mm`.

    Found by halving, from about `likely_mm`, so it is a lift that works and the next smaller on the grid does not.
    """
    most = int(np.floor(most_mm / GRID_MM))
    likely = min(max(int(np.ceil(likely_mm / GRID_MM)), 1), most)
    if most < 1:
        return None
    low, high = (0, likely) if way.open_at(likely * GRID_MM) else (likely, most)
    if low and (low == most or not way.open_at(most * GRID_MM)):
        return None
    middle = high - 1 if not low else (low + high) // 2
    while high - low > 1:
        low, high = (low, middle) if way.open_at(middle * GRID_MM) else (middle, high)
        middle = (low + high) // 2
    return high * GRID_MM
