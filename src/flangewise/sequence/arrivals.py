"""What it costs at least to have made each set of operations, nothing in the way: forward from the flat blank.

Of many operations stretch by stretch: each is reckoned as if nothing were known of what lies beyond it. The moves
between the steps of one stretch are no more than those of the whole plan, the others' being left out of it.
"""

from collections.abc import Sequence
from functools import lru_cache
from itertools import chain, pairwise

import numpy as np

from flangewise.records import dataclass
from flangewise.sequence.arrays import Floats, Ints, made_last, sets_without
from flangewise.sequence.candidates import Presentation, lot_of, made_alike
from flangewise.sequence.feasibility import FeasibilityTable
from flangewise.sequence.moves import POSES, pose_prices
from flangewise.sequence.problem import Costs
from flangewise.sequence.stations import posed

# What stands for no way of reaching a set: more than any plan costs, yet a number.
NEVER_S = 1e12
# So many operations at most are in one stretch.
MOST_IN_STRETCH = 12


@dataclass(frozen=True)
class _Stretch:
    """Operations in a row, and what each set of them takes at least: with the moves between its steps, and without."""

    first: int
    bits: int
    moved_s: Floats
    still_s: Floats

    def of(self, sets: Ints) -> Ints:
        """What of sets lies in the stretch."""
        return (sets >> self.first) & self.bits


class Arrivals:
    """Least costs of sets with some choices of tools, by the pose that the next operation is made in."""

    def __init__(self, table: FeasibilityTable, presentations: Sequence[Sequence[Presentation]]) -> None:
        """`presentations`: the ways of each operation that may be taken."""
        count, most = len(presentations), MOST_IN_STRETCH
        self._whole = count <= most
        moves = pose_prices(table.problem.costs) if self._whole else _shortest(table.problem.costs)
        made: dict[tuple[int, int], _Stretch] = {}

        def stretch(first: int, last: int) -> _Stretch:
            if (first, last) not in made:
                steps = _steps(table, presentations[first:last], first)
                still_s = _forward(steps, np.zeros_like(moves)).min(axis=1)
                made[first, last] = _Stretch(first, (1 << (last - first)) - 1, _forward(steps, moves), still_s)
            return made[first, last]

        # Cut into stretches from the start, and from the end: each tells something else.
        cuts = {(*range(0, count, most), count), (0, *range(count, 0, -most)[::-1])}
        self._covers = [[stretch(*ends) for ends in pairwise(each)] for each in sorted(cuts)]

    def of(self, sets: Ints) -> Floats:
        """What reaching sets costs at least: (sets, poses)."""
        if self._whole:
            found: Floats = self._covers[0][0].moved_s[sets]
            return found
        bounds = []
        for cover in self._covers:
            total = np.sum([each.still_s[each.of(sets)] for each in cover], axis=0)
            for each in cover:
                own = each.of(sets)
                bounds.append(each.moved_s[own] + (total - each.still_s[own])[:, None])
        most: Floats = np.max(bounds, axis=0)
        return most


def _steps(table: FeasibilityTable, presentations: Sequence[Sequence[Presentation]], first: int) -> Floats:
    """What each operation of a stretch takes at least, by what of the stretch is made before it, and pose."""
    count = len(presentations)
    steps = np.full((count, 1 << (count - 1), POSES), np.inf)
    every = chain.from_iterable(presentations)
    if count == len(table.problem.operations):
        for made in every:
            before = sets_without(made.operation, count)
            lot = lot_of(made, before)
            steps[made.operation][:, made.poses] = table.least_steps(lot, table.all_handled(lot))
    else:
        for alike in made_alike(every):
            for made, least in zip(alike, table.least_near(alike, first, count), strict=True):
                steps[made.operation - first][:, made.poses] = least
    return steps


def _forward(steps: Floats, moves: Floats) -> Floats:
    """What it costs at least to have made each set of a stretch and be ready in each pose for what comes next."""
    ready = np.zeros((1 << len(steps), POSES))
    for sets, last, before, rest in made_last(len(steps)):
        made_s = (ready[before] + steps[last, rest]).min(axis=1)
        ready[sets] = posed(made_s[:, :, None], moves.T)[:, :, 0]
    return np.minimum(ready, NEVER_S)


@lru_cache(maxsize=16)
def _shortest(costs: Costs) -> Floats:
    """Moves from pose to pose, by way of others where that is less: so no pose between can make them cheaper."""
    moves = pose_prices(costs).copy()
    for between in range(POSES):
        np.minimum(moves, moves[:, between, None] + moves[None, between], out=moves)
    return moves
