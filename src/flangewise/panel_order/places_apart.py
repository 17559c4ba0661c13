"""Where rows with gaps can stand, and how much of a line they leave uncovered.

Each block of segments keeps out of what is forbidden to it as a row by itself. Within a bend a gap is no wider than the
sheet still bends across; over the end of a bend it leaves no more uncovered than a row may there; between bends on one
line it is as wide as it likes. Uncovered is the worst end of a bend, and each gap within one besides. That is linear
in the row's place but where an edge of a block passes an end of a bend, so it is least at one of these places, at an
end of what is free, or where what is lacking at two ends is the same.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from flangewise.panel_order.places import NOISE_MM, BedLine, Runs
from flangewise.punch_die import Row
from flangewise.records import dataclass

Floats = NDArray[np.float64]
Stands = tuple[Runs, Runs, Runs]


@dataclass(frozen=True)
class ApartTable:
    """Punch rows, each over a die row with the middles of both at one place of the bed; either may have gaps."""

    pairs: tuple[tuple[Row, Row], ...]

    @cached_property
    def _stands(self) -> tuple[Stands, ...]:
        """Of each pair from the punch row's left end: its blocks without the reach of ears, whole where there are ears,
        and those of the die."""
        found = []
        for punch, die in self.pairs:
            (left, right), on_mm = punch.reach_mm, (punch.length_mm - die.length_mm) / 2
            blocks = [list(block) for block in punch.blocks_mm]
            blocks[0][0] += left
            blocks[-1][1] -= right
            feet = punch.blocks_mm if any(punch.ears) else ()
            inner = tuple((low, high) for low, high in blocks if low < high)
            found.append((inner, feet, tuple((low + on_mm, high + on_mm) for low, high in die.blocks_mm)))
        return tuple(found)

    @cached_property
    def _bodies(self) -> tuple[tuple[Floats, Floats], ...]:
        """Beginnings and ends of these blocks [pair, block]; what a pair has not is endless short."""
        return tuple(_padded([each[body] for each in self._stands], (np.inf, -np.inf)) for body in range(3))

    @cached_property
    def covers_mm(self) -> tuple[Runs, ...]:
        """Of each pair what punch and die cover both, from the punch row's left end."""
        return tuple(
            common_mm(punch.blocks_mm, die) for (punch, _), (_, _, die) in zip(self.pairs, self._stands, strict=True)
        )

    @cached_property
    def _covers(self) -> tuple[Floats, Floats]:
        """Where what is covered begins and ends [pair, block]; the last one again where a pair has fewer."""
        return _padded(self.covers_mm, None)

    def places(self, line: BedLine, punch: Runs, foot: Runs, die: Runs, *, clear_mm: float) -> tuple[Floats, Floats]:
        """What each pair leaves uncovered at least, infinite where it finds no place, and where its left end stands."""
        lows, highs = self._barred(line, (punch, foot, die), clear_mm)
        at = self._tried(line, lows, highs)
        within = (at[:, :, None] > lows[:, None, :] + NOISE_MM) & (at[:, :, None] < highs[:, None, :] - NOISE_MM)
        uncovered = np.where(within.any(axis=2), np.inf, self._uncovered(line, at))
        # Of places that uncover alike the one nearest the middle.
        off = np.abs(at - at[:, :1])
        best = np.argmin(np.where(uncovered <= uncovered.min(axis=1)[:, None] + NOISE_MM, off, np.inf), axis=1)
        every = np.arange(len(self.pairs))
        return uncovered[every, best], at[every, best]

    def _barred(self, line: BedLine, forbidden: tuple[Runs, Runs, Runs], clear_mm: float) -> tuple[Floats, Floats]:
        """Intervals in which no left end of a row may stand, by pair: without any order, empty ones among them."""
        count = len(self.pairs)
        bars: list[tuple[Floats, Floats]] = []
        for (begins, ends), runs in zip(self._bodies, forbidden, strict=True):
            bars += [(low - clear_mm - ends, high + clear_mm - begins) for low, high in runs]
        begins, ends = self._covers
        allowed = line.runs_allowed_mm(*forbidden)
        (left, _), (_, right) = allowed[0], allowed[-1]
        never = np.full((count, 1), np.inf)
        bars.append((line.from_mm + left - begins[:, :1], never))
        bars.append((-never, line.to_mm - right - ends[:, -1:]))
        from_mm, to_mm = ends[:, :-1], begins[:, 1:]
        narrow = to_mm - from_mm <= line.most_gap_mm + NOISE_MM
        for (low, high), (short, other) in zip(line.bends_mm, allowed, strict=True):
            # Wide ones may not stand within the bend; narrow ones only over its ends.
            bars.append((low + short - to_mm, np.where(narrow, low - from_mm, high - other - from_mm)))
            bars.append((np.where(narrow, high - to_mm, np.inf), high - other - from_mm))
        return np.hstack([low for low, _ in bars]), np.hstack([high for _, high in bars])

    def _tried(self, line: BedLine, lows: Floats, highs: Floats) -> Floats:
        """Places of a left end at which something changes, the middle first."""
        begins, ends = self._covers
        middle = (line.from_mm + line.to_mm - begins[:, :1] - ends[:, -1:]) / 2
        at = [middle, lows, highs]
        for low, high in line.bends_mm:
            at += [end - edge for end in (low, high) for edge in (begins, ends)]
            for other, _ in line.bends_mm:
                crossing = (other + high - begins[:, :, None] - ends[:, None, :]) / 2
                at.append(crossing.reshape(len(self.pairs), -1))
        tried = np.hstack(at)
        return np.where(np.isfinite(tried), tried, middle)

    def _uncovered(self, line: BedLine, at: Floats) -> Floats:
        """What is uncovered at the worst end of a bend, and by gaps within bends."""
        begins, ends = self._covers
        worst = np.maximum(at + begins[:, :1] - line.from_mm, line.to_mm - at - ends[:, -1:])
        within = np.zeros_like(at)
        for gap in range(begins.shape[1] - 1):
            from_mm, to_mm = at + ends[:, gap, None], at + begins[:, gap + 1, None]
            for low, high in line.bends_mm:
                over_left = (from_mm <= low + NOISE_MM) & (to_mm > low)
                over_right = (to_mm >= high - NOISE_MM) & (from_mm < high)
                worst = np.maximum(worst, np.where(over_left, to_mm - low, 0.0))
                worst = np.maximum(worst, np.where(over_right, high - from_mm, 0.0))
                inside = (from_mm > low + NOISE_MM) & (to_mm < high - NOISE_MM) & (from_mm < to_mm)
                within += np.where(inside, to_mm - from_mm, 0.0)
        uncovered: Floats = np.maximum(worst, 0.0) + within
        return uncovered


def common_mm(one_mm: Sequence[tuple[float, float]], other_mm: Sequence[tuple[float, float]]) -> Runs:
    """What two lists of stretches have in common, from left to right."""
    every = ((max(low, begin), min(high, end)) for low, high in one_mm for begin, end in other_mm)
    return tuple(sorted((low, high) for low, high in every if low < high))


def left_open(covered: Runs, line: BedLine) -> tuple[float, float]:
    """What of a line is uncovered at the worst end of a bend, and by the widest gap within one.

    `covered`: stretches of the bed.
    """
    worst, widest = max(covered[0][0] - line.from_mm, line.to_mm - covered[-1][1], 0.0), 0.0
    for (_, from_mm), (to_mm, _) in pairwise(covered):
        for low, high in line.bends_mm:
            if from_mm <= low + NOISE_MM < to_mm:
                worst = max(worst, to_mm - low)
            elif from_mm < high - NOISE_MM <= to_mm:
                worst = max(worst, high - from_mm)
            elif low < from_mm and to_mm < high:
                widest = max(widest, to_mm - from_mm)
    return worst, widest


def _padded(every: Sequence[Runs], fill: tuple[float, float] | None) -> tuple[Floats, Floats]:
    most = max(map(len, every))
    own = [[*each, *([fill or each[-1]] * (most - len(each)))] for each in every]
    table = np.array(own, dtype=np.float64).reshape(len(every), most, 2)
    return table[:, :, 0], table[:, :, 1]
