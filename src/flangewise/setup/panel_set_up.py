"""The order of a panel's bends turned into what the setter keys in: rows on the bed, stops, depth, force, moves.

Each hit bends its own lines: force and bow go by their length and place, fingers by where they touch. Stations stand
beside each other in the order of their use, so far apart that the blank, flat as it comes, stays clear of the next.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence

from flangewise.findings import Finding, caution, note, sorted_findings
from flangewise.geometry import Point
from flangewise.panel_order import PanelMove, PanelStep
from flangewise.part import WantedBend
from flangewise.pattern import PanelBlank
from flangewise.punch_die import Station, expected_spread
from flangewise.records import dataclass
from flangewise.setup.ram import LONG_LEG_MM, open_height, stroke_findings
from flangewise.setup.seconds import cycle_s, handled, hit_s, side_exit
from flangewise.setup.set_up import ram_settings, stroke_s, told_once
from flangewise.setup.step import Instruction, Setup, SetupStep, Stops
from flangewise.setup.support import LONG_MM, THIN_MM, hold_findings
from flangewise.setup.work import PlannedHit, Work, WorkCentre, Workpiece
from flangewise.words import phrase

# A turn nearer to half a turn than this is told as one.
HALF_DEG, SAME_DEG = 180.0, 0.05
# A row that ends no shorter of the bend than this covers it (judgement).
COVERED_MM = 0.05


@dataclass(frozen=True)
class PanelBend:
    """What a bend of a panel wants, and what its angle is allowed (None: not looked at)."""

    bend: WantedBend
    tolerance_deg: float | None


def set_up_panel(
    steps: Sequence[PanelStep],
    bends: Sequence[PanelBend],
    blank: PanelBlank,
    piece: Workpiece,
    centre: WorkCentre,
    *,
    beside: bool,
    rows_s: float,
) -> Setup:
    """The set-up of a panel for the steps of its order, of a hem with both its hits.

    `bends` by their number from 1. `beside`: whether its stations stand beside each other, else each is put in anew;
    `rows_s`: what putting their rows in takes the first time.
    """
    wanted = {each.bend.number: each for each in bends}
    every = [(hit, nth > 0) for step in steps for nth, hit in enumerate(step.hits)]
    hits = [_hit(number, step, wanted, is_second=second) for number, (step, second) in enumerate(every, start=1)]
    stations = _stations([step for step, _ in every], blank, centre, beside=beside)
    work = Work(piece, centre, tuple(stations.values()))
    made = [_step(hit, before, work, stations) for before, hit in zip((None, *hits), hits, strict=False)]
    changes = sum(one.station != other.station for (one, _), (other, _) in itertools.pairwise(every))
    anew = 0 if beside else changes
    keyed = tuple(step for step, _ in made)
    return Setup(
        steps=keyed,
        stations=work.stations,
        regrips=None if centre.handler.kind == "robot" else 0,
        cycle_s=cycle_s([step.seconds_s for step in keyed], centre.handler),
        set_up_s=centre.machine.set_up_s + rows_s + 2 * centre.machine.mount_s * anew,
        quantity=centre.quantity,
        loose_s=0.0,
        findings=sorted_findings(told_once(itertools.chain.from_iterable(told for _, told in made))),
    )


def _hit(number: int, step: PanelStep, wanted: dict[int, PanelBend], *, is_second: bool) -> PlannedHit:
    own = wanted[step.bends[0]]
    return PlannedHit(number, step, own.bend, step.mounting, own.tolerance_deg, is_second=is_second, bends=step.bends)


def _step(
    hit: PlannedHit, before: PlannedHit | None, work: Work, stations: dict[int, Station]
) -> tuple[SetupStep, tuple[Finding, ...]]:
    step = panel_step(hit)
    last = None if before is None else panel_step(before)
    station = stations[step.station]
    moves = tuple(_moves(step, station, None if last is None else stations[last.station]))
    part_from_mm = station.from_mm - step.punch.from_mm
    length_mm = sum(high - low for low, high in step.operation.runs_mm)
    ram = ram_settings(hit, work, from_mm=part_from_mm, length_mm=step.operation.length_mm)
    per_m, gauged = hit.pair.limit_force_kn_per_m, step.gauged
    keyed = SetupStep(
        planned=hit,
        moves=moves,
        station=station,
        part_from_mm=part_from_mm,
        gauged_bend=None,
        stops=Stops(None, None, (), 0.0)
        if gauged is None
        else Stops(gauged.x_mm, gauged.r_mm, tuple(part_from_mm + z_mm for z_mm in gauged.z_mm), gauged.retract_mm),
        ram=ram,
        force_kn=None if per_m is None else per_m * length_mm / 1000,
        seconds_s=hit_s(hit, before, work, moves=moves, stroke_s=stroke_s(hit, work)),
        spread=expected_spread(
            hit.pair, tolerance_mm=work.piece.tolerance_mm, depth_repeat_mm=work.machine.depth_repeat_mm
        ),
    )
    told = (
        *_row_findings(hit, step),
        *_tilt_findings(hit, step, work),
        *ram.opening.findings,
        *_finger_findings(hit, step, keyed.stops, part_from_mm, work),
        *ram.speed.findings,
        *ram.bow.told(hit),
        *_front_findings(hit, step, work),
        *hold_findings(hit),
        *stroke_findings(hit, work),
    )
    return keyed, told


def opening_mm(step: PanelStep, bends: Sequence[WantedBend], work: Work) -> float:
    """How far the ram is opened for a step of a panel's order; `bends` by their number from 1."""
    wanted = next(bend for bend in bends if bend.number == step.bends[0])
    return open_height(PlannedHit(1, step, wanted, step.mounting, bends=step.bends), work).open_height_mm


def panel_step(hit: PlannedHit) -> PanelStep:
    """The step of a panel's order. Raises TypeError for a section's."""
    if not isinstance(hit.step, PanelStep):
        raise TypeError("a step of a section is none of a panel")
    return hit.step


def side_stop_mm(keyed: SetupStep) -> float | None:
    """Where on the bed the face of the side stop stands for a hit of a panel; None where none is used."""
    gauged = panel_step(keyed.planned).gauged
    return None if gauged is None or gauged.side is None else keyed.part_from_mm + gauged.side.at_mm


def _moves(step: PanelStep, station: Station, before: Station | None) -> Iterator[Instruction]:
    """What is done with part and tools before a hit, and after it where the part does not come straight out."""
    if before is not None and station.set_up != before.set_up:
        code = "move.tool-change-turned" if station.turned else "move.tool-change"
        yield Instruction("tool-change", None, phrase(code, punch=station.punch, die=station.die))
    for move in step.moves:
        yield _turned(move)
    if before is not None and station.set_up == before.set_up and station != before:
        way = "right" if station.centre_mm > before.centre_mm else "left"
        words = phrase(f"move.shift-{way}", from_mm=station.from_mm, to_mm=station.to_mm)
        yield Instruction("shift", None, words)
    if step.side_exit:
        yield side_exit()
    elif step.leaving is not None and step.leaving.way == "turned" and step.leaving.turn_deg is not None:
        least, most = step.leaving.turn_deg
        words = phrase("move.turned-out", least_deg=least, most_deg=most, open_mm=step.leaving.opening_mm)
        yield Instruction("side-exit", None, words)


def _turned(move: PanelMove) -> Instruction:
    """A turn in words, with its angle where it is no half turn."""
    angle_deg = move.angle_deg
    if move.move == "tilt":
        return _tilted(move)
    if angle_deg is None or abs(abs(angle_deg) - HALF_DEG) < SAME_DEG:
        return handled(move.move, move.axis)
    way = "left" if angle_deg > 0 else "right"
    return Instruction(move.move, None, phrase(f"move.turn-{way}", turn_deg=abs(angle_deg)))


def _tilted(move: PanelMove) -> Instruction:
    """A tilt in words: what rises, and of one that goes neither about the bed nor front to back how its axis lies."""
    angle_deg, axis_deg = move.angle_deg or 0.0, move.axis_deg or 0.0
    rising = ("right-up", "left-up") if move.axis == "front to back" else ("front-up", "front-down")
    side = rising[angle_deg < 0]
    if move.axis is not None:
        return Instruction("tilt", move.axis, phrase(f"move.tilt-{side}", tilt_deg=abs(angle_deg)))
    told = phrase(f"tilt.{side}", tilt_deg=abs(angle_deg))
    code = f"move.tilt-askew-{'left' if axis_deg > 0 else 'right'}"
    return Instruction("tilt", None, phrase(code, side=told, axis_deg=abs(axis_deg)))


def _tilt_findings(hit: PlannedHit, step: PanelStep, work: Work) -> Iterator[Finding]:
    """That a tilt is reckoned with as long as turning over, where the handler has no time of its own for it."""
    if work.handler.tilt_s is None and any(move.move == "tilt" for move in step.moves):
        yield note("tilt-not-timed", hit.place, seconds=work.handler.seconds_of("tilt"))


def _row_findings(hit: PlannedHit, step: PanelStep) -> Iterator[Finding]:
    if step.short_mm > COVERED_MM:
        # Rounding must not part what is told of steps that are alike.
        yield note("row-short", hit.place, short_mm=round(step.short_mm, 3))
    if step.gap_mm:
        yield note("row-gap", hit.place, gap_mm=round(step.gap_mm, 3))
    if step.leaving is None:
        yield caution("way-out-not-known", hit.place)


def _finger_findings(
    hit: PlannedHit, step: PanelStep, stops: Stops, part_from_mm: float, work: Work
) -> Iterator[Finding]:
    machine = work.machine
    side = None if step.gauged is None else step.gauged.side
    if side is not None:
        yield caution("side-stop", hit.place, side=phrase(f"side.{side.side}"), face=side.face_name)
    elif len(stops.z_mm) == 1:
        runs = step.operation.runs_mm
        values = {"length_mm": runs[-1][1], "spacing_mm": machine.least_finger_spacing_mm}
        yield caution("one-finger", hit.place, **values)
        if machine.side_stop is None:
            yield note("no-side-stop", hit.place, machine=machine.name)
        else:
            yield note("side-stop-no-place", hit.place, least_mm=machine.side_stop.least_mm)
    least_mm, most_mm = machine.stop_z_mm
    if any(not least_mm <= z_mm <= most_mm for z_mm in stops.z_mm):
        yield caution("finger-off-travel", hit.place, least_mm=least_mm, most_mm=most_mm)
    if side is not None and machine.side_stop is not None:
        least_mm, most_mm = machine.side_stop.z_mm
        if not least_mm <= part_from_mm + side.at_mm <= most_mm:
            yield caution("side-stop-off-travel", hit.place, least_mm=least_mm, most_mm=most_mm)


def _front_findings(hit: PlannedHit, step: PanelStep, work: Work) -> Iterator[Finding]:
    """What hangs out in front wants holding where it is long and thin; a long leg rises past face and hands."""
    front_mm = step.reach_mm if step.hold is None else step.hold.front_mm
    if front_mm > LONG_LEG_MM:
        yield caution("rising-leg", hit.place, over_mm=LONG_LEG_MM)
    if front_mm > LONG_MM and work.piece.thickness_mm <= THIN_MM and step.hold is not None:
        yield caution("support-in-front", hit.place, reach_mm=front_mm, moment_nm=step.hold.moment_nm)


def _stations(steps: Sequence[PanelStep], blank: PanelBlank, centre: WorkCentre, *, beside: bool) -> dict[int, Station]:
    """Where the rows of each station stand on the bed, by the station's number: one in the middle, several in a row."""
    used: dict[int, list[PanelStep]] = {}
    for step in steps:
        used.setdefault(step.station, []).append(step)
    reaches = {number: reach_mm(own, blank) for number, own in used.items()}
    bed_mm = centre.machine.bed_length_mm
    if not beside or len(used) == 1:
        return {
            number: _station(own[0], bed_mm / 2 - own[0].punch.row.length_mm / 2, set_up)
            for set_up, (number, own) in enumerate(used.items(), start=1)
        }
    room_mm = sum(high - low for low, high in reaches.values()) + centre.gap_mm * (len(used) - 1)
    at_mm, found = (bed_mm - room_mm) / 2, {}
    for number, own in used.items():
        low, high = reaches[number]
        found[number] = _station(own[0], at_mm - low, 1)
        at_mm += high - low + centre.gap_mm
    return found


def _station(step: PanelStep, from_mm: float, set_up: int) -> Station:
    die_from_mm = from_mm + step.die.from_mm - step.punch.from_mm
    tools = step.mounting.pair.tools
    return Station(
        punch=tools.punch_name or "",
        die=tools.die_name or "",
        turned=step.mounting.turned,
        from_mm=from_mm,
        to_mm=from_mm + step.punch.row.length_mm,
        segments=step.punch.row.segments,
        die_from_mm=die_from_mm,
        die_to_mm=die_from_mm + step.die.row.length_mm,
        die_segments=step.die.row.segments,
        set_up=set_up,
    )


def reach_mm(steps: Sequence[PanelStep], blank: PanelBlank) -> tuple[float, float]:
    """How far to the left and right of the punch row's left end rows and blank reach, the blank flat as it comes."""
    low, high = 0.0, steps[0].punch.row.length_mm
    for step in steps:
        on_mm = step.die.from_mm - step.punch.from_mm
        ends = [x - step.punch.from_mm for x in _along_bed_mm(step, blank.outline_mm)]
        low = min(low, on_mm, *ends)
        high = max(high, on_mm + step.die.row.length_mm, *ends)
    return low, high


def _along_bed_mm(step: PanelStep, points_mm: Sequence[Point]) -> list[float]:
    """Points of the flat blank along the bed, from the left end of the bend line."""
    (x0, y0), (dx, dy) = step.operation.zones[0].line_mm[0], step.operation.along
    begin = min((x - x0) * dx + (y - y0) * dy for zone in step.operation.zones for x, y in zone.line_mm)
    along = [(x - x0) * dx + (y - y0) * dy - begin for x, y in points_mm]
    backward = step.marked_up == step.parent_behind
    return [step.operation.length_mm - each for each in along] if backward else along
