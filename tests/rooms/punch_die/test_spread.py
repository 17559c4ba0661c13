"""The expected scatter of a pair's angle, against the first-order figures worked out with a Monte Carlo."""

from __future__ import annotations

import pytest

from flangewise.punch_die import BendWish, Ideal, expected_spread

from .made import offers, stock

IDEAL = Ideal(1.0, 16.0, 1.5)


def test_dc01_2_mm_in_v_16_with_nothing_measured() -> None:
    """Thickness, strength, hardening and depth give 0.56, 0.06, 0.35, 0.13; with 0.8 for the model itself +-2.1.

    Thickness and strength are those between coils; with 0.3 of each within the coil they are 1.044 of that.
    """
    (made,) = offers(BendWish(1, 90, ideal=IDEAL))
    spread = expected_spread(made, tolerance_mm=0.10, depth_repeat_mm=0.01)
    assert spread is not None
    cause = dict(spread.by_cause_deg)
    assert cause["thickness"] == pytest.approx(0.56 * 1.044, abs=0.03)
    assert cause["strength"] == pytest.approx(0.06 * 1.044, abs=0.03)
    assert cause["depth"] == pytest.approx(0.13, abs=0.01)
    assert spread.first_piece_deg == pytest.approx(2.1, abs=0.1)
    assert spread.thickness_measured_deg < spread.first_piece_deg
    assert spread.after_one_deg < spread.thickness_measured_deg
    assert spread.dominant == "model"


def test_no_tolerance_no_scatter() -> None:
    (made,) = offers(BendWish(1, 90, ideal=IDEAL))
    assert expected_spread(made, tolerance_mm=None, depth_repeat_mm=0.01) is None


def test_no_angle_no_scatter() -> None:
    made = offers(BendWish(1, 90, kind="offset", offset_mm=4.0), stock(thickness_mm=1.5))[0]
    assert expected_spread(made, tolerance_mm=0.1, depth_repeat_mm=0.01) is None


def test_what_measured_bends_taught_takes_most_of_the_models_own_error_away() -> None:
    """A learned key at 2 mm, V 16 is some +-1.4 degrees."""
    (made,) = offers(BendWish(1, 90, ideal=IDEAL), stock(springback_log=-0.1))
    spread = expected_spread(made, tolerance_mm=0.10, depth_repeat_mm=0.01)
    assert spread is not None and spread.first_piece_deg == pytest.approx(1.4, abs=0.15)
