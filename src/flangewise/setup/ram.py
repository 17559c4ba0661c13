"""How the ram goes: where it slows down, how fast it bends, how fast the leg in front comes up."""

import math
from dataclasses import dataclass

from flangewise.bend import ram_speed_for_tip_mm_per_s, stroke, tip_speed_factor
from flangewise.findings import Finding, caution, note, refuse
from flangewise.setup.hit import PlannedHit
from flangewise.setup.work import Work

# The traditional reduced speed near people and robots, from memory; a planning default where the handler has no own.
TIP_SPEED_MM_PER_S = 250.0
# A leg in front that is longer comes up past the face and hands of who tends the machine; common practice.
LONG_LEG_MM = 500.0
# Differences smaller than this are of the arithmetic: exactly at the limit is within it.
NOISE_SHARE = 1e-6
# Enough points to meet the fastest place of the stroke within a few hundredths.
STROKE_POINTS = 16


@dataclass(frozen=True)
class RamSpeed:
    """Ram speed while bending, the speed of the leg's tip at it, and what is to be told."""

    ram_speed_mm_per_s: float
    tip_speed_mm_per_s: float | None
    findings: tuple[Finding, ...] = ()


def ram_speed(hit: PlannedHit, work: Work) -> RamSpeed:
    """The machine's bending speed, or less where the tip of the part would come up faster than the limit.

    Less is a whole number of the machine's steps, rounded down, so that the speed keyed in keeps the limit: a note says
    why the ram is slow, a caution that even one step is too fast. Only an air bend swings the part; other hits go at
    the machine's speed and have no tip speed.
    """
    own, pair, swing_mm = work.machine.bend_mm_per_s, hit.pair, hit.step.reach_mm
    if pair.air is None or pair.model is None:
        return RamSpeed(own, None)
    along = stroke(
        pair.model.setup, pair.model.swift, to_loaded_turn_deg=pair.air.loaded_turn_deg, points=STROKE_POINTS
    )
    factor = tip_speed_factor(along, swing_mm)
    limit = work.handler.tip_speed_mm_per_s or TIP_SPEED_MM_PER_S
    most = ram_speed_for_tip_mm_per_s(limit, along, reach_mm=swing_mm) or own
    if own <= most * (1 + NOISE_SHARE):
        return RamSpeed(own, own * factor)
    slow = min(own, down_to_step(most, work.machine.speed_step_mm_per_s))
    kept = slow <= most * (1 + NOISE_SHARE)
    told = (note if kept else caution)(
        "tip-speed" if kept else "tip-speed-over",
        hit.place,
        tip_mm_per_s=math.ceil(own * factor - NOISE_SHARE),
        ram_mm_per_s=own,
        slow_mm_per_s=slow,
        slow_tip_mm_per_s=math.ceil(slow * factor - NOISE_SHARE),
        limit_mm_per_s=limit,
        reach_mm=swing_mm,
    )
    return RamSpeed(slow, slow * factor, (told,))


def rising_findings(hit: PlannedHit) -> tuple[Finding, ...]:
    """The caution for a leg in front that comes up past the face of who stands there, whatever its speed."""
    reach_mm = max(across for across, _ in hit.step.before.outline_mm)
    if hit.is_second or reach_mm <= LONG_LEG_MM:
        return ()
    return (caution("rising-leg", hit.place, over_mm=LONG_LEG_MM),)


def down_to_step(speed_mm_per_s: float, step_mm_per_s: float) -> float:
    """A speed rounded down to whole steps, one step at least; rounding noise does not cost a step.

    Written with no more figures than the steps have, so that 43 steps of 0.1 are 4.3.
    """
    steps = max(1, math.floor(speed_mm_per_s / step_mm_per_s + NOISE_SHARE))
    return round(steps * step_mm_per_s, 9)


def slow_from_mm(hit: PlannedHit, work: Work, *, open_height_mm: float) -> float:
    """Height of the nose over the die's top from where the ram goes slow: over the sheet that lies on the die.

    A pre-bent hem stands up between the plates by an amount not known here: the whole way down is slow.
    """
    if hit.kind == "flatten":
        return open_height_mm
    return min(work.piece.thickness_mm + work.machine.change_over_mm, open_height_mm)


def stroke_findings(hit: PlannedHit, work: Work) -> tuple[Finding, ...]:
    """Whether the ram comes down far enough with these tools."""
    machine, pair = work.machine, hit.pair
    if pair.tools.punch is None or pair.tools.die is None or pair.depth_mm is None:
        return ()
    if machine.closes_on(pair.tools.punch.height_mm, pair.tools.die.height_mm, pair.depth_mm):
        return ()
    lacking_mm = machine.daylight_mm - machine.stroke_mm - (pair.tools.shut_height_mm - pair.depth_mm)
    values: dict[str, float | str] = {
        "stroke_mm": machine.stroke_mm,
        "lacking_mm": lacking_mm,
        "machine": machine.name,
    }
    return (refuse("stroke-too-short", hit.place, **values),)
