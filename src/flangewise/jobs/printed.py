"""A job worked out as the sheet prints it: every result put where the sheet wants it, nothing worked out anew."""

from __future__ import annotations

from collections.abc import Iterator

from flangewise.bend import linear_tolerance_mm
from flangewise.findings import place
from flangewise.jobs.hits import leg_tolerances_mm, tolerance_deg
from flangewise.jobs.one import Job
from flangewise.jobs.poses import finished_pose
from flangewise.jobs.printed_loads import loads
from flangewise.jobs.printed_steps import Key, printed_steps, tool_key
from flangewise.jobs.problem import chain_of
from flangewise.jobs.stacks import has_two_ways
from flangewise.part import WantedBend
from flangewise.pattern import FlatPattern
from flangewise.punch_die import PunchDie, Station
from flangewise.setup import Setup, first_piece
from flangewise.sheet import (
    Attachment,
    BendLine,
    Blank,
    Finish,
    Hole,
    MaterialCheck,
    Measure,
    Resolution,
    SheetData,
    Tools,
)
from flangewise.sheet import Job as Head
from flangewise.sheet import Station as PrintedStation
from flangewise.shop import thickness_tolerance_mm
from flangewise.words import phrase

HIGH_TENSILE_MPA = 600.0
THICK_MM = 6.0
"""A sheet harder or thicker than these may crack over a sharp punch, and pieces fly (common practice)."""
SHORT_LEG_MM = 15.0
"""Legs shorter than this are measured by eye-piece or worked out, not with a protractor (common practice)."""


def printed(job: Job, attachments: tuple[Attachment, ...] = ()) -> SheetData:
    """The sheet of a feasible job. Raises ValueError for one that has no plan: it gets no sheet."""
    setup, pattern = job.setup, job.pattern
    if setup is None or pattern is None or not job.feasible:
        raise ValueError(f"{job.part.name} has no plan")
    return SheetData(
        job=_head(job),
        material=_material(job),
        blank=_blank(pattern),
        tools=tuple(_tools(job, setup)),
        steps=printed_steps(job, setup),
        loads=loads(job, setup),
        measures=(*_angles(job, setup), *_legs(job)),
        finish=_finish(job, pattern),
        findings=job.findings,
        resolution=resolution(job),
        bed_length_mm=job.machine.bed_length_mm,
        handler_kind=job.handler.kind,
        high_tensile=job.material.tensile_mpa >= HIGH_TENSILE_MPA or job.part.thickness_mm >= THICK_MM,
        cycle_s=setup.cycle_s,
        first_piece=first_piece(setup.steps),
        attachments=attachments,
    )


def resolution(job: Job) -> Resolution:
    """The steps the machine can be set in."""
    machine = job.machine
    return Resolution(
        stop_mm=machine.stop_step_mm,
        depth_mm=machine.depth_step_mm,
        angle_deg=machine.angle_step_deg,
        opening_mm=machine.opening_step_mm,
        speed_mm_per_s=machine.speed_step_mm_per_s,
    )


def _head(job: Job) -> Head:
    part = job.part
    return Head(
        part=part.name,
        title=part.title,
        revision=part.revision,
        drawing=part.drawing,
        job=part.job,
        due=part.due,
        quantity=part.quantity,
        spares=part.spares,
        machine=job.machine.name,
        handler=job.handler.name,
        notes=part.notes,
    )


def _material(job: Job) -> MaterialCheck:
    part, material = job.part, job.material
    return MaterialCheck(
        name=material.name,
        thickness_mm=part.thickness_mm,
        thickness_tolerance_mm=thickness_tolerance_mm(job.shop.tolerances, material.product, part.thickness_mm),
        tensile_mpa=material.tensile_mpa,
        yield_mpa=material.yield_mpa,
        source=material.standard,
        family=material.family,
        grain=part.grain,
        good_face=part.good_face,
        burr=part.burr,
        film=part.film,
        measured_thickness_mm=part.measured_thickness_mm,
    )


def _blank(pattern: FlatPattern) -> Blank:
    holes = tuple(
        Hole(each.number, each.face, each.centre_mm, each.diameter_mm, each.size_mm) for each in pattern.holes
    )
    lines = tuple(
        BendLine(
            label=zone.label,
            bend=zone.bend,
            line_mm=zone.line_mm[0][1],
            zone_mm=(zone.line_mm[0][1] - zone.width_mm / 2, zone.line_mm[0][1] + zone.width_mm / 2),
            turn_deg=zone.turn_deg,
            toward=zone.toward,
            inside_radius_mm=zone.inside_radius_mm,
            allowance_mm=zone.allowance_mm,
            deduction_mm=zone.deduction_mm,
            allowance_from=phrase("sheet.named", words=zone.allowance_from),
        )
        for zone in pattern.zones
    )
    return Blank(pattern.along_bends_mm, pattern.developed_mm, pattern.mass_kg, holes, lines)


def _tools(job: Job, setup: Setup) -> Iterator[Tools]:
    """Each pair once, in the order of use, with every station where it stands."""
    pairs: dict[Key, tuple[PunchDie, list[Station]]] = {}
    for step in setup.steps:
        stations = pairs.setdefault(tool_key(step), (step.pair, []))[1]
        stations += [station for station in step.stations if station not in stations]
    for (_, _, turned), (pair, stations) in pairs.items():
        yield _pair(pair, stations, turned=turned)


def _pair(pair: PunchDie, stations: list[Station], *, turned: bool) -> Tools:
    punch, die = pair.punch, pair.die
    assert punch is not None and die is not None
    vee = pair.opening_mm is not None
    return Tools(
        punch=punch.name,
        die=die.name,
        punch_turned=turned,
        nose_radius_mm=pair.nose_radius_mm,
        punch_included_deg=punch.included_deg if vee else None,
        punch_height_mm=punch.height_mm,
        punch_load_kn_per_m=punch.load_kn_per_m,
        named_opening_mm=pair.named_opening_mm,
        opening_mm=pair.opening_mm,
        shoulder_radius_mm=pair.shoulder_radius_mm,
        die_included_deg=die.included_deg if vee else None,
        die_height_mm=die.height_mm,
        die_load_kn_per_m=die.load_kn_per_m,
        stations=tuple(_station(station) for station in stations),
        neck=vee and has_two_ways(pair),
    )


def _station(station: Station) -> PrintedStation:
    return PrintedStation(
        station.from_mm,
        station.to_mm,
        tuple(segment.length_mm for segment in station.segments),
        tuple(segment.length_mm for segment in station.die_segments),
        station.set_up,
    )


def _angles(job: Job, setup: Setup) -> Iterator[Measure]:
    spreads = {bend: step.spread_deg for step in setup.steps for bend in step.bends}
    legs = job.part.section.legs_mm
    for index, bend in enumerate(job.part.section.bends):
        if bend.kind == "bend":
            short = min(legs[index], legs[index + 1]) < SHORT_LEG_MM
            yield Measure(
                what=place("bend", bend.number),
                nominal=180.0 - bend.turn_deg,
                allowed=tolerance_deg(job.part, bend),
                unit="deg",
                instrument=phrase("sheet.instrument.projector" if short else "sheet.instrument.protractor"),
                expected=spreads.get(bend.number),
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


def _finish(job: Job, pattern: FlatPattern) -> Finish:
    section = job.part.section
    angles = tuple((zone.label, 180.0 - zone.turn_deg) for zone in pattern.zones)
    return Finish(finished_pose(chain_of(pattern)), _drawn_sizes(job, pattern), section.sizes == "inside", angles)


def _drawn_sizes(job: Job, pattern: FlatPattern) -> tuple[float | None, ...]:
    """A size for every flat of the section: the legs, and the step on the web of an offset that stands square."""
    legs, bends = iter(job.part.section.legs_mm), {bend.number: bend for bend in job.part.section.bends}
    found: list[float | None] = [next(legs)]
    for zone in pattern.zones:
        if zone.label.endswith("a"):
            found.append(bends[zone.bend].offset_mm if zone.turn_deg == 90.0 else None)
        else:
            found.append(next(legs))
    return tuple(found)
