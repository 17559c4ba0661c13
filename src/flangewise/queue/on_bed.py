"""Stations as jobs ask for them and as they stand on the bed, and which of them stand beside each other.

Stations stay mounted together where all close at one shut height, the rack holds the segments of all, the bed is long
enough for them with what is bent there, and none stands so far out that the drives cannot give its force: the rules
by which the stations of one part stand together.
"""

import itertools
import math
from collections import Counter
from collections.abc import Collection, Mapping, Sequence
from functools import cached_property
from typing import Literal

from flangewise.punch_die import SAME_SHUT_HEIGHT_MM, SegmentUse, segments_mm
from flangewise.records import dataclass
from flangewise.shop import Machine

# Rounding must not part what is alike.
SAME_MM = 1e-6
# Orders of stations side by side that are tried.
MOST_ORDERS = 5040
ToolKind = Literal["punch", "die"]
Tool = tuple[str, str, bool]
"""Kind, name, and whether it is turned."""


@dataclass(frozen=True)
class ToolRow:
    """A punch or a die in its segments, left to right, and the seconds that putting it in takes."""

    kind: ToolKind
    tool: str
    turned: bool
    segments: tuple[SegmentUse, ...]
    put_in_s: float

    @property
    def key(self) -> Tool:
        """What tool it is, and which way round."""
        return self.kind, self.tool, self.turned

    @cached_property
    def length_mm(self) -> float:
        """From end to end."""
        return segments_mm(self.segments)

    @property
    def is_plain(self) -> bool:
        """Whether there is neither an ear nor a gap among them."""
        return all(segment.ear is None and not segment.apart_mm for segment in self.segments)

    def is_of(self, other: "ToolRow") -> bool:
        """Whether it is the same tool, put in the same way round."""
        return self.key == other.key


@dataclass(frozen=True)
class Standing:
    """A station as it stands: lengths from the middle of its punch row.

    `left_mm` and `right_mm`: what must be free of other stations for what is bent there. `off_mm` is the middle of the
    die row. `heavy_kn`: a force that some place on the bed does not allow, else 0.
    """

    punch: ToolRow
    die: ToolRow
    off_mm: float
    left_mm: float
    right_mm: float
    shut_height_mm: float
    heavy_kn: float = 0.0

    @property
    def rows(self) -> tuple[ToolRow, ToolRow]:
        """Punch and die."""
        return self.punch, self.die

    @property
    def put_in_s(self) -> float:
        """Both rows put in."""
        return self.punch.put_in_s + self.die.put_in_s

    @property
    def wide_mm(self) -> float:
        """The bed it takes."""
        return self.left_mm + self.right_mm

    @classmethod
    def of(
        cls,
        punch: ToolRow,
        die: ToolRow,
        off_mm: float,
        *,
        parts_mm: tuple[float, float],
        shut_height_mm: float,
        heavy_kn: float = 0.0,
    ) -> "Standing":
        """A station free of others as far as its rows reach, and what is bent there to the left and to the right."""
        left_mm = max(punch.length_mm / 2, die.length_mm / 2 - off_mm, parts_mm[0])
        right_mm = max(punch.length_mm / 2, die.length_mm / 2 + off_mm, parts_mm[1])
        return cls(punch, die, off_mm, left_mm, right_mm, shut_height_mm, heavy_kn)


@dataclass(frozen=True)
class Need:
    """A station as a job's own set-up has it, the middle of its punch row at `middle_mm` on the bed.

    Rows of `least_mm` do, or as long as its own where the rack holds no more; None: exactly its own rows. What is bent
    there reaches `left_mm` and `right_mm` from the middle. `play_mm`: so far to the left, as a negative figure, and to
    the right of that place the stops can follow.
    """

    own: Standing
    least_mm: float | None
    left_mm: float
    right_mm: float
    middle_mm: float
    play_mm: tuple[float, float] = (-math.inf, math.inf)

    def row_does(self, row: ToolRow) -> bool:
        """Whether a row does for it in the place of its own."""
        own = self.own.die if row.kind == "die" else self.own.punch
        if not own.is_of(row):
            return False
        if self.least_mm is None or own.segments == row.segments:
            return own.segments == row.segments
        return row.is_plain and row.length_mm >= min(self.least_mm, own.length_mm) - SAME_MM

    def is_served(self, by: Standing) -> bool:
        """Whether a station does for it, in a place with room for what is bent there."""
        own = self.own
        if not all(map(self.row_does, by.rows)):
            return False
        if abs(by.off_mm - own.off_mm) <= SAME_MM:
            return True
        # A straight bend lies over the middle of the punch row, with the die under all of it.
        least_mm = min(self.least_mm or math.inf, own.die.length_mm)
        return self.least_mm is not None and by.die.length_mm / 2 - abs(by.off_mm) >= least_mm / 2 - SAME_MM


@dataclass(frozen=True)
class Bed:
    """What decides whether stations stand beside each other; `held`: segments in the rack, by kind and name."""

    machine: Machine
    gap_mm: float
    held: Mapping[tuple[str, str], Mapping[SegmentUse, int]]

    def holds(self, stations: Sequence[Standing]) -> bool:
        """Whether they stand on the bed together."""
        if len(stations) < 2:
            return True
        heights_mm = [each.shut_height_mm for each in stations]
        if max(heights_mm) - min(heights_mm) > SAME_SHUT_HEIGHT_MM:
            return False
        return (
            self.room_mm(stations) <= self.machine.bed_length_mm + SAME_MM
            and self._enough(stations)
            and self.in_a_block(stations) is not None
        )

    def room_mm(self, stations: Sequence[Standing]) -> float:
        """What they take of the bed, with the gaps between them."""
        return sum(each.wide_mm for each in stations) + self.gap_mm * (len(stations) - 1)

    def _enough(self, stations: Sequence[Standing]) -> bool:
        taken = Counter((row.key[:2], use.kind) for each in stations for row in each.rows for use in row.segments)
        return all(count <= self.held[tool].get(use, 0) for (tool, use), count in taken.items())

    def in_a_block(
        self,
        stations: Sequence[Standing],
        in_order: Collection[tuple[int, int]] = (),
        within_mm: Sequence[tuple[float, float]] = (),
    ) -> tuple[float, ...] | None:
        """The middles of stations set side by side about the middle of the bed; None where a force is too far out.

        As they come where forces and order allow it, else in the first order that does. `in_order`: the first of the
        two, by its place among `stations`, stands to the left of the second. `within_mm`: between which places each may
        have its middle.
        """
        for order in itertools.islice(itertools.permutations(range(len(stations))), MOST_ORDERS):
            at_mm = (self.machine.bed_length_mm - self.room_mm(stations)) / 2
            middles_mm = [0.0] * len(stations)
            for place in order:
                middles_mm[place] = at_mm + stations[place].left_mm
                at_mm += stations[place].wide_mm + self.gap_mm
            ordered = all(middles_mm[one] < middles_mm[other] for one, other in in_order)
            reached = all(is_within(at, ends) for at, ends in zip(middles_mm, within_mm, strict=False))
            if ordered and reached and all(map(self.may_stand, stations, middles_mm)):
                return tuple(middles_mm)
            if not in_order and not within_mm and not any(each.heavy_kn for each in stations):
                break
        return None

    def may_stand(self, station: Standing, middle_mm: float) -> bool:
        """Whether it stands on the bed there, and the drives give its force."""
        return is_within(middle_mm, self.ends_mm(station))

    def ends_mm(self, station: Standing) -> tuple[float, float]:
        """Between which places its middle may be: on the bed, and no further out than the drives give its force.

        F <= F_max/(1 + 2 e/s) holds up to e = (F_max/F - 1) s/2.
        """
        machine, length_mm = self.machine, self.machine.bed_length_mm
        low_mm, high_mm = station.left_mm, length_mm - station.right_mm
        if station.heavy_kn:
            off_mm = (machine.force_kn / station.heavy_kn - 1) * machine.drive_spacing_mm / 2
            low_mm, high_mm = max(low_mm, length_mm / 2 - off_mm), min(high_mm, length_mm / 2 + off_mm)
        return low_mm, high_mm

    def apart_mm(self, one: Standing, other: Standing) -> float:
        """How far the middle of one is at least to the left of another's, to whose left it stands."""
        return one.right_mm + self.gap_mm + other.left_mm


def is_within(at_mm: float, ends_mm: tuple[float, float]) -> bool:
    """Whether a place lies between two ends, or on one."""
    return ends_mm[0] - SAME_MM <= at_mm <= ends_mm[1] + SAME_MM
