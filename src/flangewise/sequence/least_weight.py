"""What no plan weighs less than, whatever tools it takes: handling, strokes, and what all tools shut."""

import math
from collections.abc import Collection, Iterator, Sequence
from functools import cached_property

import numpy as np

from flangewise.records import dataclass, replace
from flangewise.sequence.arrays import Floats, Ints, sets_without
from flangewise.sequence.arrivals import Arrivals
from flangewise.sequence.candidates import Candidate
from flangewise.sequence.feasibility import FeasibilityTable
from flangewise.sequence.forward import plans_by_cost
from flangewise.sequence.moves import END, START, own_price, pose_prices
from flangewise.sequence.problem import Costs, Operation, SectionProblem, ToolOption, first_bend_up
from flangewise.sequence.regions import Shapes, offset_fits
from flangewise.sequence.search import EPS, Floor, Search
from flangewise.sequence.seconds import strokes_of
from flangewise.sequence.shut import is_shut
from flangewise.sequence.solution import PricedStep


@dataclass(frozen=True)
class PoseSteps:
    """An operation in one pose, with what its step takes at least before each set without it: `sets`, ascending.

    `poses`: numbers of the pose with the raw edge on the stops and with a formed face; `handled_s` [set, those two];
    `made_s` [choice of tools, set] with none of them in the way, `options` their numbers.
    """

    operation: int
    marked_up: bool
    start_behind: bool
    poses: tuple[int, ...]
    options: Ints
    sets: Ints
    handled_s: Floats
    made_s: Floats


class LeastWeight:
    """What no plan weighs less than, whatever tools it takes of those offered; shapes are looked at once."""

    def __init__(
        self,
        problem: SectionProblem,
        shapes: Shapes | None = None,
        *,
        each_held: bool = False,
        within: "LeastWeight | None" = None,
        options: Sequence[Sequence[int]] = (),
    ) -> None:
        """`shapes`: of a problem like it, where it was asked before. `each_held`: as of the table.

        `within`: the same part with these blanks and more, `options` the choices of tools there, in this order. What
        reaches a set at least on any of many blanks, no plan on one of them reaches it with less: it is not reckoned
        anew, nor is what is met on all of them asked anew.
        """
        self.problem = problem
        self._feasibility = FeasibilityTable(first_bend_up(problem), shapes, each_held=each_held)
        if within is not None and _no_dearer(within.problem.costs, problem.costs):
            self._feasibility.reached = within.reached()
        if within is not None and within.is_each_apart and self.is_each_apart:
            self._feasibility.take_over(within._feasibility, options)

    def at(self, costs: Costs) -> "LeastWeight":
        """The same question with changes of tools at other costs, none of them within an operation.

        What is known of shapes, and of what reaches a set at least, holds for both.
        """
        own = LeastWeight(
            replace(self.problem, costs=costs), self._feasibility.shapes, each_held=self._feasibility.is_each_apart
        )
        own._feasibility.share(self._feasibility)
        own._feasibility.reached = self.reached()
        return own

    @property
    def is_each_apart(self) -> bool:
        """Whether each choice of tools is held against its own shapes: what is known of them is kept."""
        return self._feasibility.is_each_apart

    def reached(self) -> Arrivals | None:
        """What sets cost at least to be reached, with all tools; None of very few operations."""
        return Floor(self._feasibility, bodies=False).reached()

    @property
    def moves_s(self) -> Floats:
        """What going from pose to pose costs, by their numbers."""
        return pose_prices(self.problem.costs)

    def is_struck(self, step: PricedStep, done: int) -> bool:
        """Whether the part meets a tool of a step in every blank of the problem, as the part has its pose."""
        mirrored, behind = first_bend_up(self.problem) is not self.problem, START if step.start_behind else END
        way = Candidate(step.operation, step.option, step.marked_up != mirrored, behind)
        return bool(self._feasibility.strikes(way, np.array([done]))[0])

    def steps(self) -> Iterator[PoseSteps]:
        """Every operation in every pose, as the part has it, with what its steps take at least."""
        count, mirrored = len(self.problem.operations), first_bend_up(self.problem) is not self.problem
        for operation in range(count):
            sets = sets_without(operation, count)
            for made in self._feasibility.presentations(operation):
                yield PoseSteps(
                    operation=operation,
                    marked_up=made.marked_up != mirrored,
                    start_behind=made.behind == START,
                    poses=tuple(made.poses),
                    options=made.options,
                    sets=sets,
                    handled_s=self._feasibility.handled(made, sets),
                    made_s=made.own_s + self._feasibility.made_s(made, sets),
                )

    def of(
        self, options: Sequence[Collection[int]] | None = None, *, bodies: bool = False, below_s: float = math.inf
    ) -> float:
        """The least with all tools or some; infinite where there is none, or none below that.

        Handling and strokes as if nothing were in the way; with `bodies` a step is shut where it is with every tool.
        """
        base = self.problem.costs.base
        return base + floor_of(self._feasibility, options, below_s - base, bodies=bodies)

    @cached_property
    def is_shut(self) -> bool:
        """Whether there is no plan whatever tools it takes; False: not known."""
        return is_shut(self._feasibility)

    def with_changes(self, options: Sequence[Collection[int]], *, below_s: float) -> tuple[float, tuple[int, ...]]:
        """The least with tools in the way and every change of tools paid for, and the choices of tools that take it.

        Infinite where there is none below that; no choices out of time.
        """
        costs, limits = self.problem.costs, self.problem.limits
        if limits.watch.over():
            return cheapest_of_each(self.problem, options), ()
        search = Search(self._feasibility, options)
        upper = below_s - costs.base
        table = search.unfold(upper=upper, width=limits.sets_per_layer, over=limits.watch.over)
        least, (_, plan) = min(table.cost, table.dropped), next(plans_by_cost(search, table, upper=upper), (0.0, ()))
        taken = {choice.way.operation: choice.way.option for choice in plan or ()}
        return costs.base + least, tuple(taken[operation] for operation in sorted(taken))

    def leasts(
        self, options: Sequence[Collection[int]] | None, *, below_s: float, changes: int, change_s: float
    ) -> tuple[float, ...]:
        """The same with bodies: with no change of tools paid for, with one at least, with two, to so many."""
        if self.problem.limits.watch.over():
            least = cheapest_of_each(self.problem, options)
            return tuple(least + (often * change_s if often else 0.0) for often in range(changes + 1))
        base = self.problem.costs.base
        floor = Floor(self._feasibility, options, bodies=True, changes=changes, change_s=change_s)
        return tuple(base + each for each in floor.leasts(below_s - base))


def floor_of(
    feasibility: FeasibilityTable, options: Sequence[Collection[int]] | None, upper: float, *, bodies: bool
) -> float:
    """What no plan comes below, if it is not over `upper`; out of time, every operation at its cheapest."""
    problem, kept = feasibility.problem, feasibility.shapes.floors
    if problem.limits.watch.over():
        return cheapest_of_each(problem, options) - problem.costs.base
    floor = Floor(feasibility, options, bodies=bodies)
    # Changes of tools are not in it, but for those between the hits of a hem, which each choice costs by itself.
    own = tuple((made.options.tobytes(), made.own_s.tobytes()) for made in floor.places)
    key = own, problem.preferred, bodies
    least, known_to = kept.get(key, (math.inf, -math.inf))
    if least > known_to + EPS and upper > known_to:
        least = floor.least(upper)
        if not problem.limits.watch.over():
            kept[key] = least, upper
    return least if least <= upper + EPS else math.inf


def _no_dearer(costs: Costs, than: Costs) -> bool:
    """Whether costs are the same, but for changes of tools that may cost less."""
    less = costs.station_change <= than.station_change and costs.tool_change <= than.tool_change
    tools = {key: getattr(than, key) for key in ("station_change", "tool_change", "stands_beside")}
    return less and replace(costs, **tools) == than


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
    """What each choice of tools costs by itself more than the cheapest that can make its operation in its place.

    In a pose that only some fit, as of an offset, nothing takes less than the cheapest of those.
    """
    found = []
    for operation in problem.operations:
        own = [own_price(problem.costs, option) for option in operation.options]
        fits = [_fits(problem, operation, option) for option in operation.options]
        least = {
            pose: min(price for price, each in zip(own, fits, strict=True) if pose in each)
            for pose in set().union(*fits)
        }
        leasts = (max((least[pose] for pose in each), default=min(own)) for each in fits)
        found.append(np.array(own) - np.array(list(leasts)))
    return found


def _fits(problem: SectionProblem, operation: Operation, option: ToolOption) -> frozenset[tuple[bool, int]]:
    """The poses in which tools can make an operation: all but for those of an offset."""
    return frozenset(
        (marked_up, behind)
        for marked_up in (False, True)
        for behind in (0, 1)
        if all(offset_fits(problem, operation, hit, marked_up=marked_up, behind=behind) for hit in option.hits)
    )
