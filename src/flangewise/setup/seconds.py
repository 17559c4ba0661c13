"""How long a hit and a part take: the ram's stroke in its segments, the handler's moves, the stops' travel.

t(d, v) = d/v + v/a, or 2 sqrt(d/a) where the speed is not reached;
stroke = t(open - slow, fast) + slow height at approach speed + travel at bending speed + dwell + t(back, return).
Source: kinematics; the moves' seconds are the handler's row, common practice to be replaced by timings.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from flangewise.setup.hit import Hit, Work
from flangewise.setup.step import Move
from flangewise.shop import Handler, Machine
from flangewise.shop import Move as HandlerMove


def run_s(distance_mm: float, speed_mm_per_s: float, acceleration_mm_per_s2: float) -> float:
    """Seconds for a distance from standstill to standstill; 0 for none.

    >>> round(run_s(34, 150, 1500), 3)
    0.327
    """
    if distance_mm <= 0:
        return 0.0
    if distance_mm >= speed_mm_per_s**2 / acceleration_mm_per_s2:
        return distance_mm / speed_mm_per_s + speed_mm_per_s / acceleration_mm_per_s2
    return 2 * math.sqrt(distance_mm / acceleration_mm_per_s2)


def stroke_s(machine: Machine, *, gap_mm: float, slow_mm: float, travel_mm: float, ram_speed_mm_per_s: float) -> float:
    """Seconds of one stroke: `gap_mm` open over the sheet, slow from `slow_mm` over it, `travel_mm` into the bend."""
    acceleration = machine.acceleration_mm_per_s2
    slow_mm = min(slow_mm, gap_mm)
    down_s = run_s(gap_mm - slow_mm, machine.fast_mm_per_s, acceleration) + slow_mm / machine.slow_mm_per_s
    bend_s = max(travel_mm, 0.0) / ram_speed_mm_per_s + machine.dwell_s
    return down_s + bend_s + run_s(gap_mm + travel_mm, machine.return_mm_per_s, acceleration)


def moves_s(moves: Sequence[Move], handler: Handler) -> float:
    """Seconds of the moves before a hit; whoever moves the part takes it out first and puts it in again.

    A change of tools is no part of the cycle: it is counted with the set-up.
    """
    handled = [move for move in moves if move.move != "tool-change"]
    around_s = handler.withdraw_s + handler.insert_s if handled else 0.0
    return around_s + sum(handler.seconds_of(_handler_move(move)) for move in handled)


def _handler_move(move: Move) -> HandlerMove:
    if move.move == "turn-over":
        return "turn-over-bed" if move.axis == "the bed" else "turn-over-front"
    return "turn" if move.move == "turn-in-plane" else "shift"


def cycle_s(hits_s: Sequence[float], handler: Handler) -> float:
    """Seconds a part: fetched, put in, all hits, taken out, looked at, put down, with the handler's allowance."""
    load_s = handler.pick_s + handler.square_s + handler.insert_s
    unload_s = handler.withdraw_s + handler.inspect_s + handler.place_s
    return (load_s + sum(hits_s) + unload_s) * (1 + handler.allowance_share)


def hit_s(
    hit: Hit,
    before: Hit | None,
    work: Work,
    *,
    moves: Sequence[Move],
    open_height_mm: float,
    slow_from_mm: float,
    ram_speed_mm_per_s: float,
) -> float:
    """Seconds of a hit: the moves or the stops' travel, whichever is longer, then gauging, then the stroke."""
    sheet_mm = work.thickness_mm
    stroke = stroke_s(
        work.machine,
        gap_mm=max(open_height_mm - sheet_mm, 0.0),
        slow_mm=max(slow_from_mm - sheet_mm, 0.0),
        travel_mm=max((hit.pair.depth_mm or 0.0) + sheet_mm, 0.0),
        ram_speed_mm_per_s=ram_speed_mm_per_s,
    )
    travel_s = stops_s(before, hit, work.machine) if before is not None else 0.0
    return max(moves_s(moves, work.handler), travel_s) + work.handler.gauge_s + stroke


def stops_s(before: Hit, hit: Hit, machine: Machine) -> float:
    """Seconds the stops need from one hit's place to the next; 0 where either is made without stops."""
    one, other = before.step.gauged, hit.step.gauged
    if one is None or other is None:
        return 0.0
    return run_s(abs(other.x_mm - one.x_mm), machine.stop_speed_mm_per_s, machine.acceleration_mm_per_s2)
