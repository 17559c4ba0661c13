"""A part held by a robot's gripper: the least plan with its grips, and its set-up with what they take.

The order's own search knows no grips: what it tells is under every plan with them. Plans are taken from it, the
cheapest first, each held in its own least way, until the next one's order alone takes no less than the best.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import replace
from typing import TYPE_CHECKING

from flangewise import handling
from flangewise.findings import Finding
from flangewise.jobs.job import Job, Ordered
from flangewise.jobs.problem import chain_of
from flangewise.jobs.standing import least_returning, returning, standing_price
from flangewise.sequence import (
    BREACH_S,
    SAME_COST,
    LeastWeight,
    PlanPrice,
    PricedStep,
    SectionProblem,
    Solution,
    least_priced,
    shapes_of,
    stroke_of,
)

# A stroke is asked of hulls, which are as much larger than what is swept at most.
ROUGH_MM = 0.3

if TYPE_CHECKING:
    from flangewise.handling import GripPlanner, HeldAt, HeldPart, LeastHeld, Rise
    from flangewise.part import Part
    from flangewise.setup import Setup
    from flangewise.shop import Handler


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
    return handling.GripPlanner(
        problem, held_part(job), handler, rise, opening_mm=opening_mm, always_by_hand=job.least_by_hand
    )


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


def least_grips(part: Part, handler: Handler) -> tuple[int, float]:
    """Steps by hand, and seconds of a part, allowance included, that its grips take at least with any tools."""
    section = part.section
    if handler.gripper is None or any(bend.kind != "bend" for bend in section.bends):
        return 0, 0.0
    turns = [bend.signed_turn_deg for bend in section.bends]
    sizes = {"length_mm": section.length_mm, "thickness_mm": part.thickness_mm}
    least = handling.least_grips(turns, part.outside_legs_mm, **sizes, handler=handler)
    return least.by_hand, (1 + handler.allowance_share) * least.more_s


def price_with_grips(job: Job, found: Ordered, planner: GripPlanner) -> PlanPrice:
    """What plans cost beside their order: tools as they stand, and what holding the part takes more than any plan."""
    standing = standing_price(job, found.offered, found.problem.costs)

    def price(made: Iterable[PricedStep]) -> float:
        steps = tuple(made)
        return standing(steps) + planner.more_s(steps) - job.least_grips_s

    return price


def held_by_gripper(job: Job, found: Ordered, *, below_s: float = math.inf) -> Ordered:
    """The least plan with its grips, where a gripper holds the part; the answer itself where none does.

    Plans that weigh `below_s` or more need not be found: that is then what the others weigh at least.
    Plans that come back to tools are known by their bound alone: where they could take less it is not proven.
    """
    solution = found.solution
    if job.handler.gripper is None or not solution.feasible:
        return found
    planner = planner_of(job, found)
    more_s = planner.more_s(solution.priced_steps) - job.least_grips_s
    if more_s < SAME_COST:
        return replace(found, planner=planner)
    known, floor_s = replace(solution, cost=(solution.cost or 0.0) + more_s), solution.lower_bound or 0.0
    if job.watch.quick or job.watch.any_plan:
        own = replace(known, proven_least=False)
        return replace(found, planner=planner, solution=by_hand_apart(own, planner, floor_s))
    problem, shapes = replace(found.problem, tell_blockers=False), found.shapes or shapes_of(found.problem)
    price, upper = price_with_grips(job, found, planner), min(known.weight, below_s)
    aim = replace(known, cost=upper - known.broken_s)
    held, always_s = least_held(planner, LeastWeight(problem, shapes)), 0.0
    best = replace(aim, proven_least=True, lower_bound=aim.cost, least_weight=aim.weight)
    if held is None or held_weight(job, problem, held, upper) < upper - SAME_COST:
        always_s = 0.0 if held is None else max(held.of_grips_alone().least(upper) - job.least_grips_s, 0.0)
        best = replace(best, proven_least=solution.proven_least)
        if solution.weight + always_s < upper - SAME_COST:
            best = least_priced(problem, shapes, aim, price, always_s=always_s, bound=solution, in_part=True)
    if best.steps == known.steps:
        # Nothing weighs less than was asked for; what was known may weigh more.
        best = replace(best, cost=known.cost, proven_least=best.proven_least and known.weight <= upper + SAME_COST)
    if best.proven_least:
        floor = least_returning(job, found, best.weight) + always_s
        if best.weight > floor + SAME_COST and (again := returning(job, found.problem)) is not None:
            back = least_held(planner, LeastWeight(again, shapes))
            floor = floor if back is None else max(floor, held_weight(job, again, back, best.weight))
        if best.weight > floor + SAME_COST:
            bound = max(floor - best.broken_s, solution.lower_bound or 0.0)
            best = replace(best, proven_least=False, lower_bound=bound, least_weight=floor)
    return replace(found, planner=planner, solution=by_hand_apart(best, planner, floor_s))


def least_held(planner: GripPlanner, order: LeastWeight) -> LeastHeld | None:
    """The bound of all plans of a problem with their grips; None of a problem with too many operations for it."""
    return planner.least(order) if len(planner.problem.operations) <= handling.MOST_OPERATIONS else None


def held_weight(job: Job, problem: SectionProblem, held: LeastHeld, enough_s: float) -> float:
    """What no plan of a problem weighs less than with its grips, looked for no further than `enough_s`.

    0 where tools are changed within an operation: a plan that comes back to them pays less for that than the order.
    """
    if any(len(option.hits) > 1 for operation in problem.operations for option in operation.options):
        return 0.0
    base_s = problem.costs.base - job.least_grips_s
    return base_s + held.least(enough_s - base_s)


def weight_on_all(job: Job, problem: SectionProblem, order: LeastWeight, enough_s: float) -> float:
    """What no plan weighs less than with its grips, with any of the tools of a problem on their own blanks.

    `order`: the same of the order alone. 0 for what is no plain bend: then nothing is known. Holes are left out, with
    them fewer grips hold.
    """
    handler, slack_mm = job.shop.handlers[job.handler.name], 0.0
    hits = [[hit for option in operation.options for hit in option.hits] for operation in problem.operations]
    plain = all(hit.kind == "swing" and hit.zone_mm is not None for each in hits for hit in each)
    if handler.gripper is None or not plain or len(hits) > handling.MOST_OPERATIONS:
        return 0.0
    moved_mm = max(abs(hit.leg_moved_mm) for each in hits for hit in each)
    part, row = replace(held_part(job), holes=()), handler.gripper
    changes: dict[str, object] = {}
    if moved_mm > 0:
        # Places on a flat are laid from its ends; where there may be one on other blanks alone, or fewer, it is taken
        # to be anywhere between.
        slack_mm = ROUGH_MM + moved_mm + sum(each.shape_mm + 3 * each.beside_mm for each in problem.slack)
        if handling.is_near_a_place(part, handling.GripperShape(row), moved_mm):
            slack_mm += 1.0 + 4 * moved_mm
            changes |= {key: getattr(row, key) - 2 * moved_mm for key in ("edge_free_mm", "bend_free_mm")}
    loose = handler.model_copy(update={"gripper": row.model_copy(update=changes)})
    opening_mm = problem.chain.thickness_mm + max(handler.load_margin_mm, handler.unload_margin_mm)
    asked = handling.GripPlanner(
        problem, part, loose, None, opening_mm=opening_mm, slack_mm=slack_mm, always_by_hand=job.least_by_hand
    )
    return held_weight(job, problem, asked.least(order), enough_s)


def broken_on_all(job: Job, problem: SectionProblem, most: float) -> int:
    """How many rules of holding every plan breaks at least, with any of the tools of a problem on their own blanks.

    Looked for no further than `most`.
    """
    if job.handler.gripper is None:
        return 0
    most_s = BREACH_S * most
    return int(min(weight_on_all(job, problem, LeastWeight(problem, each_held=True), most_s), most_s) // BREACH_S)


def by_hand_apart(solution: Solution, planner: GripPlanner, floor_s: float) -> Solution:
    """The answer with its steps that no grip holds weighed like broken rules, apart from the seconds of its cost.

    `floor_s`: what every order takes at least, which is all that is known where the plan is not proven.
    """
    broken = sum(step.hold.breach for step in solution.steps if step.hold is not None)
    lost = planner.more_by_hand(planner.way(solution.priced_steps))
    if not lost or solution.breach > broken:
        return solution
    cost = (solution.cost or 0.0) - BREACH_S * lost
    bound = cost if solution.proven_least else min(solution.lower_bound or 0.0, floor_s, cost)
    return replace(solution, cost=cost, breach=broken + lost, lower_bound=max(bound, 0.0))


def with_grips(job: Job, setup: Setup) -> tuple[Setup, tuple[HeldAt, ...], tuple[Finding, ...]]:
    """The set-up of a job with what its grips take, how each hit is held, and what is to be known of it."""
    if job.ordered is None or job.ordered.planner is None:
        return setup, (), ()
    planner, plan = job.ordered.planner, job.solution.priced_steps
    held = handling.held_at(planner, plan, setup.steps, job.material, job.machine)
    own = handling.with_holding(setup, held, planner.way(plan), planner.handler)
    own = replace(own, findings=handling.without_hands(own.findings, held, setup.steps))
    return own, held, handling.holding_findings(held, setup.steps, planner.handler)
