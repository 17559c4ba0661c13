"""Where rows can stand along a bend line between what the part forbids, and how much of the line they leave uncovered.

A row of length L with its left end at x keeps out of a stretch (p, q) where x is not in (p - clear - L, q + clear); at
an end with an ear the whole outline keeps away by the ear's reach more, and the foot keeps out by itself. It uncovers
max(0, x - a, b - L - x) of the line [a, b]: convex in x, so on a free interval least nearest to the middle. The die row
stands with its middle below the punch row's, and keeps out of its own stretches. Rows with gaps: `places_apart.py`.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from flangewise.punch_die import Row
from flangewise.records import dataclass

Floats = NDArray[np.float64]
Runs = tuple[tuple[float, float], ...]
# Rounding: a row that just fits, fits.
NOISE_MM = 1e-7


@dataclass(frozen=True)
class BedLine:
    """A bend line along the bed, and how much a row may leave uncovered at either end.

    `free_short_mm` where the bend ends free, `beside_short_mm` where something stands within `near_mm` of its end.
    `runs_mm`: the bends on the line, one from end to end where nothing is told; within each a row may have gaps of
    `most_gap_mm`.
    """

    from_mm: float
    to_mm: float
    free_short_mm: float
    beside_short_mm: float
    near_mm: float
    runs_mm: Runs = ()
    most_gap_mm: float = 0.0

    @property
    def bends_mm(self) -> Runs:
        """The bends on the line."""
        return self.runs_mm or ((self.from_mm, self.to_mm),)

    def runs_allowed_mm(self, *barred: Runs) -> tuple[tuple[float, float], ...]:
        """What may be left uncovered at the left end and at the right end of each bend on the line."""
        return tuple((self._at(low, barred), self._at(high, barred)) for low, high in self.bends_mm)

    def allowed_mm(self, *barred: Runs) -> tuple[float, float]:
        """What may be left uncovered at the left end and at the right end beside these stretches."""
        return self._at(self.from_mm, barred), self._at(self.to_mm, barred)

    def _at(self, end_mm: float, barred: Sequence[Runs]) -> float:
        beside = any(
            low <= end_mm + self.near_mm and high >= end_mm - self.near_mm for runs in barred for low, high in runs
        )
        return max(self.free_short_mm, self.beside_short_mm) if beside else self.free_short_mm


@dataclass(frozen=True)
class SolidTable:
    """Punch rows, each over a die row with the middles of both at one place of the bed, placed all at once; all without
    a gap."""

    pairs: tuple[tuple[Row, Row], ...]

    @cached_property
    def lengths_mm(self) -> tuple[Floats, Floats]:
        """Of each punch row, and of each die row."""
        punch, die = zip(*((punch.length_mm, die.length_mm) for punch, die in self.pairs), strict=True)
        return np.array(punch), np.array(die)

    @cached_property
    def die_on_mm(self) -> Floats:
        """How far right of the punch row's left end the die row's stands."""
        punch, die = self.lengths_mm
        on: Floats = (punch - die) / 2
        return on

    @cached_property
    def reaches_mm(self) -> tuple[Floats, Floats]:
        """Of each punch row, how far its left and its right ear reach; 0 for none."""
        left, right = zip(*(punch.reach_mm for punch, _ in self.pairs), strict=True)
        return np.array(left), np.array(right)

    @cached_property
    def with_ears(self) -> NDArray[np.bool_]:
        """Whether a punch row has any ear."""
        return np.array([any(punch.ears) for punch, _ in self.pairs])

    def places(self, line: BedLine, punch: Runs, foot: Runs, die: Runs, *, clear_mm: float) -> tuple[Floats, Floats]:
        """Least shortfall of each pair, infinite where it finds no place, and where the punch's left end then stands.

        Punch rows keep out of `punch`, feet of ears out of `foot`, die rows out of `die`.
        """
        punch_mm, die_mm = self.lengths_mm
        wanted = (line.from_mm + line.to_mm - punch_mm) / 2
        left, right = line.allowed_mm(punch, foot, die)
        low = np.maximum(line.to_mm - punch_mm - right, line.to_mm - die_mm - right - self.die_on_mm)
        high = line.from_mm + left - np.maximum(self.die_on_mm, 0.0)
        if not punch and not die and not (foot and self.with_ears.any()):
            at = np.clip(wanted, low, np.maximum(low, high))
            return np.where(low <= high + NOISE_MM, self._uncovered(line, at), np.inf), at
        lows, highs = self._barred(punch, foot, die, clear_mm)
        reached = np.maximum.accumulate(highs, axis=1)
        never = np.full((len(punch_mm), 1), np.inf)
        begins = np.maximum(np.hstack([-never, reached]), low[:, None])
        ends = np.minimum(np.hstack([lows, never]), high[:, None])
        at = np.clip(wanted[:, None], begins, np.maximum(ends, begins))
        short, off = self._uncovered(line, at), np.abs(at - wanted[:, None])
        short = np.where(begins <= ends + NOISE_MM, short, np.inf)
        # Of places that uncover alike the one nearest the middle.
        best = np.argmin(np.where(short <= short.min(axis=1)[:, None] + NOISE_MM, off, np.inf), axis=1)
        every = np.arange(len(punch_mm))
        return short[every, best], at[every, best]

    def _uncovered(self, line: BedLine, at: Floats) -> Floats:
        """What punch or die leave uncovered at the worse end; the shorter row decides at both."""
        shorter = np.minimum(*self.lengths_mm)
        begins = at + np.maximum(self.die_on_mm, 0.0).reshape(-1, *(1,) * (at.ndim - 1))
        ends = begins + shorter.reshape(-1, *(1,) * (at.ndim - 1))
        short: Floats = np.maximum(np.maximum(begins - line.from_mm, line.to_mm - ends), 0.0)
        return short

    def _barred(self, punch: Runs, foot: Runs, die: Runs, clear_mm: float) -> tuple[Floats, Floats]:
        """Intervals in which no left end of a punch row may stand, by pair, sorted by where they begin."""
        (punch_mm, die_mm), (left, right), on = self.lengths_mm, self.reaches_mm, self.die_on_mm
        lows = [low - clear_mm - punch_mm + right for low, _ in punch]
        highs = [high + clear_mm - left for _, high in punch]
        lows += [np.where(self.with_ears, low - clear_mm - punch_mm, np.inf) for low, _ in foot]
        highs += [np.where(self.with_ears, high + clear_mm, -np.inf) for _, high in foot]
        lows += [low - clear_mm - die_mm - on for low, _ in die]
        highs += [high + clear_mm - on for _, high in die]
        low, high = np.stack(lows, axis=1), np.stack(highs, axis=1)
        # What the reach of ears uses up bars nothing.
        empty = high <= low
        low, high = np.where(empty, np.inf, low), np.where(empty, -np.inf, high)
        order = np.argsort(low, axis=1)
        return np.take_along_axis(low, order, axis=1), np.take_along_axis(high, order, axis=1)
