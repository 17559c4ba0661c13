"""A job worked out as the sheet prints it: the records themselves, and what the pictures show of each hit."""

from collections.abc import Iterator

from flangewise.bend import linear_tolerance_mm
from flangewise.clearance import Body, outline_of
from flangewise.findings import place
from flangewise.jobs.job import Job
from flangewise.jobs.poses import finished_profile, profiles
from flangewise.jobs.problem import tool_stack
from flangewise.part import WantedBend
from flangewise.setup import Setup, SetupStep, angle_tolerance, leg_tolerances_mm, most_loaded, words_before
from flangewise.sheet import Attachment, Measure, SheetData, SheetStep
from flangewise.shop import Machine, thickness_tolerance_mm
from flangewise.words import phrase

SHORT_LEG_MM = 15.0
"""Legs shorter than this are measured by eye-piece or worked out, not with a protractor (common practice)."""
FINGER_ERROR_MM = 0.05
"""Arcs of a stop finger are drawn out this finely."""


def printed(job: Job, attachments: tuple[Attachment, ...] = ()) -> SheetData:
    """The sheet of a feasible job. Raises ValueError for one that has no plan: it gets no sheet."""
    setup, pattern, shop = job.setup, job.pattern, job.shop
    if setup is None or pattern is None or not job.feasible:
        raise ValueError(f"{job.part.name} has no plan")
    return SheetData(
        part=job.part,
        material=job.material,
        thickness_tolerance_mm=thickness_tolerance_mm(shop.tolerances, job.material.product, job.part.thickness_mm),
        pattern=pattern,
        setup=setup,
        machine=job.machine,
        handler=job.handler,
        steps=tuple(_steps(job, setup)),
        finished=finished_profile(pattern),
        loads=most_loaded(setup.steps, job.machine, concentrated_share=shop.defaults.concentrated_share),
        measures=(*_angles(job, setup), *_legs(job)),
        findings=job.findings,
        attachments=attachments,
    )


def _steps(job: Job, setup: Setup) -> Iterator[SheetStep]:
    """All hits in order, each with how the part lies and where the tools stand."""
    assert job.pattern is not None
    zones = job.pattern.zones
    for before, step in zip((None, *setup.steps), setup.steps, strict=False):
        ordered, last = step.planned.step, before.planned.step if before is not None else None
        formed = frozenset(index for index, zone in enumerate(zones) if ordered.done >> zone.bend - 1 & 1)
        laid, after_mm = profiles(job.pattern, step, formed)
        yield SheetStep(
            keyed=step,
            zones=tuple(zone for zone in zones if zone.bend in step.bends),
            done=tuple(zones[index].label for index in sorted(formed)),
            start_at="backgauge" if ordered.behind == "start" else "operator",
            before=laid,
            after_mm=after_mm,
            bodies=tuple(_bodies(step, job.machine)),
            moves=words_before(step, before),
            new_load=last is None or (last.marked_up, last.behind) != (ordered.marked_up, ordered.behind),
        )


def _bodies(step: SetupStep, machine: Machine) -> Iterator[Body]:
    """Tools and machine where they stand at the bottom of the stroke, and the stop finger."""
    for body in tool_stack(step.pair, machine, turned=step.planned.mounting.turned).bodies:
        yield body.lowered(step.ram.depth_mm or 0.0) if body.with_ram else body
    if step.stops.x_mm is not None and step.stops.r_mm is not None:
        finger = machine.finger_outline_mm.shifted(-step.stops.x_mm, step.stops.r_mm).drawn_mm(FINGER_ERROR_MM)
        yield Body("finger", outline_of(finger), with_ram=False)


def _angles(job: Job, setup: Setup) -> Iterator[Measure]:
    spreads = {bend: step.spread for step in setup.steps for bend in step.bends}
    legs = job.part.section.legs_mm
    for index, bend in enumerate(job.part.section.bends):
        if bend.kind == "bend":
            short, spread = min(legs[index], legs[index + 1]) < SHORT_LEG_MM, spreads.get(bend.number)
            yield Measure(
                what=place("bend", bend.number),
                nominal=180.0 - bend.turn_deg,
                allowed=angle_tolerance(job.part, bend),
                unit="deg",
                instrument=phrase("sheet.instrument.projector" if short else "sheet.instrument.protractor"),
                expected=spread.first_piece_deg if spread is not None else None,
            )
        else:
            yield _height(job, bend)


def _height(job: Job, bend: WantedBend) -> Measure:
    """A hem is measured over its folded thickness, an offset by its step."""
    offset = bend.kind == "offset"
    size_mm = (bend.offset_mm or 0.0) if offset else 2 * job.part.thickness_mm + (bend.gap_mm or 0.0)
    return Measure(
        what=phrase(f"sheet.measure.{bend.kind}", number=bend.number),
        nominal=size_mm,
        allowed=linear_tolerance_mm(size_mm),
        unit="mm",
        instrument=phrase("sheet.instrument.caliper"),
    )


def _legs(job: Job) -> Iterator[Measure]:
    section = job.part.section
    errors = {each.leg: each.statistical_mm for each in job.sizes}
    for index, (size_mm, allowed_mm) in enumerate(zip(section.legs_mm, leg_tolerances_mm(job.part), strict=True)):
        yield Measure(
            what=phrase(f"sheet.measure.leg-{section.sizes}", number=index + 1),
            nominal=size_mm,
            allowed=allowed_mm,
            unit="mm",
            instrument=phrase("sheet.instrument.caliper"),
            expected=errors.get(index + 1),
            leg=index + 1,
        )
