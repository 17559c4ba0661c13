"""Hem and offset forces against the trade tables they are quoted from."""

import pytest

from flangewise.bend.force import OFFSET_FORCE_FACTOR, hem_force_kn_per_m


# Benson 1997 p. 138 as quoted: tonnes a metre, times 9.80665.
@pytest.mark.parametrize(
    ("thickness", "hem", "tonnes"), [(0.6, "open", 9), (1.0, "closed", 40), (2.6, "open", 55), (4.5, "closed", 200)]
)
def test_rows_of_the_hem_table(thickness, hem, tonnes):
    assert hem_force_kn_per_m(thickness, hem, tensile_mpa=320) == pytest.approx(tonnes * 9.80665)


def test_between_rows_it_is_linear():
    # Halfway from 1.6 (63) to 2.0 (80).
    assert hem_force_kn_per_m(1.8, "closed", tensile_mpa=320) == pytest.approx(71.5 * 9.80665)


def test_thinner_takes_the_first_row_and_thicker_has_no_answer():
    assert hem_force_kn_per_m(0.3, "open", tensile_mpa=320) == pytest.approx(9 * 9.80665)
    assert hem_force_kn_per_m(4.6, "open", tensile_mpa=320) is None


def test_harder_sheet_asks_for_more_and_softer_for_no_less():
    at_400 = hem_force_kn_per_m(1, "closed", tensile_mpa=400)
    assert hem_force_kn_per_m(1, "closed", tensile_mpa=640) == pytest.approx(1.6 * at_400)
    assert hem_force_kn_per_m(1, "closed", tensile_mpa=200) == at_400


def test_the_factor_of_an_offset():
    # A die maker's factors: offset 150 where an air bend has 60.
    assert pytest.approx(150) == OFFSET_FORCE_FACTOR * 60
