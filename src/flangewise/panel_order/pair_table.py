"""Pairs of rows placed all at once: those without a gap by the quicker way."""

from __future__ import annotations

from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from flangewise.clearance import Stretches
from flangewise.panel_order.places import NOISE_MM, BedLine, SolidTable
from flangewise.panel_order.places_apart import ApartTable, common_mm, left_open
from flangewise.punch_die import Row
from flangewise.records import dataclass

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


@dataclass(frozen=True)
class PairTable:
    """Punch rows, each over a die row with the middles of both at one place of the bed."""

    pairs: tuple[tuple[Row, Row], ...]

    @cached_property
    def _parted(self) -> dict[bool, list[tuple[Ints, SolidTable | ApartTable]]]:
        """The pairs without a gap and those with gaps, these by how many blocks they have, by their places among all;
        what there is none of is left out."""
        blocks = np.array([len(punch.gaps_mm) + len(die.gaps_mm) for punch, die in self.pairs], dtype=np.int64)
        found: dict[bool, list[tuple[Ints, SolidTable | ApartTable]]] = {}
        for count in np.unique(blocks).tolist():
            at = np.flatnonzero(blocks == count)
            own = tuple(self.pairs[each] for each in at)
            found.setdefault(count > 0, []).append((at, ApartTable(own) if count else SolidTable(own)))
        return found

    @cached_property
    def widest_mm(self) -> float:
        """The widest gap of any row; 0 where there are none."""
        gaps = {gap for pair in self.pairs for row in pair for gap in row.gaps_mm}
        return max((high - low for low, high in gaps), default=0.0)

    @cached_property
    def reach_mm(self) -> float:
        """How far any ear reaches."""
        return max(mm for punch, _ in self.pairs for mm in punch.reach_mm)

    @cached_property
    def die_on_mm(self) -> Floats:
        """How far right of the punch row's left end the die row's stands."""
        return np.array([(punch.length_mm - die.length_mm) / 2 for punch, die in self.pairs])

    def numbers(self, *, apart: bool) -> Ints:
        """The pairs without a gap, or those with gaps, by their places among all."""
        return np.concatenate([np.zeros(0, dtype=np.int64), *(at for at, _ in self._parted.get(apart, ()))])

    def places(self, line: BedLine, stretches: Stretches, *, clear_mm: float, apart: bool) -> tuple[Floats, Floats]:
        """Of the pairs without a gap, or of those with gaps: what each leaves uncovered at least, and where its punch's
        left end then stands.

        Uncovered is the worse end, and gaps within bends besides; infinite where a pair finds no place. Punch rows,
        feet of ears and die rows keep out of their stretches.
        """
        if apart not in self._parted or not self._may_stand(line, stretches, clear_mm=clear_mm):
            count = len(self.numbers(apart=apart))
            return np.full(count, np.inf), np.zeros(count)
        forbidden = stretches.punch, stretches.foot, stretches.die
        found = [table.places(line, *forbidden, clear_mm=clear_mm) for _, table in self._parted[apart]]
        short_mm, from_mm = (np.concatenate(each) for each in zip(*found, strict=True))
        return short_mm, from_mm

    def _may_stand(self, line: BedLine, stretches: Stretches, *, clear_mm: float) -> bool:
        """Whether what is forbidden to a punch in the middle of the line might fit into a gap; else no row stands.

        In the middle no end of a row is, nor does an ear reach there.
        """
        far_mm = max(line.free_short_mm, line.beside_short_mm) + self.reach_mm
        low_mm, high_mm = line.from_mm + far_mm, line.to_mm - far_mm
        return all(
            high <= low_mm or low >= high_mm or high - low + 2 * clear_mm <= self.widest_mm + NOISE_MM
            for low, high in stretches.punch
        )

    def left_open(self, pair: int, line: BedLine, from_mm: float) -> tuple[float, float]:
        """What a pair whose punch row begins there leaves uncovered at the worst end, and by the widest gap."""
        punch, die = self.pairs[pair]
        on_mm = from_mm + float(self.die_on_mm[pair])
        covered = common_mm(
            *([(low + at, high + at) for low, high in row.blocks_mm] for row, at in ((punch, from_mm), (die, on_mm)))
        )
        return left_open(covered, line)
