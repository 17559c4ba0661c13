"""What holding a part takes at least, whatever the order, tools and blank: grips judged by side and kind alone.

It is under every plan: an edge in front is an edge in front with any tools, and no flat is longer than its leg is
outside. So the order's own search may reckon with it from the start.
"""

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from flangewise.geometry import Chain
from flangewise.handling.gripper import Grip, GripperShape, HeldPart, grips_of
from flangewise.handling.moves import Moves, Pose
from flangewise.handling.orders import least_over_orders
from flangewise.shop import Handler

# Beyond so many bends the sets of them are too many for what is gained.
MOST_BENDS = 8
POSES = tuple(Pose(marked_up, start_behind) for marked_up in (True, False) for start_behind in (True, False))

Floats = NDArray[np.float64]


def least_more_s(
    turns_deg: Sequence[float], legs_mm: Sequence[float], *, length_mm: float, thickness_mm: float, handler: Handler
) -> float:
    """Seconds that every plan of a section takes at least beyond its order's own, without the allowance.

    One bend a turn, legs as they measure outside. 0 for many bends, and where no grip could hold a step: then a hand is
    needed, and nothing is known of what that takes.
    """
    count = len(turns_deg)
    if handler.gripper is None or not 1 <= count <= MOST_BENDS:
        return 0.0
    shape = GripperShape(handler.gripper)
    zeros = (0.0,) * count
    chain = Chain(tuple(legs_mm), zeros, tuple(turns_deg), zeros, thickness_mm)
    grips = _classes(grips_of(HeldPart(chain, length_mm, 0.0), shape))
    moves = Moves(handler, shape, grips)
    poses = [[pose for pose in POSES if pose.marked_up == (turn >= 0)] for turn in turns_deg]
    room = np.ones(len(grips), dtype=bool)

    def within(bend: int, pose: Pose, _done: int) -> Floats:
        fits = np.array([_may_hold(grip, bend, pose) for grip in grips], dtype=bool)
        return _within(handler, fits)

    least = least_over_orders(poses, within, moves, lambda _: room)
    return least if math.isfinite(least) else 0.0


def _classes(grips: Sequence[Grip]) -> tuple[Grip, ...]:
    """One grip of each kind, flat and side: where on the flat makes no difference here."""
    found: dict[tuple[str, int, bool, bool], Grip] = {}
    for grip in grips:
        found.setdefault((grip.kind, grip.flat, grip.marked, grip.toward_end), grip)
    return tuple(found.values())


def _may_hold(grip: Grip, bend: int, pose: Pose) -> bool:
    """Whether a grip may hold while a bend is made: not on the stops' side but at the part's end, an edge in front."""
    in_front = (grip.flat > bend) == pose.start_behind
    if grip.kind == "end":
        return True
    return in_front and (grip.kind == "face" or grip.toward_end == pose.start_behind)


def _within(handler: Handler, fits: NDArray[np.bool_]) -> Floats:
    """Seconds of a step [grip with which it comes, grip with which it leaves] at least: followed for nothing."""
    row = handler.gripper
    assert row is not None
    more = np.full((len(fits), len(fits)), math.inf)
    if row.regrip_in_tools_s is not None:
        more[np.outer(fits, fits)] = row.regrip_in_tools_s
    np.fill_diagonal(more, np.where(fits, 0.0, math.inf))
    return more
