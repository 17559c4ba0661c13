"""Plans that wait for the stops: the longer of handling and the stops' way counts, and the plan is still the least."""

from __future__ import annotations

import itertools
import math
import random
from dataclasses import replace

import pytest

from flangewise.sequence import Backgauge, Costs, StopTravel, runner_ups, solve

FINGER = ((0.0, 0.0), (0.0, 12.0), (-40.0, 12.0), (-40.0, 0.0))
# No formed face is tall enough for these stops: only cut edges are gauged, of wings that are still flat.
EDGES = Backgauge(5.0, 2000.0, -80.0, 200.0, FINGER, contact_mm=1000.0)
COSTS = Costs(
    base=3.0, share=1.1, hit=1.1, turn_in_plane=1.1, turn_over_bed=2.2, turn_over_front_back=3.3, rehandle=1.65
)
SLOW_STOPS = StopTravel(speed_mm_per_s=40.0, acceleration_mm_per_s2=200.0, next_stop_s=0.5, shift_s=1.0)


def travels_s(way_mm: float) -> float:
    """From standstill to standstill at 40 mm/s with 200 mm/s2: full speed from 8 mm on."""
    return way_mm / 40 + 0.2 if way_mm >= 8 else 2 * math.sqrt(way_mm / 200)


def handled(one: tuple[int, bool], other: tuple[int, bool], turns: tuple[float, ...]) -> float:
    """Seconds, without allowance, of what is done with the part: drawn to the stop, or taken out, moved, put in."""
    over, swap = turns[one[0]] * turns[other[0]] < 0, one[1] != other[1]
    moves = {(False, False): 0.0, (False, True): 1.0, (True, True): 2.0, (True, False): min(3.0, 2.0 + 1.0)}[over, swap]
    return moves + 2.0 if moves else 0.5


def step_s(one, other, problem) -> float:
    """Seconds from hit to hit, allowance and gauging with them; what is handled is 0.5 more than COSTS charges it."""
    lengths, turns = problem.chain.flats_mm, problem.chain.turns_deg
    stops = [sum(lengths[: bend + 1]) if start else sum(lengths[bend + 1 :]) for bend, start in (one, other)]
    return 1.1 * max(handled(one, other, turns), travels_s(abs(stops[1] - stops[0]))) + 0.55


def least(problem, simulator, order: tuple[int, ...]) -> float:
    """The least of one order, over all ends behind; the wing behind has no bend yet."""
    best: dict[tuple[int, bool], float] = {}
    for place, bend in enumerate(order):
        done = order[:place]
        ways = {}
        for start in (True, False):
            flat = all((other < bend) != start for other in done)
            if flat and simulator.possible(bend, sum(1 << other for other in done), start):
                now = (bend, start)
                ways[now] = min((cost + step_s(way, now, problem) for way, cost in best.items()), default=3.0 + 1.1)
                if place and not best:
                    return math.inf
        if not ways:
            return math.inf
        best = ways
    return min(best.values())


def section(seed: int) -> tuple[list[float], list[float]]:
    dice = random.Random(70 + seed)
    bends = dice.choice((2, 3, 3, 4))
    lengths = [dice.choice((60.0, 90.0, 200.0, 350.0)) + dice.random() for _ in range(bends + 1)]
    return lengths, [dice.choice((90.0, 90.0, -90.0)) for _ in range(bends)]


@pytest.mark.parametrize("seed", range(14))
def test_the_least_of_all_orders_is_found_with_the_stops_way_counted(toy, slow, seed):
    lengths, turns = section(seed)
    problem = toy(lengths, turns, gauge=EDGES, costs=COSTS, stop_travel=SLOW_STOPS)
    simulator = slow(problem, angles=20)
    orders = itertools.permutations(range(len(turns)))
    expected = {order: cost for order in orders if (cost := least(problem, simulator, order)) < math.inf}
    found = solve(problem)
    assert found.feasible is bool(expected)
    if expected:
        assert found.proven_least and found.cost == found.lower_bound == pytest.approx(min(expected.values()))
        told = runner_ups(problem, count=99)
        assert told == pytest.approx(expected)


def test_a_big_jump_with_the_same_face_up_is_waited_for(toy):
    """A channel 60/350/60: from one edge the stops go 350 in 8.95 s while the part is drawn on in 0.5; turned end for
    end they stay, and that takes 3. With quick stops drawing it on is the least."""
    lengths, turns = [60.0, 350.0, 60.0], [90, 90]
    slow_stops = toy(lengths, turns, gauge=EDGES, costs=COSTS, stop_travel=SLOW_STOPS)
    assert {step.gauged.on for step in solve(slow_stops).steps} == {"start", "end"}
    assert solve(slow_stops).cost == pytest.approx(3.0 + 2 * 1.1 + 1.1 * (1.0 + 1.5))
    quick = replace(slow_stops, stop_travel=replace(SLOW_STOPS, speed_mm_per_s=1000.0, acceleration_mm_per_s2=1e6))
    assert len({step.gauged.on for step in solve(quick).steps}) == 1
    assert solve(quick).cost == pytest.approx(3.0 + 2 * 1.1)


@pytest.mark.parametrize("order", [(0, 1), (1, 0)])
def test_a_kept_order_is_turned_round_rather_than_waited_for(toy, order):
    """What an order costs is its least, over all the ways it can be made."""
    lengths, turns = [60.0, 350.0, 60.0], [90, 90]
    fixed = solve(toy(lengths, turns, gauge=EDGES, costs=COSTS, stop_travel=SLOW_STOPS, order=order))
    assert fixed.order == order and fixed.proven_least
    assert fixed.cost == pytest.approx(3.0 + 2 * 1.1 + 1.1 * (1.0 + 1.5))


def test_without_stop_travel_nothing_waits(toy):
    lengths, turns = section(1)
    free = toy(lengths, turns, gauge=EDGES, costs=COSTS)
    assert solve(free).cost <= solve(replace(free, stop_travel=SLOW_STOPS)).cost
