"""Rows of segments, with an ear at either end or none: which the shop's segments make.

Over the reach of an ear, at its own end, only what lies below its foot's height stands: there the part is met by the
foot alone.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

from flangewise.punch_die.stations import SegmentUse, row_sums
from flangewise.shop import Segment


@dataclass(frozen=True)
class Row:
    """Segments side by side, from left to right; `ear_reach_mm` is how far an ear's foot alone stands at its end."""

    segments: tuple[SegmentUse, ...]
    ear_reach_mm: float = 0.0

    @cached_property
    def length_mm(self) -> float:
        """From end to end."""
        return round(sum(segment.length_mm for segment in self.segments), 6)

    @cached_property
    def ears(self) -> tuple[bool, bool]:
        """Whether there is an ear at the left end, and at the right end."""
        return self.segments[0].ear == "left", self.segments[-1].ear == "right"

    @property
    def reach_mm(self) -> tuple[float, float]:
        """How far from the left end, and from the right end, only a foot stands."""
        left, right = self.ears
        return (self.ear_reach_mm if left else 0.0, self.ear_reach_mm if right else 0.0)

    @property
    def text(self) -> str:
        """As a setter reads it: `110 + 110 + 35 + 35`."""
        return " + ".join(segment.text for segment in self.segments)


@dataclass(frozen=True)
class Placed:
    """A row where it stands for a hit: its left end from the left end of the bend line, + to the right."""

    row: Row
    from_mm: float

    @property
    def to_mm(self) -> float:
        """Its right end, from the left end of the bend line."""
        return self.from_mm + self.row.length_mm


def rows_of(
    segments: Iterable[Segment], *, least_mm: float, most_mm: float, ear_reach_mm: float | None = None
) -> tuple[Row, ...]:
    """Every length from `least_mm` to `most_mm` that the segments make, each once a pair of ends (plain or ear).

    Of each the fewest segments. Ears are taken only where their reach is known.
    """
    held = tuple(segments)
    plain = tuple(each for each in held if each.ear is None)
    found = []
    for left, right in _ends(held if ear_reach_mm is not None else plain):
        ears = tuple(each for each in (left, right) if each is not None)
        ends_mm = sum(each.length_mm for each in ears)
        for _, middle in row_sums(plain, least_mm=least_mm - ends_mm, most_mm=most_mm - ends_mm):
            if middle or ears:
                uses = (
                    *((SegmentUse(left.length_mm, "left"),) if left else ()),
                    *middle,
                    *((SegmentUse(right.length_mm, "right"),) if right else ()),
                )
                found.append(Row(uses, ear_reach_mm or 0.0))
    return tuple(found)


def _ends(held: Sequence[Segment]) -> Iterator[tuple[Segment | None, Segment | None]]:
    lefts = [None, *(each for each in held if each.ear == "left")]
    rights = [None, *(each for each in held if each.ear == "right")]
    return ((left, right) for left in lefts for right in rights)
