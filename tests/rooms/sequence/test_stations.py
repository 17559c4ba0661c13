"""Tool choices and their changes."""

from __future__ import annotations

import itertools
import random

import numpy as np
import pytest

from flangewise.clearance import ToolStack
from flangewise.sequence import Costs, Hit, Operation, SectionProblem, ToolOption, solve
from flangewise.sequence.moves import END, START, pose_number
from flangewise.sequence.stations import Stations

from ..geometry.by_hand import sharp_chain


def bare(punch: str, die: str, *, turned: bool = False) -> ToolStack:
    return ToolStack(f"{punch} over {die} {turned}", punch, die, 12.0, 0.0, (), turned=turned)


def offered(*rows: list[ToolStack], prices: dict | None = None) -> SectionProblem:
    """One bend for each row of stacks; nothing is in the way."""
    operations = tuple(
        Operation(str(i), (i,), tuple(ToolOption((Hit(s, 90.0, 0.0),), (prices or {}).get(s.name, 0.0)) for s in row))
        for i, row in enumerate(rows)
    )
    chain = sharp_chain([50.0] * (len(rows) + 1), [90.0] * len(rows), thickness_mm=1.5)
    return SectionProblem(chain, operations, costs=Costs(tool_change=60.0, hit=1.0), check_self=False)


def onward_by_hand(costs: Costs, choices: list, finish: np.ndarray) -> np.ndarray:
    """Every pose and choice to come, one by one: what is moved, what is changed, then what is still to be paid.

    Whatever is moved or changed, the part is taken out and put in again, and once.
    """
    found = np.full_like(finish, np.inf)
    poses = list(itertools.product((False, True), (0, 1), (0, 1)))  # marked face up, end behind, datum
    for (i, before), (j, after) in itertools.product(enumerate(poses), repeat=2):
        over, swap = before[0] != after[0], before[1] != after[1]
        moved = {
            (False, False): 0.0,
            (False, True): costs.turn_in_plane,
            (True, True): min(costs.turn_over_bed, costs.turn_over_front_back + costs.turn_in_plane),
            (True, False): min(costs.turn_over_front_back, costs.turn_over_bed + costs.turn_in_plane),
        }[over, swap]
        for (k, leaving), (m, coming) in itertools.product(enumerate(choices), repeat=2):
            last, first = leaving.hits[-1].stack, coming.hits[0].stack
            put_in = ((last.punch, last.turned) != (first.punch, first.turned)) + (last.die != first.die)
            changed = costs.station_change * (put_in > 0) + costs.tool_change * put_in
            slid = costs.stop_change if not moved and before[2] != after[2] else 0.0
            anew = costs.rehandle if moved or changed else 0.0
            total = finish[:, j, m] + moved + changed + slid + anew
            found[:, i, k] = np.minimum(found[:, i, k], total)
    return found


@pytest.mark.parametrize(
    "costs",
    [
        Costs(turn_over_bed=10, turn_over_front_back=14, turn_in_plane=4, stop_change=0.5, tool_change=60),
        Costs(turn_over_bed=1.5, turn_over_front_back=1.5, turn_in_plane=1.2, rehandle=1.7, tool_change=3.6),
        Costs(turn_over_bed=3, turn_over_front_back=9, turn_in_plane=2, rehandle=4, station_change=9, tool_change=0),
        Costs(turn_over_bed=3, turn_over_front_back=9, turn_in_plane=2, rehandle=4, station_change=7, tool_change=40),
    ],
    ids=["points", "tools put in", "stations beside each other", "all"],
)
def test_onward_is_the_least_over_all_next_poses_and_choices(costs):
    dice = random.Random(5)
    stacks = [bare(p, d, turned=t) for p in "ab" for d in "xyz" for t in (False, True)]
    hems = [ToolOption((Hit(a, 150, 0), Hit(b, 180, 0, "press"))) for a, b in (stacks[:2], stacks[4:6])]
    options = tuple(ToolOption((Hit(s, 90.0, 0.0),)) for s in stacks) + tuple(hems)
    stations = Stations(costs, options)
    assert [stations.number(option) for option in options] == list(range(stations.count))
    for most in (20, 200):
        finish = np.array(
            [[[dice.uniform(0, most) for _ in range(stations.count)] for _ in range(8)] for _ in range(3)]
        )
        assert stations.onward(finish) == pytest.approx(onward_by_hand(costs, list(options), finish))


def test_coming_in_costs_the_moves_the_change_and_being_put_in_once():
    costs = Costs(turn_in_plane=2, rehandle=4, station_change=9, tool_change=1)
    options = [operation.options[0] for operation in offered([bare("a", "x")], [bare("b", "x")]).operations]
    stations = Stations(costs, options)
    here, there = map(stations.number, options)
    start, end = (pose_number(marked_up=True, behind=behind, datum=0) for behind in (START, END))
    table = stations.entering(start, here)
    assert table[start, here] == 0
    assert table[end, here] == 2 + 4
    assert table[start, there] == 9 + 1 + 4
    assert table[end, there] == 2 + 9 + 1 + 4


def test_one_pair_for_all_beats_the_best_pair_of_each():
    good, better = bare("a", "x"), bare("b", "x")
    problem = offered([good, better], [good], [good, better], prices={good.name: 5.0})
    solution = solve(problem)
    assert solution.cost == pytest.approx(3 * 1 + 3 * 5) and solution.proven_least
    assert not any(step.tool_changed for step in solution.steps)


def test_a_change_is_made_when_it_must_be_and_only_once():
    first, second = bare("a", "x"), bare("a", "y")
    solution = solve(offered([first], [second], [first], [second]))
    assert sum(step.tool_changed for step in solution.steps) == 1
    assert solution.cost == pytest.approx(4 + 60)


def test_a_change_of_both_tools_costs_both():
    assert solve(offered([bare("a", "x")], [bare("b", "y")])).cost == pytest.approx(2 + 120)


def test_two_names_for_the_same_pair_are_one_choice():
    same = ToolStack("another name", "a", "x", 12.0, 0.0, ())
    options = [operation.options[0] for operation in offered([bare("a", "x")], [same]).operations]
    assert Stations(Costs(), options).count == 1
