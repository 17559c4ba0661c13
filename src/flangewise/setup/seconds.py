"""What is done with part and tools before a hit, in words, and how long a hit, a part and a set-up take.

The moves' seconds are the handler's row, the set-up's the machine's, common practice to be replaced by timings. The
order's search reckons with the same functions, so that a plan costs what it takes.
"""

import math
from collections.abc import Iterator, Sequence
from functools import lru_cache

from flangewise.bend import strokes
from flangewise.punch_die import PunchDie, Station
from flangewise.sequence import Axis, HitTime, MoveKind, Step, Swing, Tilted, travel_s
from flangewise.setup.ram import STROKE_POINTS, TIP_SPEED_MM_PER_S, margin_mm, most_opening_mm
from flangewise.setup.step import Instruction, SetupStep
from flangewise.setup.work import PlannedHit, Work
from flangewise.shop import Handler, Machine, Move as HandlerMove
from flangewise.words import Phrase, phrase

# Real radii bring a leg up to 1.3 times as fast as the sharp bend's 2/V; with this no slowing is overlooked.
FASTEST_SHARE = 1.6
# Of so many pairs of one sheet and machine a hit's seconds are kept: they are the same for many parts.
MOST_TIMED = 2048
# Stops nearer to each other than a machine sets them stand at one place.
SAME_STOP_MM = 0.05
# How the part comes in and out where it does not simply come to the front; told after all that is done before the hit.
TILTS = ("tilt-in", "tilt-out")
WAYS = ("side-exit", *TILTS)


def moves_before(step: Step | None, station: Station, before: Station | None) -> tuple[Instruction, ...]:
    """Moves before a hit, the way out last; `step` is None for a hem's second hit, `before` for the first of all."""
    made: list[Instruction] = []
    if before is not None and station.set_up != before.set_up:
        code = "move.tool-change-turned" if station.turned else "move.tool-change"
        made.append(Instruction("tool-change", None, phrase(code, punch=station.punch, die=station.die)))
    made += [handled(move.move, move.axis) for move in step.moves] if step is not None else []
    if before is not None and station.set_up == before.set_up and station != before:
        way = "right" if station.centre_mm > before.centre_mm else "left"
        words = phrase(f"move.shift-{way}", from_mm=station.from_mm, to_mm=station.to_mm)
        made.append(Instruction("shift", None, words))
    made += [side_exit()] if step is not None and step.side_exit else []
    made += tilts(step.tilted) if step is not None and step.tilted is not None else []
    return tuple(made)


def words_before(step: SetupStep, before: SetupStep | None) -> tuple[Phrase, ...]:
    """What is done before a hit, to be read: moves, and the part drawn forward or pushed on to stops set elsewhere."""
    words = [move.words for move in step.moves if move.move not in WAYS]
    words += _to_the_stop(step, before)
    return (*words, *(move.words for move in step.moves if move.move in WAYS))


def _to_the_stop(step: SetupStep, before: SetupStep | None) -> list[Phrase]:
    if before is None or any(move.move in ("turn-in-plane", "turn-over", "tilt") for move in step.moves):
        return []
    now_mm, then_mm = step.stops.x_mm, before.stops.x_mm
    if now_mm is None or then_mm is None or abs(now_mm - then_mm) < SAME_STOP_MM:
        return []
    return [phrase("move.to-stop-nearer" if now_mm < then_mm else "move.to-stop-further")]


def handled(move: MoveKind, axis: Axis | None) -> Instruction:
    """A turn of the part in words."""
    if move == "turn-in-plane":
        return Instruction("turn-in-plane", None, phrase("move.turn-in-plane"))
    code = "move.turn-over-bed" if axis == "the bed" else "move.turn-over-front"
    return Instruction("turn-over", axis, phrase(code))


def side_exit() -> Instruction:
    """The part slid out along the bed, in words."""
    return Instruction("side-exit", None, phrase("move.side-exit"))


def tilts(tilted: Tilted) -> list[Instruction]:
    """The part brought in and taken out tilted, in words: the greatest tilt to either side, and how far the ram opens.

    A part that the punch cannot leave goes up with it first.
    """
    made = []
    for move, way in (("tilt-in", tilted.way_in), ("tilt-out", tilted.way_out)):
        if way is not None:
            most = max(way, key=lambda place: abs(place.tilt_deg)).tilt_deg
            hung = "-with-punch" if move == "tilt-out" and way[1].up_mm > 0 else ""
            side = phrase(f"tilt.front-{'up' if most > 0 else 'down'}", tilt_deg=abs(most))
            words = phrase(f"move.{move}{hung}", open_mm=tilted.open_height_mm, side=side)
            made.append(Instruction(move, None, words, way))
    return made


def hit_times(
    pairs: Sequence[PunchDie], machine: Machine, handler: Handler, *, sheet_mm: float, reach_mm: float
) -> Iterator[HitTime]:
    """The seconds of one hit with each pair, for a part that reaches at most `reach_mm` from any of its bends."""
    swings = _swings(pairs, machine, handler, reach_mm=reach_mm)
    for pair in pairs:
        yield _hit_time(pair, machine, handler, sheet_mm, swings.get(id(pair)))


@lru_cache(maxsize=MOST_TIMED)
def _hit_time(pair: PunchDie, machine: Machine, handler: Handler, sheet_mm: float, swing: Swing | None) -> HitTime:
    has_bodies = pair.tools.punch is not None and pair.tools.die is not None
    return HitTime(
        ram=machine,
        sheet_mm=sheet_mm,
        travel_mm=max((pair.depth_mm or 0.0) + sheet_mm, 0.0),
        margin_mm=margin_mm(handler),
        gripper_mm=handler.gripper_height_mm or 0.0,
        gripper_reach_mm=handler.gripper_reach_mm,
        most_opening_mm=most_opening_mm(pair, machine) if has_bodies else None,
        swing=swing,
        slow_all_way=pair.kind == "flatten",
    )


def _swings(pairs: Sequence[PunchDie], machine: Machine, handler: Handler, *, reach_mm: float) -> dict[int, Swing]:
    """How the legs swing up, by the pair's identity; not where nothing swings, or nothing could come up too fast."""
    limit = handler.tip_speed_mm_per_s or TIP_SPEED_MM_PER_S
    asked = {
        id(pair): (pair.model.setup, pair.model.swift, pair.air.loaded_turn_deg)
        for pair in pairs
        if pair.air is not None and pair.model is not None
        if machine.bend_mm_per_s * (FASTEST_SHARE * 2 * reach_mm / (pair.tools.opening_mm or 1.0) + 1) > limit
    }
    rates = [along.loaded_deg_per_mm or (0.0,) for along in strokes(tuple(asked.values()), points=STROKE_POINTS)]
    swings = (Swing(math.radians(min(rate)) / 2, math.radians(max(rate)) / 2, limit) for rate in rates)
    return dict(zip(asked, swings, strict=True))


def moves_s(moves: Sequence[Instruction], handler: Handler) -> float:
    """Seconds of the moves before a hit; whoever moves the part takes it out first and puts it in again.

    Without a move it is drawn to the next stop; at a change of tools, which the set-up counts, put down and fetched.
    """
    handled = [move for move in moves if move.move not in ("tool-change", *WAYS)]
    fetched = any(move.move == "tool-change" for move in moves)
    taken_out_s = max(handler.withdraw_s + handler.insert_s, handler.next_stop_s)
    through_s = taken_out_s if handled or fetched else handler.next_stop_s
    again_s = handler.place_s + handler.pick_s + handler.square_s if fetched else 0.0
    return through_s + again_s + sum(handler.seconds_of(_handler_move(move)) for move in handled)


def _handler_move(move: Instruction) -> HandlerMove:
    if move.move == "turn-over":
        return "turn-over-bed" if move.axis == "the bed" else "turn-over-front"
    if move.move == "tilt":
        return "tilt"
    return "turn" if move.move == "turn-in-plane" else "shift"


def around_s(handler: Handler) -> float:
    """Seconds of a part besides its hits: fetched and put in at first, taken out, looked at and put down at last."""
    load_s = handler.pick_s + handler.square_s + handler.insert_s
    return load_s + handler.withdraw_s + handler.inspect_s + handler.place_s


def cycle_s(hits_s: Sequence[float], handler: Handler) -> float:
    """Seconds a part: what is around its hits, all hits, with the handler's allowance."""
    return (around_s(handler) + sum(hits_s)) * (1 + handler.allowance_share)


def set_up_s(used: Sequence[Station], machine: Machine) -> float:
    """Seconds to set a job up for its hits' stations in their order: each tool put in that does not stand there."""
    if len({station.set_up for station in used}) <= 1:
        mounted = 2 * len(set(used))
    else:
        mounted = sum(_put_in(station, standing) for standing, station in zip((None, *used), used, strict=False))
    return machine.set_up_s + mounted * machine.mount_s


def _put_in(station: Station, standing: Station | None) -> int:
    """How many of punch and die are not those that stand in the machine."""
    if standing is None:
        return 2
    punch = (station.punch, station.turned) != (standing.punch, standing.turned)
    return int(punch) + int(station.die != standing.die)


def hit_s(
    hit: PlannedHit, before: PlannedHit | None, work: Work, *, moves: Sequence[Instruction], stroke_s: float
) -> float:
    """Seconds of a hit: the moves or the stops' travel, the longer, gauging, stroke, a way sideways or tilted."""
    slid_s = work.handler.side_exit_s if any(move.move == "side-exit" for move in moves) else 0.0
    tilted_s = (work.handler.tilt_out_s or 0.0) * sum(move.move in TILTS for move in moves)
    handled_s = max(moves_s(moves, work.handler), stops_s(before, hit, work.machine)) if before is not None else 0.0
    return handled_s + work.handler.gauge_s + stroke_s + slid_s + tilted_s


def stops_s(before: PlannedHit, hit: PlannedHit, machine: Machine) -> float:
    """Seconds the stops need from one hit's place to the next; 0 where either is made without stops."""
    one, other = before.step.gauged, hit.step.gauged
    if one is None or other is None:
        return 0.0
    return travel_s(abs(other.x_mm - one.x_mm), machine.stop_speed_mm_per_s, machine.acceleration_mm_per_s2)
