"""A job worked out as the sheet prints it: the records themselves, and what the pictures show of each hit."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from typing import TYPE_CHECKING

from flangewise import handling
from flangewise.bend import linear_tolerance_mm
from flangewise.clearance import Body, outline_of
from flangewise.drawing import svg
from flangewise.findings import place
from flangewise.geometry import Chain, Path, done_angles, section_path
from flangewise.jobs.finished import finished_profile, profile_of
from flangewise.jobs.job import Job
from flangewise.jobs.problem import chain_of, tool_stack
from flangewise.part import WantedBend
from flangewise.pattern import FlatPattern
from flangewise.sequence import SectionProblem, StrokeMoment, folded_section, stroke_moment
from flangewise.setup import Setup, SetupStep, angle_tolerance, leg_tolerances_mm, most_loaded, words_before
from flangewise.sheet import Attachment, Gripped, Measure, Profile, SheetData, SheetStep, Wording, step_picture
from flangewise.shop import Machine, thickness_tolerance_mm
from flangewise.words import phrase

if TYPE_CHECKING:
    from flangewise.handling import HeldAt

WIDTH_MM, HEIGHT_MM = 170.0, 120.0
"""Size of a step's picture in a file of its own."""
SHORT_LEG_MM = 15.0
"""Legs shorter than this are measured by eye-piece or worked out, not with a protractor (common practice)."""
FINGER_ERROR_MM = 0.05
"""Arcs of a stop finger are drawn out this finely."""
CALIPER = phrase("sheet.instrument.caliper")
DOWN, STROKE = 5, 20
"""Moments shown of the ram's way down to the sheet, and of the stroke after it."""
HEM_PRE_BEND_DEG = 150.0
"""What a hem is bent to before it is flattened, for its picture (common practice: 30 degrees included)."""


def printed(job: Job, attachments: tuple[Attachment, ...] = (), *, moving: bool = False) -> SheetData:
    """The sheet of a feasible job, with the moments of each stroke where they are to be shown `moving`.

    Raises ValueError for a job that has no plan: it gets no sheet.
    """
    setup, pattern, shop = job.setup, job.pattern, job.shop
    if setup is None or pattern is None or not job.feasible:
        raise ValueError(f"{job.part.name} has no plan")
    run = None
    if job.handler.kind == "robot":
        from flangewise.jobs.cell import cell_plan

        run = cell_plan(job)
    return SheetData(
        part=job.part,
        material=job.material,
        thickness_tolerance_mm=thickness_tolerance_mm(shop.tolerances, job.material.product, job.part.thickness_mm),
        pattern=pattern,
        setup=setup,
        machine=job.machine,
        handler=job.handler,
        steps=tuple(_steps(job, setup, moving=moving)),
        finished=finished_profile(pattern),
        loads=most_loaded(setup.steps, job.machine, concentrated_share=shop.defaults.concentrated_share),
        measures=(*_angles(job, setup), *_legs(job)),
        findings=job.findings,
        attachments=attachments,
        run=run,
    )


def step_pictures(job: Job, *, units: str = "mm") -> Iterator[tuple[int, str]]:
    """Number and SVG text of every step, seen from the left end of the machine; nothing for a job without a plan."""
    wording = Wording(job.machine, units=units)
    for step in printed(job).steps if job.setup is not None and job.feasible else ():
        yield step.keyed.step, svg(step_picture(step, wording, width_mm=WIDTH_MM, height_mm=HEIGHT_MM), standalone=True)


def _steps(job: Job, setup: Setup, *, moving: bool) -> Iterator[SheetStep]:
    """All hits in order, each with how the part lies and where the tools stand."""
    assert job.pattern is not None and job.ordered is not None
    zones, held = job.pattern.zones, {each.step: each for each in job.grips}
    for before, step in zip((None, *setup.steps), setup.steps, strict=False):
        ordered, last = step.planned.of_section, before.planned.of_section if before is not None else None
        formed = frozenset(index for index, zone in enumerate(zones) if ordered.done >> zone.bend - 1 & 1)
        laid, after = profiles(job.pattern, step, formed)
        yield SheetStep(
            keyed=step,
            zones=tuple(zone for zone in zones if zone.bend in step.bends),
            done=tuple(zones[index].label for index in sorted(formed)),
            start_at="backgauge" if ordered.behind == "start" else "operator",
            before=laid,
            after=after,
            bodies=tuple(_bodies(step, job.machine)),
            moves=words_before(step, before),
            new_load=last is None or (last.marked_up, last.behind) != (ordered.marked_up, ordered.behind),
            moments=tuple(_moments(job.ordered.problem, step)) if moving else (),
            gripped=_gripped(held[step.step], step) if step.step in held else None,
        )


def _gripped(held: HeldAt, step: SetupStep) -> Gripped | None:
    """Where a gripper holds at a hit; None by hand."""
    grip, at_mm = held.grip, held.on_blank_mm
    if not isinstance(grip, handling.Grip) or at_mm is None:
        return None
    upper = grip.marked == (step.marked_face == "up")
    return Gripped(grip.kind, grip.flat, grip.at_mm, at_mm[1], grip.toward_end, upper)


def _moments(problem: SectionProblem, step: SetupStep) -> Iterator[StrokeMoment]:
    """The ram coming down from the opening on the part as it is laid on, then the stroke to its bottom."""
    ordered, hit = step.planned.of_section, int(step.planned.is_second)
    stroke = [stroke_moment(problem, ordered, share=past / STROKE, hit=hit) for past in range(STROKE + 1)]
    touch, opened_mm = stroke[0], step.ram.opening.open_height_mm
    for past in range(DOWN):
        yield replace(touch, nose_mm=opened_mm + past / DOWN * (touch.nose_mm - opened_mm))
    yield from stroke


def _bodies(step: SetupStep, machine: Machine) -> Iterator[Body]:
    """Tools and machine where they stand at the bottom of the stroke, and the stop finger."""
    for body in tool_stack(step.pair.tools, machine, turned=step.planned.mounting.turned).bodies:
        yield body.lowered(step.ram.depth_mm or 0.0) if body.with_ram else body
    if step.stops.x_mm is not None and step.stops.r_mm is not None:
        finger = machine.finger_outline_mm.shifted(-step.stops.x_mm, step.stops.r_mm).drawn_mm(FINGER_ERROR_MM)
        yield Body("finger", outline_of(finger), with_ram=False)


def _angles(job: Job, setup: Setup) -> Iterator[Measure]:
    """The angle of each bend; a hem is measured over its folded thickness, an offset by its step."""
    spreads = {bend: step.spread for step in setup.steps for bend in step.bends}
    legs = job.part.section.legs_mm
    for index, bend in enumerate(job.part.section.bends):
        if bend.kind == "bend":
            short, spread = min(legs[index : index + 2]) < SHORT_LEG_MM, spreads.get(bend.number)
            instrument = phrase("sheet.instrument.projector" if short else "sheet.instrument.protractor")
            where, allowed_deg = place("bend", bend.number), angle_tolerance(job.part, bend)
            expected_deg = spread.first_piece_deg if spread is not None else None
            yield Measure(where, 180.0 - bend.turn_deg, allowed_deg, "deg", instrument, expected_deg)
        else:
            yield over_layers(bend, job.part.thickness_mm)


def over_layers(bend: WantedBend, thickness_mm: float) -> Measure:
    """What is measured of a hem, over its layers, or of an offset, its step."""
    offset_mm, folded_mm = bend.offset_mm or 0.0, 2 * thickness_mm + (bend.gap_mm or 0.0)
    size_mm = offset_mm if bend.kind == "offset" else folded_mm
    what = phrase(f"sheet.measure.{bend.kind}", number=bend.number)
    return Measure(what, size_mm, linear_tolerance_mm(size_mm), "mm", CALIPER)


def _legs(job: Job) -> Iterator[Measure]:
    section = job.part.section
    errors = {each.leg: each.statistical_mm for each in job.sizes}
    allowed_mm = leg_tolerances_mm(job.part)
    for leg, size_mm in enumerate(section.legs_mm, start=1):
        what = phrase(f"sheet.measure.leg-{section.sizes}", number=leg)
        yield Measure(what, size_mm, allowed_mm[leg - 1], "mm", CALIPER, errors.get(leg), leg)


def profiles(pattern: FlatPattern, step: SetupStep, formed: frozenset[int]) -> tuple[Profile, Profile]:
    """Before the hit and after it, with the zones of `formed` bent before.

    Of a hem the order knows flat and folded only. Between its two hits it lies over the die at the end of the first,
    and on the lower plate before the second.
    """
    laid = step.planned.of_section
    before, after = profile_of(laid.before, pattern), profile_of(laid.after, pattern)
    if step.hit == "pre-bend":
        turn_deg = min(step.planned.finished_turn_deg, 179.0)
        return before, on_die(pattern, step, formed, turn_deg=turn_deg)
    if step.hit == "flatten":
        return on_plate(pattern, step, formed), after
    return before, after


def on_die(pattern: FlatPattern, step: SetupStep, formed: frozenset[int], *, turn_deg: float) -> Profile:
    """A part-bent section with the bend over the die's centre, its legs rising alike, the nose as deep as it goes."""
    chain, zone = chain_of(pattern), _zone(pattern, step)
    level = _pre_bent(chain, zone, step, formed, turn_deg=turn_deg).levelled(2 * zone + 1)
    bend = level.points_mm[level.spans == 2 * zone + 1]
    nose_mm = float(bend[:, 1].min()) + chain.thickness_mm / 2 + (step.ram.depth_mm or 0.0)
    middle_mm = (bend[0, 0] + bend[-1, 0]) / 2
    placed = level.placed(rotate_deg=0.0, to_mm=(-middle_mm, -nose_mm))
    return profile_of(folded_section(placed, chain, start_behind=_start_behind(step)), pattern)


def on_plate(pattern: FlatPattern, step: SetupStep, formed: frozenset[int]) -> Profile:
    """A pre-bent section lying with the longer side level on the flattener's lower plate, the bend at the middle."""
    chain, zone = chain_of(pattern), _zone(pattern, step)
    path = _pre_bent(chain, zone, step, formed, turn_deg=HEM_PRE_BEND_DEG)
    body = zone if chain.flats_mm[zone + 1] <= chain.flats_mm[zone] else zone + 1
    is_rear = (body == zone) == _start_behind(step)
    level = path.levelled(2 * body, by_last=is_rear, to_mm=(0.0, chain.thickness_mm / 2))
    return profile_of(folded_section(level, chain, start_behind=_start_behind(step)), pattern)


def _pre_bent(chain: Chain, zone: int, step: SetupStep, formed: frozenset[int], *, turn_deg: float) -> Path:
    """The section with a hem's zone part of the way, seen from the left end; not yet placed.

    The turn is a magnitude; the rest of the zone stays flat on both sides of it.
    """
    angles = list(done_angles(chain, formed - {zone}))
    angles[zone] = math.copysign(turn_deg, chain.turns_deg[zone])
    return section_path(chain, angles).seen(marked_up=step.planned.step.marked_up, start_behind=_start_behind(step))


def _start_behind(step: SetupStep) -> bool:
    return step.planned.of_section.behind == "start"


def _zone(pattern: FlatPattern, step: SetupStep) -> int:
    return next(index for index, each in enumerate(pattern.zones) if each.bend in step.bends)
