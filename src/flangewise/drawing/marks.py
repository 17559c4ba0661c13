"""Small signs of a drawing: arrow heads, arrows, break lines, the datum triangle, circles."""

import math

from flangewise.drawing.items import THIN, Line, Pen, Point, moved

HEAD_MM = 2.8
"""Length of an arrow head; two fifths of it wide."""


def towards(start: Point, end: Point) -> tuple[float, float, float]:
    """Unit direction from start to end and the distance; (1, 0, 0) where they are one point."""
    right, down = end[0] - start[0], end[1] - start[1]
    length_mm = math.hypot(right, down)
    return (right / length_mm, down / length_mm, length_mm) if length_mm > 0 else (1.0, 0.0, 0.0)


def head(tip: Point, came_from: Point) -> Line:
    """A filled arrow head with its point on `tip`."""
    right, down, _ = towards(came_from, tip)
    back = moved(tip, (right, down), -HEAD_MM)
    corners = (moved(back, (-down, right), HEAD_MM / 5), moved(back, (down, -right), HEAD_MM / 5))
    return Line((tip, *corners), None, closed=True, fill="black")


def arrow(start: Point, tip: Point, *, pen: Pen = THIN, both: bool = False) -> tuple[Line, ...]:
    """A straight arrow; `both` puts a head on either end. One head is for motion, two for a direction without sense."""
    return (Line((start, tip), pen), head(tip, start), *((head(start, tip),) if both else ()))


def arc_points(
    centre: Point, radius_mm: float, *, from_deg: float, to_deg: float, chord_mm: float = 0.02
) -> tuple[Point, ...]:
    """Points along an arc (angles counterclockwise as seen, 0 to the right), its chords within `chord_mm` of it."""
    if radius_mm <= 0:
        return (centre,)
    step_deg = math.degrees(2 * math.acos(max(0.0, 1 - chord_mm / radius_mm)))
    steps = max(2, math.ceil(abs(to_deg - from_deg) / max(step_deg, 1.0)))
    angles = (math.radians(from_deg + (to_deg - from_deg) * step / steps) for step in range(steps + 1))
    return tuple((centre[0] + radius_mm * math.cos(angle), centre[1] - radius_mm * math.sin(angle)) for angle in angles)


def circle(centre: Point, radius_mm: float, *, pen: Pen | None = THIN) -> Line:
    """A full circle."""
    return Line(arc_points(centre, radius_mm, from_deg=0, to_deg=360)[:-1], pen, closed=True)


def zigzag(start: Point, end: Point, *, pen: Pen = THIN, tooth_mm: float = 1.6) -> Line:
    """A break line: straight with one sharp tooth in the middle. Says that a length of the part is left out here."""
    right, down, length_mm = towards(start, end)
    middle, half = length_mm / 2, tooth_mm / 2
    tooth = ((middle - tooth_mm, 0.0), (middle - half, -tooth_mm), (middle + half, tooth_mm), (middle + tooth_mm, 0.0))
    spots = ((0.0, 0.0), *tooth, (length_mm, 0.0))
    return Line(tuple((start[0] + right * a - down * b, start[1] + down * a + right * b) for a, b in spots), pen)


def datum(corner: Point, inward: tuple[float, float], *, leg_mm: float = 5.0) -> Line:
    """The solid triangle in the datum corner: always on the same corner of the part, however it lies.

    `inward` is (+1 or -1, +1 or -1): which way the part lies from the corner.
    """
    x, y = corner
    return Line(((x, y), (x + inward[0] * leg_mm, y), (x, y + inward[1] * leg_mm)), None, closed=True, fill="black")
