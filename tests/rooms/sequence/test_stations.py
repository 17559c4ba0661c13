"""Tool choices and their changes."""

from __future__ import annotations

import random

import numpy as np
import pytest

from flangewise.clearance import ToolStack
from flangewise.geometry import sharp_chain
from flangewise.sequence import Costs, Hit, Operation, SectionProblem, ToolOption, solve
from flangewise.sequence.stations import Stations


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


def test_onward_is_the_least_over_all_next_choices():
    dice = random.Random(5)
    stacks = [bare(p, d, turned=t) for p in "ab" for d in "xyz" for t in (False, True)]
    hems = [ToolOption((Hit(a, 150, 0), Hit(b, 180, 0, "press"))) for a, b in (stacks[:2], stacks[4:6])]
    options = tuple(ToolOption((Hit(s, 90.0, 0.0),)) for s in stacks) + tuple(hems)
    chain = sharp_chain([50, 50], [90], thickness_mm=1.5)
    stations = Stations(SectionProblem(chain, (Operation("1", (0,), options),)))
    finish = np.array([[[dice.uniform(0, 200) for _ in range(stations.count)] for _ in range(8)] for _ in range(3)])
    expected = (finish[:, :, None, :] + stations.change[None, None]).min(axis=3)
    assert stations.onward(finish) == pytest.approx(expected)


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
    assert Stations(offered([bare("a", "x")], [same])).count == 1
