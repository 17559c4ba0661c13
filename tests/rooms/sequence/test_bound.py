"""The bound never exceeds what reaching a set really costs."""

from __future__ import annotations

import random

import numpy as np
import pytest

from flangewise.geometry import sharp_chain
from flangewise.sequence.bound import Bound
from flangewise.sequence.feasibility import FeasibilityTable
from flangewise.sequence.moves import pose_prices
from flangewise.sequence.search import Search, candidate_pose


def reach_costs(search: Search, count: int) -> dict[tuple[int, int, int], float]:
    """Least cost of reaching a set and coming into a pose with a tool choice, by going forward."""
    poses = pose_prices(search.feasibility.problem.costs)
    best: dict[tuple[int, int, int], float] = {}
    last: dict[int, dict[tuple[int, int], float]] = {0: {}}
    for done in sorted(range(1 << count), key=int.bit_count):
        for pose in range(8):
            for tool in range(search.stations.count):
                enter = [
                    c + poses[p, pose] + search.stations.change[t, tool] for (p, t), c in last.get(done, {}).items()
                ]
                cost = 0.0 if done == 0 else min(enter, default=np.inf)
                best[done, pose, tool] = cost
        for index in (i for i in range(count) if not done >> i & 1):
            for way in search.feasibility.candidates[index]:
                prices = search.feasibility.prices(way, np.array([done]))[0]
                for datum in (0, 1):
                    pose, tool = candidate_pose(way, datum), search.stations.of(way)
                    total = best[done, pose, tool] + prices[datum]
                    table = last.setdefault(done | 1 << index, {})
                    table[pose, tool] = min(table.get((pose, tool), np.inf), total)
    return best


@pytest.mark.parametrize("seed", range(4))
def test_admissible_on_random_sections(bend_all, stack, seed):
    dice = random.Random(seed)
    count = 4
    chain = sharp_chain(
        [dice.choice([25, 40, 60]) + dice.random() for _ in range(count + 1)],
        [dice.choice([90, -90, 45]) for _ in range(count)],
        thickness_mm=1.5,
    )
    search = Search(FeasibilityTable(bend_all(chain, [stack(), stack(punch_half=6.0)])))
    true = reach_costs(search, count)
    bound = Bound(search.feasibility, search.stations).reach(np.arange(1 << count))
    looked_at = list(true.items())
    assert looked_at
    for (done, pose, tool), cost in looked_at:
        assert bound[done, pose, tool] <= cost + 1e-9


def test_a_turn_over_still_due_is_counted(toy):
    search = Search(FeasibilityTable(toy([60, 70, 60], [90, -90])))
    reach = Bound(search.feasibility, search.stations).reach(np.array([0b00, 0b01, 0b10]))
    up, down = 4, 0
    assert reach[1, up, 0] == pytest.approx(1.0) and reach[1, down, 0] == pytest.approx(11.0)
    assert reach[2, up, 0] == pytest.approx(11.0) and reach[0].max() == 0.0
