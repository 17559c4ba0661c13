"""A worked-out part and what was read off its piece, as the tryout takes them."""

from dataclasses import replace
from typing import TYPE_CHECKING

from flangewise.bend import Sizes, bend_allowance
from flangewise.jobs.job import Job
from flangewise.part import WantedBend
from flangewise.pattern import BendZone, Blank, FlatPattern
from flangewise.punch_die import Pair, PunchDie
from flangewise.sequence import Gauged, gauged_by_operation
from flangewise.setup import SetupStep
from flangewise.shop import Shop
from flangewise.tryout import Readings, Tag, TriedBend, TriedPiece

if TYPE_CHECKING:
    from flangewise.jobs.panel_plan import PanelPlan


def tried_piece(job: Job, pattern: FlatPattern, read: Readings) -> TriedPiece:
    """The piece that was measured: plan and blank, with what was set instead and what came out."""
    section = job.part.section
    gauged = _gauged(job)
    steps = job.setup.steps if job.setup is not None else ()
    bends = tuple(
        tried_bend(
            bend,
            _zone(pattern, bend),
            read,
            pair=job.pairs.get(bend.number),
            steps=steps,
            deduction_mm=_deduction_mm(job, pattern, bend),
            rule_mm=rule_mm_of(job.part.thickness_mm, job.shop, pattern, bend, section.sizes),
            gauged=gauged.get(bend.number),
        )
        for bend in section.bends
    )
    return TriedPiece(
        thickness_mm=job.part.thickness_mm,
        wanted_mm=section.legs_mm,
        measured_mm=tuple(read.legs_mm.get(leg + 1) for leg in range(len(section.legs_mm))),
        developed_mm=read.developed_mm if read.developed_mm is not None else pattern.developed_mm,
        developed_measured=read.developed_mm is not None,
        bends=bends,
        piece=read.piece,
        sizes=section.sizes,
        order=job.solution.order if gauged else (),
    )


def _gauged(job: Job) -> dict[int, Gauged]:
    """What each bend of the plan is gauged on, by bend; none without a plan."""
    if job.ordered is None or job.setup is None:
        return {}
    steps = job.ordered.solution.steps
    by_bend = enumerate(gauged_by_operation(job.ordered.problem, steps), start=1)
    stopped = {int(step.label) for step in steps if step.gauged is not None}
    return {bend: gauged for bend, gauged in by_bend if bend in stopped}


def tried_bend(
    bend: WantedBend,
    zone: BendZone,
    read: Readings,
    *,
    pair: PunchDie | None,
    steps: tuple[SetupStep, ...],
    deduction_mm: float,
    rule_mm: float,
    gauged: Gauged | None,
) -> TriedBend:
    """A bend as it was planned, set and read; `gauged` None: no section's stop measured it."""
    number, is_plain = bend.number, bend.kind == "bend"
    # The hit that makes a bend's angle is its first.
    step = next((step for step in steps if number in step.bends), None)
    model = pair.model if pair is not None and is_plain else None
    if model is not None and read.thickness_mm is not None:
        model = replace(model, setup=replace(model.setup, thickness_mm=read.thickness_mm))
    return TriedBend(
        number=number,
        wanted_deg=bend.turn_deg,
        radius_mm=zone.inside_radius_mm,
        deduction_mm=deduction_mm,
        rule_mm=rule_mm if is_plain else None,
        depth_mm=read.depths_mm.get(number, step.ram.depth_mm if step is not None else None),
        stop_mm=read.stops_mm.get(number, step.stops.x_mm if step is not None else None),
        gauged=gauged,
        model=model,
        turn_deg=read.turns_deg.get(number),
    )


def _zone(pattern: Blank, bend: WantedBend) -> BendZone:
    """The bend's zone; of an offset the first of its two."""
    return next(zone for zone in pattern.zones if zone.bend == bend.number)


def _deduction_mm(job: Job, pattern: FlatPattern, bend: WantedBend) -> float:
    """A bend's deduction; an offset's is its share of what all legs are longer than the blank."""
    if bend.kind != "offset":
        return _zone(pattern, bend).allowance.deduction_mm
    section = job.part.section
    others: float = sum(_zone(pattern, each).allowance.deduction_mm for each in section.bends if each.kind != "offset")
    offsets = sum(each.kind == "offset" for each in section.bends)
    return (sum(section.legs_mm) - pattern.developed_mm - others) / offsets


def rule_mm_of(thickness_mm: float, shop: Shop, blank: Blank, bend: WantedBend, sizes: Sizes) -> float:
    """What the allowance rule gives, whatever was learned."""
    return bend_allowance(
        _zone(blank, bend).inside_radius_mm,
        thickness_mm,
        turn_deg=bend.turn_deg,
        rule=shop.defaults.rule,
        k_factor=bend.k_factor,
        sizes=sizes,
    ).deduction_mm


def tag_of(job: "Job | PanelPlan", read: Readings) -> Tag:
    """What the rows of the piece are filed under."""
    part = job.part
    return Tag(read.lot, part.name, job.machine.name, part.material, part.thickness_mm, read.thickness_mm)


def tools_of(job: "Job | PanelPlan") -> dict[int, Pair]:
    """Punch and die of every air bend that is made with tools of the shop."""
    return {
        bend: made.tools
        for bend, made in job.pairs.items()
        if made is not None and made.air is not None and made.tools.punch is not None and made.tools.die is not None
    }
