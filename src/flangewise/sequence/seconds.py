"""How long a hit takes: the ram's way down, the bend, the way back, by how far it opens and how far the part reaches.

t(d, v) = d/v + v/a, or 2 sqrt(d/a) where the speed is not reached; stroke = t(open - slow, fast) + slow height at
approach speed + travel at bending speed + dwell + t(back, return). Source: kinematics.
"""

import math
from collections.abc import Sequence
from functools import cached_property
from typing import Any

import numpy as np

from flangewise.records import dataclass, replace
from flangewise.sequence.arrays import Floats, Ints, distinct
from flangewise.shop import Machine

# One number, or a column of them for many choices of tools at once.
Number = float | Floats

HIT_NUMBERS = ("sheet_mm", "travel_mm", "margin_mm", "gripper_mm", "gripper_reach_mm", "most_opening_mm")

# Rounding noise does not cost a step of the machine's setting.
STEP_NOISE = 1e-6


def run_s(distance_mm: Floats, speed_mm_per_s: float, acceleration_mm_per_s2: float) -> Floats:
    """Seconds for distances from standstill to standstill; 0 for none.

    >>> run_s(np.array([34.0, 0.0]), 150, 1500).round(3).tolist()
    [0.327, 0.0]
    """
    way, at_speed_mm = np.maximum(distance_mm, 0.0), speed_mm_per_s**2 / acceleration_mm_per_s2
    seconds: Floats = way / speed_mm_per_s + speed_mm_per_s / acceleration_mm_per_s2
    np.copyto(seconds, 2 * np.sqrt(way / acceleration_mm_per_s2), where=way < at_speed_mm)
    return seconds


def travel_s(distance_mm: float, speed_mm_per_s: float, acceleration_mm_per_s2: float) -> float:
    """Seconds for one distance from standstill to standstill."""
    return float(run_s(np.array([distance_mm]), speed_mm_per_s, acceleration_mm_per_s2)[0])


@dataclass(frozen=True)
class Swing:
    """How the legs come up while the ram bends: the least and the most half turn for a mm of depth, in rad/mm.

    A point at a distance L from the bend goes |L d(a)/dD - 1| times as fast as the ram (kinematics of the straight
    flange); it is kept under `tip_limit_mm_per_s`.
    """

    least_rad_per_mm: Number
    most_rad_per_mm: Number
    tip_limit_mm_per_s: float

    def factors(self, reach_mm: Floats) -> Floats:
        """Speed of the farthest point, as a multiple of the ram's."""
        ends = [np.abs(reach_mm * rate - 1) for rate in (self.least_rad_per_mm, self.most_rad_per_mm)]
        factors: Floats = np.maximum(*ends)
        return factors


@dataclass(frozen=True)
class HitTime:
    """Seconds of one hit with one pair: `travel_mm` from the sheet's top to the bottom of the stroke.

    `margin_mm` is kept in hand over the least opening, and `gripper_mm` where less than `gripper_reach_mm` lies in
    front, so that the gripper's body goes in under the punch. `most_opening_mm` is what machine and tools leave
    (None: not limited). `swing` is None where nothing swings up. `slow_all_way`: the whole way down is slow.
    """

    ram: Machine
    sheet_mm: Number
    travel_mm: Number
    margin_mm: Number
    gripper_mm: Number = 0.0
    gripper_reach_mm: Number = 0.0
    most_opening_mm: Number | None = None
    swing: Swing | None = None
    slow_all_way: bool = False

    def open_heights_mm(self, least_mm: Floats, front_mm: Floats) -> Floats:
        """The opening to key in for the least a part needs: with the margin, to whole steps, as far as it goes."""
        gripper = np.where(front_mm < self.gripper_reach_mm, self.gripper_mm, 0.0)
        step_mm = self.ram.opening_step_mm
        wanted: Floats = np.ceil((least_mm + self.margin_mm + gripper) / step_mm - STEP_NOISE) * step_mm
        return wanted if self.most_opening_mm is None else np.minimum(wanted, self.most_opening_mm)

    def has_in_hand(self, least_mm: float, front_mm: float) -> bool:
        """Whether the opening wanted for the least a part needs is not cut down to the most there is."""
        most_mm = math.inf if self.most_opening_mm is None else float(self.most_opening_mm)
        return float(self.open_heights_mm(np.array([least_mm]), np.array([front_mm]))[0]) < most_mm

    def ram_speeds_mm_per_s(self, reach_mm: Floats) -> Floats:
        """Ram speed while bending: the machine's, or so much less, in its own steps, that the tip keeps its limit."""
        own, step = self.ram.bend_mm_per_s, self.ram.speed_step_mm_per_s
        if self.swing is None:
            return np.full(np.shape(reach_mm), own)
        factors = self.swing.factors(reach_mm)
        slowed = self.swing.tip_limit_mm_per_s / np.maximum(factors, 1e-9)
        stepped = np.maximum(np.floor(slowed / step + STEP_NOISE), 1) * step
        speeds: Floats = np.minimum(stepped, own)
        np.copyto(speeds, own, where=slowed >= own)
        return speeds

    def opened_s(self, least_opening_mm: Floats, front_mm: Floats) -> Floats:
        """Seconds of the way down to the sheet, and back, for the least opening a part needs and what is in front."""
        ram = self.ram
        gap = np.maximum(self.open_heights_mm(least_opening_mm, front_mm) - self.sheet_mm, 0.0)
        slow = gap if self.slow_all_way else np.minimum(ram.change_over_mm, gap)
        down = run_s(gap - slow, ram.fast_mm_per_s, ram.acceleration_mm_per_s2) + slow / ram.slow_mm_per_s
        seconds: Floats = down + run_s(gap + self.travel_mm, ram.return_mm_per_s, ram.acceleration_mm_per_s2)
        return seconds

    def bent_s(self, reach_mm: Floats) -> Floats:
        """Seconds of the bend itself, for how far the part reaches."""
        seconds: Floats = np.maximum(self.travel_mm, 0.0) / self.ram_speeds_mm_per_s(reach_mm) + self.ram.dwell_s
        return seconds

    def bent_beyond_s(self, reach_mm: Floats) -> Floats:
        """The same at least where the part reaches so far or further: the tip is slowest where both its speeds meet."""
        if self.swing is None:
            return self.bent_s(reach_mm)
        slowest_mm = 2 / np.maximum(self.swing.least_rad_per_mm + self.swing.most_rad_per_mm, 1e-9)
        return self.bent_s(np.maximum(reach_mm, slowest_mm))

    def stroke_s(self, least_opening_mm: float, reach_mm: float, front_mm: float) -> float:
        """Seconds of one stroke."""
        least, reach, front = (np.array([each]) for each in (least_opening_mm, reach_mm, front_mm))
        return float((self.opened_s(least, front) + self.bent_s(reach))[0])


@dataclass(frozen=True)
class Strokes:
    """The hits of many choices of tools, reckoned together: the nth hits of those of one ram and manner in columns.

    `rows`: which of the choices are asked for, of `groups` with their rows.
    """

    rows: Ints
    groups: tuple[tuple[Ints, HitTime], ...]

    def only(self, rows: Ints) -> "Strokes":
        """Those of some of the choices; asked for again they are the same, with what is known of them."""
        if (key := rows.tobytes()) not in self._some:
            self._some[key] = replace(self, rows=self.rows[rows])
        return self._some[key]

    @cached_property
    def _some(self) -> dict[bytes, "Strokes"]:
        return {}

    def opened_s(self, least_opening_mm: Floats, front_mm: Floats) -> Floats:
        """Ways down and back: (choices, parts). Openings are given for each choice, or for all alike."""
        total = np.zeros((len(self.rows), front_mm.shape[-1]))
        for here, hit in self._hits:
            least_mm = least_opening_mm[here] if least_opening_mm.ndim == 2 else least_opening_mm
            total[here] += hit.opened_s(least_mm, front_mm)
        return total

    def bent_s(self, reach_mm: Floats) -> Floats:
        """The bends: (choices, parts). Reaches are given for each choice, or for all alike."""
        total = np.zeros((len(self.rows), reach_mm.shape[-1]))
        for here, hit in self._hits:
            total[here] += hit.bent_s(reach_mm[here] if reach_mm.ndim == 2 else reach_mm)
        return total

    def bent_beyond_s(self, reach_mm: Floats) -> Floats:
        """The same at least where parts reach so far or further."""
        total = np.zeros((len(self.rows), reach_mm.shape[-1]))
        for here, hit in self._hits:
            total[here] += hit.bent_beyond_s(reach_mm[here])
        return total

    def over_sheet_s(self, sheet_mm: float, front_mm: Floats) -> Floats:
        """Ways down and back with the sheet alone between the tools: (choices, parts)."""
        if sheet_mm not in self._over_sheet_s:
            # The front counts only as it is shorter than each gripper's reach, or not.
            fronts_mm = np.concatenate([[-np.inf], self.gripper_reaches_mm])
            self._over_sheet_s[sheet_mm] = self.opened_s(np.full(len(fronts_mm), sheet_mm), fronts_mm)
        found: Floats = self._over_sheet_s[sheet_mm][:, self.gripper_reaches_mm.searchsorted(front_mm, side="right")]
        return found

    def least_s(self, sheet_mm: float) -> Floats:
        """What they take at least, the sheet alone between the tools and whatever reach: (choices, 1)."""
        if sheet_mm not in self._least_s:
            opened = self.over_sheet_s(sheet_mm, np.full(1, np.inf))
            self._least_s[sheet_mm] = opened + self.bent_beyond_s(np.zeros((len(self.rows), 1)))
        return self._least_s[sheet_mm]

    @cached_property
    def _over_sheet_s(self) -> dict[float, Floats]:
        return {}

    @cached_property
    def _least_s(self) -> dict[float, Floats]:
        return {}

    @cached_property
    def _hits(self) -> tuple[tuple[Ints, HitTime], ...]:
        """The groups, as far as they are asked for: their rows here."""
        found = []
        for own, hit in self.groups:
            _, here, there = np.intersect1d(self.rows, own, assume_unique=True, return_indices=True)
            if len(here):
                found.append((here, hit if len(there) == len(own) else _picked(hit, there)))
        return tuple(found)

    @cached_property
    def numbers(self) -> Floats:
        """What tells the choices apart, a row for each; of those whose hits are in one group the same columns."""
        columns = []
        for here, hit in self._hits:
            own = [np.broadcast_to(number, (len(here), 1)) for of in (hit, hit.swing) if of for number in _columns(of)]
            column = np.full((len(self.rows), len(own) + 1), -1.0)
            column[here] = np.hstack([np.ones((len(here), 1)), *own])
            columns.append(column)
        return np.hstack(columns) if columns else np.zeros((len(self.rows), 0))

    @cached_property
    def gripper_reaches_mm(self) -> Floats:
        """The lengths in front below which room for the gripper is added, each once."""
        return distinct(np.concatenate([np.zeros(0), *(np.ravel(hit.gripper_reach_mm) for _, hit in self._hits)]))


def strokes_of(choices: Sequence[Sequence[HitTime | None]]) -> Strokes:
    """The hits of choices of tools; those of one ram and one manner stand in columns and are reckoned at once."""
    groups: dict[tuple[object, ...], list[tuple[int, HitTime]]] = {}
    for row, hits in enumerate(choices):
        for nth, hit in enumerate(hits):
            if hit is not None:
                limit = None if hit.swing is None else hit.swing.tip_limit_mm_per_s
                key = (nth, id(hit.ram), hit.slow_all_way, limit, hit.most_opening_mm is None)
                groups.setdefault(key, []).append((row, hit))
    stacked = ((np.array([row for row, _ in each]), _stacked([hit for _, hit in each])) for each in groups.values())
    return Strokes(np.arange(len(choices)), tuple(stacked))


def _numbers(of: HitTime | Swing) -> list[str]:
    """The names of what is a number, or a column of them, and stands for each hit."""
    own = ("least_rad_per_mm", "most_rad_per_mm") if isinstance(of, Swing) else HIT_NUMBERS
    return [name for name in own if getattr(of, name) is not None]


def _columns(of: HitTime | Swing) -> list[Floats]:
    return [getattr(of, name) for name in _numbers(of)]


def _stacked(hits: Sequence[HitTime]) -> HitTime:
    """Hits that differ in numbers alone as one, its numbers columns."""

    def columns(each: Sequence[Any]) -> dict[str, Any]:
        return {n: np.array([getattr(one, n) for one in each], dtype=float)[:, None] for n in _numbers(each[0])}

    first, swings = hits[0], [hit.swing for hit in hits]
    swing = None if swings[0] is None else replace(swings[0], **columns(swings))
    return replace(first, swing=swing, **columns(hits))


def _picked(hit: HitTime, rows: Ints) -> HitTime:
    """Some rows of columns."""

    def columns(of: HitTime | Swing) -> dict[str, Any]:
        return {name: getattr(of, name)[rows] for name in _numbers(of)}

    swing = None if hit.swing is None else replace(hit.swing, **columns(hit.swing))
    return replace(hit, swing=swing, **columns(hit))
