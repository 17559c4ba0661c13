"""The whole way for one part: tools offered, blank laid out, order found, machine set up.

The die decides the radius and the radius the blank, so the blank is laid out with the radii of the first offers, and
again where the order takes other pairs. The loop is here, in sight, and ends after a few passes.
"""

import math
from collections.abc import Sequence
from dataclasses import replace

from flangewise.findings import Finding, sorted_findings
from flangewise.jobs.blanks import Alike, blank_of, blanks_of
from flangewise.jobs.gripped import by_hand_apart, least_grips, price_with_grips, with_grips
from flangewise.jobs.job import Job
from flangewise.jobs.order import find_order
from flangewise.jobs.shut import ShutBends
from flangewise.jobs.standing import returning
from flangewise.jobs.why import order_findings
from flangewise.jobs.wishes import learned_findings, offers_of, wishes
from flangewise.part import Part
from flangewise.pattern import NoBlank
from flangewise.punch_die import Tooling, nothing_offered, usable
from flangewise.sequence import SAME_COST, UNLIMITED, Shapes, Solution, Watch
from flangewise.setup import (
    Setup,
    Workpiece,
    held_within,
    leg_errors_of,
    near_findings,
    planned_hits,
    set_up,
    size_findings,
    with_corrections,
)
from flangewise.shop import Shop, thickness_tolerance_mm


def planned(
    job: Job,
    *,
    below_s: float = math.inf,
    shut: ShutBends | None = None,
    shapes: Shapes | None = None,
    left: Sequence[Sequence[Alike]] | None = None,
) -> Job:
    """The part of a laid-out job worked out on its machine; what forbids it stands in the findings.

    Only a plan that weighs less than `below_s` is looked for. `shut`: asked where none is found at once. `shapes`: what
    was found when it was planned quickly; a quick plan holds it, for when more is asked. `left`: the pairs it may take.
    """
    lacking = untooled(job)
    if job.pattern is None or lacking:
        return _told(job, *job.findings, *lacking)
    job = find_order(job, below_s=below_s, shut=shut, shapes=shapes, left=left)
    assert job.ordered is not None
    ordered = job.ordered if job.watch.quick else replace(job.ordered, shapes=None)
    job = replace(job, ordered=ordered)
    if not job.solution.feasible:
        return _told(job, *order_findings(ordered))
    job = _set_up(_held(job))
    assert job.ordered is not None
    return replace(job, ordered=replace(job.ordered, planner=None))


def blanked_on(part: Part, shop: Shop, machine_name: str, watch: Watch = UNLIMITED, *, every_die: bool = False) -> Job:
    """The part as far as its blank, on one machine: tools offered, the best of them taken, no order looked for.

    `every_die`: those as well that are not worth a try as long as others do.
    """
    material, machine = shop.materials[part.material], shop.machines[machine_name]
    handler = shop.handlers[part.handler or shop.defaults.handler].at_best
    offers = offers_of(part, shop, machine, every_die=every_die)
    pairs = {bend: each[0] if each else None for bend, each in offers.items()}
    ordered = replace(part, measured_thickness_mm=None)
    cut_for = offers
    if part != ordered:
        cut_for = offers_of(ordered, shop, machine, every_die=every_die)
    by_hand, least_s = least_grips(part, shop.handlers[handler.name])
    job = Job(part, shop, material, machine, handler, None, offers, cut_for, pairs, None, None, (), watch=watch)
    job = replace(job, least_grips_s=least_s, least_by_hand=by_hand)
    try:
        return _told(replace(job, pattern=blank_of(job, pairs)))
    except NoBlank as none:
        return _told(job, *none.findings)


def untooled(job: Job) -> tuple[Finding, ...]:
    """Why bends have no tools: the findings of their least bad pair, or that the shop holds none."""
    told: list[Finding] = []
    for wish in wishes(job.part, job.shop):
        pairs = job.offers[wish.number or 0]
        if not pairs:
            told.append(nothing_offered(wish))
        elif not usable(pairs):
            told.extend(pairs[0].all_findings)
    return tuple(told)


def _held(job: Job) -> Job:
    """The order whose gauging holds the legs as the part states them, where one is found."""
    assert job.ordered is not None and job.pattern is not None
    planner = job.ordered.planner
    held = held_within(
        job.ordered.problem,
        job.ordered.solution,
        job.part,
        job.pattern,
        job.gauging,
        loose_leg_s=job.handler.loose_leg_wish_s,
        elsewhere=any(len(each) > 1 for each in blanks_of(job)) or returning(job, job.ordered.problem) is not None,
        more=None if planner is None else price_with_grips(job, job.ordered, planner),
    )
    held = (
        held if planner is None or not held.feasible else by_hand_apart(held, planner, job.solution.lower_bound or 0.0)
    )
    return job.with_solution(held) if held.feasible else job


def _set_up(job: Job) -> Job:
    assert job.pattern is not None and job.ordered is not None
    problem, solution = job.ordered.problem, job.ordered.solution
    taken = [(step, job.ordered.mounting(step)) for step in solution.steps]
    setup = set_up(planned_hits(job.part, taken), workpiece_of(job), job.centre, loose_s=solution.loose_s)
    sizes = leg_errors_of(problem, solution, job.part, job.pattern, job.gauging)
    setup = with_corrections(setup, problem, solution, job.part)
    setup, grips, told = with_grips(job, setup)
    near = near_findings(setup, least_mm=job.shop.defaults.clearance_mm)
    job = replace(job, setup=setup, sizes=sizes, grips=grips).with_solution(_priced(solution, setup))
    return _told(job, *setup.findings, *near, *size_findings(sizes), *told)


def workpiece_of(job: Job) -> Workpiece:
    """The part of a laid-out job as it is handled."""
    assert job.pattern is not None
    return Workpiece(
        length_mm=job.part.section.length_mm,
        thickness_mm=job.part.thickness_mm,
        mass_kg=job.pattern.mass_kg,
        tolerance_mm=thickness_tolerance_mm(job.shop.tolerances, job.material.product, job.part.thickness_mm),
        zone_bends=tuple(zone.bend for zone in job.pattern.zones),
    )


def _priced(solution: Solution, setup: Setup) -> Solution:
    """The order with what it takes as it is set up: least only as far as the search's bound still says so.

    The search knows of two stations whether they stand beside each other, the set-up of all of them.
    """
    least = solution.proven_least and setup.cost_s <= (solution.lower_bound or 0.0) + SAME_COST
    bound = min(solution.lower_bound or 0.0, setup.cost_s)
    return replace(solution, cost=setup.cost_s, lower_bound=bound, proven_least=least)


def _told(job: Job, *findings: Finding) -> Job:
    """The job with all that is to be said of it: blank, the pairs in use, and what came last."""
    blank = job.pattern.findings if job.pattern is not None else ()
    pairs = [finding for pair in job.pairs.values() if pair is not None for finding in pair.all_findings]
    learned = learned_findings(job.part, job.shop, job.pairs, tooling=Tooling.of(job.shop, job.machine))
    return replace(job, findings=sorted_findings((*findings, *pairs, *blank, *learned)))
