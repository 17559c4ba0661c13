"""What no plan weighs less than, whatever tools it takes: handling, strokes, and what all tools shut."""

import math
from collections.abc import Collection, Sequence
from dataclasses import replace

import numpy as np

from flangewise.sequence.arrays import Floats
from flangewise.sequence.feasibility import FeasibilityTable
from flangewise.sequence.moves import own_price
from flangewise.sequence.problem import SectionProblem
from flangewise.sequence.search import Floor
from flangewise.sequence.seconds import strokes_of


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
        return cheapest_of_each(problem, options) - problem.costs.base
    table = Floor(feasibility, options, bodies=bodies).unfold(
        upper=upper, width=problem.limits.sets_per_layer, over=problem.limits.watch.over
    )
    return min(table.cost, table.dropped)


def cheapest_of_each(problem: SectionProblem, options: Sequence[Collection[int]] | None = None) -> float:
    """Every operation with its cheapest tools, nothing in the way and nothing moved: no plan weighs less."""
    own_options = [operation.options for operation in problem.operations]
    some = options if options is not None else [range(len(each)) for each in own_options]
    taken = [[each[number] for number in numbers] for each, numbers in zip(own_options, some, strict=True)]
    sheet, none, far = np.full(1, problem.chain.thickness_mm), np.zeros(1), np.full(1, np.inf)
    total = problem.costs.base
    for each in taken:
        timed = strokes_of([[hit.time for hit in option.hits] for option in each])
        strokes = timed.opened_s(sheet, far) + timed.bent_s(none)
        own = np.array([own_price(problem.costs, option) for option in each])
        total += float((own + problem.costs.share * strokes[:, 0]).min())
    return total


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
