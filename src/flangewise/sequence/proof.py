"""From a problem to an answer that says what it proves.

The table of least costs is a lower bound of every plan, since closer looks (the part against itself, the way in and
out, the stops and their way) only add. The first whole plan taken forward along it is the least with these tools;
what failed on the way is put into the prices when the table is made again.

All tools at once: the cheapest of each bend, or one set for all bends, give a plan. No other choice can come below it
once what every plan costs whatever its tools, and what the choice costs more than the cheapest, add up to as much; what
is left is searched together.
"""

import math
from collections.abc import Callable, Iterable

import numpy as np

from flangewise.records import dataclass, replace
from flangewise.sequence.detail import steps_of
from flangewise.sequence.feasibility import FeasibilityTable
from flangewise.sequence.forward import Choice, plans_by_cost
from flangewise.sequence.hold import BREACH_S
from flangewise.sequence.least_weight import floor_of, more_than_cheapest
from flangewise.sequence.moves import START
from flangewise.sequence.plan_check import PlanCheck
from flangewise.sequence.problem import SectionProblem, first_bend_up
from flangewise.sequence.regions import Shapes
from flangewise.sequence.search import Search, Unfolded
from flangewise.sequence.solution import PricedStep, Solution
from flangewise.sequence.stations import Stations
from flangewise.sequence.why import blockers_of

# Beyond so many operations beams look for a plan first, a narrow one and a wider one, whose cost the exact search need
# not exceed; so many sets of tools are tried for it.
SMALL, BEAM, NARROW, MOST_FIRST = 12, 300, 4, 2
# A bound taken from a beam is raised by as much when nothing that holds comes in below it.
MORE_SHARE, MORE_S = 0.1, 4.0
# So many beginnings of plans are followed before the answer stays with a gap.
MOST_FOLLOWED, MOST_FOLLOWED_LATE = 20_000, 200
# So many steps may fail a closer look before the table is made again with what was learned.
MOST_FAILED = 24
SAME_COST = 1e-6
# So many beginnings of plans are followed to prove the least with a price on top.
MOST_PRICED, MOST_PRICED_AGAIN = 4_000, 40

PlanPrice = Callable[[Iterable[PricedStep]], float]
Tools = tuple[frozenset[int], ...]


@dataclass(frozen=True)
class Found:
    """The best plan after closer looks (None: none), and what is proven: no plan costs less than `bound`."""

    plan: tuple[Choice, ...] | None
    cost: float
    bound: float
    search: Search
    unfolded: Unfolded


def shapes_of(problem: SectionProblem) -> Shapes:
    """Where solving a problem keeps what it finds of its shapes, for others that differ from it as `Shapes` says."""
    return Shapes(first_bend_up(problem))


def solve(problem: SectionProblem, shapes: Shapes | None = None, *, below_s: float = math.inf) -> Solution:
    """Plan of least cost, with its proof; or the proof that there is none; or neither, said so.

    Only plans that weigh less than `below_s` are looked for; where none does, that is the lower bound. A section and
    its mirror image get one plan, with the other face up: of plans of one price the search takes the first it comes
    to, so it is always asked with the first bend toward the marked face.
    """
    asked = first_bend_up(problem)
    feasibility = FeasibilityTable(asked, shapes)
    plan_check = PlanCheck(feasibility)
    solution = _solution(plan_check, _AllTools(feasibility, plan_check).least(below_s - problem.costs.base))
    return solution if asked is problem else _other_face_up(solution)


def _other_face_up(solution: Solution) -> Solution:
    return replace(
        solution,
        steps=tuple(replace(step, marked_up=not step.marked_up) for step in solution.steps),
        blockers=tuple(
            each if each.marked_up is None else replace(each, marked_up=not each.marked_up)
            for each in solution.blockers
        ),
    )


def _solution(plan_check: PlanCheck, found: Found) -> Solution:
    problem, planned = found.search.feasibility.problem, found.plan is not None
    steps = steps_of(found.search, plan_check, found.plan or ())
    breach = sum(step.hold.breach for step in steps if step.hold is not None)
    broken_s, base = BREACH_S * breach, problem.costs.base
    bound = None if np.isinf(found.bound) else base + min(found.bound, found.cost)
    return Solution(
        feasible=True if planned else (False if bound is None else None),
        proven_least=planned and found.cost <= found.bound + SAME_COST,
        cost=base + found.cost - broken_s if planned else None,
        lower_bound=None if bound is None else max(0.0, bound - broken_s),
        steps=steps,
        blockers=() if planned or not problem.tell_blockers else blockers_of(found.search, found.unfolded),
        visited=found.unfolded.visited,
        breach=breach,
        least_weight=bound,
    )


class _AllTools:
    """The least plan of a problem with all its tools; what is known of shapes and steps is shared by all tries."""

    def __init__(self, feasibility: FeasibilityTable, plan_check: PlanCheck) -> None:
        self._feasibility, self._plan_check = feasibility, plan_check
        problem, watch = feasibility.problem, feasibility.problem.limits.watch
        self._over, self._any_plan, self._quick, self._is_shut = watch.over, watch.any_plan, watch.quick, watch.is_shut
        self._options = [op.options for op in problem.operations]
        self._extra = more_than_cheapest(problem)
        stations = Stations(problem.costs, [option for each in self._options for option in each])
        self._stations = [[stations.number(option) for option in each] for each in self._options]
        self._change = stations.least_change
        self._every = tuple(frozenset(range(len(each))) for each in self._options)

    def least(self, below_s: float) -> Found:
        """The least plan under a cost; see the module's head.

        A way out that was not found is not known: there may be one of a kind that is not looked for. Of plans that lack
        no more than that it is known only what handling and strokes take.
        """
        found = self._least(below_s)
        if not self._plan_check.lacks_way_out:
            return found
        return replace(found, bound=min(found.bound, self._floor(self._every, bodies=False)))

    def _least(self, below_s: float) -> Found:
        best = tuple(frozenset((int(np.argmin(extra)),)) for extra in self._extra)
        if self._is_shut:
            search, width = Search(self._feasibility, best), self._feasibility.problem.limits.sets_per_layer
            return Found(None, math.inf, math.inf, search, search.unfold(width=width, over=self._over))
        is_many, is_hasty = len(self._options) > SMALL, math.isinf(below_s) or self._any_plan or self._quick
        if is_many and not is_hasty and self._floor(self._every, bodies=True, upper=below_s) >= below_s - SAME_COST:
            return Found(None, math.inf, below_s, Search(self._feasibility, best), Unfolded((), math.inf, (), 0))
        first, whole = self._first_plan(best, below_s) if is_many else (None, None)
        cost = below_s if first is None else min(below_s, first.cost)
        if first is not None and (self._quick or (first.plan is not None and self._any_plan)):
            return replace(first, bound=0.0)
        if first is not None and self._over():
            return replace(first, bound=min(self._floor(self._every, bodies=False, upper=cost), cost))
        found = self._within(best, cost) if whole is None else whole
        if first is not None and found.plan is None and first.plan is not None:
            found = replace(first, bound=found.bound)
        if best == self._every:
            return found
        if found.plan is not None and self._any_plan:
            return replace(found, bound=0.0)
        cost = min(found.cost, below_s)
        bare = self._floor(self._every, bodies=False, upper=cost)
        if found.plan is None and not math.isinf(bare):
            bare = max(bare, self._floor(self._every, bodies=True, upper=below_s))
        if math.isinf(bare):
            return replace(found, bound=below_s)
        for extra, tools in self._sets_for_all():
            if bare + extra >= cost - SAME_COST:
                break
            if self._over():
                return replace(found, bound=min(bare, cost))
            if tools != best and self._floor(tools, bodies=False, upper=cost) < cost - SAME_COST:
                found = _better(found, self._within(tools, cost))
                cost = min(found.cost, below_s)
        # The choices that could still be part of a plan below that cost, with one change of tools at least.
        useful = [bare + extra + self._change < cost - SAME_COST for extra in self._extra]
        mixed = tuple(frozenset(map(int, np.flatnonzero(each))) for each in useful)
        used = {each[row] for each, rows in zip(self._stations, mixed, strict=True) for row in rows}
        if not all(mixed) or len(used) == 1:
            return found
        for some in (self._every, mixed):
            if self._floor(some, bodies=True, upper=cost) + self._change >= cost - SAME_COST:
                return found
        if self._over():
            return replace(found, bound=min(bare, cost))
        return _better(found, self._within(mixed, cost))

    def _floor(self, tools: Tools, *, bodies: bool, upper: float = math.inf) -> float:
        """What no plan with these tools comes below, if it is not over `upper`."""
        return floor_of(self._feasibility, tools, upper, bodies=bodies)

    def _within(self, tools: Tools, upper: float, *, width: int | None = None) -> Found:
        return least_plan(Search(self._feasibility, tools), self._plan_check, upper=upper, width=width)

    def _first_plan(self, best: Tools, below: float) -> tuple[Found, Found | None]:
        """For many operations what beams find with the first tools with which there is a plan; and what they find with
        the best tools, where they have given up no set that could cost less: such a beam was none."""
        # Where it need only weigh less than a plan at hand, the wider beam is narrow enough.
        width, whole = BEAM if math.isfinite(below) else NARROW, None
        for tools in list(dict.fromkeys((best, *(tools for _, tools in self._sets_for_all()))))[:MOST_FIRST]:
            found = self._within(tools, below, width=width)
            whole = found if tools == best and found.bound >= min(found.cost, below) - SAME_COST else whole
            if self._over() or found.plan is not None or self._quick:
                break
        if found.plan is None or self._over() or self._any_plan or self._quick or width == BEAM:
            return found, whole
        other = self._within(tools, found.cost, width=BEAM)
        found = replace(found if other.plan is None else other, bound=other.bound)
        return found, found if tools == best and found.bound >= found.cost - SAME_COST else whole

    def _sets_for_all(self) -> list[tuple[float, Tools]]:
        """One set of tools for all operations, with what it costs more than the cheapest of each, cheapest first."""
        found = []
        for station in sorted(set.intersection(*map(set, self._stations)) if self._stations else ()):
            rows = [each.index(station) for each in self._stations]
            extra = sum(float(more[row]) for more, row in zip(self._extra, rows, strict=True))
            found.append((extra, tuple(frozenset((row,)) for row in rows)))
        return sorted(found, key=lambda each: each[0])


def _better(found: Found, other: Found) -> Found:
    """The better of two answers; no more is proven than by the weaker of them."""
    best = other if other.cost < found.cost - SAME_COST else found
    return replace(best, bound=min(found.bound, other.bound))


def least_plan(search: Search, plan_check: PlanCheck, *, upper: float = math.inf, width: int | None = None) -> Found:
    """The least plan of a search under an upper bound, closely looked at; with a `width` as a beam finds it. Without
    one, a beam may give a first bound for many operations: it is raised until what comes in below it holds."""
    limit, over = upper, (limits := search.feasibility.problem.limits).watch.over
    if search.count > SMALL and math.isinf(upper) and width is None:
        limit = search.unfold(width=BEAM, over=over).cost
    bound = 0.0
    for _ in range(limits.repairs):
        table = search.unfold(upper=limit, width=width or limits.sets_per_layer, over=over)
        plan, reached = _first(search, table, plan_check, limit)
        known = min(reached, table.dropped)
        bound = max(bound, min(known, limit))
        if plan is not None:
            return Found(plan, reached, min(reached, max(bound, known)), search, table)
        if not plan_check.learned():
            if math.isinf(limit) or limit >= upper or math.isfinite(known):
                exhausted = math.isinf(reached) and math.isinf(table.dropped)
                return Found(None, math.inf, upper if exhausted else bound, search, table)
            limit = min(upper, limit + max(MORE_S, MORE_SHARE * limit))
        if over():
            break
    return Found(None, math.inf, bound, search, table)


def _first(
    search: Search, table: Unfolded, plan_check: PlanCheck, upper: float
) -> tuple[tuple[Choice, ...] | None, float]:
    """The first plan of a table that stands up to the closer looks, with its cost; or none and the cost reached. Shapes
    are looked at when a whole plan is at hand: what is found of its steps stands when plans are taken anew."""
    late = (over := search.feasibility.problem.limits.watch.over)()
    while True:
        plans = plans_by_cost(
            search,
            table,
            looks=plan_check.quick_looks,
            merge=True,
            upper=upper,
            most=MOST_FOLLOWED_LATE if late else MOST_FOLLOWED,
            enough=lambda: plan_check.failed >= MOST_FAILED or (not late and over()),
        )
        cost, plan = next(plans, (math.inf, None))
        if plan is None or not plan_check.finds_more(plan):
            return plan, cost


def least_priced(
    problem: SectionProblem,
    shapes: Shapes,
    known: Solution,
    price: PlanPrice,
    *,
    always_s: float,
    bound: Solution,
    in_part: bool = False,
    below_s: float = math.inf,
) -> Solution:
    """The least plan with a price on top that depends on all its steps together, never under `always_s`.

    `known` is a plan with its price in its cost. All plans that cost less than it without theirs are looked through, in
    the order of their cost: the first that with the least price comes no lower proves the best so far. Where they are
    too many it stays unproven. `bound`: the least plan without any price. `in_part`: the best of those looked through
    is taken as well where they were too many. Only plans that weigh less than `below_s` are looked for.
    """
    unproven = replace(known, proven_least=False, lower_bound=min(bound.lower_bound or 0.0, known.cost or 0.0))
    over = problem.limits.watch.over
    if (not bound.proven_least and not in_part) or known.breach > bound.breach or over():
        return unproven
    asked = first_bend_up(problem)
    search = Search(FeasibilityTable(asked, shapes))
    plan_check, than = PlanCheck(search.feasibility), min(known.weight, below_s) - asked.costs.base
    for _ in range(MOST_PRICED_AGAIN):
        found = _look_through(search, plan_check, than, price, always_s=always_s, other_face=asked is not problem)
        whole = found.bound >= found.cost - SAME_COST
        if whole or not plan_check.learned() or over():
            break
    if not whole and not in_part:
        return unproven
    if found.plan is not None:
        better = _solution(plan_check, found)
        better = better if asked is problem else _other_face_up(better)
        better = replace(known, steps=better.steps, breach=better.breach, cost=better.cost)
        known = replace(better, loose_s=price(better.priced_steps) if known.loose_s else 0.0)
    if plan_check.lacks_way_out or not whole or not bound.proven_least:
        return replace(known, proven_least=False, lower_bound=min(unproven.lower_bound or 0.0, known.cost or 0.0))
    if known.weight > below_s:
        return replace(unproven, least_weight=below_s)
    return replace(known, proven_least=True, lower_bound=known.cost, least_weight=known.weight)


def _look_through(
    search: Search, plan_check: PlanCheck, best: float, price: PlanPrice, *, always_s: float, other_face: bool
) -> Found:
    """The least plan under `best` with its price, if any; no more is bound where they are too many, or did not hold.

    `other_face`: the search is asked of the mirror image.
    """
    upper, limits = best - always_s, search.feasibility.problem.limits
    table = search.unfold(upper=upper, width=limits.sets_per_layer, over=limits.watch.over)
    found = Found(None, best, best, search, table)
    if np.isfinite(table.dropped):
        return replace(found, bound=0.0)
    plans = plans_by_cost(
        search,
        table,
        looks=plan_check.quick_looks,
        upper=upper,
        most=MOST_PRICED,
        enough=lambda: plan_check.failed >= MOST_FAILED or limits.watch.over(),
    )
    for cost, plan in plans:
        if cost + always_s >= found.cost - SAME_COST:
            break
        if plan is None:
            return replace(found, bound=0.0)
        total = cost + price(_priced(plan_check, choice, other_face=other_face) for choice in plan)
        if total < found.cost - SAME_COST:
            more_s = plan_check.found_s(plan)
            if math.isinf(more_s):
                continue
            if more_s > 0:
                return replace(found, bound=0.0)
            found = Found(plan, total, total, search, table)
    return found


def _priced(plan_check: PlanCheck, choice: Choice, *, other_face: bool) -> PricedStep:
    way, gauging = choice.way, plan_check.contact(choice).gauging
    return PricedStep(way.operation, way.option, gauging, way.marked_up != other_face, way.behind == START)
