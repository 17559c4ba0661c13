"""A closed ring of points in the plane: its area, its edges, whether it crosses itself. Plain numbers in mm."""

from __future__ import annotations

import math
from collections.abc import Sequence

from flangewise.geometry.outline import Point
from flangewise.records import dataclass

# Two directions whose cross product is below this are parallel.
PARALLEL = 1e-9
# Points nearer than this are one, a corner further off its chord than this counts.
SAME_MM = 1e-7


@dataclass(frozen=True)
class Edge:
    """An edge of a ring that runs counterclockwise, from its first to its last point."""

    first_mm: Point
    last_mm: Point

    @property
    def length_mm(self) -> float:
        """From end to end."""
        return math.dist(self.first_mm, self.last_mm)

    @property
    def along(self) -> Point:
        """Unit vector from the first to the last point."""
        length = self.length_mm
        return (self.last_mm[0] - self.first_mm[0]) / length, (self.last_mm[1] - self.first_mm[1]) / length

    @property
    def outward(self) -> Point:
        """Unit vector square to the edge, away from the ring's inside."""
        x, y = self.along
        return y, -x

    def at(self, u_mm: float, v_mm: float) -> Point:
        """The point `u_mm` along the edge from its first end and `v_mm` outward."""
        (x, y), (dx, dy) = self.first_mm, self.along
        return x + u_mm * dx + v_mm * dy, y + u_mm * dy - v_mm * dx

    def place_of(self, point: Point) -> Point:
        """How far along the edge and how far outward a point lies."""
        x, y = point[0] - self.first_mm[0], point[1] - self.first_mm[1]
        dx, dy = self.along
        return x * dx + y * dy, x * dy - y * dx

    def meets(self, v_mm: float, other: Edge, other_v_mm: float) -> Point | None:
        """Where the line `v_mm` outward of this edge meets the line so far outward of another; None if parallel."""
        (dx, dy), (ex, ey) = self.along, other.along
        cross = dx * ey - dy * ex
        if abs(cross) < PARALLEL:
            return None
        (x, y), (ox, oy) = self.at(0.0, v_mm), other.at(0.0, other_v_mm)
        u_mm = ((ox - x) * ey - (oy - y) * ex) / cross
        return self.at(u_mm, v_mm)


def edges_of(ring_mm: Sequence[Point]) -> tuple[Edge, ...]:
    """The edges of a ring, the first from its first point to its second."""
    return tuple(Edge(one, other) for one, other in zip(ring_mm, (*ring_mm[1:], ring_mm[0]), strict=True))


def area_mm2(ring_mm: Sequence[Point]) -> float:
    """Enclosed area, positive counterclockwise."""
    pairs = zip(ring_mm, (*ring_mm[1:], ring_mm[0]), strict=True)
    return sum(x * other_y - other_x * y for (x, y), (other_x, other_y) in pairs) / 2


def inner_angle_deg(before: Edge, after: Edge) -> float:
    """The angle inside a ring between an edge and the next: 90 at a square corner, above 180 at an inner one."""
    (dx, dy), (ex, ey) = before.along, after.along
    return 180.0 - math.degrees(math.atan2(dx * ey - dy * ex, dx * ex + dy * ey))


def crossing(ring_mm: Sequence[Point]) -> Point | None:
    """A point where a ring meets itself between edges that are not neighbours; None where it is simple."""
    edges = edges_of(ring_mm)
    for at, edge in enumerate(edges):
        for other in edges[at + 2 : len(edges) - (1 if at == 0 else 0)]:
            found = _meeting(edge, other)
            if found is not None:
                return found
    return None


def _meeting(one: Edge, other: Edge) -> Point | None:
    if one.length_mm < SAME_MM or other.length_mm < SAME_MM:
        return None
    found = one.meets(0.0, other, 0.0)
    if found is None:
        ends = (point for point in (other.first_mm, other.last_mm) if _is_on(one, point))
        return next(ends, None)
    return found if _is_on(one, found) and _is_on(other, found) else None


def _is_on(edge: Edge, point: Point) -> bool:
    u_mm, v_mm = edge.place_of(point)
    return abs(v_mm) <= SAME_MM and -SAME_MM <= u_mm <= edge.length_mm + SAME_MM
