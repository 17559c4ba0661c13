"""From a problem to an answer that says what it proves.

A narrow beam looks for a first plan; the exact search proves the least with it as upper bound. The best
plan is then looked at closely (the part against itself, the way in and out, the stops); what fails is
forbidden in all sets it speaks of and the search runs again on the tables it already has.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from flangewise.sequence.detail import steps_of
from flangewise.sequence.feasibility import Exclusion, FeasibilityTable, Shapes
from flangewise.sequence.hold import BREACH_S
from flangewise.sequence.plan_check import PlanCheck
from flangewise.sequence.problem import SectionProblem
from flangewise.sequence.runners import plans_by_cost
from flangewise.sequence.search import Search, Unfolded
from flangewise.sequence.solution import Gauging, Solution
from flangewise.sequence.trace import Choice, trace
from flangewise.sequence.why import blockers_of

BEAMS = (300, 4000)
# So many beginnings of plans are followed with the stops' way counted before the answer stays with a gap.
MOST_WALKED = 20_000
SAME_COST = 1e-6
# So many plans are looked through to prove the least with a price on top.
MOST_PRICED = 200
MOST_PRICED_AGAIN = 40

# Of each step of a plan: the operation, the option of tools, what the stops touch.
PricedStep = tuple[int, int, Gauging | None]
PlanPrice = Callable[[Iterable[PricedStep]], float]
SMALL = 12
FEW_CHOICES = 2


@dataclass(frozen=True)
class Found:
    """The best plan after closer looks (None: none), and what is proven: no plan costs less than `bound`."""

    plan: tuple[Choice, ...] | None
    cost: float
    bound: float
    unfolded: Unfolded


@dataclass
class ShapeCache:
    """What solving one problem found of its shapes, for others that differ from it in prices alone."""

    shapes: Shapes | None = None


def solve(problem: SectionProblem, kept: ShapeCache | None = None) -> Solution:
    """Plan of least cost, with its proof; or the proof that there is none; or neither, said so.

    A section and its mirror image get one plan, with the other face up: among plans of one price the search takes the
    first it comes to, so it is always asked with the first bend toward the marked face. Problems that differ in prices
    alone are solved with the same `kept`, and look at their shapes only once.
    """
    if any(turn < 0 for turn in problem.chain.turns_deg[:1]):
        return _other_face_up(_solved(_mirrored(problem), kept))
    return _solved(problem, kept)


def _mirrored(problem: SectionProblem) -> SectionProblem:
    asked = tuple(
        each if each.marked_up is None else replace(each, marked_up=not each.marked_up) for each in problem.asked
    )
    good = None if problem.marked_face_good is None else not problem.marked_face_good
    return replace(problem, chain=problem.chain.mirrored(), asked=asked, marked_face_good=good)


def _other_face_up(solution: Solution) -> Solution:
    return replace(
        solution,
        steps=tuple(replace(step, marked_up=not step.marked_up) for step in solution.steps),
        blockers=tuple(
            each if each.marked_up is None else replace(each, marked_up=not each.marked_up)
            for each in solution.blockers
        ),
    )


def _solved(problem: SectionProblem, kept: ShapeCache | None) -> Solution:
    if kept is not None and kept.shapes is None:
        kept.shapes = Shapes(problem)
    search = Search(FeasibilityTable(problem, kept.shapes if kept is not None else None))
    plan_check = PlanCheck(search)
    found = _best_checked(search, plan_check, time.monotonic() + problem.limits.seconds)
    planned = found.plan is not None
    proven = found.cost <= found.bound + SAME_COST
    feasible = True if planned else (False if np.isinf(found.bound) else None)
    steps = steps_of(search, plan_check, found.plan or ())
    breach = sum(step.hold.breach for step in steps if step.hold is not None)
    broken_s, base = BREACH_S * breach, problem.costs.base
    bound = None if np.isinf(found.bound) else base + min(found.bound, found.cost)
    return Solution(
        feasible=feasible,
        proven_least=planned and proven,
        cost=base + found.cost - broken_s if planned else None,
        lower_bound=None if bound is None else max(0.0, bound - broken_s),
        steps=steps,
        blockers=() if planned or not problem.tell_blockers else blockers_of(search, found.unfolded),
        visited=found.unfolded.visited,
        breach=breach,
        least_weight=bound,
    )


def _best_checked(search: Search, plan_check: PlanCheck, until: float) -> Found:
    """Search, look closely, forbid what failed, search again."""
    problem = search.feasibility.problem
    bound = 0.0
    for _ in range(problem.limits.repairs):
        unfolded, bound = best_table(search, until)
        if not np.isfinite(unfolded.cost):
            return Found(None, np.inf, bound, unfolded)
        plan = trace(search, unfolded)
        found = Found(plan, unfolded.cost + waits_s(plan_check, plan), bound, unfolded)
        if found.cost > unfolded.cost + SAME_COST:
            found = _with_travel(search, plan_check, found, until)
        failed = plan_check.look(found.plan or ())
        if not failed:
            return found
        search.feasibility.remember(failed)
        if time.monotonic() > until:
            break
    return Found(None, np.inf, bound, unfolded)


def _with_travel(search: Search, plan_check: PlanCheck, found: Found, until: float) -> Found:
    """The least plan with the way of the stops counted, where the plan found waits for them.

    Counting it only adds: plans come in the order of the cost they have so far, each beginning with its stops' way,
    and the first whole one is the least. Where too many begin alike cheaply, the plan at hand stays, with the bound
    reached.
    """
    problem = search.feasibility.problem
    if problem.order is not None:
        table = search.along(problem.order)
    else:
        table = search.unfold(upper=found.cost, width=problem.limits.sets_per_layer, until=until)
    known = min(found.cost, max(found.bound, table.dropped)) if np.isfinite(table.dropped) else found.cost
    for reached, plan in plans_by_cost(search, table, between=plan_check.waits_s, merge=True, most=MOST_WALKED):
        if plan is None or reached >= found.cost:
            return replace(found, bound=min(known, max(found.bound, reached)))
        return replace(found, plan=plan, cost=reached, bound=min(known, reached))
    return found


def least_priced(
    problem: SectionProblem,
    kept: ShapeCache,
    known: Solution,
    price: PlanPrice,
    *,
    always_s: float,
    bound: Solution,
) -> Solution:
    """The least plan with a price on top that depends on all its steps together, never under `always_s`.

    `known` is a plan with its price in its cost. All plans that cost less than it without theirs are looked through, in
    the order of their cost: the first that with the least price comes no lower proves the best so far. Where they are
    too many it stays unproven. `bound`: the least plan without any price.
    """
    unproven = replace(known, proven_least=False, lower_bound=min(bound.lower_bound or 0.0, known.cost or 0.0))
    mirrored = any(turn < 0 for turn in problem.chain.turns_deg[:1])
    if not bound.proven_least or known.breach > bound.breach or problem.order is not None:
        return unproven
    asked = _mirrored(problem) if mirrored else problem
    search = Search(FeasibilityTable(asked, kept.shapes))
    plan_check, base = PlanCheck(search), asked.costs.base
    for _ in range(MOST_PRICED_AGAIN):
        found, failed = _look_through(search, plan_check, known.weight - base, price, always_s=always_s)
        if not failed:
            break
        search.feasibility.remember(failed)
    else:
        return unproven
    if found is None:
        return unproven
    if found.plan is not None:
        steps = steps_of(search, plan_check, found.plan)
        breach = sum(step.hold.breach for step in steps if step.hold is not None)
        better = replace(known, steps=steps, breach=breach, cost=base - BREACH_S * breach + found.cost)
        priced_s = price((step.operation, step.option, step.gauged) for step in steps)
        known = replace(_other_face_up(better) if mirrored else better, loose_s=priced_s if known.loose_s else 0.0)
    return replace(known, proven_least=True, lower_bound=known.cost, least_weight=known.weight)


def _look_through(
    search: Search, plan_check: PlanCheck, best: float, price: PlanPrice, *, always_s: float
) -> tuple[Found | None, tuple[Exclusion, ...]]:
    """The least plan under `best` with its price, if any; None where they are too many; and what did not stand up."""
    table = search.unfold(upper=best - always_s, width=search.feasibility.problem.limits.sets_per_layer)
    found = Found(None, best, best, table)
    if np.isfinite(table.dropped):
        return None, ()
    for cost, plan in plans_by_cost(search, table, between=plan_check.waits_s, most=MOST_PRICED):
        if cost + always_s >= found.cost - SAME_COST:
            break
        if plan is None:
            return None, ()
        total = cost + price(
            (choice.way.operation, choice.way.option, plan_check.contact(choice).gauging) for choice in plan
        )
        if total < found.cost - SAME_COST:
            failed = plan_check.look(plan)
            if failed:
                return None, failed
            found = Found(plan, total, total, table)
    return found, ()


def waits_s(plan_check: PlanCheck, plan: tuple[Choice, ...]) -> float:
    """Seconds that a plan waits for the stops beyond its handling."""
    return sum(plan_check.waits_s(before, after) for before, after in pairwise(plan))


def best_table(search: Search, until: float) -> tuple[Unfolded, float]:
    """The best table found and a bound no plan can beat (infinite: there is no plan at all)."""
    problem = search.feasibility.problem
    if problem.order is not None:
        table = search.along(problem.order)
        return table, table.cost
    upper, best = np.inf, None
    if search.stations.count > FEW_CHOICES:
        best = search.unfold(width=BEAMS[0], choices=1)
        upper = best.cost
    for width in BEAMS if search.count > SMALL else ():
        beam = search.unfold(upper=upper, width=width)
        if best is None or beam.cost < best.cost:
            best = beam
        upper = min(upper, beam.cost)
        if beam.dropped >= upper:
            return best, upper
        if time.monotonic() > until:
            break
    exact = search.unfold(upper=upper, width=problem.limits.sets_per_layer, until=until)
    if best is None or exact.cost <= best.cost:
        best = exact
    return best, min(best.cost, exact.dropped)
