"""Pairs of rows placed all at once: those without a gap by the quicker way."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from flangewise.panel_order.places import Line, Runs, SolidTable
from flangewise.panel_order.places_apart import ApartTable, common_mm, left_open
from flangewise.punch_die import Row

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class PairTable:
    """Punch rows, each over a die row with the middles of both at one place of the bed."""

    pairs: tuple[tuple[Row, Row], ...]

    @cached_property
    def _parted(self) -> tuple[tuple[NDArray[np.int64], SolidTable | ApartTable], ...]:
        """The pairs without a gap and those with gaps, each by their places among all."""
        apart = np.array([bool(punch.gaps_mm or die.gaps_mm) for punch, die in self.pairs], dtype=bool)
        found: list[tuple[NDArray[np.int64], SolidTable | ApartTable]] = []
        for at, kind in ((np.flatnonzero(~apart), SolidTable), (np.flatnonzero(apart), ApartTable)):
            if len(at):
                found.append((at, kind(tuple(self.pairs[each] for each in at))))
        return tuple(found)

    @cached_property
    def die_on_mm(self) -> Floats:
        """How far right of the punch row's left end the die row's stands."""
        return np.array([(punch.length_mm - die.length_mm) / 2 for punch, die in self.pairs])

    def places(self, line: Line, punch: Runs, foot: Runs, die: Runs, *, clear_mm: float) -> tuple[Floats, Floats]:
        """What each pair leaves uncovered at least, infinite where it finds no place, and where the punch's left end
        then stands: at the worse end, and by gaps within bends.

        Punch rows keep out of `punch`, feet of ears out of `foot`, die rows out of `die`.
        """
        found = np.empty((2, len(self.pairs)))
        for at, table in self._parted:
            found[:, at] = table.places(line, punch, foot, die, clear_mm=clear_mm)
        return found[0], found[1]

    def left_open(self, pair: int, line: Line, from_mm: float) -> tuple[float, float]:
        """What a pair whose punch row begins there leaves uncovered at the worst end, and by the widest gap."""
        punch, die = self.pairs[pair]
        on_mm = from_mm + float(self.die_on_mm[pair])
        covered = common_mm(
            *([(low + at, high + at) for low, high in row.blocks_mm] for row, at in ((punch, from_mm), (die, on_mm)))
        )
        return left_open(covered, line)
