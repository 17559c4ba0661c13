"""The orders that come next after the best one, and what they cost."""

from dataclasses import replace

from flangewise.sequence.feasibility import FeasibilityTable
from flangewise.sequence.forward import plans_by_cost
from flangewise.sequence.plan_check import PlanCheck
from flangewise.sequence.problem import SectionProblem
from flangewise.sequence.search import Search

MOST_OPERATIONS = 12
MOST_LOOKED_AT = 4000


def runner_ups(problem: SectionProblem, *, count: int) -> dict[tuple[int, ...], float]:
    """The `count` cheapest different orders with what each costs at least, cheapest first, the best one included.

    Empty when there is none, or when there are more than 12 operations: the table would have to hold all
    sets, without an upper bound.
    """
    if len(problem.operations) > MOST_OPERATIONS:
        return {}
    search = Search(FeasibilityTable(replace(problem, order=None)))
    plan_check, over = PlanCheck(search.feasibility), problem.limits.watch.over
    found: dict[tuple[int, ...], float] = {}
    for cost, plan in plans_by_cost(
        search, search.unfold(over=over), looks=plan_check.looks, most=MOST_LOOKED_AT, enough=over
    ):
        if plan is None:
            break
        found.setdefault(tuple(choice.way.operation for choice in plan), problem.costs.base + cost)
        if len(found) == count:
            break
    return found
