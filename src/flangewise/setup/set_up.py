"""The order of bends turned into what the setter keys in, hit by hit, and what the scatter asks of the first piece."""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from itertools import chain

from flangewise.bend import FULL_FOLD_DEG
from flangewise.findings import Finding, caution, place, sorted_findings
from flangewise.punch_die import expected_spread, place_stations
from flangewise.sequence import Step
from flangewise.setup.limits import segment_findings
from flangewise.setup.ram import crowned, open_height, ram_speed, rising_findings, slow_from_mm, stroke_findings
from flangewise.setup.seconds import cycle_s, hit_s, hit_times, moves_before, set_up_s
from flangewise.setup.step import RamSettings, Setup, SetupStep
from flangewise.setup.support import fingers, hold_findings, support_findings
from flangewise.setup.work import PlannedHit, Work, WorkCentre, Workpiece
from flangewise.words import Phrase, phrase


def set_up(hits: Sequence[PlannedHit], piece: Workpiece, centre: WorkCentre, *, loose_s: float = 0.0) -> Setup:
    """The set-up of a part for its hits in their order; `loose_s` is the price of legs that gauging does not hold."""
    stations = place_stations(
        [hit.mounting for hit in hits],
        machine=centre.machine,
        length_mm=piece.length_mm,
        short_mm=centre.short_mm,
        gap_mm=centre.gap_mm,
    )
    work = Work(piece, centre, stations)
    made = [_step(hit, before, work) for before, hit in zip((None, *hits), hits, strict=False)]
    steps = tuple(step for step, _ in made)
    return Setup(
        steps=steps,
        stations=stations,
        regrips=None if centre.handler.kind == "robot" else 0,
        cycle_s=cycle_s([step.seconds_s for step in steps], centre.handler),
        set_up_s=set_up_s([step.station for step in steps], centre.machine),
        quantity=centre.quantity,
        loose_s=loose_s,
        findings=sorted_findings(told_once(chain.from_iterable(told for _, told in made))),
    )


def _step(hit: PlannedHit, before: PlannedHit | None, work: Work) -> tuple[SetupStep, tuple[Finding, ...]]:
    station = work.station_of(hit.mounting)
    came_from = work.station_of(before.mounting) if before is not None else None
    moves = moves_before(None if hit.is_second else hit.of_section, station, came_from)
    part_from_mm = station.centre_mm - work.piece.length_mm / 2
    stops, fingers_told = fingers(hit, work, part_from_mm=part_from_mm)
    ram = _ram(hit, work, part_from_mm=part_from_mm)
    gauged, per_m = hit.of_section.gauged, hit.pair.limit_force_kn_per_m
    step = SetupStep(
        planned=hit,
        moves=moves,
        station=station,
        part_from_mm=part_from_mm,
        gauged_bend=work.piece.bend_of(gauged.zone) if gauged is not None else None,
        stops=stops,
        ram=ram,
        force_kn=None if per_m is None else per_m * work.piece.length_mm / 1000,
        seconds_s=hit_s(hit, before, work, moves=moves, stroke_s=stroke_s(hit, work)),
        spread=expected_spread(
            hit.pair, tolerance_mm=work.piece.tolerance_mm, depth_repeat_mm=work.machine.depth_repeat_mm
        ),
    )
    told = (
        *segment_findings(station, hit, work),
        *ram.opening.findings,
        *fingers_told,
        *ram.speed.findings,
        *rising_findings(hit),
        *ram.bow.told(hit),
        *support_findings(hit, work),
        *hold_findings(hit),
        *stroke_findings(hit, work),
    )
    return step, told


def _ram(hit: PlannedHit, work: Work, *, part_from_mm: float) -> RamSettings:
    return ram_settings(
        hit, work, from_mm=part_from_mm, length_mm=work.piece.length_mm, piece=_piece(hit.of_section, work)
    )


def ram_settings(
    hit: PlannedHit, work: Work, *, from_mm: float, length_mm: float, piece: Phrase | None = None
) -> RamSettings:
    """What the ram is set to for a hit that loads the bed from `from_mm` on; `piece` decides the opening."""
    loaded_deg = hit.pair.loaded_turn_deg
    opening = open_height(hit, work, piece=piece)
    return RamSettings(
        depth_mm=hit.pair.depth_mm,
        bend_to_deg=None if loaded_deg is None else FULL_FOLD_DEG - loaded_deg,
        opening=opening,
        slow_from_mm=slow_from_mm(hit, work, open_height_mm=opening.open_height_mm),
        speed=ram_speed(hit, work),
        bow=crowned(hit.pair, machine=work.machine, from_mm=from_mm, length_mm=length_mm),
    )


def stroke_s(hit: PlannedHit, work: Work) -> float:
    """Seconds of a hit's stroke, for the opening the part needs and how far it reaches."""
    step = hit.step
    sheet_mm, reach_mm = work.piece.thickness_mm, step.reach_mm
    (time,) = hit_times([hit.pair], work.machine, work.handler, sheet_mm=sheet_mm, reach_mm=reach_mm)
    front_mm = step.hold.front_mm if step.hold is not None else step.reach_mm
    return time.stroke_s(step.least_opening_mm, step.reach_mm, front_mm)


def _piece(step: Step, work: Work) -> Phrase | None:
    """The leg or bend that decides the opening, as a place."""
    if step.opening_piece is None:
        return None
    number, is_zone = divmod(step.opening_piece, 2)
    return place("bend", work.piece.bend_of(number) or 0) if is_zone else place("leg", number + 1)


def near_findings(setup: Setup, *, least_mm: float) -> tuple[Finding, ...]:
    """A caution for each step whose least clearance to what it is not meant to touch reads less than the shop's.

    What is written alike, to hundredths of a mm, is not nearer: nobody could do anything with "1 mm, nearer than 1 mm".
    """
    cleared = ((step.planned.place, step.planned.step.clearance_mm) for step in setup.steps)
    near = ((where, mm) for where, mm in cleared if mm is not None and round(mm, 2) < least_mm)
    return tuple(caution("near-miss", where, clearance_mm=mm, least_mm=least_mm) for where, mm in near)


def first_piece(steps: Sequence[SetupStep]) -> tuple[Phrase, ...]:
    """What to expect of the first piece and what helps, by the step over its tolerance that scatters most, if any."""
    wide = [
        (step.spread, step.planned.tolerance_deg)
        for step in steps
        if step.spread is not None
        and step.planned.tolerance_deg is not None
        and step.spread.first_piece_deg > step.planned.tolerance_deg
    ]
    if not wide:
        return ()
    spread, tolerance_deg = max(wide, key=lambda each: each[0].first_piece_deg)
    expect = phrase("first-piece.expect", spread_deg=spread.first_piece_deg, tolerance_deg=tolerance_deg)
    narrower = {"measured_deg": spread.thickness_measured_deg, "corrected_deg": spread.after_one_deg}
    return expect, phrase("first-piece.helps", cause=phrase(f"cause.{spread.cause}"), **narrower)


def told_once(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Findings of which each sentence stands once: steps that get the very same caution are named together in it."""
    together: dict[Finding, list[Finding]] = {}
    for finding in findings:
        together.setdefault(replace(finding, where=None), []).append(finding)
    found = []
    for bare, alike in together.items():
        steps = [str(dict(each.where.values)["number"]) for each in alike if each.where is not None]
        found.append(alike[0] if len(alike) == 1 else replace(bare, where=place("step", ", ".join(steps))))
    return tuple(found)
