"""The bound over order, tools and grips together is under every plan, and no lower than it has to be."""

from __future__ import annotations

import itertools
import math
import random
from dataclasses import replace

import numpy as np
import pytest

from flangewise.handling import GripPlanner, least_grips
from flangewise.handling.held import dones_of
from flangewise.handling.way import NO_GRIP_S
from flangewise.sequence import Candidate, LeastWeight, SectionProblem

from ...how_many import one_in
from .test_moves import _every_plan, _section
from .toys import GRIPPERS, built_in, planner, problem_of, robot, slim_jaw


def _weights(problem: SectionProblem, asked: GripPlanner) -> list[float]:
    """What every plan of a section weighs with its grips, whatever it costs."""
    return [cost + asked.more_s(plan) for cost, plan in _every_plan(problem, math.inf)]


@pytest.mark.parametrize("name", GRIPPERS)
def test_the_bound_is_what_the_cheapest_of_all_plans_weighs_where_no_closer_look_adds(name: str) -> None:
    same = looked_at = 0
    for seed in range(0, 30, one_in(6)):
        problem = problem_of(*_section(seed))
        asked = planner(problem, GRIPPERS[name]())
        weights = _weights(problem, asked)
        if not weights:
            continue
        looked_at += 1
        bound = problem.costs.base + asked.least(LeastWeight(problem)).least()
        assert bound <= min(weights) + 1e-6, seed
        same += bound == pytest.approx(min(weights), abs=1e-6)
    assert looked_at >= 3 and same >= looked_at / 2


@pytest.mark.parametrize("name", GRIPPERS)
def test_what_is_asked_in_part_is_no_more_than_all_of_it(name: str) -> None:
    for seed in range(0, 20, one_in(5)):
        problem = problem_of(*_section(seed))
        asked = planner(problem, GRIPPERS[name]())
        every = asked.least(LeastWeight(problem)).least()
        held = asked.least(LeastWeight(problem))
        hoped = held.hoped()
        assert hoped <= every + 1e-9
        assert held.questions == 0
        enough = held.least((hoped + every) / 2)
        assert hoped - 1e-9 <= enough <= every + 1e-9
        assert held.least() == pytest.approx(every)


def test_grips_alone_take_no_more_than_any_plan_takes_for_them() -> None:
    looked_at = 0
    for name, seed in itertools.product(GRIPPERS, range(0, 16, one_in(8))):
        problem = problem_of(*_section(seed))
        asked = planner(problem, GRIPPERS[name]())
        more = [asked.more_s(plan) for _, plan in _every_plan(problem, math.inf)]
        if more:
            looked_at += 1
            assert asked.least(LeastWeight(problem)).of_grips_alone().least() <= min(more) + 1e-6
    assert looked_at >= 3


@pytest.mark.parametrize("name", GRIPPERS)
def test_with_slack_a_grip_fails_only_where_it_fails_on_every_blank_as_near(name: str) -> None:
    """Legs longer or shorter by a part of the slack: what fails here with slack fails there without."""
    failed = 0
    for seed in range(0, 24, one_in(6)):
        dice = random.Random(seed)
        lengths, turns = _section(seed)
        most_mm = 0.2
        other = [length + dice.uniform(-most_mm, most_mm) for length in lengths]
        # Every end of a flat, a corner beyond the bends and a place laid between ends: each off by what lies before it.
        slack_mm = 0.3 + 3 * most_mm * len(lengths)
        here, there = (problem_of(legs, turns) for legs in (lengths, other))
        loose = replace_slack(planner(here, GRIPPERS[name]()), slack_mm)
        exact = planner(there, GRIPPERS[name]())
        if len(loose.grips) != len(exact.grips):
            continue
        for bend, behind in itertools.product(range(len(turns)), (0, 1)):
            way = Candidate(bend, 0, turns[bend] >= 0, behind)
            for done in (0, ((1 << len(turns)) - 1) & ~(1 << bend)):
                one, two = loose.table.at(way, done), exact.table.at(way, done)
                for field in ("through", "load", "out", "drawn_away", "drawn_near"):
                    assert not (~getattr(one, field) & getattr(two, field)).any(), (seed, way, done, field)
                failed += int((~one.through).sum())
    assert failed > 20


def replace_slack(asked: GripPlanner, slack_mm: float) -> GripPlanner:
    """The same planner for a bound on blanks that are so far apart."""
    return GripPlanner(
        asked.problem, asked.part, asked.handler, None, opening_mm=asked.table.around.opening_mm, slack_mm=slack_mm
    )


def test_a_leg_too_short_for_the_jaw_takes_a_hand_with_any_tools() -> None:
    """A hat of 20, 40, 80, 40, 20 in a jaw 25 deep, 80 wide along the bed: no edge, and no end, takes it anywhere."""
    sizes = {"length_mm": 300.0, "thickness_mm": 1.5, "handler": robot(built_in())}
    turns, legs = [-90.0, 90.0, 90.0, -90.0], [20.0, 40.0, 80.0, 40.0, 20.0]
    assert least_grips(turns, legs, **sizes).by_hand == 4
    # One leg that the jaw reaches over, and the bends in front of which it lies: three, not the one behind it.
    assert least_grips(turns, [*legs[:-1], 60.0], **sizes).by_hand == 0
    slim = {**sizes, "handler": robot(slim_jaw())}
    assert least_grips(turns, legs, **slim).by_hand == 0


def test_steps_by_hand_that_every_plan_has_are_in_no_weight() -> None:
    problem = problem_of([20.0, 40.0, 80.0, 40.0, 20.0], [-90.0, 90.0, 90.0, -90.0])
    asked = planner(problem, built_in())
    always = GripPlanner(
        problem, asked.part, asked.handler, asked._rise_of, opening_mm=asked.table.around.opening_mm, always_by_hand=4
    )
    plan = next(plan for _, plan in _every_plan(problem, math.inf))
    assert always.way(plan).by_hand == 4 and always.more_by_hand(always.way(plan)) == 0
    assert asked.more_s(plan) - always.more_s(plan) == pytest.approx(4 * NO_GRIP_S)
    order = LeastWeight(problem)
    assert asked.least(order).least() - always.least(order).least() == pytest.approx(4 * NO_GRIP_S)


def test_a_station_that_makes_all_bends_is_bounded_by_itself() -> None:
    """Two pairs of tools, each good for one bend alone: a change is paid for."""
    problem = problem_of([60.0, 120.0, 60.0], [90.0, 90.0])
    stack = problem.operations[0].options[0].hits[0].stack
    other = replace(stack, punch="another", die="another")
    dear = 5.0

    def options(first_s: float, second_s: float) -> tuple[object, ...]:
        option = problem.operations[0].options[0]
        hit = replace(option.hits[0], stack=other)
        return replace(option, cost=first_s), replace(option, hits=(hit,), cost=second_s)

    operations = tuple(
        replace(operation, options=options(*costs))
        for operation, costs in zip(problem.operations, ((0.0, dear), (dear, 0.0)), strict=True)
    )
    for change_s, more_s in ((1.0, 1.0), (100.0, dear)):
        costs = replace(problem.costs, station_change=change_s, tool_change=0.0)
        mixed = replace(problem, operations=operations, costs=costs)
        asked = planner(mixed, built_in())
        plain = planner(problem, built_in()).least(LeastWeight(problem)).least()
        assert asked.least(LeastWeight(mixed)).least() == pytest.approx(plain + more_s)


def test_what_a_plan_takes_is_summed_as_the_bound_sums_it() -> None:
    """A plan of a channel, step by step: what the order says of each, and its moves, and its grips."""
    problem = problem_of([60.0, 120.0, 60.0], [90.0, 90.0])
    asked = planner(problem, built_in())
    best = min(_every_plan(problem, math.inf), key=lambda each: each[0] + asked.more_s(each[1]))
    order = LeastWeight(problem)
    steps = {(each.operation, each.marked_up, each.start_behind): each for each in order.steps()}
    total, before = problem.costs.base, None
    for step, done in zip(best[1], dones_of(best[1]), strict=True):
        own = steps[step.operation, step.marked_up, step.start_behind]
        row = int(np.flatnonzero(own.sets == done)[0])
        # Toys are gauged on nothing, which counts as the raw edge.
        total += own.handled_s[row, 0] + own.made_s[0, row]
        if before is not None:
            total += order.moves_s[before, own.poses[0]]
        before = own.poses[0]
    assert total == pytest.approx(best[0], abs=1e-6)
