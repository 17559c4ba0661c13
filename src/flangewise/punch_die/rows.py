"""Rows of segments, with an ear at either end or none, and with gaps between: which the shop's segments make.

Over the reach of an ear, at its own end, only what lies below its foot's height stands: there the part is met by the
foot alone. Through a gap a flange passes that stands already; the sheet under it is bent by what stands beside it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from functools import cached_property

from flangewise.punch_die.stations import SegmentUse, left_over, row_sums, segment_texts, segments_mm
from flangewise.records import dataclass, replace
from flangewise.shop import Segment

Uses = tuple[SegmentUse, ...]


@dataclass(frozen=True)
class Row:
    """Segments side by side, from left to right; `ear_reach_mm` is how far an ear's foot alone stands at its end."""

    segments: tuple[SegmentUse, ...]
    ear_reach_mm: float = 0.0

    @cached_property
    def length_mm(self) -> float:
        """From end to end."""
        return segments_mm(self.segments)

    @cached_property
    def gaps_mm(self) -> tuple[tuple[float, float], ...]:
        """Where segments stand apart: from where to where, from the row's left end."""
        found, at_mm = [], 0.0
        for segment in self.segments:
            if segment.apart_mm:
                found.append((at_mm, at_mm + segment.apart_mm))
            at_mm += segment.apart_mm + segment.length_mm
        return tuple(found)

    @cached_property
    def blocks_mm(self) -> tuple[tuple[float, float], ...]:
        """Where segments stand side by side: from where to where, from the row's left end."""
        ends = [mm for gap in self.gaps_mm for mm in gap]
        return tuple(zip((0.0, *ends[1::2]), (*ends[::2], self.length_mm), strict=True))

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
        """As a setter reads it: `110 + 110 + gap 4 + 35`."""
        return " + ".join(segment_texts(self.segments))


@dataclass(frozen=True)
class Placed:
    """A row where it stands for a hit: its left end from the left end of the bend line, + to the right."""

    row: Row
    from_mm: float

    @property
    def to_mm(self) -> float:
        """Its right end, from the left end of the bend line."""
        return self.from_mm + self.row.length_mm

    @property
    def segments_mm(self) -> Iterator[tuple[float, float]]:
        """From where to where each segment stands."""
        at_mm = self.from_mm
        for segment in self.row.segments:
            yield at_mm + segment.apart_mm, at_mm + segment.apart_mm + segment.length_mm
            at_mm += segment.apart_mm + segment.length_mm


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


@dataclass(frozen=True)
class Apart:
    """Rows that are asked for: blocks `gaps_mm` apart, the lengths wanted of each but the last and of the whole row."""

    gaps_mm: tuple[float, ...]
    blocks_mm: tuple[tuple[float, float], ...]
    whole_mm: tuple[float, float]


def rows_apart(
    segments: Iterable[Segment], asked: Iterable[Apart], *, ear_reach_mm: float | None = None
) -> tuple[Row, ...]:
    """Of what is asked each length of the blocks and of the whole, each once a pair of ends; from the left and from the
    right.

    Of each block the fewest segments, the first one first. Ears are taken at the row's ends only, where their reach is
    known.
    """
    held = tuple(segments)
    plain = tuple(each for each in held if each.ear is None)
    found: dict[Row, None] = {}
    for each in asked:
        for left, right in _ends(held if ear_reach_mm is not None else plain):
            for is_left in (True, False):
                for blocks in _blocks(plain, each, (left, right) if is_left else (right, left), is_left=is_left):
                    gaps_mm, (first, *others) = (
                        (each.gaps_mm, blocks) if is_left else (each.gaps_mm[::-1], blocks[::-1])
                    )
                    apart = (
                        (replace(block[0], apart_mm=gap_mm), *block[1:])
                        for gap_mm, block in zip(gaps_mm, others, strict=True)
                    )
                    uses = (*first, *(use for block in apart for use in block))
                    found[Row(uses, ear_reach_mm or 0.0)] = None
    return tuple(found)


def _blocks(
    plain: Sequence[Segment],
    asked: Apart,
    ends: tuple[Segment | None, Segment | None],
    made: tuple[Uses, ...] = (),
    *,
    is_left: bool,
) -> Iterator[tuple[Uses, ...]]:
    """The blocks in the order in which they are asked for, those `made` first; the first of the ends at the outer
    end of the first, the other at that of the last."""
    is_last = len(made) == len(asked.gaps_mm)
    begin, end = (
        () if ear is None else (SegmentUse(ear.length_mm, ear.ear),)
        for ear in (ends[0] if not made else None, ends[1] if is_last else None)
    )
    ears_mm = segments_mm((*begin, *end))
    made_mm = sum(map(segments_mm, made)) + sum(asked.gaps_mm)
    least_mm, most_mm = (mm - made_mm for mm in asked.whole_mm) if is_last else asked.blocks_mm[len(made)]
    for _, block in row_sums(plain, least_mm=least_mm - ears_mm, most_mm=most_mm - ears_mm):
        whole = (*begin, *block, *end) if is_left else (*end, *block, *begin)
        if whole and is_last:
            yield (*made, whole)
        elif whole:
            yield from _blocks(left_over(plain, block), asked, ends, (*made, whole), is_left=is_left)


def _ends(held: Sequence[Segment]) -> Iterator[tuple[Segment | None, Segment | None]]:
    lefts = [None, *(each for each in held if each.ear == "left")]
    rights = [None, *(each for each in held if each.ear == "right")]
    return ((left, right) for left in lefts for right in rights)
