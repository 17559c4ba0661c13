"""What strokes, moves, stops and tools take, in seconds a part: the handler's and machine's rows, and kinematics."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from flangewise.bend import stroke
from flangewise.punch_die import Mounting, PunchDie, place_stations
from flangewise.setup import WorkCentre

from .rack import Choice, Tools

# A unit of a pair's rank, and a punch set turned, as the program prices what takes no time.
RANK_S, TURNED_S = 16.0, 0.5
TIP_LIMIT_MM_PER_S, FASTEST_SHARE, STROKE_POINTS = 250.0, 1.6, 16
NOISE = 1e-6


def run_s(way_mm: float, speed: float, acceleration: float) -> float:
    """From standstill to standstill."""
    way = max(way_mm, 0.0)
    if way < speed * speed / acceleration:
        return 2 * math.sqrt(way / acceleration)
    return way / speed + speed / acceleration


@lru_cache(maxsize=4096)
def _rates(setup: object, swift: object, loaded_deg: float) -> tuple[float, float]:
    along = stroke(setup, swift, to_loaded_turn_deg=loaded_deg, points=STROKE_POINTS)  # type: ignore[arg-type]
    rates = [math.radians(rate) / 2 for rate in along.loaded_deg_per_mm]
    return min(rates, default=0.0), max(rates, default=0.0)


@dataclass(frozen=True)
class Clock:
    """Seconds on one machine with one handler, for a sheet of one thickness and a part of one length."""

    centre: WorkCentre
    thickness_mm: float
    length_mm: float

    @property
    def share(self) -> float:
        """The handler's allowance as a factor."""
        return 1 + self.centre.handler.allowance_share

    def stroke_s(self, pair: PunchDie, tools: Tools, *, open_mm: float, reach_mm: float, front_mm: float) -> float:
        """Down and back of one stroke that needs so much opening."""
        machine, handler, t = self.centre.machine, self.centre.handler, self.thickness_mm
        margin = max(handler.load_margin_mm, handler.unload_margin_mm) + handler.tilt_margin_mm
        gripper = (handler.gripper_height_mm or 0.0) if front_mm < handler.gripper_reach_mm else 0.0
        step = machine.opening_step_mm
        opened = min(math.ceil((open_mm + margin + gripper) / step - NOISE) * step, max(tools.most_open_mm, 0.0))
        gap = max(opened - t, 0.0)
        slow = gap if pair.kind == "flatten" else min(machine.change_over_mm, gap)
        travel = max((pair.depth_mm or 0.0) + t, 0.0)
        down = run_s(gap - slow, machine.fast_mm_per_s, machine.acceleration_mm_per_s2) + slow / machine.slow_mm_per_s
        back = run_s(gap + travel, machine.return_mm_per_s, machine.acceleration_mm_per_s2)
        return down + travel / self._ram_mm_per_s(pair, reach_mm) + machine.dwell_s + back

    def _ram_mm_per_s(self, pair: PunchDie, reach_mm: float) -> float:
        machine, handler = self.centre.machine, self.centre.handler
        own, limit = machine.bend_mm_per_s, handler.tip_speed_mm_per_s or TIP_LIMIT_MM_PER_S
        if pair.air is None or pair.model is None:
            return own
        if own * (FASTEST_SHARE * 2 * reach_mm / (pair.tools.opening_mm or 1.0) + 1) <= limit:
            return own
        rates = _rates(pair.model.setup, pair.model.swift, pair.air.loaded_turn_deg)
        slowed = limit / max(max(abs(reach_mm * rate - 1) for rate in rates), 1e-9)
        if slowed >= own:
            return own
        step = machine.speed_step_mm_per_s
        return min(own, max(math.floor(slowed / step + NOISE), 1) * step)

    @property
    def around_s(self) -> float:
        """A part besides its hits, and the set-up besides its tools."""
        own = self.centre.handler
        hands = own.pick_s + own.square_s + own.insert_s + own.withdraw_s + own.inspect_s + own.place_s
        return self.share * hands + self.centre.machine.set_up_s / self.centre.quantity

    def handled_s(self, *, over: bool, swap: bool, shifted: bool, fetched: bool) -> float:
        """From one hit to the next, without the allowance: turned over, end for end, to other tools, or not."""
        own = self.centre.handler
        if over:
            bed, front = own.turn_over_bed_s, own.turn_over_front_s
            turned = min(bed, front + own.turn_s) if swap else min(front, bed + own.turn_s)
        else:
            turned = own.turn_s if swap else 0.0
        if not (over or swap or shifted or fetched):
            return own.next_stop_s
        through = max(own.withdraw_s + own.insert_s, own.next_stop_s)
        again = own.place_s + own.pick_s + own.square_s if fetched else 0.0
        return through + again + turned + (own.shift_s if shifted else 0.0)

    def travel_s(self, way_mm: float) -> float:
        """The stops' way."""
        machine = self.centre.machine
        return run_s(abs(way_mm), machine.stop_speed_mm_per_s, machine.acceleration_mm_per_s2)

    @property
    def mount_s(self) -> float:
        """A part's share of putting one tool in."""
        return self.centre.machine.mount_s / self.centre.quantity

    def beside(self, used: Sequence[Choice]) -> bool:
        """Whether all stations of these choices, in the order of their use, stand mounted together."""
        mountings = []
        for choice in used:
            for pair, tools in zip(choice.hits, choice.tools, strict=True):
                mountings.append(Mounting(pair, tools.turned))
        stations = place_stations(
            mountings,
            machine=self.centre.machine,
            length_mm=self.length_mm,
            short_mm=self.centre.short_mm,
            gap_mm=self.centre.gap_mm,
        )
        return len({station.set_up for station in stations}) <= 1


def put_in(now: tuple[str, str, bool], before: tuple[str, str, bool] | None) -> int:
    """How many of punch and die are not those that stand there."""
    if before is None:
        return 2
    return int((now[0], now[2]) != (before[0], before[2])) + int(now[1] != before[1])


def pair_s(choice: Choice) -> float:
    """What a choice of tools is priced with besides its time."""
    return RANK_S * choice.pair.cost + (TURNED_S if choice.turned else 0.0)
