"""A ring of points with arcs between them: tidied, its area, drawn out in chords. Plain numbers in mm."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from flangewise.geometry.outline import Point
from flangewise.records import dataclass

# Points nearer than this are one: far under what can be cut, far over rounding.
SAME_MM = 1e-6


@dataclass(frozen=True)
class Vertex:
    """A point of a ring, and the bulge of the way to the next: tan(turn of the arc / 4), 0 for a straight line."""

    point: Point
    bulge: float = 0.0


def tidied(ring: Sequence[Vertex]) -> tuple[Vertex, ...]:
    """The ring without points that stand twice or in the middle of a straight line."""
    kept: list[Vertex] = []
    for vertex in ring:
        if kept and math.dist(kept[-1].point, vertex.point) < SAME_MM:
            kept[-1] = Vertex(kept[-1].point, vertex.bulge)
        else:
            kept.append(vertex)
    while len(kept) > 1 and math.dist(kept[-1].point, kept[0].point) < SAME_MM:
        kept.pop()
    around = zip((kept[-1], *kept[:-1]), kept, (*kept[1:], kept[0]), strict=True)
    return tuple(vertex for before, vertex, after in around if not _is_needless(before, vertex, after))


def _is_needless(before: Vertex, vertex: Vertex, after: Vertex) -> bool:
    if before.bulge or vertex.bulge:
        return False
    (ax, ay), (x, y), (bx, by) = before.point, vertex.point, after.point
    cross = (x - ax) * (by - y) - (y - ay) * (bx - x)
    forward = (x - ax) * (bx - x) + (y - ay) * (by - y) > 0
    return forward and abs(cross) <= SAME_MM * math.dist((ax, ay), (bx, by))


def area_with_arcs_mm2(ring: Sequence[Vertex]) -> float:
    """The area a ring encloses, its arcs as they are: the polygon's and the segment's of each arc."""
    total = 0.0
    for vertex, after in zip(ring, (*ring[1:], ring[0]), strict=True):
        (x, y), (to_x, to_y) = vertex.point, after.point
        total += (x * to_y - to_x * y) / 2
        if vertex.bulge:
            angle = 4 * math.atan(vertex.bulge)
            radius_mm = math.dist(vertex.point, after.point) / (2 * math.sin(abs(angle) / 2))
            total += radius_mm**2 / 2 * (angle - math.sin(angle))
    return total


def drawn_out(ring: Sequence[Vertex], chord_error_mm: float = 0.01) -> tuple[Point, ...]:
    """The ring as points, its arcs in chords no further off than asked."""
    points: list[Point] = []
    for vertex, after in zip(ring, (*ring[1:], ring[0]), strict=True):
        points.append(vertex.point)
        if vertex.bulge:
            points.extend(_chords(vertex, after.point, chord_error_mm))
    return tuple(points)


def _chords(vertex: Vertex, end: Point, chord_error_mm: float) -> Iterator[Point]:
    """The points between the ends of an arc."""
    angle = 4 * math.atan(vertex.bulge)
    (x, y), (to_x, to_y) = vertex.point, end
    chord_mm = math.dist(vertex.point, end)
    radius_mm = chord_mm / (2 * math.sin(abs(angle) / 2))
    # The centre lies to the left of the chord where the arc is counterclockwise and less than half a turn.
    off = (1 - vertex.bulge**2) / (4 * vertex.bulge)
    centre = (x + to_x) / 2 - (to_y - y) * off, (y + to_y) / 2 + (to_x - x) * off
    step = 2 * math.acos(max(1 - chord_error_mm / radius_mm, 0.0))
    count = max(2, math.ceil(abs(angle) / step))
    begins = math.atan2(y - centre[1], x - centre[0])
    for at in range(1, count):
        turned = begins + angle * at / count
        yield centre[0] + radius_mm * math.cos(turned), centre[1] + radius_mm * math.sin(turned)
