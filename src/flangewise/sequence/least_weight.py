"""What no plan weighs less than, whatever tools it takes: handling, strokes, and what all tools shut."""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from dataclasses import replace

import numpy as np

from flangewise.sequence.arrays import Floats
from flangewise.sequence.feasibility import FeasibilityTable
from flangewise.sequence.moves import least_time, own_price
from flangewise.sequence.problem import SectionProblem
from flangewise.sequence.search import Floor


class LeastWeight:
    """What no plan weighs less than, whatever tools it takes of those offered; shapes are looked at once."""

    def __init__(self, problem: SectionProblem) -> None:
        """Nothing is looked at yet."""
        self._problem = problem
        mirrored = any(turn < 0 for turn in problem.chain.turns_deg[:1])
        self._feasibility = FeasibilityTable(turned_over(problem) if mirrored else problem)

    def of(
        self, options: Sequence[Collection[int]] | None = None, *, bodies: bool = False, below_s: float = math.inf
    ) -> float:
        """The least with all tools or some; infinite where there is none, or none below that.

        Handling and strokes as if nothing were in the way; with `bodies` a step is shut where it is with every tool.
        """
        base = self._problem.costs.base
        return base + floor_of(self._feasibility, options, below_s - base, bodies=bodies)


def floor_of(
    feasibility: FeasibilityTable, options: Sequence[Collection[int]] | None, upper: float, *, bodies: bool
) -> float:
    """What no plan comes below, if it is not over `upper`; out of time, every operation at its cheapest."""
    problem = feasibility.problem
    if problem.limits.watch.over():
        own = [operation.options for operation in problem.operations]
        taken = own if options is None else [[each[i] for i in some] for each, some in zip(own, options, strict=True)]
        return sum(min(own_price(problem.costs, o) + least_time(problem.costs, o) for o in each) for each in taken)
    table = Floor(feasibility, options, bodies=bodies).unfold(
        upper=upper, width=problem.limits.sets_per_layer, over=problem.limits.watch.over
    )
    return min(table.cost, table.dropped)


def more_than_cheapest(problem: SectionProblem) -> list[Floats]:
    """What each choice of tools costs by itself more than the cheapest of its operation."""
    own = ([own_price(problem.costs, option) for option in operation.options] for operation in problem.operations)
    return [np.array(each) - min(each) for each in own]


def turned_over(problem: SectionProblem) -> SectionProblem:
    """The mirror image of a problem: every bend the other way, every face asked for the other one."""
    asked = tuple(
        each if each.marked_up is None else replace(each, marked_up=not each.marked_up) for each in problem.asked
    )
    good = None if problem.marked_face_good is None else not problem.marked_face_good
    return replace(problem, chain=problem.chain.mirrored(), asked=asked, marked_face_good=good)
