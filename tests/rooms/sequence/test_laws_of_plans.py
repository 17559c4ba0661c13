"""What holds for any section: read from the other end, turned over, scaled, kept in order, given more room."""

from __future__ import annotations

import math
import random
from dataclasses import replace

import pytest

from flangewise.clearance import Body, ToolStack
from flangewise.geometry import Chain
from flangewise.sequence import Backgauge, Costs, Hit, Operation, SectionProblem, ToolOption, solve

from ...each import of_each
from ..geometry.by_hand import from_the_end

FINGER = ((0.0, 0.0), (0.0, 12.0), (-40.0, 12.0), (-40.0, 0.0))
REACH = Backgauge(8.0, 400.0, -90.0, 200.0, FINGER)
SEEDS = (1, 5, 6, 7, 8, 9, 12)  # the first cannot be made, the others can


def tools(*, scale: float = 1.0, wider: float = 0.0, limit: float | None = 400.0) -> ToolStack:
    """A narrow punch over V 12 with round shoulders; `wider` grows punch and die, `scale` grows all."""
    shoulder, half, height = 1.2, 14.0 + wider, 70.0
    arc = [
        (6 - shoulder * math.sin(a), -shoulder * (1 - math.cos(a)))
        for a in (math.radians(k * 50 / 10) for k in range(11))
    ]
    bottom = arc[-1][1] - arc[-1][0] / math.tan(math.radians(40))
    right = [(half, 0.0), *arc, (0.0, bottom)]
    die = [*right, *[(-x, y) for x, y in right[-2::-1]], (-half, -height), (half, -height)]
    thick = 6.0 + wider
    flank = thick / math.tan(math.radians(40))
    shapes = (
        ("punch", [(0, 0), (thick, flank), (thick, 90), (-thick, 90), (-thick, flank)], True),
        ("ram", [(40, 90), (40, 900), (-40, 900), (-40, 90)], True),
        ("die", die, False),
        ("bed", [(50, -height), (50, -900), (-50, -900), (-50, -height)], False),
    )
    bodies = tuple(Body(name, tuple((scale * x, scale * y) for x, y in points), ram) for name, points, ram in shapes)
    limit = None if limit is None else scale * limit
    return ToolStack("tools", "punch", "die", scale * 12, scale * shoulder, bodies, open_limit_mm=limit)


def section(seed: int, *, scale: float = 1.0) -> Chain:
    dice = random.Random(900 + seed)
    n = dice.randint(2, 5)
    turns = tuple(dice.choice([90.0, -90.0, 60.0, -45.0, 90.0]) for _ in range(n))
    flats = tuple(scale * (dice.choice([14, 25, 40, 60, 80]) + dice.random()) for _ in range(n + 1))
    zones = tuple(scale * (2.0 + 0.42 * 1.5) * math.radians(abs(turn)) for turn in turns)
    return Chain(flats, zones, turns, (scale * 2.0,) * n, scale * 1.5)


def asked(chain: Chain, stack: ToolStack, *, scale: float = 1.0, **more: object) -> SectionProblem:
    operations = tuple(
        Operation(str(zone + 1), (zone,), (ToolOption((Hit(stack, abs(turn) + 2.0, scale * 2.0),)),))
        for zone, turn in enumerate(chain.turns_deg)
    )
    settings = {"gauge": REACH, "check_exits": True, "side_exit_allowed": True} | more
    return SectionProblem(chain, operations, **settings)


@of_each(SEEDS)
def test_read_from_the_other_end_or_turned_over_it_costs_the_same(seed):
    chain = section(seed)
    plain, reverse, mirror = (solve(asked(c, tools())) for c in (chain, from_the_end(chain), chain.mirrored()))
    assert plain.feasible is reverse.feasible is mirror.feasible
    assert plain.cost == pytest.approx(reverse.cost) and plain.cost == pytest.approx(mirror.cost)


@of_each(SEEDS)
def test_an_order_kept_is_priced_as_it_was_found(seed):
    found = solve(asked(section(seed), tools()))
    if found.feasible:
        kept = solve(asked(section(seed), tools(), order=found.order))
        assert kept.order == found.order and kept.cost == pytest.approx(found.cost)


@of_each(SEEDS)
def test_twice_the_size_is_the_same_plan(seed):
    free = {"gauge": None, "check_exits": False}
    plain = solve(asked(section(seed), tools(), **free))
    double = solve(asked(section(seed, scale=2.0), tools(scale=2.0), scale=2.0, **free))
    assert plain.feasible is double.feasible and plain.cost == pytest.approx(double.cost)


@of_each(SEEDS)
def test_less_room_never_makes_it_cheaper(seed):
    chain = section(seed)
    best = solve(asked(chain, tools())).cost or math.inf
    for harder in (
        asked(chain, tools(wider=4.0)),
        asked(chain, tools(limit=60.0)),
        asked(chain, tools(), gauge=replace(REACH, x_max_mm=90.0)),
        asked(chain, tools(), side_exit_allowed=False),
    ):
        assert (solve(harder).cost or math.inf) >= best - 1e-9


@pytest.mark.parametrize("seed", SEEDS)
def test_costs_add_up_and_moves_explain_the_poses(seed, timed):
    costs = Costs(base=7.0, rehandle=1.5)
    solution = solve(timed(asked(section(seed), tools(), costs=costs), margin_mm=20.0))
    if not solution.feasible:
        return
    assert solution.cost == pytest.approx(7.0 + sum(step.cost for step in solution.steps))
    for before, after in zip(solution.steps, solution.steps[1:], strict=False):
        overs = sum(move.move == "turn-over" for move in after.moves)
        swaps = sum(move.move == "turn-in-plane" or move.axis == "the bed" for move in after.moves)
        assert overs % 2 == (before.marked_up != after.marked_up)
        assert swaps % 2 == (before.behind != after.behind)


@of_each(SEEDS)
def test_every_step_is_gauged_within_reach_and_opens_within_the_machine(seed):
    found = solve(asked(section(seed), tools()))
    assert bool(found.steps) is found.feasible
    for step in found.steps:
        at = step.gauged
        assert REACH.x_min_mm <= at.x_mm <= REACH.x_max_mm and REACH.r_min_mm <= at.r_mm <= REACH.r_max_mm
        assert at.on in ("flange", step.behind)
        assert step.side_exit or step.open_height_mm <= 400.0
        assert step.clearance_mm is None or step.clearance_mm >= 0.0


def test_the_same_question_gets_the_same_answer():
    assert solve(asked(section(1), tools())) == solve(asked(section(1), tools()))
