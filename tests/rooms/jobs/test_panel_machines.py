"""Of a panel's machines the one that takes the least, and what is told of the others."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache

import pytest

from flangewise.jobs.panel_plan import PanelPlan, planned_panel
from flangewise.part import PanelPart, machines_wanted
from flangewise.sequence import UNLIMITED, Watch

from ...how_many import one_in
from ...laws.panels import panel
from ...laws.sections import shop

SIDE = {"height": 30, "bend": 90}
HEM = {"height": 14, "bend": {"hem": "closed"}, "inset": 5}
# A tray of which few are made, and many; one with a hem; a cover longer than the small machine's bed.
PANELS = {
    "tray, 12": ({"base": [200, 120], "flanges": {"near, far": SIDE, "left": SIDE}}, 12),
    "tray, 5000": ({"base": [200, 120], "flanges": {"near, far": SIDE, "left": SIDE}}, 5000),
    "hem, 40": (
        {"base": [160, 90], "flanges": {"near": SIDE, "far": HEM}},
        40,
    ),
    "cover, 40": ({"base": [1200, 150], "flanges": {"near, far": SIDE}}, 40),
}


@cache
def part(name: str) -> PanelPart:
    shape, quantity = PANELS[name]
    return panel({"part": "p", "material": "DC01", "thickness": 1.5, "quantity": quantity, "panel": shape})


@cache
def alone(name: str, machine: str) -> PanelPlan:
    return planned_panel(replace(part(name), machine=machine), shop())


def cost_s(plan: PanelPlan) -> float:
    return math.inf if not plan.feasible or plan.solution is None else plan.solution.cost or 0.0


@pytest.mark.parametrize("name", [*PANELS][:: one_in(2)])
def test_no_machine_makes_it_for_less_and_what_is_told_of_each_is_true(name: str) -> None:
    """Each machine planned by itself: the plan taken is the cheapest of these, and no bound is above what it takes."""
    plan, names = planned_panel(part(name), shop()), machines_wanted(part(name), shop())
    every = {machine: alone(name, machine) for machine in names}
    assert len(every) > 1
    assert cost_s(plan) == pytest.approx(min(cost_s(each) for each in every.values()))
    assert sorted([plan.machine.name, *(other.machine for other in plan.others)]) == sorted(names)
    assert plan.solution is not None and plan.solution.proven_least
    for other in plan.others:
        own_s = cost_s(every[other.machine])
        if other.why_not is not None:
            assert own_s == math.inf
        elif other.cost_s is not None:
            assert other.cost_s == pytest.approx(own_s)
        else:
            assert other.at_least_s is not None
            assert plan.solution.weight - 1e-6 <= other.at_least_s <= own_s + 1e-6


def test_a_bed_that_is_too_short_is_told() -> None:
    plan = planned_panel(part("cover, 40"), shop())
    told = {other.machine: other.why_not for other in plan.others}
    assert plan.machine.name != "bench-310" and told["bench-310"] is not None


def test_for_any_plan_the_first_machine_with_one_will_do() -> None:
    plan = planned_panel(part("tray, 12"), shop(), replace(UNLIMITED, any_plan=True))
    assert plan.feasible and plan.others == ()


def test_with_no_time_left_the_others_are_told_with_what_they_take_at_least() -> None:
    """The watch is over once the second machine is begun: it is bounded by handling and strokes alone."""
    begun: list[str] = []

    def tell(**told: object) -> None:
        begun.extend([str(told["machine"])] if "machine" in told else [])

    plan = planned_panel(part("tray, 5000"), shop(), Watch(stopped=lambda: len(begun) > 1, tell=tell))
    first, *others = machines_wanted(part("tray, 5000"), shop())
    assert (plan.machine.name, [other.machine for other in plan.others]) == (first, others)
    assert plan.solution is not None and plan.solution.cost is not None
    bounds_s = [other.at_least_s for other in plan.others]
    assert len(bounds_s) == 2 and all(bound_s is not None and bound_s > 0 for bound_s in bounds_s)
    assert plan.solution.proven_least == (min(each or 0.0 for each in bounds_s) >= plan.solution.cost - 1e-6)
    assert plan.solution.lower_bound == pytest.approx(min([plan.solution.cost, *(each or 0.0 for each in bounds_s)]))
