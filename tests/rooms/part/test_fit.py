"""Sizes that can be: legs longer than their bends, holes inside their legs and apart from each other."""

from __future__ import annotations

import math

import pytest

from flangewise.part import Section, WantedHole, half_size_mm
from flangewise.part.fit import least_leg_mm

from .made import faults, read


def section(**more: str) -> Section:
    return read(**more).section


def test_a_leg_gives_its_bends_their_setbacks() -> None:
    """Outside, square: r + t at each end; the radius asked for, none if none is."""
    plain = section(legs="[40, 60, 40]", bends="[90, 90]")
    assert [least_leg_mm(plain, leg, 2.0) for leg in (1, 2, 3)] == pytest.approx([2.0, 4.0, 2.0])
    rounded = read("  radius: 3\n", legs="[40, 60, 40]", bends="[90, {turn: 90, radius: 5}]").section
    assert [least_leg_mm(rounded, leg, 2.0) for leg in (1, 2, 3)] == pytest.approx([5.0, 12.0, 7.0])


def test_setbacks_follow_the_angle() -> None:
    assert least_leg_mm(section(bends="[{turn: 60}]"), 1, 2.0) == pytest.approx(2 * math.tan(math.radians(30)))
    assert least_leg_mm(section(bends="[{turn: 150}]"), 1, 2.0) == pytest.approx(2.0)


def test_inside_sizes_give_up_the_radius_alone() -> None:
    inside = read("  radius: 3\n  sizes: inside\n").section
    assert least_leg_mm(inside, 1, 2.0) == pytest.approx(3.0)


def test_a_hem_gives_up_half_its_gap_and_the_thickness() -> None:
    assert least_leg_mm(section(bends="[{hem: closed}]"), 1, 2.0) == pytest.approx(2.0)
    assert least_leg_mm(section(bends="[{hem: open, gap: 3}]"), 1, 2.0) == pytest.approx(3.5)


@pytest.mark.parametrize(("leg", "is_sound"), [("2.01", True), ("2", False), ("1.9", False)])
def test_a_leg_must_be_longer_than_that(leg: str, is_sound: bool) -> None:
    assert (faults(legs=f"[{leg}, 60]") == []) is is_sound


def test_the_least_is_told_in_the_file_s_units() -> None:
    (told,) = faults("units: inch\n", thickness="0.1", length="4", legs="[0.05, 2]")
    assert (
        told
        == "6:10: leg 1: 0.05 in is used up by its own bends, with the radius asked for it must be longer than 0.1 in"
    )


def hole(text: str) -> list[str]:
    return [line.split(": ", 1)[1] for line in faults(f"  holes: [{text}]\n")]


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("{leg: 1, at: [50, 20], diameter: 39.9}", None),
        ("{leg: 1, at: [50, 20], diameter: 40}", "leg 1 is 40 mm, so no hole of that size fits"),
        ("{leg: 1, at: [50, 2.5], diameter: 5}", "its centre lies between 2.5 mm and 37.5 mm"),
        ("{leg: 1, at: [50, 37.5], diameter: 5}", "its centre lies between 2.5 mm and 37.5 mm"),
        ("{leg: 1, at: [2.5, 20], diameter: 5}", "its centre lies between 2.5 mm and 97.5 mm"),
        ("{leg: 2, at: [50, 58], size: [20, 4]}", "its centre lies between 2 mm and 58 mm"),
        ("{leg: 2, at: [50, 58], size: [4, 3]}", None),
        ("{leg: 2, at: [500, 30], diameter: 5}", "its centre lies between 2.5 mm and 97.5 mm"),
    ],
)
def test_a_hole_lies_inside_its_leg(text: str, told: str | None) -> None:
    found = hole(text)
    assert [line.split(", ", 1)[1] for line in found] == ([told] if told else [])


@pytest.mark.parametrize(
    ("other", "do_meet"),
    [
        ("{leg: 1, at: [60.1, 20], diameter: 10}", False),
        ("{leg: 1, at: [60, 20], diameter: 10}", True),
        ("{leg: 1, at: [57, 27], diameter: 10}", True),
        ("{leg: 1, at: [57.1, 27.1], diameter: 10}", False),
        ("{leg: 2, at: [50, 20], diameter: 10}", False),
        ("{leg: 1, at: [60, 20], size: [10, 10]}", True),
        ("{leg: 1, at: [60.1, 20], size: [10, 10]}", False),
        # A round hole at the corner of a slot: 5 away is met by radius 5, a corner 3.6 x 3.6 off is 5.09 away.
        ("{leg: 1, at: [58.6, 28.6], size: [10, 10]}", False),
        ("{leg: 1, at: [58.5, 28.5], size: [10, 10]}", True),
    ],
)
def test_holes_that_meet(other: str, do_meet: bool) -> None:
    told = hole("{leg: 1, at: [50, 20], diameter: 10}, " + other)
    assert told == (["hole 2: meets hole 1, move one of them, or make them one hole"] if do_meet else [])


def test_two_slots_that_meet() -> None:
    slot = "{leg: 1, at: [50, 20], size: [10, 4]}"
    assert hole(f"{slot}, {{leg: 1, at: [59, 23], size: [10, 4]}}") != []
    assert hole(f"{slot}, {{leg: 1, at: [61, 20], size: [10, 4]}}") == []
    assert hole(f"{slot}, {{leg: 1, at: [50, 25], size: [10, 4]}}") == []


def test_a_hole_hidden_behind_a_wide_one_is_found() -> None:
    """Sorted along the part, others may lie between two holes that meet."""
    told = hole(
        "{leg: 2, at: [50, 40], size: [90, 4]}, "
        "{leg: 2, at: [20, 10], diameter: 4}, "
        "{leg: 2, at: [80, 40], diameter: 4}"
    )
    assert told == ["hole 3: meets hole 1, move one of them, or make them one hole"]


def test_half_sizes() -> None:
    assert half_size_mm(WantedHole(1, 1, 0.0, 0.0, diameter_mm=5.0)) == (2.5, 2.5)
    assert half_size_mm(WantedHole(1, 1, 0.0, 0.0, size_mm=(20.0, 8.0))) == (10.0, 4.0)
