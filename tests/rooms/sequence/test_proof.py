"""Parts whose answer is known by reasoning, and agreement with brute force over all orders and poses."""

from __future__ import annotations

import math
import os
import random
from collections.abc import Iterator
from dataclasses import replace
from itertools import permutations, product

import numpy as np
import pytest

from flangewise.clearance import Body, ToolStack
from flangewise.geometry import Chain
from flangewise.sequence import Asked, Backgauge, Costs, SearchLimits, SectionProblem, solve
from flangewise.sequence.candidates import Candidate
from flangewise.sequence.contact import contact
from flangewise.sequence.feasibility import FeasibilityTable
from flangewise.sequence.moves import FLANGE, START, pose_number, pose_prices

from ...how_many import WHOLE, one_in
from ..geometry.by_hand import from_the_end, sharp_chain

FREE_HANDS = Costs(hit=0.0, turn_over_bed=1.0, turn_over_front_back=1.0, turn_in_plane=0.0)


def turn_overs(solution) -> int:
    return sum(move.move == "turn-over" for step in solution.steps for move in step.moves)


@pytest.mark.parametrize(
    ("web", "longest"), [(30, 14.868), (60, 44.868), (80, 61.931), (100, 56.584), (150, 64.157)]
)  # min over tiers of W - sqrt2 (w + r) and sqrt2 (z + 1.061 - r) - W, worked out by hand
def test_channel_legs_have_a_limit_that_is_not_monotone_in_the_web(toy, web, longest):
    assert solve(toy([longest - 0.2, web, longest - 0.2], [90, 90])).feasible is True
    assert solve(toy([longest + 0.2, web, longest + 0.2], [90, 90])).feasible is False


def test_relieved_punch_makes_the_narrow_channel_with_the_finished_leg_in_front(toy, gooseneck):
    assert solve(toy([40, 30, 40], [90, 90])).feasible is False
    solution = solve(toy([40, 30, 40], [90, 90], stack=gooseneck))
    assert solution.feasible is True
    last = solution.steps[-1]
    free_end_behind = "end" if last.operation == 1 else "start"
    assert last.behind == free_end_behind
    for order in ((0, 1), (1, 0)):
        assert solve(toy([40, 30, 40], [90, 90], stack=gooseneck, order=order)).feasible is True


def test_relieved_punch_limit(toy, gooseneck):
    assert solve(toy([45.78, 30, 45.78], [90, 90], stack=gooseneck)).feasible is True
    assert solve(toy([46.18, 30, 46.18], [90, 90], stack=gooseneck)).feasible is False


@pytest.mark.parametrize(
    ("legs", "turn", "web", "feasible"),
    [
        (30, 90, 20.8, True), (30, 90, 20.6, False),  # the die block: W >= 20 + r = 20.70
        (30, 45, 20.34, True), (30, 45, 20.14, False),
        (70, 90, 60.8, True), (70, 90, 60.6, False),  # the bed: W >= 60 + r = 60.70
    ],
)  # fmt: skip
def test_opposite_bends_need_a_web_beside_die_and_bed(toy, legs, turn, web, feasible):
    solution = solve(toy([legs, web, legs], [turn, -turn]))
    assert solution.feasible is feasible
    if feasible:
        assert turn_overs(solution) == 1


def test_short_web_between_opposite_bends_is_proven_impossible(toy):
    solution = solve(toy([50, 8, 50], [90, -90]))
    assert solution.feasible is False
    assert solution.visited == 1


def test_long_flange_last_is_the_only_order(toy, slow):
    problem = toy([70, 40, 30], [90, -90])
    assert set(slow(problem).feasible_orders()) == {(1, 0)}
    assert solve(problem).order == (1, 0)


def test_hat_has_the_six_orders_outer_before_inner(toy):
    feasible = {
        order
        for order in permutations(range(4))
        if solve(toy([20, 30, 50, 30, 20], [-90, 90, 90, -90], order=order)).feasible
    }
    expected = {
        order for order in permutations(range(4)) if order.index(0) < order.index(1) and order.index(3) < order.index(2)
    }
    assert feasible == expected
    assert turn_overs(solve(toy([20, 30, 50, 30, 20], [-90, 90, 90, -90], costs=FREE_HANDS))) == 1


@pytest.mark.parametrize(
    ("leg", "feasible"),
    [(20, False), (20.6, False), (20.8, True), (25, True), (34, True), (34.77, True), (34.97, False), (35, False)],
)  # 20 + 0.70 <= leg <= 50 - 15.13
def test_hat_leg_window(toy, leg, feasible):
    assert solve(toy([20, leg, 50, leg, 20], [-90, 90, 90, -90])).feasible is feasible


def test_tall_narrow_die_doubles_the_orders_of_the_hat(toy, stack):
    narrow = stack(die_half=8.0, die_height=120.0)
    problems = [
        toy([20, 30, 50, 30, 20], [-90, 90, 90, -90], stack=narrow, order=order) for order in permutations(range(4))
    ]
    assert sum(solve(problem).feasible is True for problem in problems) == 12


def test_lipped_channel(toy):
    wide = solve(toy([15, 40, 100, 40, 15], [90] * 4))
    assert wide.feasible is True and turn_overs(wide) == 0
    assert solve(toy([15, 40, 65, 40, 15], [90] * 4)).feasible is False
    assert solve(toy([15, 40, 70.33, 40, 15], [90] * 4)).feasible is True  # W >= 70.13
    assert solve(toy([15, 40, 69.93, 40, 15], [90] * 4)).feasible is False


def test_lips_come_before_their_legs(toy):
    orders = [
        order for order in permutations(range(4)) if solve(toy([15, 40, 100, 40, 15], [90] * 4, order=order)).feasible
    ]
    assert len(orders) == 6
    assert all(order.index(0) < order.index(1) and order.index(3) < order.index(2) for order in orders)


def test_closed_section_is_proven_after_one_look(toy):
    solution = solve(toy([30, 40, 60, 40, 30], [90] * 4))
    assert solution.feasible is False and solution.visited == 1
    assert {blocker.step for blocker in solution.blockers} == {4}
    assert all("punch" in blocker.bodies for blocker in solution.blockers)


def test_spiral_is_made_from_the_inside(toy):
    solution = solve(toy([100, 80, 40, 12], [90] * 3))
    assert solution.order == (2, 1, 0) and solution.proven_least
    for order in permutations(range(3)):
        assert solve(toy([100, 80, 40, 12], [90] * 3, order=order)).feasible is (order == (2, 1, 0))
    assert solve(toy([60, 40, 25, 12], [90] * 3)).feasible is False


def zigzag(n: int) -> tuple[list[float], list[float]]:
    return [60.0, *[70.0] * (n - 1), 60.0], [90.0 * (-1) ** i for i in range(n)]


@pytest.mark.parametrize("n", [2, 3, 4, 5])
def test_zigzag_grows_as_one_run(toy, slow, n):
    problem = toy(*zigzag(n))
    orders = slow(problem, angles=30).feasible_orders()
    assert len(orders) == 2 ** (n - 1)
    assert all(max(o[: k + 1]) - min(o[: k + 1]) == k for o in orders for k in range(n))
    solution = solve(problem)
    assert solution.cost == pytest.approx(min(orders.values()))
    assert turn_overs(solve(toy(*zigzag(n), costs=FREE_HANDS))) == n // 2


@pytest.mark.parametrize("n", [12, 18 if WHOLE else 14])
def test_long_zigzag_keeps_its_least_turn_overs(toy, n):
    solution = solve(toy(*zigzag(n), costs=FREE_HANDS))
    assert solution.feasible is True and solution.proven_least
    assert solution.cost == pytest.approx(n // 2)


@pytest.mark.parametrize(("turn", "feasible"), [(95, True), (96.2, True), (98, False)])
def test_bend_angle_is_limited_by_the_tools(toy, turn, feasible):
    assert solve(toy([40, 40], [turn])).feasible is feasible


def test_locally_possible_dead_end_is_not_taken(toy):
    assert solve(toy(*zigzag(4), order=(0, 3, 1, 2))).feasible is False
    assert solve(toy(*zigzag(4), order=(1, 0, 2, 3))).feasible is True


def random_sharp(seed: int) -> tuple[list[float], list[float]]:
    dice = random.Random(seed)
    n = dice.randint(2, 5)
    turns = [dice.choice([90, -90, 90, -90, 45, -45, 30, 60, -75]) for _ in range(n)]
    return [dice.choice([12, 18, 25, 40, 60, 90]) + dice.random() for _ in range(n + 1)], turns


def real_stack(name: str, *, opening: float, shoulder: float, half: float, height: float) -> ToolStack:
    """A die with round shoulders and a narrow punch with a clamp, made up."""
    arc = [
        (opening / 2 - shoulder * math.sin(a), -shoulder * (1 - math.cos(a)))
        for a in (math.radians(51 * k / 12) for k in range(13))
    ]
    wall = arc[-1]
    bottom = wall[1] - wall[0] / math.tan(math.radians(39))
    right = [(half, 0.0), *arc, (0.0, bottom)]
    die = [*right, *[(-x, y) for x, y in right[-2::-1]], (-half, -height), (half, -height)]
    punch = [(0.0, 0.0), (6.0, 6.0 / math.tan(math.radians(39))), (6.0, 70.0), (-6.0, 70.0)]
    punch.append((-6.0, 6.0 / math.tan(math.radians(39))))
    bodies = (
        Body("punch", tuple(punch), True),
        Body("ram", ((40, 70), (40, 500), (-40, 500), (-40, 70)), True),
        Body("die", tuple(die), False),
        Body("bed", ((50, -height), (50, -700), (-50, -700), (-50, -height)), False),
    )
    return ToolStack(name, "narrow", name, opening, shoulder, bodies)


def random_real(seed: int) -> tuple[Chain, list[ToolStack]]:
    dice = random.Random(1000 + seed)
    n, t = dice.randint(2, 4), dice.choice([1.0, 2.0])
    turns = tuple(dice.choice([90.0, -90.0, 60.0, -45.0, 30.0]) for _ in range(n))
    radius = dice.choice([0.8, 1.6, 2.5])
    zones = tuple((radius + 0.42 * t) * math.radians(abs(turn)) for turn in turns)
    flats = tuple(dice.choice([14, 20, 28, 45, 70]) + dice.random() for _ in range(n + 1))
    stacks = [
        real_stack("v12", opening=12.0, shoulder=1.2, half=16.0, height=60.0),
        real_stack("v16", opening=16.0, shoulder=1.6, half=10.0, height=80.0),
    ]
    return Chain(flats, zones, turns, (radius,) * n, t), stacks[: dice.randint(1, 2)]


COUNT = int(os.environ.get("FLANGEWISE_RANDOM_SECTIONS", "6" if WHOLE else "4"))


def compare(problem, slow) -> None:
    """The planner lies between a simulator that is a little stricter and one that is a little laxer."""
    lax = min(slow(problem).feasible_orders().values(), default=math.inf)
    solution = solve(problem)
    cost = math.inf if solution.cost is None else solution.cost
    assert solution.feasible is not None and (solution.feasible is False or solution.proven_least)
    if cost == pytest.approx(lax):
        return
    strict = min(slow(problem, margin_mm=0.05).feasible_orders().values(), default=math.inf)
    assert lax - 1e-6 <= cost <= strict + 1e-6


@pytest.mark.parametrize("seed", range(COUNT))
def test_brute_force_agrees_on_sharp_sections(toy, slow, seed):
    compare(toy(*random_sharp(seed)), slow)


@pytest.mark.parametrize("seed", range(COUNT // 2))
def test_brute_force_agrees_on_real_radii_overbend_and_two_dies(bend_all, slow, seed):
    chain, stacks = random_real(seed)
    compare(bend_all(chain, stacks, over_deg=2.0), slow)


@pytest.mark.parametrize("seed", range(0, 8, one_in(4)))
def test_reversed_and_mirrored_sections_cost_the_same(bend_all, stack, seed):
    dice = random.Random(seed)
    n = dice.randint(3, 7)
    lengths = [dice.choice([20, 35, 60, 90]) + dice.random() for _ in range(n + 1)]
    chain = sharp_chain(lengths, [dice.choice([90, -90, 45, -45]) for _ in range(n)], thickness_mm=1.5)
    costs = {solve(bend_all(c, [stack()])).cost for c in (chain, from_the_end(chain), chain.mirrored())}
    assert len(costs) == 1


@pytest.mark.parametrize("seed", range(0, 8, one_in(4)))
def test_larger_tools_never_lower_the_cost(bend_all, stack, seed):
    dice = random.Random(50 + seed)
    lengths = [dice.choice([20, 25, 35, 60, 90]) + dice.random() for _ in range(5)]
    chain = sharp_chain(lengths, [dice.choice([90, -90, 45]) for _ in range(4)], thickness_mm=1.5)

    def cost(tools: ToolStack) -> float:
        found = solve(bend_all(chain, [tools])).cost
        return math.inf if found is None else found

    assert cost(stack()) <= cost(stack(punch_half=14.0)) and cost(stack()) <= cost(stack(die_half=26.0))


def test_every_prefix_of_a_best_plan_replays(toy, slow):
    problem = toy([20, 30, 50, 30, 20], [-90, 90, 90, -90])
    simulator, done = slow(problem), 0
    looked_at = solve(problem).steps
    assert looked_at
    for step in looked_at:
        assert step.done == done
        assert simulator.possible(step.operation, done, step.behind == "start")
        done |= 1 << step.operation


def test_a_capped_search_says_unknown_and_never_infeasible(toy):
    lengths, turns = zigzag(12)
    solution = solve(toy(lengths, turns, limits=SearchLimits(sets_per_layer=1)))
    assert solution.feasible in (True, None)
    if solution.feasible:
        assert solution.lower_bound <= solution.cost


def test_one_bend_and_no_bend(toy):
    single = solve(toy([40, 40], [90]))
    assert single.feasible is True and single.cost == pytest.approx(1.0) and len(single.steps) == 1
    flat = solve(toy([40], []))
    assert flat.feasible is True and flat.steps == () and flat.cost == 0.0


FINGER = ((0.0, 0.0), (0.0, 12.0), (-40.0, 12.0), (-40.0, 0.0))
STOPS = Backgauge(6.0, 400.0, -60.0, 120.0, FINGER, contact_mm=5.0)
DATUMS = (None, "start", "end", "flange")


def touched(problem: SectionProblem, way: Candidate, done: int, datum: int) -> tuple[str, int | None]:
    """What lies on the stops, in words: an edge, or the nearest formed zone behind."""
    start = way.behind == START
    if datum != FLANGE:
        return ("start" if start else "end"), None
    behind = range(way.operation - 1, -1, -1) if start else range(way.operation + 1, problem.chain.bends)
    return "flange", next(zone for zone in behind if done >> zone & 1)


def does_as_asked(problem: SectionProblem, asked: Asked, way: Candidate, done: int, datum: int) -> bool:
    on, zone = touched(problem, way, done, datum)
    face = asked.marked_up in (None, way.marked_up)
    return face and (asked.datum is None or (on == asked.datum and (on != "flange" or zone == asked.flange_zone)))


def every_plan_as_asked(free: SectionProblem, asked: tuple[Asked, ...]) -> Iterator[float]:
    """The price of every order in every way and with every datum that does as asked; nothing is left out early."""
    feasibility, handling = FeasibilityTable(free), pose_prices(free.costs)
    for order in permutations(range(free.chain.bends)):
        best, done = {None: 0.0}, 0
        for index in order:
            now: dict[int, float] = {}
            for way, datum in product(feasibility.candidates[index], (0, 1)):
                price = float(feasibility.prices(way, np.array([done]))[0, datum])
                if math.isinf(price) or not does_as_asked(free, asked[index], way, done, datum):
                    continue
                if contact(free, way, done, datum=datum).gauging is None:
                    continue
                pose = pose_number(marked_up=way.marked_up, behind=way.behind, datum=datum)
                moved = min((cost + (handling[last, pose] if last is not None else 0) for last, cost in best.items()))
                now[pose] = min(now.get(pose, math.inf), moved + price)
            if not now:
                break
            best, done = now, done | 1 << index
        else:
            yield min(best.values())


def random_will(dice: random.Random, turns: list[float]) -> tuple[Asked, ...]:
    """Something asked of about half the bends; a face only where the fold can have it so."""
    asked = []
    for index, turn in enumerate(turns):
        datum = dice.choice((None, None, None, None, *DATUMS))
        others = [zone for zone in range(len(turns)) if zone != index]
        zone = dice.choice(others) if datum == "flange" else None
        asked.append(Asked(turn > 0 if dice.random() < 0.3 else None, datum, zone))
    return tuple(asked)


@pytest.mark.parametrize("seed", range(0, 40, one_in(4)))
def test_what_is_asked_is_kept_and_its_least_is_found(toy, seed):
    dice = random.Random(7000 + seed)
    count = dice.randint(2, 4)
    turns = [dice.choice([90.0, -90.0, 45.0]) for _ in range(count)]
    lengths = [dice.choice([15, 25]), *(dice.choice([50, 70, 110]) for _ in range(count - 1)), dice.choice([15, 25])]
    asked = random_will(dice, turns)
    free = toy(lengths, turns, gauge=STOPS, check_self=False)
    solution = solve(replace(free, asked=asked))
    least = min(every_plan_as_asked(free, asked), default=math.inf)
    assert (math.inf if solution.cost is None else solution.cost) == pytest.approx(least)
    for step in solution.steps:
        wish, on = asked[step.operation], step.gauged
        assert wish.marked_up in (None, step.marked_up)
        assert wish.datum in (None, on.on) and wish.flange_zone in (None, on.zone)


def test_some_of_these_wishes_can_be_kept_and_some_cannot(toy):
    free = toy([30, 70, 30], [90, 90], gauge=STOPS)
    on_the_first = (Asked(), Asked(datum="flange", flange_zone=0))
    plain, kept = solve(free), solve(replace(free, asked=on_the_first))
    assert plain.steps[-1].gauged.on != "flange"
    assert kept.order == (0, 1) and (kept.steps[1].gauged.on, kept.steps[1].gauged.zone) == ("flange", 0)
    assert kept.cost > plain.cost
    both = (Asked(datum="flange", flange_zone=1), Asked(datum="flange", flange_zone=0))
    assert solve(replace(free, asked=both)).feasible is False


def test_a_mirrored_section_keeps_what_is_asked_of_its_faces(toy):
    """Only an offset leaves the face open; of a bend the wrong face can never be."""
    for sign in (1.0, -1.0):
        problem = toy([60, 70, 60], [90 * sign, -90 * sign], gauge=STOPS)
        right = (Asked(marked_up=sign > 0), Asked(marked_up=sign < 0, datum="start"))
        solution = solve(replace(problem, asked=right))
        assert {step.operation: step.marked_up for step in solution.steps} == {0: sign > 0, 1: sign < 0}
        wrong = (Asked(marked_up=sign < 0), Asked())
        assert solve(replace(problem, asked=wrong)).feasible is False
