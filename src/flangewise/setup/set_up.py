"""The order of bends turned into what the setter keys in, hit by hit."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import chain

from flangewise.findings import Finding, place, sorted_findings
from flangewise.punch_die import Mounting, PunchDie, Station, expected_spread, place_stations
from flangewise.sequence import Step
from flangewise.setup.crowning import Crowned, crowned
from flangewise.setup.hit import Hit, Work
from flangewise.setup.moves import moves_before
from flangewise.setup.opening import OpenHeight, open_height
from flangewise.setup.ram import RamSpeed, ram_speed, rising_findings, slow_from_mm, stroke_findings
from flangewise.setup.scatter import told_once
from flangewise.setup.seconds import cycle_s, hit_s, hit_time, set_up_s
from flangewise.setup.segments import segment_findings
from flangewise.setup.step import Chosen, Move, Setup, SetupStep
from flangewise.setup.stops import Fingers, fingers
from flangewise.setup.support import hold_findings, support_findings
from flangewise.shop import Handler, Machine
from flangewise.words import Phrase

FULL_FOLD_DEG = 180.0


def set_up(
    chosen: Sequence[Chosen],
    *,
    machine: Machine,
    handler: Handler,
    length_mm: float,
    thickness_mm: float,
    mass_kg: float = 0.0,
    tolerance_mm: float | None = None,
    zone_bends: Sequence[int] = (),
    short_mm: float = 0.0,
    gap_mm: float = 20.0,
    quantity: int = 1,
    loose_s: float = 0.0,
) -> Setup:
    """The set-up of a part `length_mm` along its bends that weighs `mass_kg`.

    `tolerance_mm` is the half width in which the sheet's thickness is delivered (None: no scatter is told),
    `zone_bends` the bend number of each zone of the section (left out: one zone a bend), `short_mm` how much shorter
    than the bend its tools may be, `gap_mm` what is kept between stations, `quantity` how many parts share the set-up.
    No steps give an empty set-up.
    """
    hits = tuple(_hits(chosen))
    stations = place_stations(
        [hit.mounting for hit in hits], machine=machine, length_mm=length_mm, short_mm=short_mm, gap_mm=gap_mm
    )
    work = Work(machine, handler, length_mm, thickness_mm, mass_kg, tolerance_mm, stations, tuple(zone_bends))
    made = [_step(hit, before, work) for before, hit in zip((None, *hits), hits, strict=False)]
    return _whole([step for step, _ in made], chain.from_iterable(told for _, told in made), work, quantity, loose_s)


def _whole(steps: Sequence[SetupStep], findings: Iterator[Finding], work: Work, quantity: int, loose_s: float) -> Setup:
    names = [move.move for step in steps for move in step.moves]
    return Setup(
        steps=tuple(steps),
        stations=work.stations,
        turn_overs=names.count("turn-over"),
        turns=names.count("turn-in-plane"),
        regrips=None if work.handler.kind == "robot" else 0,
        tool_changes=names.count("tool-change"),
        cycle_s=cycle_s([step.seconds_s for step in steps], work.handler),
        set_up_s=set_up_s([step.stations[0] for step in steps], work.machine),
        quantity=quantity,
        loose_s=loose_s,
        findings=sorted_findings(told_once(findings)),
    )


def _hits(chosen: Sequence[Chosen]) -> Iterator[Hit]:
    pairs = ((each, nth, pair) for each in chosen for nth, pair in enumerate(each.pairs))
    for number, (each, nth, pair) in enumerate(pairs, start=1):
        mounting = Mounting(pair, each.turned and (nth == 0 or pair.kind == "offset"))
        yield Hit(number, each, pair, mounting, is_second=nth > 0)


def _step(hit: Hit, before: Hit | None, work: Work) -> tuple[SetupStep, tuple[Finding, ...]]:
    """One hit and what is to be told of it."""
    station = work.station_of(hit.mounting)
    came_from = work.station_of(before.mounting) if before is not None else None
    moves = moves_before(None if hit.is_second else hit.step, station, came_from)
    part_from_mm = station.centre_mm - work.length_mm / 2
    opened = open_height(hit, work, piece=_piece(hit.step, work))
    stops = fingers(hit, work, part_from_mm=part_from_mm)
    speed = ram_speed(hit, work)
    bow = crowned(hit.pair, machine=work.machine, from_mm=part_from_mm, length_mm=work.length_mm)
    repeat_mm = work.machine.depth_repeat_mm
    spread = expected_spread(hit.pair, tolerance_mm=work.tolerance_mm, depth_repeat_mm=repeat_mm)
    step = _filled(hit, before, work, moves=moves, station=station, opened=opened, stops=stops, speed=speed, bow=bow)
    told = (
        *segment_findings(station, hit, work),
        *opened.findings,
        *stops.findings,
        *speed.findings,
        *rising_findings(hit),
        *bow.told(hit),
        *support_findings(hit, work),
        *hold_findings(hit),
        *stroke_findings(hit, work),
    )
    return step.with_spread(spread), told


def _filled(
    hit: Hit,
    before: Hit | None,
    work: Work,
    *,
    moves: tuple[Move, ...],
    station: Station,
    opened: OpenHeight,
    stops: Fingers,
    speed: RamSpeed,
    bow: Crowned,
) -> SetupStep:
    step, pair, gauged = hit.step, hit.pair, hit.step.gauged
    slow_mm = slow_from_mm(hit, work, open_height_mm=opened.open_height_mm)
    return SetupStep(
        step=hit.number,
        bends=hit.chosen.bends,
        hit=hit.kind,
        marked_face="up" if step.marked_up else "down",
        gauged_on=gauged.on if gauged is not None else None,
        gauged_bend=work.bend_of(gauged.zone) if gauged is not None else None,
        moves=moves,
        pair=pair,
        punch=pair.punch_name or "",
        punch_turned=hit.mounting.turned,
        die=pair.die_name or "",
        stations=(station,),
        part_from_mm=station.centre_mm - work.length_mm / 2,
        stops=stops.stops,
        force_kn=_force_kn(pair, work.length_mm),
        depth_mm=pair.depth_mm,
        bend_to_deg=None if pair.loaded_turn_deg is None else FULL_FOLD_DEG - pair.loaded_turn_deg,
        finished_deg=FULL_FOLD_DEG - hit.finished_turn_deg,
        open_height_mm=opened.open_height_mm,
        open_height_reason=opened.reason,
        slow_from_mm=slow_mm,
        ram_speed_mm_per_s=speed.ram_speed_mm_per_s,
        tip_speed_mm_per_s=speed.tip_speed_mm_per_s,
        crowning_mm=bow.crowning_mm,
        mean_opening_mm=bow.mean_opening_mm,
        clearance_mm=step.clearance_mm,
        seconds_s=hit_s(hit, before, work, moves=moves, stroke_s=_stroke_s(hit, work)),
        deg_per_mm=pair.deg_per_mm,
        spread_deg=None,
        spread_measured_deg=None,
        spread_corrected_deg=None,
        hold=step.hold,
        wishes_s=() if hit.is_second else step.wishes_s,
        before_mm=step.before_mm,
        after_mm=step.after_mm,
        tolerance_deg=hit.chosen.tolerance_deg,
    )


def _stroke_s(hit: Hit, work: Work) -> float:
    step = hit.step
    time = hit_time(hit.pair, work.machine, work.handler, sheet_mm=work.thickness_mm, reach_mm=step.reach_mm)
    front_mm = step.hold.front_mm if step.hold is not None else step.reach_mm
    return time.stroke_s(step.least_opening_mm, step.reach_mm, front_mm)


def _force_kn(pair: PunchDie, length_mm: float) -> float | None:
    per_m = pair.limit_force_kn_per_m
    return None if per_m is None else per_m * length_mm / 1000


def _piece(step: Step, work: Work) -> Phrase | None:
    """The leg or bend that decides the opening, as a place."""
    if step.opening_piece is None:
        return None
    number, is_zone = divmod(step.opening_piece, 2)
    return place("bend", work.bend_of(number) or 0) if is_zone else place("leg", number + 1)
