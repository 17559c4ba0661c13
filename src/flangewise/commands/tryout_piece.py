"""A worked-out part and what was read off its piece, as plain numbers for the tryout room; and back as a record."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import Any

from flangewise.bend import TWO_SIDED_95, BendSetup, bend_allowance
from flangewise.commands.tryout_asked import Readings
from flangewise.jobs import Job
from flangewise.part import WantedBend
from flangewise.pattern import BendZone, FlatPattern
from flangewise.sequence import Gauged, gauged_by_operation
from flangewise.setup import SetupStep
from flangewise.tryout import BendCorrection, Corrections, LegResult, MadeWith, Model, Tag, TriedBend, TriedPiece


def tried_piece(job: Job, pattern: FlatPattern, read: Readings) -> TriedPiece:
    """The piece that was measured: plan and blank, with what was set instead and what came out."""
    section = job.part.section
    gauged = _gauged(job)
    bends = tuple(_tried_bend(job, pattern, bend, read, gauged.get(bend.number)) for bend in section.bends)
    developed = read.developed_mm if read.developed_mm is not None else pattern.developed_mm
    return TriedPiece(
        thickness_mm=job.part.thickness_mm,
        wanted_mm=section.legs_mm,
        measured_mm=tuple(read.legs_mm.get(leg + 1) for leg in range(len(section.legs_mm))),
        developed_mm=developed,
        developed_measured=read.developed_mm is not None,
        bends=bends,
        piece=read.piece,
        sizes=section.sizes,
        order=tuple(step.operation for step in job.ordered.solution.steps) if gauged and job.ordered else (),
    )


def _gauged(job: Job) -> dict[int, Gauged]:
    """What each bend of the plan is gauged on, by bend; none without a plan."""
    if job.ordered is None or job.setup is None:
        return {}
    steps = job.ordered.solution.steps
    by_bend = enumerate(gauged_by_operation(job.ordered.problem, steps), start=1)
    stopped = {int(step.label) for step in steps if step.gauged is not None}
    return {bend: gauged for bend, gauged in by_bend if bend in stopped}


def _tried_bend(job: Job, pattern: FlatPattern, bend: WantedBend, read: Readings, gauged: Gauged | None) -> TriedBend:
    step = step_of(job, bend.number)
    pair = job.pairs.get(bend.number)
    is_plain = bend.kind == "bend"
    model = pair.model if pair is not None and is_plain else None
    return TriedBend(
        number=bend.number,
        wanted_deg=bend.turn_deg,
        radius_mm=_zones(pattern, bend)[0].inside_radius_mm,
        deduction_mm=_deduction_mm(job, pattern, bend),
        rule_mm=_rule_mm(job, pattern, bend) if is_plain else None,
        depth_mm=read.depths_mm.get(bend.number, step.depth_mm if step is not None else None),
        stop_mm=read.stops_mm.get(bend.number, step.stops.x_mm if step is not None else None),
        gauged=gauged,
        model=None if model is None else Model(_setup(model.setup, read), model.swift, model.learned),
        turn_deg=read.turns_deg.get(bend.number),
    )


def _setup(setup: BendSetup, read: Readings) -> BendSetup:
    return setup if read.thickness_mm is None else replace(setup, thickness_mm=read.thickness_mm)


def step_of(job: Job, bend: int) -> SetupStep | None:
    """The hit that makes a bend's angle: its first; None without a plan."""
    steps: Iterable[SetupStep] = job.setup.steps if job.setup is not None else ()
    return next((step for step in steps if bend in step.bends), None)


def _zones(pattern: FlatPattern, bend: WantedBend) -> list[BendZone]:
    return [zone for zone in pattern.zones if zone.bend == bend.number]


def _deduction_mm(job: Job, pattern: FlatPattern, bend: WantedBend) -> float:
    """A bend's deduction; an offset's is its share of what all legs are longer than the blank."""
    if bend.kind != "offset":
        return float(_zones(pattern, bend)[0].deduction_mm)
    section = job.part.section
    others: float = sum(_zones(pattern, each)[0].deduction_mm for each in section.bends if each.kind != "offset")
    offsets = sum(each.kind == "offset" for each in section.bends)
    return (sum(section.legs_mm) - pattern.developed_mm - others) / offsets


def _rule_mm(job: Job, pattern: FlatPattern, bend: WantedBend) -> float:
    """What the allowance rule gives, whatever was learned."""
    return bend_allowance(
        _zones(pattern, bend)[0].inside_radius_mm,
        job.part.thickness_mm,
        turn_deg=bend.turn_deg,
        rule=job.shop.defaults.rule,
        k_factor=bend.k_factor,
        sizes=job.part.section.sizes,
    ).deduction_mm


def tag_of(job: Job, read: Readings) -> Tag:
    """What the rows of the piece are filed under."""
    part = job.part
    return Tag(read.lot, part.name, job.machine.name, part.material, part.thickness_mm, read.thickness_mm)


def tools_of(job: Job) -> dict[int, MadeWith]:
    """Punch and die of every air bend."""
    found = {}
    for bend, pair in job.pairs.items():
        if pair is not None and pair.air is not None and pair.punch is not None and pair.die is not None:
            found[bend] = MadeWith(pair.punch.name, pair.pair.nose_radius_mm or 0.0, pair.die.name)
    return found


def bend_record(bend: TriedBend, told: BendCorrection) -> dict[str, Any]:
    """One bend as JSON carries it; half widths are for 95 %."""
    turn = bend.turn_deg
    return {
        "bend": bend.number,
        "wanted_turn_deg": bend.wanted_deg,
        "wanted_included_deg": 180.0 - bend.wanted_deg,
        "measured_turn_deg": turn,
        "measured_included_deg": None if turn is None else 180.0 - turn,
        "error_deg": bend.error_deg,
        "weight": told.weight,
        "depth_mm": bend.depth_mm,
        "depth_correction_mm": told.depth_correction_mm,
        "new_depth_mm": _added(bend.depth_mm, told.depth_correction_mm),
        "leg": told.leg,
        "stop_mm": bend.stop_mm,
        "stop_correction_mm": told.stop_correction_mm,
        "new_stop_mm": _added(bend.stop_mm, told.stop_correction_mm),
        "inside_radius_mm": bend.radius_mm,
        "planned_deduction_mm": bend.deduction_mm,
        "deduction_mm": told.deduction_mm,
        "deduction_plus_minus_mm": _half_width(told.deduction_sd_mm),
        "k_factor": told.k_factor,
        "k_factor_plus_minus": _half_width(told.k_sd),
    }


def leg_record(leg: LegResult) -> dict[str, Any]:
    """One leg as JSON carries it."""
    return {
        "leg": leg.leg,
        "wanted_mm": leg.wanted_mm,
        "measured_mm": leg.measured_mm,
        "at_wanted_angle_mm": leg.at_angle_mm,
        "error_mm": leg.error_mm,
    }


def blank_record(piece: TriedPiece, told: Corrections) -> dict[str, Any]:
    """The blank and what to change it by, as JSON carries it."""
    return {
        "developed_mm": piece.developed_mm,
        "measured": piece.developed_measured,
        "correction_mm": told.blank_correction_mm,
        "new_developed_mm": _added(piece.developed_mm, told.blank_correction_mm),
    }


def _added(value: float | None, more: float | None) -> float | None:
    return None if value is None or more is None else value + more


def _half_width(sd: float | None) -> float | None:
    return None if sd is None else TWO_SIDED_95 * sd
