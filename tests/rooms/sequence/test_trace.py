"""From the table to one plan."""

from __future__ import annotations

import pytest

from flangewise.sequence.feasibility import FeasibilityTable
from flangewise.sequence.search import Search
from flangewise.sequence.trace import trace

HAT = ([20, 30, 50, 30, 20], [-90, 90, 90, -90])


def test_the_plan_costs_what_the_table_says(toy):
    search = Search(FeasibilityTable(toy(*HAT)))
    table = search.unfold()
    plan = trace(search, table)
    assert sum(choice.cost for choice in plan) == pytest.approx(table.cost)
    assert sorted(choice.way.operation for choice in plan) == [0, 1, 2, 3]
    done = 0
    for choice in plan:
        assert choice.done == done
        done |= 1 << choice.way.operation


def test_the_same_problem_gives_the_same_plan(toy):
    plans = []
    for _ in range(2):
        search = Search(FeasibilityTable(toy(*HAT)))
        plans.append([(choice.way, choice.datum) for choice in trace(search, search.unfold())])
    assert plans[0] == plans[1]


def test_no_plan_in_an_empty_table(toy):
    search = Search(FeasibilityTable(toy([50, 8, 50], [90, -90])))
    with pytest.raises(ValueError, match="no plan"):
        trace(search, search.unfold())
