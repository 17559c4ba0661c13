"""Where rows can stand along a bend line between what the part forbids, and how much of the line they leave uncovered.

A row of length L with its left end at x keeps out of a stretch (p, q) where x is not in (p - clear - L, q + clear); at an
end with an ear the whole outline keeps away by the ear's reach more, and the foot keeps out by itself. It uncovers
max(0, x - a, b - L - x) of the line [a, b]: convex in x, so on a free interval least nearest to the middle.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from flangewise.punch_die import Row

Floats = NDArray[np.float64]
Runs = tuple[tuple[float, float], ...]
# Rounding: a row that just fits, fits.
NOISE_MM = 1e-7


@dataclass(frozen=True)
class Line:
    """A bend line along the bed, and how much a row may leave uncovered at either end.

    `free_short_mm` where the bend ends free, `beside_short_mm` where something stands within `near_mm` of its end.
    """

    from_mm: float
    to_mm: float
    free_short_mm: float
    beside_short_mm: float
    near_mm: float

    def allowed_mm(self, *barred: Runs) -> tuple[float, float]:
        """What may be left uncovered at the left end and at the right end beside these stretches."""
        return self._at(self.from_mm, barred), self._at(self.to_mm, barred)

    def _at(self, end_mm: float, barred: Sequence[Runs]) -> float:
        beside = any(low <= end_mm + self.near_mm and high >= end_mm - self.near_mm for runs in barred for low, high in runs)
        return max(self.free_short_mm, self.beside_short_mm) if beside else self.free_short_mm


@dataclass(frozen=True)
class RowTable:
    """Many rows of one tool, placed all at once."""

    rows: tuple[Row, ...]

    @cached_property
    def lengths_mm(self) -> Floats:
        """Of each row."""
        return np.array([row.length_mm for row in self.rows])

    @cached_property
    def reaches_mm(self) -> tuple[Floats, Floats]:
        """Of each row, how far its left and its right ear reach; 0 for none."""
        left, right = zip(*(row.reach_mm for row in self.rows), strict=True)
        return np.array(left), np.array(right)

    @cached_property
    def with_ears(self) -> NDArray[np.bool_]:
        """Whether a row has any ear."""
        return np.array([any(row.ears) for row in self.rows])

    def places(self, line: Line, part: Runs, foot: Runs, *, clear_mm: float, beside: Runs = ()) -> tuple[Floats, Floats]:
        """Least shortfall of each row, infinite where it finds no place, and where its left end then stands.

        `part` must be kept out of by the whole outline, `foot` by the feet of ears; what stands `beside` counts besides
        for how much may be left uncovered.
        """
        length = self.lengths_mm
        low, high = self._window(line, line.allowed_mm(part, foot, beside))
        wanted = (line.from_mm + line.to_mm - length) / 2
        if not part and not (foot and self.with_ears.any()):
            return self._shorts(line, np.clip(wanted, low, high), low <= high + NOISE_MM)
        lows, highs = self._barred(part, foot, clear_mm)
        reached = np.maximum.accumulate(highs, axis=1)
        never = np.full((len(length), 1), np.inf)
        begins = np.maximum(np.hstack([-never, reached]), low[:, None])
        ends = np.minimum(np.hstack([lows, never]), high[:, None])
        at = np.clip(wanted[:, None], begins, np.maximum(ends, begins))
        short, off = self._uncovered(line, at), np.abs(at - wanted[:, None])
        short = np.where(begins <= ends + NOISE_MM, short, np.inf)
        # Of places that uncover alike the one nearest the middle.
        best = np.argmin(np.where(short <= short.min(axis=1)[:, None] + NOISE_MM, off, np.inf), axis=1)
        every = np.arange(len(length))
        return short[every, best], at[every, best]

    def _window(self, line: Line, allowed_mm: tuple[float, float]) -> tuple[Floats, Floats]:
        """Where the left end may stand for what may be left uncovered at either end."""
        left, right = allowed_mm
        return line.to_mm - self.lengths_mm - right, np.full(len(self.rows), line.from_mm + left)

    def _uncovered(self, line: Line, at: Floats) -> Floats:
        length = self.lengths_mm[:, None] if at.ndim == 2 else self.lengths_mm
        short: Floats = np.maximum(np.maximum(at - line.from_mm, line.to_mm - length - at), 0.0)
        return short

    def _shorts(self, line: Line, at: Floats, fits: NDArray[np.bool_]) -> tuple[Floats, Floats]:
        return np.where(fits, self._uncovered(line, at), np.inf), at

    def _barred(self, part: Runs, foot: Runs, clear_mm: float) -> tuple[Floats, Floats]:
        """Intervals in which no left end may stand, by row, sorted by where they begin."""
        length, (left, right) = self.lengths_mm, self.reaches_mm
        lows = [low - clear_mm - length + right for low, _ in part]
        highs = [high + clear_mm - left for _, high in part]
        lows += [np.where(self.with_ears, low - clear_mm - length, np.inf) for low, _ in foot]
        highs += [np.where(self.with_ears, high + clear_mm, -np.inf) for _, high in foot]
        low, high = np.stack(lows, axis=1), np.stack(highs, axis=1)
        # What the reach of ears uses up bars nothing.
        empty = high <= low
        low, high = np.where(empty, np.inf, low), np.where(empty, -np.inf, high)
        order = np.argsort(low, axis=1)
        return np.take_along_axis(low, order, axis=1), np.take_along_axis(high, order, axis=1)
