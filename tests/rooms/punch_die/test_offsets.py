"""An offset: the pair of the wanted step and turn, its force a factor on an air bend's, no angle predicted."""

from __future__ import annotations

import pytest

from flangewise.punch_die import BendWish, usable

from .made import codes, offers, stock, value

SHEET = {"thickness_mm": 1.5}


def test_the_pair_of_the_wanted_step_comes_first() -> None:
    made = offers(BendWish(1, 90, kind="offset", offset_mm=4.0), stock(**SHEET))
    assert made[0].tools.name == "offset-4 on offset-4" and not made[0].refused
    assert len(usable(made)) == 1


def test_the_turn_counts_as_well() -> None:
    made = offers(BendWish(1, 60, kind="offset", offset_mm=4.0), stock(**SHEET))
    assert made[0].tools.punch_name == "offset-4-at-60"
    assert made[0].turn_deg == 60


@pytest.mark.parametrize(("step", "found"), [(4.0, True), (4.09, True), (3.91, True), (4.11, False), (3.0, False)])
def test_a_step_within_a_tenth_is_that_step(step: float, found: bool) -> None:
    made = offers(BendWish(1, 90, kind="offset", offset_mm=step), stock(**SHEET))
    assert bool(usable(made)) is found


def test_a_step_the_shop_has_not_is_refused_with_what_it_has() -> None:
    made = offers(BendWish(1, 90, kind="offset", offset_mm=3.0), stock(**SHEET))
    assert all("offset-of-another-step" in codes(each) for each in made)
    assert value(made[0], "offset-of-another-step", "step_mm") in (2, 4)
    assert value(made[0], "offset-of-another-step", "wanted_mm") == 3


def test_sheet_thicker_than_the_pair_takes_is_refused() -> None:
    made = offers(BendWish(1, 90, kind="offset", offset_mm=4.0), stock(thickness_mm=2.5))
    assert value(made[0], "offset-too-thick", "most_mm") == 2


def test_the_force_is_two_and_a_half_air_bends_and_nothing_else_is_predicted() -> None:
    best = offers(BendWish(1, 90, kind="offset", offset_mm=4.0, length_mm=200), stock(**SHEET))[0]
    # A die maker's factors, offset 150 to air bend 60; air bend (1 + 4t/V) Rm t2/V in V = 6 t.
    air = (1 + 4 / 6) * 320 * 1.5**2 / 9
    assert best.limit_force_kn_per_m == pytest.approx(2.5 * air)
    assert best.force_kn(200) == pytest.approx(2.5 * air * 0.2)
    nothing = (best.air, best.loaded_turn_deg, best.deg_per_mm, best.formed_radius_mm)
    assert nothing == (None, None, None, None)


def test_closed_the_nose_is_a_step_less_a_sheet_below_the_top() -> None:
    best = offers(BendWish(1, 90, kind="offset", offset_mm=4.0), stock(**SHEET))[0]
    assert best.depth_mm == pytest.approx(2.5)
