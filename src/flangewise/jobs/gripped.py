"""A part held by a robot's gripper: the least plan with its grips, and its set-up with what they take.

The order's own search knows no grips: what it tells is under every plan with them. Plans are taken from it, the cheapest
first, each held in its own least way, until the next one's order alone takes no less than the best.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import TYPE_CHECKING

from flangewise import handling
from flangewise.findings import Finding
from flangewise.jobs.job import Job, Ordered
from flangewise.jobs.problem import chain_of
from flangewise.jobs.standing import returning, standing_price
from flangewise.sequence import SAME_COST, PlanPrice, PricedStep, least_priced, shapes_of, stroke_of

if TYPE_CHECKING:
    from flangewise.handling import GripPlanner, HeldAt, HeldPart, Rise
    from flangewise.setup import Setup


def planner_of(job: Job, found: Ordered) -> GripPlanner:
    """What asks the grips of the plans of a problem; its tools are those offered for it."""
    problem = found.problem
    offered = [found.offered[int(operation.label)] for operation in problem.operations]

    def rise(operation: int, option: int) -> Rise:
        own, (_, hit) = problem.operations[operation], next(iter(offered[operation][option].numbered))
        model = None if hit.pair.model is None else (hit.pair.model.setup, hit.pair.model.swift)
        return handling.rise_of(stroke_of(problem.chain, own, own.options[option].hits[0]), hit.pair.air, model)

    handler = job.shop.handlers[job.handler.name]
    opening_mm = problem.chain.thickness_mm + max(handler.load_margin_mm, handler.unload_margin_mm)
    return handling.GripPlanner(problem, held_part(job), handler, rise, opening_mm=opening_mm)


def held_part(job: Job) -> HeldPart:
    """The part's section as a gripper holds it."""
    pattern = job.pattern
    assert pattern is not None
    numbers = [face.number for face in pattern.faces]
    holes = tuple(
        handling.Hole(
            flat=(flat := numbers.index(hole.face)),
            beside_mm=hole.centre_mm[0] - pattern.along_bends_mm / 2,
            at_mm=hole.centre_mm[1] - pattern.faces[flat].from_mm,
            half_beside_mm=hole.half_size_mm[0],
            half_at_mm=hole.half_size_mm[1],
        )
        for hole in pattern.holes
        if hole.face in numbers
    )
    return handling.HeldPart(chain_of(pattern), pattern.along_bends_mm, pattern.mass_kg, holes)


def price_with_grips(job: Job, found: Ordered, planner: GripPlanner) -> PlanPrice:
    """What plans cost beside their order: tools as they stand, and what holding the part takes more."""
    standing = standing_price(job, found.offered, found.problem.costs)

    def price(made: Iterable[PricedStep]) -> float:
        steps = tuple(made)
        return standing(steps) + planner.more_s(steps)

    return price


def held_by_gripper(job: Job, found: Ordered) -> Ordered:
    """The least plan with its grips, where a gripper holds the part; the answer itself where none does.

    Plans that come back to tools are known by their bound alone: where they could take less it is not proven.
    """
    solution = found.solution
    if job.handler.gripper is None or not solution.feasible:
        return found
    planner = planner_of(job, found)
    more_s = planner.more_s(solution.priced_steps)
    if more_s < SAME_COST:
        return replace(found, planner=planner)
    known = replace(solution, cost=(solution.cost or 0.0) + more_s)
    if job.watch.quick or job.watch.any_plan:
        return replace(found, planner=planner, solution=replace(known, proven_least=False))
    problem, shapes = replace(found.problem, tell_blockers=False), found.shapes or shapes_of(found.problem)
    price = price_with_grips(job, found, planner)
    best = least_priced(problem, shapes, known, price, always_s=0.0, bound=solution, in_part=True)
    if best.proven_least and returning(job, found.problem) is not None:
        floor = solution.lower_bound or 0.0
        if best.weight > floor + SAME_COST:
            best = replace(best, proven_least=False, lower_bound=floor, least_weight=solution.least_weight)
    return replace(found, planner=planner, solution=best)


def with_grips(job: Job, setup: Setup) -> tuple[Setup, tuple[HeldAt, ...], tuple[Finding, ...]]:
    """The set-up of a job with what its grips take, how each hit is held, and what is to be known of it."""
    if job.ordered is None or job.ordered.planner is None:
        return setup, (), ()
    planner, plan = job.ordered.planner, job.solution.priced_steps
    held = handling.held_at(planner, plan, setup.steps, job.material, job.machine)
    own = handling.with_holding(setup, held, planner.way(plan), planner.handler)
    return own, held, handling.holding_findings(held, setup.steps, planner.handler)
