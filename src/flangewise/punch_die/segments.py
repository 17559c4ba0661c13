"""Making a tool of a length from the segments held.

A bounded subset sum over lengths in tenths of a mm: the fewest segments first, then the fewest ears (they are kept for
boxes), and on the bed the longest in the middle, an ear at its own end. Common practice.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from flangewise.shop import Ear, Segment

Use = tuple[int, ...]
"""How many of each kind of segment are taken, in the order of the kinds."""
Weight = tuple[int, int]
"""Segments taken, and ears among them: the fewer the better."""

TENTHS = 10


@dataclass(frozen=True)
class SegmentUse:
    """One segment as it stands on the bed."""

    length_mm: float
    ear: Ear | None = None

    @property
    def text(self) -> str:
        """As a setter reads it: `110`, or `ear 75 left`."""
        return f"ear {self.length_mm:g} {self.ear}" if self.ear else f"{self.length_mm:g}"


def cover(
    segments: Iterable[Segment], least_mm: float, *, most_mm: float, short_mm: float = 0.0
) -> tuple[SegmentUse, ...]:
    """The segments for a straight bend of `least_mm`: at least as long where the set allows, else up to short_mm less.

    A tool longer than the part does no harm, so the fewest segments win, then the least overhang; most_mm is the bed.
    Ears carry less and are kept for boxes: they are taken only where the plain segments do not reach. Empty where
    nothing reaches.
    """
    held = tuple(segments)
    for with_ears in (False, True):
        for reach_mm in (least_mm, least_mm - short_mm):
            found = _cover(_kinds(held, with_ears=with_ears), _tenths(reach_mm), most=_tenths(most_mm))
            if found:
                return found
    return ()


def _cover(kinds: tuple[Segment, ...], least: int, *, most: int) -> tuple[SegmentUse, ...]:
    sums = _sums(kinds, most=most)
    enough = [total for total in sums if total >= max(least, 1)]
    if not enough:
        return ()
    best = min(enough, key=lambda total: (sums[total][0], total))
    return arranged(kinds, sums[best][1])


def arranged(kinds: tuple[Segment, ...], use: Use) -> tuple[SegmentUse, ...]:
    """The segments taken, left to right: the longest in the middle, shorter ones outward, ears at their own ends."""
    taken = [kind for kind, count in zip(kinds, use, strict=True) for _ in range(count)]
    plain = sorted((kind for kind in taken if kind.ear is None), key=lambda kind: -kind.length_mm)
    middle: list[SegmentUse] = []
    for place, kind in enumerate(plain):
        piece = SegmentUse(kind.length_mm)
        middle = [*middle, piece] if place % 2 == 0 else [piece, *middle]
    left = [SegmentUse(kind.length_mm, "left") for kind in taken if kind.ear == "left"]
    right = [SegmentUse(kind.length_mm, "right") for kind in taken if kind.ear == "right"]
    return (*left, *middle, *right)


def _kinds(segments: Iterable[Segment], *, with_ears: bool) -> tuple[Segment, ...]:
    kept = (segment for segment in segments if with_ears or segment.ear is None)
    return tuple(sorted(kept, key=lambda segment: (-segment.length_mm, segment.ear or "")))


def _sums(kinds: tuple[Segment, ...], *, most: int) -> dict[int, tuple[Weight, Use]]:
    """The best way to each total up to `most`, in tenths of a mm, by segments taken and then by ears."""
    best: dict[int, tuple[Weight, Use]] = {0: ((0, 0), (0,) * len(kinds))}
    for index, kind in enumerate(kinds):
        length, is_ear = _tenths(kind.length_mm), kind.ear is not None
        for total, ((taken, ears), use) in list(best.items()):
            for count in range(1, min(kind.held, (most - total) // length) + 1):
                weight = (taken + count, ears + count * is_ear)
                reached = total + count * length
                if reached not in best or weight < best[reached][0]:
                    best[reached] = weight, (*use[:index], count, *use[index + 1 :])
    return best


def _tenths(length_mm: float) -> int:
    return round(length_mm * TENTHS)
