"""The blank as data."""

from __future__ import annotations

import math

import pytest

from flangewise.pattern import FlatHole

from .made import bend, blank, offset, part


def test_a_round_hole_s_half_size_and_area() -> None:
    round_hole = FlatHole(1, 1, (0.0, 0.0), 6.0, None)
    assert round_hole.half_size_mm == (3.0, 3.0)
    assert round_hole.area_mm2 == pytest.approx(9 * math.pi)


def test_a_rectangular_hole_s_half_size_and_area() -> None:
    slot = FlatHole(1, 1, (0.0, 0.0), None, (20.0, 8.0))
    assert slot.half_size_mm == (10.0, 4.0)
    assert slot.area_mm2 == 160.0


def test_flats_are_the_faces_lengths_across_the_bends() -> None:
    pattern = blank(part((40, 50, 30), bend(1), offset(2, 8.0)))
    assert pattern.flats_mm == pytest.approx((36.0, 42.0, 2.0, 26.0))
    assert sum(pattern.flats_mm) + sum(zone.allowance.allowance_mm for zone in pattern.zones) == pytest.approx(
        pattern.developed_mm
    )


def test_the_sign_of_a_turn() -> None:
    pattern = blank(part((40, 50, 30), bend(1), bend(2, 30.0, away=True)))
    assert [zone.signed_turn_deg for zone in pattern.zones] == [90.0, -30.0]
