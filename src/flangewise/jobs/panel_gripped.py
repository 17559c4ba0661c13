"""A panel held by a robot's gripper: the least way to hold the plan of its order, and its set-up with what that takes.

The order's search without grips is under every plan with them. The plan that it takes is held in its own least way;
where that takes nothing beside the order, it is the least of all. Else order and grips are searched together for less;
of many operations no more is told than the order's own bound.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import TYPE_CHECKING

from flangewise import handling
from flangewise.findings import Finding
from flangewise.panel_order import HoldingOf, PanelProblem, PanelSolution, PanelStep, PanelWay, SpaceHit
from flangewise.sequence import SAME_COST
from flangewise.setup import Setup

if TYPE_CHECKING:
    from flangewise.handling import AtHit, HeldAt, HeldPanel, OpeningOf, PanelGripPlanner, Rise
    from flangewise.shop import Handler, Machine, Material


def holding_of(problem: PanelProblem, handler: Handler, opening_of: OpeningOf) -> HoldingOf | None:
    """Who holds a part whose order is searched; None where no place for the pads is found: then every plan is by hand,
    and of many operations, whose grips are looked for once the order is found.

    `handler`: the shop's own row, with a gripper; `opening_of`: how far the ram opens for a step.
    """
    if len(problem.operations) > handling.MOST_HELD:
        return None
    hits = handling.PanelHits(_part(problem), handler, _rise)
    return (lambda search: handling.PanelHolding(search, hits, opening_of)) if hits.grips else None


def gripped(
    problem: PanelProblem, solution: PanelSolution, setup: Setup, handler: Handler, *, is_held: bool
) -> tuple[PanelSolution, PanelGripPlanner]:
    """The answer with what holding its plan takes, where it is not in it yet; steps that no grip holds weigh like
    broken rules, apart from the seconds. `handler`: the shop's own row, with a gripper."""
    planner = handling.PanelGripPlanner(_part(problem), handler, tuple(_steps(problem, solution, setup)), _rise)
    # Where the pads find no place at all every plan is by hand: none is weighed against another for that.
    more_s, by_hand = planner.more_s, planner.way.by_hand if planner.grips else 0
    if is_held or (more_s < SAME_COST and not by_hand):
        return solution, planner
    held = replace(solution, cost=(solution.cost or 0.0) + more_s, breach=solution.breach + by_hand)
    return held.not_proven(solution.least_known_s), planner


def _part(problem: PanelProblem) -> HeldPanel:
    hits = (way.hit for way in problem.ways if isinstance(way.hit, SpaceHit))
    return handling.HeldPanel(next(hits).shapes, problem.blank.mass_kg)


def held_set_up(
    planner: PanelGripPlanner, setup: Setup, handler: Handler, material: Material, machine: Machine
) -> tuple[Setup, tuple[HeldAt, ...], tuple[Finding, ...]]:
    """The set-up with what its grips take, how each hit is held, and what is to be known of it."""
    held = handling.panel_held_at(planner, setup.steps, material, machine)
    own = handling.with_holding(setup, held, planner.way, handler)
    own = replace(own, findings=handling.without_hands(own.findings, held, setup.steps))
    return own, held, handling.holding_findings(held, setup.steps, handler)


def _steps(problem: PanelProblem, solution: PanelSolution, setup: Setup) -> Iterator[AtHit]:
    """The first hits of a plan as their grips are asked, of a hem with what flattens it."""
    keyed = iter(setup.steps)
    for step in solution.steps:
        found: list[AtHit] = []
        for second, own in enumerate(step.hits):
            hit = _way_of(problem, own, second=bool(second)).hit
            assert isinstance(hit, SpaceHit)
            found.append(handling.AtHit(own, hit, next(keyed).ram.opening.open_height_mm))
        yield replace(found[0], then=next(iter(found[1:]), None))


def _way_of(problem: PanelProblem, step: PanelStep, *, second: bool) -> PanelWay:
    """How a step of a plan is made."""
    return next(
        way
        for way in problem.ways
        if problem.operations[way.operation].bends == step.bends
        and way.made == step.mounting
        and way.parent_behind == step.parent_behind
        and way.lie.marked_up == step.marked_up
        and way.is_second == second
    )


def _rise(step: PanelStep, hit: SpaceHit) -> Rise:
    """How the sheet rises in the stroke of a step."""
    pair = step.mounting.pair
    model = None if pair.model is None else (pair.model.setup, pair.model.swift)
    return handling.rise_of(hit.stroke, pair.air, model)
