"""What a correction of X at each hit does to the legs, told by the part's own sizes and tolerances."""

from __future__ import annotations

from dataclasses import replace

from flangewise.jobs.order import Ordered
from flangewise.part import Part
from flangewise.sequence import StopEffect, effects_of
from flangewise.setup import Correction, Setup, SetupStep, leg_tolerances_mm


def with_corrections(setup: Setup, ordered: Ordered, part: Part) -> Setup:
    """The set-up with the correction of every hit that has one."""
    effects = effects_of(ordered.problem, ordered.solution.steps)
    last_hits = {bend: step.step for step in setup.steps for bend in step.bends}
    steps = tuple(replace(step, correction=_correction(step, effects, last_hits, part)) for step in setup.steps)
    return replace(setup, steps=steps)


def _correction(
    step: SetupStep, effects: tuple[StopEffect, ...], last_hits: dict[int, int], part: Part
) -> Correction | None:
    if step.hit == "flatten" or step.stops.x_mm is None:
        return None
    effect = effects[step.bends[0] - 1]
    return Correction(
        leg=effect.leg + 1,
        nominal_mm=part.section.legs_mm[effect.leg],
        plus_minus_mm=leg_tolerances_mm(part)[effect.leg],
        x_per_mm=-1 / effect.own_per_mm,
        legs_per_mm=effect.legs_per_mm,
        read_after=last_hits[effect.complete_with + 1],
    )
