"""Closed outlines of tools and machine parts: points with arcs, and the vee or nose read off them.

Points are (across, up) in mm, across positive toward the operator; they run counterclockwise. A radius at a point
rounds that corner with an arc tangent to both edges.
"""

import math
from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from flangewise.records import dataclass

Point = tuple[float, float]
Points = NDArray[np.float64]

# Arcs are drawn out to this distance from the true arc, as the tables' users are told.
CHORD_ERROR_MM = 0.01
# Below this a height is level with the top of a die: far under any tool's tolerance, far over rounding.
LEVEL_MM = 1e-6
# A nose whose lowest point is this near the origin stands there: tables are written to hundredths of a mm.
AT_ORIGIN_MM = 0.005


@dataclass(frozen=True)
class Outline:
    """A closed outline: corner points in mm and the rounding radius at each (0: sharp)."""

    points_mm: tuple[Point, ...]
    radii_mm: tuple[float, ...]

    def __post_init__(self) -> None:
        if len(self.points_mm) < 3 or len(self.points_mm) != len(self.radii_mm):
            raise ValueError("an outline has three or more points and a radius for each")

    def drawn_mm(self, chord_error_mm: float = CHORD_ERROR_MM) -> Points:
        """The outline as an (n, 2) array of points, each arc drawn out so that no chord is further off than asked."""
        pieces = (_corner(*corner, chord_error_mm) for corner in self._corners())
        return np.array([point for piece in pieces for point in piece], dtype=np.float64)

    def turned(self) -> "Outline":
        """The same body turned end for end: mirrored about the centre plane, still counterclockwise."""
        mirrored = tuple((-across, up) for across, up in reversed(self.points_mm))
        return Outline(mirrored, tuple(reversed(self.radii_mm)))

    def shifted(self, across_mm: float, up_mm: float) -> "Outline":
        """The outline moved as a whole."""
        return Outline(tuple((across + across_mm, up + up_mm) for across, up in self.points_mm), self.radii_mm)

    def arcs(self) -> tuple["Arc", ...]:
        """The rounded corners as true arcs, in the order of the points. Raises ValueError where one does not fit."""
        return tuple(arc_at(*corner) for corner in self._corners() if corner[-1] > 0)

    def _corners(self) -> Iterator[tuple[Point, Point, Point, float]]:
        """Each point between the one before and the one after, with its radius."""
        points = self.points_mm
        return zip((points[-1], *points[:-1]), points, (*points[1:], points[0]), self.radii_mm, strict=True)

    def area_mm2(self) -> float:
        """Enclosed area of the drawn outline, positive when the points run counterclockwise."""
        drawn = self.drawn_mm()
        across, up = drawn[:, 0], drawn[:, 1]
        return float(0.5 * np.sum(across * np.roll(up, -1) - np.roll(across, -1) * up))


@dataclass(frozen=True)
class Arc:
    """A rounded corner: the corner point, the centre, the radius and the two points where the arc begins and ends."""

    corner_mm: Point
    centre_mm: Point
    radius_mm: float
    begins_mm: Point
    ends_mm: Point
    turn_deg: float


def arc_at(before_mm: Point, corner_mm: Point, after_mm: Point, radius_mm: float) -> Arc:
    """The arc tangent to both edges of a corner; ValueError where that is straight or an edge too short."""
    into, out = _unit(before_mm, corner_mm), _unit(corner_mm, after_mm)
    cross = into[0] * out[1] - into[1] * out[0]
    turn = math.atan2(cross, into[0] * out[0] + into[1] * out[1])
    if abs(turn) < 1e-9:
        raise ValueError(f"the corner at {corner_mm} is straight and carries no radius")
    reach = radius_mm * math.tan(abs(turn) / 2)
    if reach > min(math.dist(before_mm, corner_mm), math.dist(corner_mm, after_mm)) + 1e-9:
        raise ValueError(f"radius {radius_mm:g} at {corner_mm} does not fit between its neighbours")
    begins = (corner_mm[0] - into[0] * reach, corner_mm[1] - into[1] * reach)
    ends = (corner_mm[0] + out[0] * reach, corner_mm[1] + out[1] * reach)
    side = math.copysign(1.0, turn)
    centre = (begins[0] - side * into[1] * radius_mm, begins[1] + side * into[0] * radius_mm)
    return Arc(corner_mm, centre, radius_mm, begins, ends, math.degrees(turn))


def _corner(before: Point, corner: Point, after: Point, radius_mm: float, chord_error_mm: float) -> list[Point]:
    if radius_mm <= 0:
        return [corner]
    arc = arc_at(before, corner, after, radius_mm)
    half_step = math.acos(max(1.0 - chord_error_mm / radius_mm, 0.0))
    steps = max(1, math.ceil(math.radians(abs(arc.turn_deg)) / (2 * half_step)))
    start = math.atan2(arc.begins_mm[1] - arc.centre_mm[1], arc.begins_mm[0] - arc.centre_mm[0])
    angles = [start + math.radians(arc.turn_deg) * step / steps for step in range(steps + 1)]
    return [(arc.centre_mm[0] + radius_mm * math.cos(a), arc.centre_mm[1] + radius_mm * math.sin(a)) for a in angles]


def _unit(start: Point, end: Point) -> Point:
    length = math.dist(start, end)
    if length <= 0:
        raise ValueError(f"two points of an outline stand at the same place, {start}")
    return ((end[0] - start[0]) / length, (end[1] - start[1]) / length)


@dataclass(frozen=True)
class VeeOfDie:
    """The vee read off a die's outline.

    `opening_mm` is between the points where the shoulder arcs meet the flat top, `corner_opening_mm` between the sharp
    corners of flat top and wall extended; the two differ by 2 r tan((90 - angle/2)/2), which is worth several degrees
    of turn when one is taken for the other.
    """

    opening_mm: float
    corner_opening_mm: float
    shoulder_radius_mm: float
    included_deg: float


def vee_of_die(outline: Outline) -> VeeOfDie:
    """The opening, shoulder radius and included angle of a vee die from its outline.

    The opening's centre is at the origin and the flat top at up = 0. Raises ValueError where the outline shows no vee
    there: no pair of level top corners with walls going down between them, or two walls that differ.
    """
    right, left = _shoulder(outline, toward_operator=True), _shoulder(outline, toward_operator=False)
    same = math.isclose(right.corner_opening_mm, left.corner_opening_mm, abs_tol=1e-6)
    if not same or not math.isclose(right.included_deg, left.included_deg, abs_tol=1e-6):
        raise ValueError("the two shoulders of the vee differ, or its centre is not at the origin")
    if not math.isclose(right.shoulder_radius_mm, left.shoulder_radius_mm, abs_tol=1e-9):
        raise ValueError("the two shoulders of the vee have different radii")
    return right


def _shoulder(outline: Outline, *, toward_operator: bool) -> VeeOfDie:
    """One shoulder of the vee, as the whole vee it would make with its mirror image."""
    shape = outline if toward_operator else outline.turned()
    for before, (across, up), after, radius_mm in shape._corners():
        is_level = abs(up) < LEVEL_MM and abs(before[1]) < LEVEL_MM
        if is_level and before[0] > across > 0 and after[1] < -LEVEL_MM:
            wall_from_vertical = math.atan2(across - after[0], -after[1])
            reach = radius_mm * math.tan((math.pi / 2 - wall_from_vertical) / 2)
            return VeeOfDie(2 * (across + reach), 2 * across, radius_mm, math.degrees(2 * wall_from_vertical))
    raise ValueError("no vee: the flat top at height 0 has no shoulder beside the centre plane")


@dataclass(frozen=True)
class NoseOfPunch:
    """The nose read off a punch's outline: its radius and the included angle of its two flanks."""

    nose_radius_mm: float
    included_deg: float


def nose_of_punch(outline: Outline) -> NoseOfPunch:
    """Nose radius and included angle of a punch, tip at the origin; ValueError without a rounded corner there."""
    for arc in outline.arcs():
        on_axis = abs(arc.centre_mm[0]) < AT_ORIGIN_MM and abs(arc.centre_mm[1] - arc.radius_mm) < AT_ORIGIN_MM
        if on_axis and arc.turn_deg > 0:
            return NoseOfPunch(arc.radius_mm, 180.0 - arc.turn_deg)
    raise ValueError("no nose: no rounded corner has its lowest point at the origin")
