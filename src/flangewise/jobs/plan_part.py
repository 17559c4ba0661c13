"""The whole way for one part: tools offered, blank laid out, order found, machine set up.

The die decides the radius and the radius the blank, so the blank is laid out with the radii of the first offers, and
again where the order takes other pairs. The loop is here, in sight, and ends after a few passes.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from flangewise.findings import Finding, caution, sorted_findings
from flangewise.jobs.job import Job, Offers, Ordered, Pairs
from flangewise.jobs.order import find_order
from flangewise.jobs.why import order_findings
from flangewise.jobs.wishes import deductions_mm, learned_findings, radii_mm, wishes
from flangewise.part import Part
from flangewise.pattern import FlatPattern, NoBlank, lay_out
from flangewise.punch_die import Mounting, PunchDie, Stock, Tooling, learned_offers, nothing_offered, usable
from flangewise.sequence import SAME_COST
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
from flangewise.shop import Machine, Material, Shop, thickness_tolerance_mm

# A blank that still changes after so many layings-out has tools that chase each other.
MOST_PASSES = 4
# Radii closer than this make the same blank: a thousandth of what a cut can hold.
SAME_RADIUS_MM = 1e-4


def planned(job: Job, *, narrow: bool = False, first: Mapping[int, Mounting] | None = None) -> Job:
    """The part of a laid-out job worked out on its machine; what forbids it stands in the findings.

    `narrow` looks no further than the best die of each bend: quick, and a part it finds no order for may have one.
    `first` are tools that served elsewhere, searched first.
    """
    lacking = untooled(job)
    if job.pattern is None or lacking:
        return _told(job, *job.findings, *lacking)
    return _planned(job, narrow=narrow, first=first)


def blanked_on(part: Part, shop: Shop, machine_name: str) -> Job:
    """The part as far as its blank, on one machine: tools offered, the best of them taken, no order looked for."""
    material, machine = shop.materials[part.material], shop.machines[machine_name]
    handler = shop.handlers[part.handler or shop.defaults.handler]
    offers = _offers(part, shop, material=material, machine=machine)
    pairs = {bend: each[0] if each else None for bend, each in offers.items()}
    ordered = replace(part, measured_thickness_mm=None)
    cut_for = offers if part == ordered else _offers(ordered, shop, material=material, machine=machine)
    job = Job(part, shop, material, machine, handler, None, offers, cut_for, pairs, None, None, ())
    try:
        return _told(replace(job, pattern=_blank(job, pairs)))
    except NoBlank as none:
        return _told(job, *none.findings)


def _offers(part: Part, shop: Shop, *, material: Material, machine: Machine) -> Offers:
    stock, tooling = stock_of(part, material), Tooling.of(shop, machine)
    return {
        wish.number or 0: learned_offers(wish, stock, shop, nominal_mm=part.thickness_mm, tooling=tooling)
        for wish in wishes(part, shop)
    }


def stock_of(part: Part, material: Material) -> Stock:
    """The sheet as it is bent: with the thickness measured of the piece in hand, where it was."""
    measured = part.measured_thickness_mm
    return Stock(material, part.thickness_mm if measured is None else measured, grain=part.grain)


def _blank(job: Job, pairs: Pairs) -> FlatPattern:
    """The blank as it was cut: a measured thickness changes how the piece is bent, not what was cut before."""
    radii = radii_mm(job.part, [_as_cut(job, bend.number, pairs[bend.number]) for bend in job.part.section.bends])
    learned = deductions_mm(job.part, job.shop, pairs)
    return lay_out(job.part, job.shop, radii_mm=radii, deductions_mm=learned)


def _as_cut(job: Job, bend: int, pair: PunchDie | None) -> PunchDie | None:
    """The same pair bending the sheet as it was ordered."""
    return next(
        (each for each in job.cut_offers[bend] if pair is not None and each.tools.name == pair.tools.name), pair
    )


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


def _planned(job: Job, *, narrow: bool, first: Mapping[int, Mounting] | None) -> Job:
    """The order found on the blank that its own pairs make: laid out and searched again until the two agree."""
    tried: list[Pairs] = []
    for _ in range(MOST_PASSES):
        assert job.pattern is not None
        ordered = find_order(job, narrow=narrow, first=first)
        if not ordered.solution.feasible:
            other = None if narrow else _on_another_blank(job)
            return other or _told(replace(job, ordered=ordered), *order_findings(ordered))
        first = ordered.taken
        pairs = dict(job.pairs) | {bend: each.pair for bend, each in first.items()}
        try:
            pattern = _blank(job, pairs)
        except NoBlank as none:
            return _told(job, *none.findings)
        settled = same_blank(pattern, job.pattern)
        job = replace(job, pairs=pairs, pattern=pattern)
        if settled:
            return _set_up(replace(job, ordered=_held(ordered, job, pattern)))
        if pairs in tried:
            break
        tried.append(pairs)
    return _pinned(job, tried, ordered)


def _held(ordered: Ordered, job: Job, pattern: FlatPattern) -> Ordered:
    """The order whose gauging holds the legs as the part states them, where one is found."""
    held = held_within(
        ordered.problem,
        ordered.solution,
        job.part,
        pattern,
        job.gauging,
        loose_leg_s=job.handler.loose_leg_wish_s,
    )
    return replace(ordered, solution=held) if held.feasible else ordered


def _pinned(job: Job, tried: list[Pairs], last: Ordered) -> Job:
    """The first of the pairs found that can be bent on the blank it makes itself, where no pairs settle by themselves.

    It happens where a pair is just free on another pair's blank. The order is then not proven the least; and where none
    of them can, it is not known whether others could.
    """
    for pairs in tried:
        own = replace(job, pairs=pairs, pattern=_blank(job, pairs))
        settled = _settled(own, {bend: [pair.tools.name] for bend, pair in pairs.items() if pair is not None})
        if settled is not None:
            return settled
    unknown = replace(last.solution, feasible=None, proven_least=False, cost=None, steps=())
    return _told(replace(job, ordered=replace(last, solution=unknown)), caution("tools-do-not-settle"))


def _on_another_blank(job: Job) -> Job | None:
    """An order with tools that form other radii, where the blank of the best pairs allows none; None where none does.

    Legs on the flat follow the radii, so what a die can bend is asked on the blank that it makes itself: each die of
    the shop for all the bends that it serves. The order is then not proven the least.
    """
    served = {bend: usable(pairs) for bend, pairs in job.offers.items()}
    for die in dict.fromkeys(pair.tools.die_name for pairs in served.values() for pair in pairs):
        pairs = {bend: _with_die(each, die) or job.pairs[bend] for bend, each in served.items()}
        try:
            pattern = _blank(job, pairs)
        except NoBlank:
            continue
        if job.pattern is not None and not same_blank(pattern, job.pattern):
            own = replace(job, pairs=pairs, pattern=pattern)
            settled = _settled(own, {bend: _alike(pairs[bend], each) for bend, each in served.items()})
            if settled is not None:
                return settled
    return None


def _with_die(pairs: Sequence[PunchDie], die: str | None) -> PunchDie | None:
    return next((pair for pair in pairs if pair.tools.die_name == die), None)


def _alike(pair: PunchDie | None, among: Sequence[PunchDie]) -> list[str]:
    """Names of the pairs that make the same blank: those of the same die that form the same radius."""
    return [
        each.tools.name
        for each in among
        if pair is not None
        and each.tools.die_name == pair.tools.die_name
        and abs((each.formed_radius_mm or 0.0) - (pair.formed_radius_mm or 0.0)) < SAME_RADIUS_MM
    ]


def _settled(job: Job, only: Mapping[int, Sequence[str]]) -> Job | None:
    """The job set up with the pairs named, which make the blank it has; None where they cannot bend it."""
    ordered = find_order(job, narrow=True, only=only)
    if not ordered.solution.feasible:
        return None
    solution = replace(ordered.solution, proven_least=False)
    pairs = dict(job.pairs) | {bend: each.pair for bend, each in ordered.taken.items()}
    return _set_up(replace(job, pairs=pairs, ordered=replace(ordered, solution=solution)))


def same_blank(one: FlatPattern, other: FlatPattern) -> bool:
    """Whether two blanks have the same bends in the same places."""
    return all(
        abs(a.inside_radius_mm - b.inside_radius_mm) < SAME_RADIUS_MM
        and abs(a.allowance.allowance_mm - b.allowance.allowance_mm) < SAME_RADIUS_MM
        for a, b in zip(one.zones, other.zones, strict=True)
    )


def _set_up(job: Job) -> Job:
    assert job.pattern is not None and job.ordered is not None
    taken = [(step, job.ordered.mounting(step)) for step in job.ordered.solution.steps]
    piece = Workpiece(
        length_mm=job.part.section.length_mm,
        thickness_mm=job.part.thickness_mm,
        mass_kg=job.pattern.mass_kg,
        tolerance_mm=thickness_tolerance_mm(job.shop.tolerances, job.material.product, job.part.thickness_mm),
        zone_bends=tuple(zone.bend for zone in job.pattern.zones),
    )
    setup = set_up(planned_hits(job.part, taken), piece, job.centre, loose_s=job.ordered.solution.loose_s)
    problem, solution = job.ordered.problem, job.ordered.solution
    sizes = leg_errors_of(problem, solution, job.part, job.pattern, job.gauging)
    setup = with_corrections(setup, problem, solution, job.part)
    near = near_findings(setup, least_mm=job.shop.defaults.clearance_mm)
    job = replace(job, setup=setup, sizes=sizes, ordered=_priced(job.ordered, setup))
    return _told(job, *setup.findings, *near, *size_findings(sizes))


def _priced(ordered: Ordered, setup: Setup) -> Ordered:
    """The order with what it takes as it is set up: least only as far as the search's bound still says so.

    The search knows of two stations whether they stand beside each other, the set-up of all of them.
    """
    solution = ordered.solution
    least = solution.proven_least and setup.cost_s <= (solution.lower_bound or 0.0) + SAME_COST
    bound = min(solution.lower_bound or 0.0, setup.cost_s)
    return replace(ordered, solution=replace(solution, cost=setup.cost_s, lower_bound=bound, proven_least=least))


def _told(job: Job, *findings: Finding) -> Job:
    """The job with all that is to be said of it: blank, the pairs in use, and what came last."""
    blank = job.pattern.findings if job.pattern is not None else ()
    pairs = [finding for pair in job.pairs.values() if pair is not None for finding in pair.all_findings]
    learned = learned_findings(job.part, job.shop, job.pairs, tooling=Tooling.of(job.shop, job.machine))
    return replace(job, findings=sorted_findings((*findings, *pairs, *blank, *learned)))
