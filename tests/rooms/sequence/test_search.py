"""The table of least costs."""

from __future__ import annotations

import itertools
import random

import numpy as np
import pytest

from flangewise.clearance import Body
from flangewise.sequence import Hit, Operation, SectionProblem, ToolOption, solve
from flangewise.sequence.feasibility import FeasibilityTable
from flangewise.sequence.moves import pose_number, pose_prices
from flangewise.sequence.search import Floor, Search

from ..geometry.by_hand import sharp_chain

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
        layer = table.layers[1]
        row = next(iter(layer.finish[layer.sets == 1 << first]), None)
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
    table = search(problem).unfold(over=lambda: True)
    assert max(len(layer.sets) for layer in table.layers) <= 64 and table.dropped < np.inf


def test_one_order_alone(toy):
    for order in itertools.permutations(range(4)):
        table = search(toy(*HAT, order=order)).unfold()
        possible = order.index(0) < order.index(1) and order.index(3) < order.index(2)
        assert np.isfinite(table.cost) == possible
        assert bool(table.stuck) != possible


def test_stuck_sets_are_those_nothing_can_be_taken_from(toy):
    table = search(toy([30, 40, 60, 40, 30], [90] * 4)).unfold()
    assert table.stuck == (15,) and table.cost == np.inf and not len(table.layers[0].sets)


def test_tools_that_cannot_pay_are_not_looked_at(stack):

    class Precious(Body):
        """A body that must not be touched."""

        @property
        def symmetric(self):
            raise AssertionError("a dear tool was looked at")

    dear = stack(punch_half=6.0)
    dear = type(dear)("dear", "dear", "dear", 12.0, 0.0, (Precious("punch", ((0, 0), (1, 9), (-1, 9)), True),))
    options = (ToolOption((Hit(stack(), 90.0, 0.0),)), ToolOption((Hit(dear, 90.0, 0.0),), cost=100.0))
    chain = sharp_chain([40, 60, 40], [90, 90], thickness_mm=1.5)
    problem = SectionProblem(chain, tuple(Operation(str(z), (z,), options) for z in (0, 1)))
    assert Search(FeasibilityTable(problem), [(0,), (0,)]).unfold().cost == pytest.approx(2.0)
    assert search(problem).unfold(upper=2.0).cost == pytest.approx(2.0)
    assert solve(problem).cost == pytest.approx(2.0)
    with pytest.raises(AssertionError, match="dear tool"):
        search(problem).unfold()


def reach_costs(run: Search, count: int) -> dict[tuple[int, int], float]:
    """Least cost of reaching a set and coming into a pose, whatever the station, by going forward."""
    poses = pose_prices(run.feasibility.problem.costs)
    last: dict[int, dict[tuple[int, int], float]] = {0: {}}
    best: dict[tuple[int, int], float] = {}
    for done in sorted(range(1 << count), key=int.bit_count):
        came = {(pose, station): 0.0 for pose in range(8) for station in range(run.stations.count)}
        for pose, station in came if done else ():
            ways = ((c + poses[p, pose] + run.stations.change[t, station]) for (p, t), c in last[done].items())
            came[pose, station] = min(ways, default=np.inf)
        for pose in range(8):
            best[done, pose] = min(came[pose, station] for station in range(run.stations.count))
        for index in (i for i in range(count) if not done >> i & 1):
            for way in run.feasibility.candidates[index]:
                prices = run.feasibility.prices(way, np.array([done]))[0]
                for datum in (0, 1):
                    pose = pose_number(marked_up=way.marked_up, behind=way.behind, datum=datum)
                    table, key = last.setdefault(done | 1 << index, {}), (pose, run.station_of(way))
                    table[key] = min(table.get(key, np.inf), came[key] + prices[datum])
        last.setdefault(done, {})
    return best


@pytest.mark.parametrize(("seed", "bends"), [(0, 4), (1, 4), (2, 4), (3, 4), (0, 6), (1, 6)])
def test_what_reaching_a_set_costs_is_never_overrated(bend_all, stack, seed, bends):
    """As it is reckoned of few operations, and from six on forward over all sets."""
    dice = random.Random(seed)
    chain = sharp_chain(
        [dice.choice([25, 40, 60]) + dice.random() for _ in range(bends + 1)],
        [dice.choice([90, -90, 45]) for _ in range(bends)],
        thickness_mm=1.5,
    )
    run = search(bend_all(chain, [stack(), stack(punch_half=6.0)]))
    true, reach = reach_costs(run, bends), run.reach(np.arange(1 << bends))
    assert len(true) == (1 << bends) * 8
    for (done, pose), cost in true.items():
        assert reach[done, pose] <= cost + 1e-9 or (cost == np.inf and reach[done, pose] >= 1e12)


def test_a_turn_over_still_due_is_counted(toy):
    reach = search(toy([60, 70, 60], [90, -90])).reach(np.array([0b00, 0b01, 0b10]))
    down, up = slice(0, 4), slice(4, 8)
    reach = np.stack([reach[:, down].min(axis=1), reach[:, up].min(axis=1)], axis=1)
    down, up = 0, 1
    assert reach[1, up] == pytest.approx(1.0) and reach[1, down] == pytest.approx(11.0)
    assert reach[2, up] == pytest.approx(11.0) and reach[0].max() == 0.0


@pytest.mark.parametrize("seed", range(4))
def test_no_plan_comes_below_the_floor_of_its_tools(bend_all, stack, seed):
    dice = random.Random(40 + seed)
    chain = sharp_chain(
        [dice.uniform(18, 60) for _ in range(5)], [dice.choice([90, -90, 45]) for _ in range(4)], thickness_mm=1.5
    )
    tools = [stack(), stack(punch_half=6.0), stack(die_half=14.0)]
    table = FeasibilityTable(bend_all(chain, tools))
    bare, shut = (Floor(table, bodies=bodies).unfold().cost for bodies in (False, True))
    assert bare <= shut + 1e-9
    mixed = Search(table).unfold().cost
    alone = [Search(table, [(nth,)] * 4).unfold().cost for nth in range(3)]
    assert shut <= mixed + 1e-9 and mixed <= min(alone) + 1e-9
    assert np.isfinite(shut) or np.isinf(mixed)


@pytest.mark.parametrize("seed", range(4))
def test_the_bare_floor_is_the_same_forward_and_backward(bend_all, stack, seed):
    dice = random.Random(60 + seed)
    turns = [dice.choice([90, -90, 45, -30]) for _ in range(7)]
    chain = sharp_chain([dice.uniform(18, 60) for _ in range(8)], turns, thickness_mm=1.5)
    floor = Floor(FeasibilityTable(bend_all(chain, [stack(), stack(die_half=14.0)])), bodies=False)
    backward = floor.unfold().cost
    assert floor.least(np.inf) == pytest.approx(backward, abs=1e-9) and backward > 7.0
    # Told only as far as it is not over what is asked for.
    assert floor.least(backward + 1e-3) == pytest.approx(backward) and np.isinf(floor.least(backward - 1e-3))


@pytest.mark.parametrize("count", [3, 9])
def test_many_offered_tools_cost_what_few_do(bend_all, stack, count):

    chain = sharp_chain([20, 30, 50, 30, 20], [-90, 90, 90, -90], thickness_mm=1.5)
    tools = [stack(punch_half=10.0 + step) for step in range(count)]
    alone = min(solve(bend_all(chain, [tool])).cost or np.inf for tool in tools[:3])
    solution = solve(bend_all(chain, tools))
    assert solution.cost == pytest.approx(alone) and solution.proven_least
