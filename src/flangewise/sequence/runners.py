"""The orders that come next after the best one, and what they cost."""

from __future__ import annotations

import heapq
import itertools
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

import numpy as np

from flangewise.sequence.feasibility import Candidate, FeasibilityTable
from flangewise.sequence.moves import EDGE, FLANGE
from flangewise.sequence.plan_check import PlanCheck
from flangewise.sequence.problem import SectionProblem
from flangewise.sequence.search import Layer, Search, Unfolded
from flangewise.sequence.trace import Choice, entering

MOST_OPERATIONS = 12
MOST_LOOKED_AT = 4000


Between = Callable[[Choice, Choice], float]
# By operation and the set of those made before it.
Priced = dict[tuple[int, int], tuple[Choice, ...]]


def no_more(_before: Choice, _after: Choice) -> float:
    """Nothing beyond the table."""
    return 0.0


@dataclass(frozen=True)
class RunnerUp:
    """An order that can be made, and its least cost."""

    order: tuple[int, ...]
    cost: float


def runner_ups(problem: SectionProblem, *, count: int) -> tuple[RunnerUp, ...]:
    """The `count` cheapest different orders, cheapest first, the best one included.

    Empty when there is none, or when there are more than 12 operations: the table would have to hold all
    sets, without an upper bound.
    """
    if len(problem.operations) > MOST_OPERATIONS:
        return ()
    search = Search(FeasibilityTable(replace(problem, order=None)))
    plan_check = PlanCheck(search)
    while True:
        table = search.unfold()
        found, again = _cheapest(search, plan_check, table, count)
        if not again:
            return found


def _cheapest(search: Search, plan_check: PlanCheck, table: Unfolded, count: int) -> tuple[tuple[RunnerUp, ...], bool]:
    """Cheapest orders of a table; True when a closer look changed prices and the table must be made again."""
    found: dict[tuple[int, ...], float] = {}
    for cost, plan in plans_by_cost(search, table, between=plan_check.waits_s, most=MOST_LOOKED_AT):
        if plan is None:
            break
        order = tuple(choice.way.operation for choice in plan)
        if order in found:
            continue
        exclusions = plan_check.look(plan)
        if exclusions:
            search.feasibility.remember(exclusions)
            return (), True
        found[order] = cost
        if len(found) == count:
            break
    base = search.feasibility.problem.costs.base
    return tuple(RunnerUp(order, base + cost) for order, cost in found.items()), False


def plans_by_cost(
    search: Search, table: Unfolded, *, between: Between = no_more, merge: bool = False, most: int | None = None
) -> Iterator[tuple[float, tuple[Choice, ...] | None]]:
    """Plans of a full table in the order of their cost.

    The least cost to finish is known for every set, so the cheapest open beginning is always the right one. `between`:
    what a step costs more after another, beyond the table. `merge`: of beginnings that end alike only the cheapest is
    followed. After `most` beginnings it ends with the cost reached and no plan.
    """
    ticket = itertools.count()
    start = float(table.layers[0].finish.min()) if len(table.layers[0].sets) else np.inf
    opened: list[tuple[float, int, float, tuple[Choice, ...]]] = []
    if np.isfinite(start):
        opened.append((start, next(ticket), 0.0, ()))
    settled: set[tuple[int, Candidate, int]] = set()
    priced: Priced = {}
    for followed in itertools.count():
        if not opened:
            return
        cost, _, more, plan = heapq.heappop(opened)
        if len(plan) == search.count:
            yield cost, plan
            continue
        if most is not None and followed >= most:
            yield cost, None
            return
        if merge and plan:
            key = (plan[-1].done, plan[-1].way, plan[-1].datum)
            if key in settled:
                continue
            settled.add(key)
        for choice, total in _continued(search, table.layers[len(plan) + 1], plan, priced):
            extra = more + (between(plan[-1], choice) if plan else 0.0)
            heapq.heappush(opened, (total + extra, next(ticket), extra, (*plan, choice)))


def _continued(
    search: Search, after: Layer, plan: tuple[Choice, ...], priced: Priced
) -> Iterator[tuple[Choice, float]]:
    """Every next step of a beginning, with the least cost of a plan that begins so."""
    done = sum(1 << choice.way.operation for choice in plan)
    spent = sum(choice.cost for choice in plan)
    enter = entering(search, plan[-1] if plan else None)
    full = (1 << search.count) - 1
    for index in range(search.count):
        ahead = None if done >> index & 1 else after.row(done | 1 << index)
        if ahead is None:
            continue
        onward = ahead if done | 1 << index == full else search.onward(ahead[None])[0]
        for bare in _choices(search, index, done, priced):
            choice = replace(bare, cost=bare.cost + float(enter[bare.pose, search.stations.of(bare.way)]))
            total = spent + choice.cost + float(onward[choice.pose, search.stations.of(choice.way)])
            if np.isfinite(total):
                yield choice, total


def _choices(search: Search, index: int, done: int, priced: Priced) -> tuple[Choice, ...]:
    """Every way of making an operation after others, at its own price; many beginnings ask for the same."""
    if (index, done) not in priced:
        rows = (
            (way, search.feasibility.prices(way, np.array([done]))[0]) for way in search.feasibility.candidates[index]
        )
        found = (Choice(way, datum, done, float(row[datum])) for way, row in rows for datum in (EDGE, FLANGE))
        priced[index, done] = tuple(choice for choice in found if np.isfinite(choice.cost))
    return priced[index, done]
