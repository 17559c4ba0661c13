"""Gauging chosen for the tolerances of the part."""

from __future__ import annotations

from dataclasses import replace

import pytest

from flangewise.sequence import (
    Backgauge,
    Costs,
    HoldRule,
    Tolerances,
    errors_of,
    least_priced,
    shapes_of,
    solve,
    solve_within,
)
from flangewise.sequence.hold import BREACH_S

FINGER = ((0.0, 0.0), (0.0, 12.0), (-40.0, 12.0), (-40.0, 0.0))
# the far bend cannot be reached from the near edge (110 + 40), so it is gauged on its own edge or on the flange
SHORT_TRAVEL = Backgauge(5.0, 120.0, -20.0, 100.0, FINGER)
CHEAP_TURNS = Costs(turn_in_plane=0.5, gauge_flange=3.0)
LOOSE, TIGHT = (1.0, 1.0, 1.0), (1.0, 0.17, 1.0)


def channel(toy, **more):
    return toy([40.0, 100.0, 40.0], [90, 90], gauge=SHORT_TRAVEL, costs=CHEAP_TURNS, **more)


def held(problem, tolerances=None, **more):
    return solve_within(problem, tolerances or Tolerances(), loose_leg_s=1000.0, plain=solve(problem), **more)


def test_each_bend_from_its_own_edge_when_nothing_is_critical(toy):
    problem = channel(toy)
    found = held(problem, allowed_mm=LOOSE)
    assert {step.gauged.on for step in found.steps} == {"start", "end"}
    assert errors_of(problem, found, Tolerances())[1].worst_mm == pytest.approx(0.40)
    assert found.loose_s == 0 and found.proven_least


def test_a_critical_web_moves_the_datum_to_the_formed_leg(toy):
    """From both edges the web is likely off by the root of two stops, the cut and two half deductions squared: 0.19."""
    problem, exact = channel(toy), Tolerances(angle_deg=0.02)
    found = held(problem, exact, allowed_mm=TIGHT)
    assert found.loose_s == 0
    assert "flange" in {step.gauged.on for step in found.steps}
    assert found.cost > held(problem, exact, allowed_mm=LOOSE).cost
    assert found.proven_least
    assert found.cost == pytest.approx(sum(step.cost for step in found.steps))


def test_no_more_is_proven_than_of_the_plans_that_the_problem_knows_of(toy):
    """Another blank might hold the web without the flange: of it is known that it takes the plain plan's time at least.

    Where no gauging holds it, the plain plan and the price are what any blank takes.
    """
    problem, exact = channel(toy), Tolerances(angle_deg=0.02)
    plain, found = solve(problem), held(problem, exact, allowed_mm=TIGHT, elsewhere=True)
    assert found.cost > plain.cost and not found.proven_least
    assert found.lower_bound == pytest.approx(plain.cost)
    always = held(problem, allowed_mm=(1.0, 0.01, 1.0), elsewhere=True)
    assert always.proven_least and always.cost == pytest.approx(plain.cost + 1000.0)


def test_one_edge_for_both_forces_the_far_bend_first(toy):
    reach = Backgauge(5.0, 400.0, -20.0, 100.0, FINGER)
    problem = toy([40.0, 100.0, 40.0], [90, 90], gauge=reach, costs=Costs(gauge_flange=3.0, turn_in_plane=4.0))
    first, second = (found := held(problem, allowed_mm=TIGHT)).steps
    assert found.loose_s == 0 and first.gauged.on == second.gauged.on
    far = 1 if first.gauged.on == "start" else 0
    assert first.operation == far


def test_what_cannot_be_held_is_priced(toy):
    found = held(channel(toy), allowed_mm=(1.0, 0.01, 1.0))
    assert found.loose_s == 1000.0 and found.feasible


def test_no_plan_has_no_errors(toy):
    problem = toy([50, 8, 50], [90, -90])
    found = held(problem, allowed_mm=LOOSE)
    assert found.feasible is False
    assert errors_of(problem, found, Tolerances()) == ()


# Of next to no weight, and yet more than may tip behind: every step of every plan breaks it.
ALWAYS_BROKEN = HoldRule(1e-15, least_mm=0.0, most_behind_nm=-0.5)


@pytest.mark.parametrize("hold", [None, ALWAYS_BROKEN], ids=["kept", "broken by every plan"])
def test_a_price_on_whole_plans_is_looked_through_to_the_least(toy, hold):
    """The least plan is priced with 50 s: another one without it is the least then, and is found and proven."""
    problem = channel(toy, hold=hold)
    shapes = shapes_of(problem)
    plain = solve(problem, shapes)
    dear = [(step.operation, step.gauged) for step in plain.steps]

    def price(made):
        return 50.0 if [(step.operation, step.gauging) for step in made] == dear else 0.0

    known = replace(plain, cost=plain.cost + 50.0, loose_s=50.0)
    found = least_priced(problem, shapes, known, price, always_s=0.0, bound=plain)
    assert found.proven_least and plain.cost <= found.cost < plain.cost + 50.0
    assert [(step.operation, step.gauged) for step in found.steps] != dear
    assert found.breach == plain.breach == (0 if hold is None else 2)
    assert found.cost == pytest.approx(sum(step.cost for step in found.steps) - BREACH_S * found.breach)
