"""From the table of least costs back to one plan, forward from the flat blank."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from flangewise.sequence.arrays import Floats
from flangewise.sequence.feasibility import Candidate
from flangewise.sequence.moves import POSES, pose_parts
from flangewise.sequence.search import Layer, Search, Unfolded, candidate_pose

SAME = 1e-6


@dataclass(frozen=True)
class Choice:
    """One step of a plan as the search sees it: `cost` with the moves before it."""

    way: Candidate
    datum: int
    done: int
    cost: float

    @property
    def pose(self) -> int:
        """Pose number."""
        return candidate_pose(self.way, self.datum)


def trace(search: Search, unfolded: Unfolded) -> tuple[Choice, ...]:
    """A plan of least cost in the table. Raises ValueError when the table holds none."""
    if not np.isfinite(unfolded.cost):
        raise ValueError("no plan in the table")
    choices: list[Choice] = []
    done, before = 0, None
    for depth in range(search.count):
        row = unfolded.layers[depth].row(done)
        if row is None:
            raise ValueError("the table has a gap")
        choice = _next(search, row, unfolded.layers[depth + 1], done=done, before=before)
        choices.append(choice)
        done |= 1 << choice.way.operation
        before = choice
    return tuple(choices)


def entering(search: Search, before: Choice | None) -> Floats:
    """What it costs to come into each pose and tool choice from the step before (nothing at the first)."""
    if before is None:
        return np.zeros((POSES, search.stations.count))
    return search.stations.entering(before.pose, search.stations.of(before.way))


def _next(search: Search, row: Floats, after: Layer, *, done: int, before: Choice | None) -> Choice:
    """The cheapest next step: its pose and tools from the row, its operation from the layer after."""
    enter = entering(search, before)
    total = row + enter
    pose, tool = np.unravel_index(int(np.argmin(total)), total.shape)
    for index in range(search.count):
        if done >> index & 1:
            continue
        ahead = after.row(done | 1 << index)
        if ahead is None:
            continue
        last = done | 1 << index == (1 << search.count) - 1
        onward = ahead if last else search.onward(ahead[None])[0]
        for way in search.feasibility.candidates[index]:
            if search.stations.of(way) != tool or (way.marked_up, way.behind) != pose_parts(int(pose))[:2]:
                continue
            datum = pose_parts(int(pose))[2]
            price = float(search.feasibility.prices(way, np.array([done]))[0, datum])
            if price + onward[pose, tool] <= row[pose, tool] + SAME:
                return Choice(way, datum, done, price + float(enter[pose, tool]))
    raise ValueError("the table does not add up")
