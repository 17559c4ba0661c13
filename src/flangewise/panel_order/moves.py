"""How a panel lies in the machine from hit to hit, and the moves between with their prices.

A class of poses is the face up and the heading: the direction on the blank, in degrees counterclockwise seen on its
marked face, that looks to the operator. Turning over about the bed axis keeps what lies left and right and brings the
opposite heading to the operator; about the axis front to back it keeps the heading. The rest is turned in the plane.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from flangewise.geometry import Point
from flangewise.panel_order.solution import PanelMove
from flangewise.sequence import Costs

# Headings nearer to each other than this are one: bend lines are laid out far finer.
SAME_HEADING_DEG = 0.05


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


def moves_to(costs: Costs, before: Lie, after: Lie) -> tuple[PanelMove, ...]:
    """The cheapest moves from one way of lying to another; of two that cost alike the one with less to turn."""
    if before.marked_up == after.marked_up:
        return _plane(costs, before, after)
    over_bed = Lie(after.marked_up, (before.heading_deg + 180.0) % 360.0)
    over_front = Lie(after.marked_up, before.heading_deg)
    ways = (
        (PanelMove("turn-over", "the bed", None, costs.turn_over_bed), *_plane(costs, over_bed, after)),
        (PanelMove("turn-over", "front to back", None, costs.turn_over_front_back), *_plane(costs, over_front, after)),
    )
    return min(ways, key=lambda way: (round(priced(way), 9), sum(abs(move.angle_deg or 0.0) for move in way)))


def _plane(costs: Costs, before: Lie, after: Lie) -> tuple[PanelMove, ...]:
    angle = turned_deg(before, after)
    angle = 0.0 if abs(abs(angle) - 360.0) < SAME_HEADING_DEG else angle
    if abs(angle) < SAME_HEADING_DEG:
        return ()
    return (PanelMove("turn-in-plane", None, angle, costs.turn_in_plane),)


def priced(moves: Sequence[PanelMove]) -> float:
    """What moves cost together."""
    return sum(move.cost for move in moves)


def lies_of(every: Sequence[Lie]) -> tuple[tuple[Lie, ...], tuple[int, ...]]:
    """The classes among ways of lying, and the class of each."""
    found: list[Lie] = []
    numbers = []
    for lie in every:
        number = next((index for index, other in enumerate(found) if lie.same_as(other)), len(found))
        if number == len(found):
            found.append(lie)
        numbers.append(number)
    return tuple(found), tuple(numbers)


@lru_cache(maxsize=64)
def move_prices(costs: Costs, lies: tuple[Lie, ...], *, change_s: float | None = None) -> NDArray[np.float64]:
    """Table [before, after] of what going from class to class costs at the same tools.

    `change_s`: going to another station besides, for which the part is taken out whatever is done with it.
    """
    table = np.zeros((len(lies), len(lies)))
    for (row, before), (column, after) in itertools.product(enumerate(lies), repeat=2):
        moves = moves_to(costs, before, after)
        out_s = costs.rehandle if moves or change_s is not None else 0.0
        table[row, column] = priced(moves) + out_s + (change_s or 0.0)
    table.flags.writeable = False
    return table
