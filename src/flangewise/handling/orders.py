"""The least that grips take over all orders of a section, set by set: a bound for every plan."""

import math
from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray

from flangewise.handling.moves import Moves, Pose

Floats = NDArray[np.float64]
# Seconds of a step [grip with which it comes, grip with which it leaves], by bend, pose, and what is made before.
Within = Callable[[int, Pose, int], Floats]
# Which grips have room to turn the part in hand when a set is made.
Room = Callable[[int], NDArray[np.bool_]]


def least_over_orders(poses: Sequence[Sequence[Pose]], within: Within, moves: Moves, room: Room) -> float:
    """Seconds beyond the order's own that every order takes at least; infinite where none is held to its end.

    `poses`: how each bend may lie. Exact over what is made, how the part lies and the grip in hand.
    """
    count, size = len(poses), len(moves.grips)
    best: dict[tuple[int, Pose], Floats] = {}
    for done in range(1 << count):
        before = [pose for pose in {pose for each in poses for pose in each} if (done, pose) in best]
        for bend in (bend for bend in range(count) if not done >> bend & 1):
            for pose in poses[bend]:
                arrived = np.where(moves.picked(pose), 0.0, math.inf) if not done else np.full(size, math.inf)
                for one in before:
                    table, _ = moves.table(one, pose, room(done))
                    arrived = np.minimum(arrived, (best[done, one][:, None] + table).min(axis=0, initial=math.inf))
                if not np.isfinite(arrived).any():
                    continue
                left = (arrived[:, None] + within(bend, pose, done)).min(axis=0, initial=math.inf)
                key = (done | 1 << bend, pose)
                best[key] = np.minimum(best[key], left) if key in best else left
    whole = (1 << count) - 1
    return min(
        (float(each.min(initial=math.inf)) for (made, _), each in best.items() if made == whole), default=math.inf
    )
