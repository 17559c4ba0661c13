"""The numbers of a plan edited by hand: taken where they differ from the computed ones, told, and within reach."""

import math
from collections.abc import Collection, Iterator, Mapping, Sequence
from itertools import pairwise
from typing import Any

from flangewise.findings import Finding, caution, note, place, refuse
from flangewise.jobs.job import Job
from flangewise.records import dataclass, replace
from flangewise.replay import PlanStep
from flangewise.setup import TILTS, Instruction, Setup, SetupStep, handled, side_exit
from flangewise.shop import Machine
from flangewise.words import Phrase, phrase

# Less than this is rounding on the way through the file, and no hand's work: mm, degrees, mm/s.
SAME = {"mm": 0.005, "deg": 0.05, "mm_per_s": 0.05}
# The numbers that may be set by hand: each by its key in the plan, the unit it is told in, and the sheet's word for it.
NUMBERS = {
    "x_mm": ("mm", "sheet.step.x"),
    "r_mm": ("mm", "sheet.step.r"),
    "z_mm": ("mm", "sheet.step.z"),
    "retract_mm": ("mm", "sheet.step.retract"),
    "depth_mm": ("mm", "sheet.step.depth"),
    "bend_to_deg": ("deg", "sheet.step.bend-to"),
    "open_height_mm": ("mm", "sheet.step.open"),
    "slow_from_mm": ("mm", "sheet.step.slow"),
    "ram_speed_mm_per_s": ("mm_per_s", "sheet.step.speed"),
    "crowning_mm": ("mm", "sheet.step.crowning"),
}
Value = float | tuple[float, ...] | None


@dataclass(frozen=True)
class Within:
    """What numbers by hand must keep to: the machine, the sheet's thickness, and how long the part is along the bed."""

    machine: Machine
    thickness_mm: float
    part_mm: float = math.inf


def with_numbers(job: Job, setup: Setup, steps: Sequence[PlanStep]) -> tuple[Setup, tuple[Finding, ...]]:
    """The set-up with the numbers and the turns of the part that a plan has by hand: a note for each.

    One that the machine cannot be set to, or that leaves the part, is a refusal: the replay does not look at that. What
    the plan leaves open stays as it is computed; seconds stay those of the computed step.
    """
    within = Within(job.machine, job.part.thickness_mm, job.part.section.length_mm)
    made: list[SetupStep] = []
    told: list[Finding] = []
    for own, step in zip(setup.steps, steps, strict=True):
        taken, found = step_with_numbers(own, step.numbers, within)
        fresh = replace(taken, moves=_moves(own, step))
        told += found
        if fresh.moves != own.moves:
            told.append(note("by-hand-moves", place("step", own.step)))
        made.append(fresh)
    return replace(setup, steps=tuple(made)), tuple(told)


def step_with_numbers(own: SetupStep, numbers: Mapping[str, Value], within: Within) -> tuple[SetupStep, list[Finding]]:
    """A step with the numbers by hand that differ from its own, by their key in the plan; and what is to be told."""
    told: list[Finding] = []
    changed = {key: value for key in NUMBERS if _differs(key, value := numbers[key], _own(own, key))}
    fresh = _set(own, changed)
    for key, value in changed.items():
        unit, word = NUMBERS[key]
        values: dict[str, Value | Phrase] = {f"told_{unit}": value, f"computed_{unit}": _own(own, key)}
        told.append(note(f"by-hand-{unit.replace('_', '-')}", place("step", own.step), what=Phrase(word), **values))
    speed = fresh.ram.speed
    if speed.ram_speed_mm_per_s > own.ram.speed.ram_speed_mm_per_s < within.machine.bend_mm_per_s:
        told.append(caution("by-hand-tip", place("step", own.step), tip_mm_per_s=speed.tip_speed_mm_per_s))
    return fresh, [*told, *_out_of_reach(fresh, changed, within)]


def _records(step: SetupStep) -> tuple[Any, ...]:
    """The records of a step that hold a number that may be set by hand."""
    return step.stops, step.ram, step.ram.opening, step.ram.speed, step.ram.bow


def _own(step: SetupStep, key: str) -> Value:
    found: Value = next(getattr(record, key) for record in _records(step) if hasattr(record, key))
    return found


def _differs(key: str, told: Value, own: Value) -> bool:
    if told is None:
        return False
    if isinstance(told, tuple):
        if not isinstance(own, tuple) or len(told) != len(own):
            return True
        return any(_differs(key, one, other) for one, other in zip(told, own, strict=True))
    return not isinstance(own, (int, float)) or abs(told - own) > SAME[NUMBERS[key][0]]


def _set(own: SetupStep, changed: dict[str, Value]) -> SetupStep:
    """The step with its numbers set, and what follows: why the ram opens so far, how fast the leg in front comes up."""
    stops, ram, opening, speed, bow = (
        replace(record, **{key: value for key, value in changed.items() if hasattr(record, key)})
        for record in _records(own)
    )
    if "open_height_mm" in changed:
        opening = replace(opening, reason=phrase("by-hand.opening"))
    before = own.ram.speed
    if before.tip_speed_mm_per_s is not None and "ram_speed_mm_per_s" in changed:
        share = speed.ram_speed_mm_per_s / before.ram_speed_mm_per_s
        speed = replace(speed, tip_speed_mm_per_s=before.tip_speed_mm_per_s * share)
    return replace(own, stops=stops, ram=replace(ram, opening=opening, speed=speed, bow=bow))


def _moves(own: SetupStep, step: PlanStep) -> tuple[Instruction, ...]:
    """The moves before a hit with the turns of the part as the plan has them; tools and stations stay computed."""
    turns = [turn for move, axis in step.moves for turn in _turn(move, axis)]
    out = (side_exit(),) if any(move == "side-exit" for move, _ in step.moves) else ()
    tools, shifts = ([move for move in own.moves if move.move == kind] for kind in ("tool-change", "shift"))
    kept = {move for move, _ in step.moves if move in TILTS}
    return (*tools, *turns, *shifts, *out, *(move for move in own.moves if move.move in kept))


def _turn(move: str, axis: str) -> Iterator[Instruction]:
    """A turn of the part as the replay reads it; nothing for a move that turns nothing."""
    if move in ("turn", "turn-in-plane"):
        yield handled("turn-in-plane", None)
    elif move in ("turn-over", "turn-over-bed", "turn-over-front"):
        over_front = move == "turn-over-front" or (move == "turn-over" and axis.startswith("front"))
        yield handled("turn-over", "front to back" if over_front else "the bed")


def _out_of_reach(step: SetupStep, changed: Collection[str], within: Within) -> Iterator[Finding]:
    where = place("step", step.step)
    for key, value, least, most in _reach(step, within):
        if key in changed and not least - SAME["mm"] <= value <= most + SAME["mm"]:
            unit, word = NUMBERS[key]
            values = {f"told_{unit}": value, f"least_{unit}": least, f"most_{unit}": most}
            code = "by-hand-speed-reach" if unit == "mm_per_s" else "by-hand-reach"
            yield refuse(code, where, what=Phrase(word), **values)
    if "z_mm" in changed:
        if len(step.stops.z_mm) > within.machine.fingers:
            yield refuse("by-hand-fingers", where, fingers=within.machine.fingers)
        for one, other in pairwise(sorted(step.stops.z_mm)):
            if other - one < within.machine.least_finger_spacing_mm - SAME["mm"]:
                values = {"told_mm": other - one, "least_mm": within.machine.least_finger_spacing_mm}
                yield refuse("by-hand-spacing", where, **values)


def _reach(step: SetupStep, within: Within) -> Iterator[tuple[str, float, float, float]]:
    """Each number with the least and the most it may be."""
    stops, ram, pair, machine = step.stops, step.ram, step.pair.tools, within.machine
    opening_mm = ram.opening.open_height_mm
    if stops.x_mm is not None:
        yield "x_mm", stops.x_mm, *machine.stop_x_mm
        yield "retract_mm", stops.retract_mm, 0.0, machine.stop_x_mm[1] - stops.x_mm
    if stops.r_mm is not None:
        yield "r_mm", stops.r_mm, *machine.stop_r_mm
    part_from_mm = step.part_from_mm if math.isfinite(within.part_mm) else -math.inf
    part_to_mm = step.part_from_mm + within.part_mm
    for z_mm in stops.z_mm:
        least_mm, most_mm = machine.stop_z_mm
        yield "z_mm", z_mm, max(least_mm, part_from_mm), min(most_mm, part_to_mm)
    heights = [tool.height_mm if tool is not None else 0.0 for tool in (pair.punch, pair.die)]
    most_mm = machine.most_opening_mm(*heights)
    yield "open_height_mm", opening_mm, within.thickness_mm, most_mm
    yield "slow_from_mm", ram.slow_from_mm, 0.0, opening_mm
    if ram.depth_mm is not None:
        yield "depth_mm", ram.depth_mm, -opening_mm, sum(heights) - machine.daylight_mm + machine.stroke_mm
    yield "ram_speed_mm_per_s", ram.speed.ram_speed_mm_per_s, SAME["mm_per_s"], machine.bend_mm_per_s
    if ram.bow.crowning_mm is not None:
        yield "crowning_mm", ram.bow.crowning_mm, 0.0, machine.crowning_most_mm
