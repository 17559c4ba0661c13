"""What holding a part takes at least, whatever the order, tools and blank: grips judged by side, kind and room alone.

It is under every plan: an edge in front is an edge in front with any tools, and no flat is longer than its leg is
outside. So the order's own search may reckon with it from the start.
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from flangewise.geometry import Chain
from flangewise.handling.gripper import Grip, GripperShape, HeldPart, grips_of
from flangewise.handling.least_held import GripChanges, Gripping, LeastHeld
from flangewise.handling.moves import Moves, Pose
from flangewise.handling.way import NO_GRIP_S
from flangewise.records import dataclass
from flangewise.sequence import PoseSteps
from flangewise.shop import Handler

# Beyond so many bends the sets of them are too many for what is gained.
MOST_BENDS = 8
POSES = tuple(Pose(marked_up, start_behind) for marked_up in (True, False) for start_behind in (True, False))


@dataclass(frozen=True)
class LeastGrips:
    """What every plan takes for its grips at least: steps by hand, and seconds beside the order's own, no allowance."""

    by_hand: int = 0
    more_s: float = 0.0


def least_grips(
    turns_deg: Sequence[float], legs_mm: Sequence[float], *, length_mm: float, thickness_mm: float, handler: Handler
) -> LeastGrips:
    """What grips take at least over all plans of a section: one bend a turn, legs as they measure outside.

    Nothing is known of many bends.
    """
    count = len(turns_deg)
    if handler.gripper is None or not 1 <= count <= MOST_BENDS:
        return LeastGrips()
    shape = GripperShape(handler.gripper)
    zeros = (0.0,) * count
    chain = Chain(tuple(legs_mm), zeros, tuple(turns_deg), zeros, thickness_mm)
    grips = _classes(grips_of(HeldPart(chain, length_mm, 0.0), shape))
    moves, room = Moves(handler, shape, grips), np.ones(len(grips), dtype=bool)
    has_room = [_has_room(grip, chain, shape) for grip in grips]

    def fits(bend: int, pose: Pose, _done: int) -> NDArray[np.bool_]:
        pairs = zip(grips, has_room, strict=True)
        return np.array([free and _may_hold(grip, bend, pose) for grip, free in pairs], dtype=bool)

    gripping = Gripping(moves, fits, lambda *_: np.zeros((len(grips), len(grips))), lambda _: room, 1.0)
    steps = [
        _step(bend, count, pose)
        for bend, turn in enumerate(turns_deg)
        for pose in POSES
        if pose.marked_up == (turn >= 0)
    ]
    # What is hoped of a step is all that is known of it here.
    least_s = LeastHeld(steps, np.zeros((len(POSES), len(POSES))), gripping, GripChanges()).hoped()
    by_hand = round(least_s / NO_GRIP_S)
    return LeastGrips(by_hand, max(least_s - by_hand * NO_GRIP_S, 0.0))


def _step(bend: int, count: int, pose: Pose) -> PoseSteps:
    """A bend in one pose, whose order takes nothing."""
    sets = np.array([done for done in range(1 << count) if not done >> bend & 1], dtype=np.int64)
    number, one = POSES.index(pose), np.zeros(1, dtype=np.int64)
    return PoseSteps(bend, *pose, (number,), one, sets, np.zeros((len(sets), 1)), np.zeros((1, len(sets))))


def _classes(grips: Sequence[Grip]) -> tuple[Grip, ...]:
    """One grip of each kind, flat and side: where on the flat makes no difference here."""
    found: dict[tuple[str, int, bool, bool], Grip] = {}
    for grip in grips:
        found.setdefault((grip.kind, grip.flat, grip.marked, grip.toward_end), grip)
    return tuple(found.values())


def _has_room(grip: Grip, legs: Chain, shape: GripperShape) -> bool:
    """Whether pads over an edge lie on its leg and off the bend behind it, be it as sharp as can be."""
    if grip.kind != "edge":
        return True
    return shape.row.pad_across_mm + shape.row.bend_free_mm <= legs.flats_mm[grip.flat]


def _may_hold(grip: Grip, bend: int, pose: Pose) -> bool:
    """Whether a grip may hold while a bend is made: not on the stops' side but at the part's end, an edge in front."""
    in_front = (grip.flat > bend) == pose.start_behind
    if grip.kind == "end":
        return True
    return in_front and (grip.kind == "face" or grip.toward_end == pose.start_behind)
