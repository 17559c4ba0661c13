"""What the tools of a plan cost as they really stand on the bed, and the least plan at that price.

The search knows two stations at a time: it takes for a change the least that one between two such pairs can cost. The
set-up knows all stations of a plan. Where they stand beside each other each tool is put in once and the part is shifted
along the bed, coming back as well; where they do not, each change puts in what was not there and fetches the part anew.
"""

import itertools
import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace

from flangewise.jobs.job import Job, Ordered
from flangewise.punch_die import Mounting, place_stations
from flangewise.sequence import (
    SAME_COST,
    Costs,
    LeastWeight,
    PricedStep,
    SectionProblem,
    Shapes,
    Solution,
    least_priced,
    shapes_of,
    solve,
)

LEAST_RETURN_HITS = 3

Station = tuple[str | None, str | None, bool]
Price = Callable[[Iterable[PricedStep]], float]


def returning(job: Job, problem: SectionProblem) -> SectionProblem | None:
    """The problem at no more than plans cost that come back to tools which still stand; None where none can.

    The search pays for putting tools in at every change, such a plan once: here a change costs the shift alone, between
    the two hits of a hem as well, and one station more than the first is put in. Who comes back makes three hits, with
    tools that stand beside each other: where no two of those offered can, no plan does.
    """
    centre, costs = job.centre, problem.costs
    hits = sum(max(len(option.hits) for option in operation.options) for operation in problem.operations)
    if not centre.mount_s or hits < LEAST_RETURN_HITS or not costs.stands_beside:
        return None
    cheap = replace(costs, station_change=centre.shift_s, tool_change=0.0, base=costs.base + 2 * centre.mount_s)
    return replace(problem, costs=cheap, tell_blockers=False)


def as_they_stand(job: Job, found: Ordered, *, below_s: float = math.inf) -> Ordered:
    """The answer at the price of its tools as they stand: the least of the plans that the search took for less.

    Plans that weigh `below_s` or more need not be found.
    """
    solution = found.solution
    if solution.feasible is False:
        return found
    if solution.feasible:
        price = standing_price(job, found.offered, found.problem.costs)
        more = price(solution.priced_steps)
        known = replace(solution, cost=(solution.cost or 0.0) + more)
        if abs(more) >= SAME_COST and solution.proven_least:
            problem = replace(found.problem, tell_blockers=False)
            shapes = found.shapes or shapes_of(problem)
            known = least_priced(problem, shapes, known, price, always_s=0.0, bound=solution, below_s=below_s)
        solution = known
    return replace(found, solution=_with_returns(job, replace(found, solution=solution), below_s))


def _with_returns(job: Job, found: Ordered, below_s: float) -> Solution:
    """The answer with plans looked at that come back to tools which still stand beside the others.

    The search pays for putting tools in at every change; such a plan pays for them once. So it is asked again with
    changes that cost the shift alone and one station put in: no plan that comes back takes less.
    """
    solution, problem = found.solution, returning(job, found.problem)
    if problem is None or job.watch.quick:
        return solution
    shapes, below_s = found.shapes or shapes_of(problem), min(below_s, solution.weight)
    known_s = _least_returning(problem, shapes, below_s)
    if known_s >= below_s - SAME_COST:
        return solution
    if solution.open_bound < below_s - SAME_COST or job.watch.over():
        return _bounded(solution, known_s)
    bound = solve(problem, shapes, below_s=below_s)
    if not bound.feasible or bound.cost is None:
        return solution if bound.open_bound >= below_s - SAME_COST else _bounded(solution, known_s)
    price = standing_price(job, found.offered, problem.costs, base_s=found.problem.costs.base)
    true = replace(bound, cost=bound.cost + price(bound.priced_steps))
    known = true if not solution.feasible or true.weight < solution.weight - SAME_COST else solution
    return least_priced(problem, shapes, known, price, always_s=0.0, bound=bound, below_s=below_s)


def least_returning(job: Job, found: Ordered, below_s: float) -> float:
    """What no plan weighs less than that comes back to tools which still stand; infinite where none can."""
    problem = returning(job, found.problem)
    return math.inf if problem is None else _least_returning(problem, found.shapes or shapes_of(problem), below_s)


def _least_returning(problem: SectionProblem, shapes: Shapes, below_s: float) -> float:
    """The same of the problem at the price of such plans, looked for no further than to see that it is `below_s`."""
    least = LeastWeight(problem, shapes)
    # There and back again are two shifts; those between the hits of a hem are in what it costs by itself.
    within = sum(max(len(option.hits) for option in operation.options) - 1 for operation in problem.operations)
    shifts_s = problem.costs.station_change * max(2 - within, 0)
    if (known_s := least.of() + shifts_s) < below_s - SAME_COST:
        known_s = max(known_s, least.of(bodies=True, below_s=below_s) + shifts_s)
    return known_s


def _bounded(solution: Solution, floor: float) -> Solution:
    """The answer without a proof: no other plan weighs less than `floor`."""
    return replace(
        solution,
        proven_least=False,
        lower_bound=min(solution.lower_bound or floor, floor),
        least_weight=min(solution.least_weight or floor, floor),
    )


def standing_price(
    job: Job, offered: Mapping[int, Sequence[Mounting]], costs: Costs, *, base_s: float | None = None
) -> Price:
    """What the tools of a plan cost more than these costs say; `base_s` is their base with one station put in."""
    centre, choices = job.centre, tuple(offered.values())
    over_s = costs.base - (costs.base if base_s is None else base_s)
    known: dict[tuple[Station, ...], bool] = {}

    def price(made: Iterable[PricedStep]) -> float:
        hits = [hit for step in made for _, hit in choices[step.operation][step.option].numbered]
        stations = tuple((hit.pair.tools.punch_name, hit.pair.tools.die_name, hit.turned) for hit in hits)
        if stations not in known:
            known[stations] = _beside(job, hits)
        changes = [put_in for pair in itertools.pairwise(stations) if (put_in := _put_in(*pair))]
        told_s = sum(costs.station_change + costs.tool_change * put_in for put_in in changes)
        # The stations after the first are put in, and gone to.
        if known[stations]:
            stand_s = 2 * centre.mount_s * (len(set(stations)) - 1) + centre.shift_s * len(changes)
        else:
            stand_s = centre.mount_s * sum(changes) + centre.anew_allowed_s * len(changes)
        return stand_s - told_s - over_s

    return price


def _beside(job: Job, hits: Sequence[Mounting]) -> bool:
    """Whether all stay mounted together, as the set-up will have them."""
    centre = job.centre
    length_mm, gap_mm = job.part.section.length_mm, centre.gap_mm
    stations = place_stations(
        hits, machine=centre.machine, length_mm=length_mm, short_mm=centre.short_mm, gap_mm=gap_mm
    )
    return len({station.set_up for station in stations}) <= 1


def _put_in(before: Station, after: Station) -> int:
    """How many of punch and die are not those that stand in the machine."""
    return int((before[0], before[2]) != (after[0], after[2])) + int(before[1] != after[1])
