"""Poses of the part, and the moves between them with their prices.

A pose is (face up, end behind, datum): 0/1 each, marked face down or up, start or end behind, raw edge
or formed face on the stops. Pose number = 4 up + 2 behind + datum.
"""

import itertools
from functools import lru_cache
from typing import Literal

import numpy as np

from flangewise.clearance import ToolStack
from flangewise.records import dataclass
from flangewise.sequence.arrays import Floats
from flangewise.sequence.problem import Costs, ToolOption

MoveKind = Literal["turn-in-plane", "turn-over", "tilt"]
Axis = Literal["the bed", "front to back"]

POSES = 8
START, END = 0, 1
EDGE, FLANGE = 0, 1


@dataclass(frozen=True)
class Move:
    """One thing to do with the part before a hit; `axis` for a turn-over only."""

    move: MoveKind
    axis: Axis | None
    cost: float


def pose_number(*, marked_up: bool, behind: int, datum: int) -> int:
    """Number of a pose."""
    return 4 * int(marked_up) + 2 * behind + datum


def pose_parts(pose: int) -> tuple[bool, int, int]:
    """Face up, end behind and datum of a pose number."""
    return bool(pose >> 2), (pose >> 1) & 1, pose & 1


def handling(costs: Costs, *, over: bool, swap: bool) -> tuple[Move, ...]:
    """Cheapest moves that turn the part over (or not) and swap the end behind (or not).

    Turning over about the bed axis swaps the end behind; about the axis front to back it does not; the one
    that is not wanted by itself can be had with a turn in the plane.
    """
    plane = Move("turn-in-plane", None, costs.turn_in_plane)
    bed = Move("turn-over", "the bed", costs.turn_over_bed)
    across = Move("turn-over", "front to back", costs.turn_over_front_back)
    if not over:
        return (plane,) if swap else ()
    direct, other = (bed, across) if swap else (across, bed)
    return (direct,) if direct.cost <= other.cost + plane.cost else (other, plane)


def moves_between(costs: Costs, before: int, after: int) -> tuple[Move, ...]:
    """Moves of the part from one pose to another."""
    up, behind, _ = pose_parts(before)
    up_after, behind_after, _ = pose_parts(after)
    return handling(costs, over=up != up_after, swap=behind != behind_after)


@lru_cache(maxsize=64)
def pose_prices(costs: Costs, *, elsewhere: bool = False) -> Floats:
    """Table [before, after] of what going from pose to pose costs at the same tools, stop change included.

    `elsewhere`: the part goes to other tools as well, so it is taken out and put in whatever is done with it.
    """
    table = np.zeros((POSES, POSES))
    for before, after in itertools.product(range(POSES), repeat=2):
        moves = moves_between(costs, before, after)
        stops = costs.stop_change if (before ^ after) & 1 else 0.0
        own = sum(move.cost for move in moves) if moves else stops
        table[before, after] = own + (costs.rehandle if moves or elsewhere else 0.0)
    table.flags.writeable = False
    return table


def least_turn_over(costs: Costs) -> float:
    """Cheapest way to bring the other face up."""
    turned = (handling(costs, over=True, swap=swap) for swap in (False, True))
    return costs.rehandle + min(sum(move.cost for move in moves) for moves in turned)


def tool_price(costs: Costs, before: ToolStack, after: ToolStack) -> float:
    """Price of going from one stack to another: punch and die count one each, turning a punch counts."""
    punch = before.punch != after.punch or before.turned != after.turned
    different = int(punch) + int(before.die != after.die)
    return costs.station_change * bool(different) + costs.tool_change * different


def own_price(costs: Costs, option: ToolOption) -> float:
    """What an operation costs with these tools besides its strokes: its hits, its tools, the changes between hits.

    Going to other tools between hits the part is put in anew.
    """
    stacks = itertools.pairwise(hit.stack for hit in option.hits)
    changes = [tool_price(costs, before, after) for before, after in stacks]
    inner = sum(change + costs.rehandle * (change > 0) for change in changes)
    return option.cost + costs.hit * len(option.hits) + inner
