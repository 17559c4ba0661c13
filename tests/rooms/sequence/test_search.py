"""The table of least costs."""

from __future__ import annotations

import itertools
import time

import numpy as np
import pytest

from flangewise.clearance import Body
from flangewise.geometry import sharp_chain
from flangewise.sequence import Hit, Operation, SectionProblem, ToolOption, solve
from flangewise.sequence.feasibility import FeasibilityTable
from flangewise.sequence.search import Search

HAT = ([20, 30, 50, 30, 20], [-90, 90, 90, -90])


def search(problem) -> Search:
    return Search(FeasibilityTable(problem))


def test_sets_of_the_hat_are_those_that_can_be_finished(toy):
    table = search(toy(*HAT)).unfold()
    reached = {int(done) for layer in table.layers for done in layer.sets}
    # outer before inner on each side: 1 needs 0, 2 needs 3
    assert reached == {
        done for done in range(16) if not (done & 2 and not done & 1) and not (done & 4 and not done & 8)
    }
    assert table.visited == len(reached) and table.dropped == np.inf


def test_layers_hold_the_least_cost_to_finish(toy, slow):
    problem = toy(*HAT)
    orders = slow(problem).feasible_orders()
    table = search(problem).unfold()
    assert table.cost == pytest.approx(min(orders.values()))
    for first in range(4):
        tails = [cost for order, cost in orders.items() if order[0] == first]
        row = table.layers[1].row(1 << first)
        assert (row is not None) is bool(tails)


def test_a_bound_drops_what_cannot_beat_it_and_nothing_else(toy):
    problem = toy([60, 70, 70, 70, 60], [90, -90, 90, -90])
    free = search(problem).unfold()
    bounded = search(problem).unfold(upper=free.cost)
    assert bounded.cost == pytest.approx(free.cost) and bounded.visited <= free.visited
    assert search(problem).unfold(upper=free.cost - 0.5).cost == np.inf


def test_a_narrow_beam_says_what_it_gave_up(toy):
    problem = toy([60.0] * 9, [20.0] * 8)
    table = search(problem).unfold(width=3)
    assert max(len(layer.sets) for layer in table.layers) == 3
    assert table.dropped <= table.cost


def test_out_of_time_the_layers_are_cut(toy):
    problem = toy([60.0] * 13, [20.0] * 12)
    table = search(problem).unfold(until=time.monotonic() - 1.0)
    assert max(len(layer.sets) for layer in table.layers) <= 64 and table.dropped < np.inf


def test_one_order_alone(toy):
    run = search(toy(*HAT))
    for order in itertools.permutations(range(4)):
        table = run.along(order)
        possible = order.index(0) < order.index(1) and order.index(3) < order.index(2)
        assert np.isfinite(table.cost) == possible
        assert bool(table.stuck) != possible


def test_stuck_sets_are_those_nothing_can_be_taken_from(toy):
    table = search(toy([30, 40, 60, 40, 30], [90] * 4)).unfold()
    assert table.stuck == (15,) and table.cost == np.inf and table.layers[0].row(0) is None


def test_ways_that_cannot_pay_are_not_looked_at(bend_all, stack):

    class Precious(Body):
        """A body that must not be touched."""

        def turned(self):
            raise AssertionError("a dear tool was looked at")

    dear = stack(punch_half=6.0)
    dear = type(dear)("dear", "dear", "dear", 12.0, 0.0, (Precious("punch", ((0, 0), (1, 9), (-1, 9)), True),))
    options = (ToolOption((Hit(stack(), 90.0, 0.0),)), ToolOption((Hit(dear, 90.0, 0.0),), cost=100.0))
    chain = sharp_chain([40, 60, 40], [90, 90], thickness_mm=1.5)
    problem = SectionProblem(chain, tuple(Operation(str(z), (z,), options) for z in (0, 1)))
    cheap = search(problem).unfold(choices=1)
    assert cheap.cost == pytest.approx(2.0) and cheap.dropped == 0.0, "and what was not tried is not proven"
    assert search(problem).unfold(upper=2.0).cost == pytest.approx(2.0)
    with pytest.raises(AssertionError, match="dear tool"):
        search(problem).unfold()


@pytest.mark.parametrize("count", [3, 9])
def test_many_offered_tools_cost_what_few_do(bend_all, stack, count):

    chain = sharp_chain([20, 30, 50, 30, 20], [-90, 90, 90, -90], thickness_mm=1.5)
    tools = [stack(punch_half=10.0 + step) for step in range(count)]
    alone = min(solve(bend_all(chain, [tool])).cost or np.inf for tool in tools[:3])
    solution = solve(bend_all(chain, tools))
    assert solution.cost == pytest.approx(alone) and solution.proven_least
