"""What no plan weighs less than, whatever tools it takes: handling, strokes, and what all tools shut."""

import math
from collections.abc import Collection, Iterator, Sequence
from dataclasses import replace

import numpy as np

from flangewise.sequence.arrays import Floats
from flangewise.sequence.arrivals import Arrivals
from flangewise.sequence.feasibility import FeasibilityTable
from flangewise.sequence.moves import own_price
from flangewise.sequence.problem import SectionProblem
from flangewise.sequence.regions import Shapes
from flangewise.sequence.search import Floor
from flangewise.sequence.seconds import strokes_of


class LeastWeight:
    """What no plan weighs less than, whatever tools it takes of those offered; shapes are looked at once."""

    def __init__(
        self,
        problem: SectionProblem,
        shapes: Shapes | None = None,
        *,
        each_held: bool = False,
        within: "LeastWeight | None" = None,
    ) -> None:
        """`shapes`: of a problem like it, where it was asked before. `each_held`: as of the table.

        `within`: the same part with these blanks and more. What reaches a set at least on any of many blanks, no plan
        on one of them reaches it with less: it is not reckoned anew.
        """
        self.problem = problem
        self._feasibility = FeasibilityTable(first_bend_up(problem), shapes, each_held=each_held)
        if within is not None and within.problem.costs == problem.costs:
            self._feasibility.reached = within.reached()

    def reached(self) -> Arrivals | None:
        """What sets cost at least to be reached, with all tools; None of very few operations."""
        return Floor(self._feasibility, bodies=False).reached()

    def of(
        self, options: Sequence[Collection[int]] | None = None, *, bodies: bool = False, below_s: float = math.inf
    ) -> float:
        """The least with all tools or some; infinite where there is none, or none below that.

        Handling and strokes as if nothing were in the way; with `bodies` a step is shut where it is with every tool.
        """
        base = self.problem.costs.base
        return base + floor_of(self._feasibility, options, below_s - base, bodies=bodies)


def floor_of(
    feasibility: FeasibilityTable, options: Sequence[Collection[int]] | None, upper: float, *, bodies: bool
) -> float:
    """What no plan comes below, if it is not over `upper`; out of time, every operation at its cheapest."""
    problem = feasibility.problem
    if problem.limits.watch.over():
        return cheapest_of_each(problem, options) - problem.costs.base
    return Floor(feasibility, options, bodies=bodies).least(upper)


def cheapest_of_each(problem: SectionProblem, options: Sequence[Collection[int]] | None = None) -> float:
    """Every operation with its cheapest tools, nothing in the way and nothing moved: no plan weighs less."""
    total = problem.costs.base
    for each in each_by_itself(problem, options):
        total += float(each.min())
    return total


def each_by_itself(problem: SectionProblem, options: Sequence[Collection[int]] | None = None) -> Iterator[Floats]:
    """What each operation takes by itself with each choice of tools: its price and strokes with the sheet alone."""
    for index, operation in enumerate(problem.operations):
        taken = operation.options if options is None else [operation.options[number] for number in options[index]]
        strokes = strokes_of([[hit.time for hit in option.hits] for option in taken])
        own = np.array([own_price(problem.costs, option) for option in taken])
        yield own + problem.costs.share * strokes.least_s(problem.chain.thickness_mm)[:, 0]


def more_than_cheapest(problem: SectionProblem) -> list[Floats]:
    """What each choice of tools costs by itself more than the cheapest of its operation."""
    own = ([own_price(problem.costs, option) for option in operation.options] for operation in problem.operations)
    return [np.array(each) - min(each) for each in own]


def first_bend_up(problem: SectionProblem) -> SectionProblem:
    """The problem with its first bend toward the marked face: itself, or its mirror image.

    There every bend goes the other way, and every face is asked for the other one.
    """
    if all(turn >= 0 for turn in problem.chain.turns_deg[:1]):
        return problem
    asked = tuple(
        each if each.marked_up is None else replace(each, marked_up=not each.marked_up) for each in problem.asked
    )
    good = None if problem.marked_face_good is None else not problem.marked_face_good
    return replace(problem, chain=problem.chain.mirrored(), asked=asked, marked_face_good=good)
