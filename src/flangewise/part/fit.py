"""Whether the sizes of a section can be: every leg longer than its own bends, every hole inside its leg."""

import math
from collections.abc import Iterator

from flangewise.bend import leg_setback_mm
from flangewise.faults import FaultCollector, Steps
from flangewise.part.bends import WantedBend
from flangewise.part.model import Section, WantedHole
from flangewise.units import format_length

# A flat shorter than this is none: far under what can be cut, far over rounding.
NOTHING_MM = 1e-9


def least_leg_mm(section: Section, leg: int, thickness_mm: float) -> float:
    """What the bends at leg's ends (from 1) take of its size at least, with the radius asked for, or none at all."""
    ends = (bend for bend in section.bends if bend.number in (leg - 1, leg))
    return sum(
        leg_setback_mm(_radius_mm(bend, section), thickness_mm, turn_deg=bend.turn_deg, sizes=section.sizes)
        for bend in ends
    )


def _radius_mm(bend: WantedBend, section: Section) -> float:
    if bend.kind == "hem":
        return (bend.gap_mm or 0.0) / 2
    asked_mm = bend.radius_mm if bend.radius_mm is not None else section.radius_mm
    return asked_mm or 0.0


def check_sizes(section: Section, thickness_mm: float, *, units: str, collector: FaultCollector) -> None:
    """Tell of every leg shorter than its bends, and every hole that leaves its leg or meets another."""
    for leg, leg_mm in enumerate(section.legs_mm, start=1):
        least_mm = least_leg_mm(section, leg, thickness_mm)
        if leg_mm <= least_mm + NOTHING_MM:
            told = f"{format_length(leg_mm, units)} is used up by its own bends"
            fits = f"with the radius asked for it must be longer than {format_length(least_mm + 0.005, units)}"
            collector.value(("section", "legs", leg - 1), told, fits)
    for hole in section.holes:
        _check_inside(hole, section, units, collector)
    for first, second in meeting_holes(section.holes):
        steps: Steps = ("section", "holes", second.number - 1)
        collector.value(steps, f"meets hole {first.number}", "move one of them, or make them one hole")


def half_size_mm(hole: WantedHole) -> tuple[float, float]:
    """Half the hole's extent along the bend lines and across them."""
    if hole.diameter_mm is not None:
        return hole.diameter_mm / 2, hole.diameter_mm / 2
    along_mm, across_mm = hole.size_mm or (0.0, 0.0)
    return along_mm / 2, across_mm / 2


def _check_inside(hole: WantedHole, section: Section, units: str, collector: FaultCollector) -> None:
    half_along_mm, half_across_mm = half_size_mm(hole)
    leg_mm = section.legs_mm[hole.leg - 1]
    steps: Steps = ("section", "holes", hole.number - 1, "at")
    for axis_steps, at_mm, half_mm, most_mm, what in (
        ((*steps, 0), hole.along_mm, half_along_mm, section.length_mm, "the part's length"),
        ((*steps, 1), hole.across_mm, half_across_mm, leg_mm, f"leg {hole.leg}"),
    ):
        if at_mm - half_mm <= 0 or at_mm + half_mm >= most_mm:
            low, high = format_length(half_mm, units), format_length(most_mm - half_mm, units)
            fits = f"its centre lies between {low} and {high}"
            if 2 * half_mm >= most_mm:
                fits = f"{what} is {format_length(most_mm, units)}, so no hole of that size fits"
            collector.value(axis_steps, f"the hole is not inside {what}", fits)


def meeting_holes(holes: tuple[WantedHole, ...]) -> Iterator[tuple[WantedHole, WantedHole]]:
    """Pairs of holes in the same leg that touch, each pair with the lower number first."""
    by_left = sorted(holes, key=lambda hole: hole.along_mm - half_size_mm(hole)[0])
    for index, hole in enumerate(by_left):
        right_mm = hole.along_mm + half_size_mm(hole)[0]
        for other in by_left[index + 1 :]:
            if other.along_mm - half_size_mm(other)[0] > right_mm:
                break
            if other.leg == hole.leg and _touch(hole, other):
                yield (hole, other) if hole.number < other.number else (other, hole)


def _touch(one: WantedHole, other: WantedHole) -> bool:
    """Whether two holes meet: how far apart their boxes are, rounded by the radii of the round ones."""
    gap_along_mm = abs(one.along_mm - other.along_mm) - _core_mm(one)[0] - _core_mm(other)[0]
    gap_across_mm = abs(one.across_mm - other.across_mm) - _core_mm(one)[1] - _core_mm(other)[1]
    apart_mm = math.hypot(max(gap_along_mm, 0.0), max(gap_across_mm, 0.0))
    return apart_mm <= sum((hole.diameter_mm or 0.0) / 2 for hole in (one, other))


def _core_mm(hole: WantedHole) -> tuple[float, float]:
    """Half the box of a rectangular hole; nothing for a round one, which is its centre with a radius."""
    return (0.0, 0.0) if hole.diameter_mm is not None else half_size_mm(hole)
