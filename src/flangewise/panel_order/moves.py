"""How a panel lies in the machine from hit to hit, and the moves between with their prices.

A class of poses is the face up and the heading: the direction on the blank, in degrees counterclockwise seen on its
marked face, that looks to the operator. Turning over about the bed axis keeps what lies left and right and brings the
opposite heading to the operator; about the axis front to back it keeps the heading. Where the face that is to lie on
the die stands askew, the part is tilted about a level axis. The rest is turned in the plane.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from flangewise.geometry import Point
from flangewise.panel_order.solution import PanelMove
from flangewise.records import dataclass
from flangewise.sequence import Axis, Costs

Rotation = NDArray[np.float64]
# Headings nearer to each other than this are one: bend lines are laid out far finer.
SAME_HEADING_DEG = 0.05
# A face askew by less than this lies level: no finished angle is made truer.
LEVEL_DEG = 0.5
_OVER: Mapping[Axis | None, Rotation] = {
    None: np.eye(3),
    "the bed": np.diag([1.0, -1.0, -1.0]),
    "front to back": np.diag([-1.0, 1.0, -1.0]),
}


@dataclass(frozen=True, order=True)
class Lie:
    """How the part lies: which face is up, and the direction on the blank that looks to the operator, 0 to 360."""

    marked_up: bool
    heading_deg: float

    def same_as(self, other: Lie) -> bool:
        """Whether nothing is to be done to come from one to the other."""
        return self.marked_up == other.marked_up and abs(turned_deg(self, other)) < SAME_HEADING_DEG


def lie_of(line_mm: tuple[Point, Point], *, marked_up: bool, parent_behind: bool) -> Lie:
    """How the part lies for a bend whose flange is to the left of its line, seen on the marked face."""
    (x, y), (to_x, to_y) = line_mm
    outward_deg = math.degrees(math.atan2(to_x - x, y - to_y))
    return Lie(marked_up, (outward_deg if parent_behind else outward_deg + 180.0) % 360.0)


def turned_deg(before: Lie, after: Lie) -> float:
    """By how much a part that stays with its face up is turned in the plane, counterclockwise seen from above.

    Above -180 and up to 180. What is to look to the operator lies so much away from there now.
    """
    angle = before.heading_deg - after.heading_deg
    angle = (angle if before.marked_up else -angle) % 360.0
    return angle - 360.0 if angle > 180.0 + SAME_HEADING_DEG else angle


def stood(lie: Lie) -> Rotation:
    """The rotation from the flat blank (along, developed, out of the marked face) to the bed (right, back, up)."""
    angle = math.radians(lie.heading_deg)
    up = np.array([0.0, 0.0, 1.0 if lie.marked_up else -1.0])
    back = np.array([-math.cos(angle), -math.sin(angle), 0.0])
    return np.array([np.cross(back, up), back, up])


def moves_for(costs: Costs, turned: Rotation) -> tuple[PanelMove, ...]:
    """The cheapest moves that turn a part in the machine so, to the right, to the back and up.

    It is turned over once or not at all, tilted once by no more than a right angle, turned in the plane. Of those that
    cost alike, the ones with less to turn.
    """
    ways = []
    for over, about in _OVER.items():
        if turned[2] @ about[:, 2] > -math.sin(math.radians(LEVEL_DEG)):
            first = () if over is None else (PanelMove("turn-over", over, None, _over_s(costs, over)),)
            ways.append((*first, *_level_or_tilted(costs, turned @ about)))
    return min(ways, key=lambda way: (round(priced(way), 9), round(sum(abs(move.angle_deg or 0.0) for move in way), 3)))


def _over_s(costs: Costs, axis: Axis) -> float:
    return costs.turn_over_bed if axis == "the bed" else costs.turn_over_front_back


def _level_or_tilted(costs: Costs, turned: Rotation) -> tuple[PanelMove, ...]:
    """A turn in the plane, or a tilt before it or after it: whichever goes about the bed or from front to back."""
    if turned[2, 2] > math.cos(math.radians(LEVEL_DEG)):
        return _plane(costs, turned)
    # The least turn that brings up what comes up in the end, about a level axis; the rest is turned in the plane.
    tilt = math.acos(max(-1.0, min(1.0, float(turned[2, 2]))))
    axis = np.array([turned[2, 1], -turned[2, 0], 0.0]) / math.hypot(turned[2, 0], turned[2, 1])
    plane = _plane(costs, turned @ _about(axis, tilt).T)
    first = _tilt(costs, axis, tilt)
    if not plane:
        return (first,)
    then = _tilt(costs, _about(np.array([0.0, 0.0, 1.0]), math.radians(plane[0].angle_deg or 0.0)) @ axis, tilt)
    return (first, *plane) if then.axis is None and first.axis is not None else (*plane, then)


def _plane(costs: Costs, turned: Rotation) -> tuple[PanelMove, ...]:
    angle = round(math.degrees(math.atan2(turned[1, 0], turned[0, 0])), 9)
    angle += 360.0 if angle <= -180.0 + SAME_HEADING_DEG else 0.0
    return () if abs(angle) < SAME_HEADING_DEG else (PanelMove("turn-in-plane", None, angle, costs.turn_in_plane),)


def _tilt(costs: Costs, axis: NDArray[np.float64], tilt_rad: float) -> PanelMove:
    """A tilt by its right-handed axis, told by what rises: to the right of the axis, looked along it."""
    axis_deg, sign = math.degrees(math.atan2(-axis[1], -axis[0])), 1.0
    if not -90.0 + LEVEL_DEG < axis_deg <= 90.0 + LEVEL_DEG:
        axis_deg, sign = axis_deg + (180.0 if axis_deg < 0 else -180.0), -1.0
    straight: dict[Axis, float] = {"the bed": 0.0, "front to back": 90.0}
    named = next((name for name, at_deg in straight.items() if abs(axis_deg - at_deg) < LEVEL_DEG), None)
    at_deg = axis_deg if named is None else straight[named]
    return PanelMove("tilt", named, sign * round(math.degrees(tilt_rad), 9), costs.tilt_onto_face, at_deg)


def _about(axis: NDArray[np.float64], angle_rad: float) -> Rotation:
    """The right-handed rotation about an axis of length 1."""
    x, y, z = axis
    across = np.array([[0.0, -z, y], [z, 0.0, -x], [-y, x, 0.0]])
    turned: Rotation = np.eye(3) + math.sin(angle_rad) * across + (1.0 - math.cos(angle_rad)) * across @ across
    return turned


def priced(moves: Sequence[PanelMove]) -> float:
    """What moves cost together."""
    return sum(move.cost for move in moves)
