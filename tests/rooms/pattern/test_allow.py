"""What each bend takes: which of rule, K factor and measurement is used, and the zones it makes."""

from __future__ import annotations

import math

import pytest

from flangewise.bend import HEM_K_FACTOR
from flangewise.pattern.section import taken_by_bends

from .made import bend, hem, offset, part


def test_every_bend_in_order_with_its_radius() -> None:
    wanted = part((40, 40, 40), bend(1), bend(2, 45))
    taken = taken_by_bends(wanted, {1: 2.0, 2: 3.0}, rule="textbook", deductions_mm={})
    assert [(each.bend.number, each.radius_mm, each.web_mm) for each in taken] == [(1, 2.0, None), (2, 3.0, None)]
    # K 0.33 at both: pi/2 (2 + 0.66) and pi/4 (3 + 0.66).
    assert [each.allowance.allowance_mm for each in taken] == pytest.approx([4.1783, 2.8746], abs=1e-4)


def test_a_plain_bend_has_one_zone_and_an_offset_two_opposite_ones() -> None:
    wanted = part((40, 40, 40, 40), bend(1, away=True), offset(2, 8.0), offset(3, 8.0, away=True))
    taken = taken_by_bends(wanted, {1: 2.0, 2: 2.0, 3: 2.0}, rule="din-6935", deductions_mm={})
    assert taken[0].zones == (("1", False),)
    assert taken[1].zones == (("2a", True), ("2b", False))
    assert taken[2].zones == (("3a", False), ("3b", True))


def test_a_hem_uses_the_middle_of_the_sheet_unless_told() -> None:
    wanted = part((10, 40, 10), hem(1), hem(2, k_factor=0.4))
    first, second = taken_by_bends(wanted, {1: 0.0, 2: 0.0}, rule="din-6935", deductions_mm={})
    assert HEM_K_FACTOR == 0.5
    assert first.allowance.allowance_mm == pytest.approx(math.pi)
    assert second.allowance.allowance_mm == pytest.approx(0.8 * math.pi)


def test_a_bend_s_own_k_goes_first_then_what_was_learned_then_the_rule() -> None:
    wanted = part((40, 40, 40, 40), bend(1, k_factor=0.5), bend(2), bend(3))
    taken = taken_by_bends(wanted, {1: 2.0, 2: 2.0, 3: 2.0}, rule="faa", deductions_mm={1: 3.0, 2: 3.0})
    assert [each.allowance.rule for each in taken] == ["k-factor", "measured", "faa"]


def test_the_web_of_an_offset() -> None:
    """[h - (2 r + t)(1 - cos A)]/sin A: 4 - 6 (1 - 0.5) over 0.866 = 1.1547."""
    (taken,) = taken_by_bends(part((40, 40), offset(1, 4.0, 60.0)), {1: 2.0}, rule="din-6935", deductions_mm={})
    assert taken.web_mm == pytest.approx(1.1547, abs=1e-4)


def test_a_web_that_cannot_be_comes_out_negative() -> None:
    (taken,) = taken_by_bends(part((40, 40), offset(1, 4.0)), {1: 2.0}, rule="din-6935", deductions_mm={})
    assert taken.web_mm == pytest.approx(-2.0)
