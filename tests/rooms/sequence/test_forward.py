"""Plans taken from a table, the cheapest first."""

from __future__ import annotations

import itertools
import math

import pytest

from flangewise.sequence.feasibility import FeasibilityTable
from flangewise.sequence.forward import plans_by_cost
from flangewise.sequence.search import Search

HAT = ([20, 30, 50, 30, 20], [-90, 90, 90, -90])


def test_the_first_plan_costs_what_the_table_says(toy):
    search = Search(FeasibilityTable(toy(*HAT)))
    table = search.unfold()
    cost, plan = next(plans_by_cost(search, table))
    assert cost == pytest.approx(table.cost) and sum(choice.cost for choice in plan) == pytest.approx(cost)
    assert sorted(choice.way.operation for choice in plan) == [0, 1, 2, 3]
    assert [choice.done for choice in plan] == list(
        itertools.accumulate((1 << choice.way.operation for choice in plan[:-1]), initial=0)
    )


def test_the_same_problem_gives_the_same_plans(toy):
    found = []
    for _ in range(2):
        search = Search(FeasibilityTable(toy(*HAT)))
        plans = itertools.islice(plans_by_cost(search, search.unfold()), 5)
        found.append([[(choice.way, choice.datum) for choice in plan] for _, plan in plans])
    assert found[0] == found[1] and len(found[0]) == 5


def test_plans_come_by_cost_and_are_all_there_are(toy, slow):
    problem = toy(*HAT)
    search = Search(FeasibilityTable(problem))
    least: dict[tuple[int, ...], float] = {}
    costs = []
    for cost, plan in plans_by_cost(search, search.unfold()):
        costs.append(cost)
        least.setdefault(tuple(choice.way.operation for choice in plan), cost)
    assert costs == sorted(costs)
    assert least == pytest.approx(slow(problem).feasible_orders())


def test_a_look_makes_a_step_dearer_or_forbids_it(toy):
    search = Search(FeasibilityTable(toy(*HAT)))
    table = search.unfold()
    plain, first = next(plans_by_cost(search, table))
    looked: list[int] = []

    def dear(before, step):
        looked.append(step.done)
        return (7.0 if before is None else 0.0), 0.0

    dearer, _ = next(plans_by_cost(search, table, looks=(dear,)))
    assert dearer == pytest.approx(plain + 7.0) and looked
    other, plan = next(
        plans_by_cost(search, table, looks=(lambda _, step: (math.inf if step == first[0] else 0.0, 0.0),))
    )
    assert plan[0] != first[0] and other >= plain
    assert list(plans_by_cost(search, table, looks=(lambda *_: (math.inf, 0.0),))) == []


def test_it_ends_with_the_cost_reached_when_it_may_not_go_on(toy):
    search = Search(FeasibilityTable(toy(*HAT)))
    table = search.unfold()
    assert list(plans_by_cost(search, table, upper=table.cost - 0.5)) == []
    assert next(plans_by_cost(search, table, most=2)) == (pytest.approx(table.cost), None)
    assert next(plans_by_cost(search, table, enough=lambda: True)) == (pytest.approx(table.cost), None)


def test_no_plan_in_an_empty_table(toy):
    search = Search(FeasibilityTable(toy([50, 8, 50], [90, -90])))
    assert list(plans_by_cost(search, search.unfold())) == []
