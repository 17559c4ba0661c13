"""Outer strain and the radius by reduction of area, against closed forms; printed figures are checked elsewhere."""

from __future__ import annotations

import math

import pytest

from flangewise.bend import least_radius_by_area_mm, outer_strain


@pytest.mark.parametrize("radius_mm", [0.5, 1.0, 3.0, 40.0])
def test_outer_strain_is_the_outer_arc_against_the_mid_arc(radius_mm: float) -> None:
    thickness_mm, turn = 1.6, math.radians(70)
    outer_mm, middle_mm = (radius_mm + thickness_mm) * turn, (radius_mm + thickness_mm / 2) * turn
    assert outer_strain(radius_mm, thickness_mm) == pytest.approx(outer_mm / middle_mm - 1)


def test_a_sheet_folded_flat_stretches_its_outer_face_to_double() -> None:
    assert outer_strain(0.0, 2.0) == 1.0


def test_strain_does_not_care_for_the_unit() -> None:
    assert outer_strain(3.0, 1.5) == pytest.approx(outer_strain(3.0 / 25.4, 1.5 / 25.4))


@pytest.mark.parametrize("area_reduction", [0.05, 0.1, 0.25, 0.4])
def test_at_the_least_radius_the_outer_face_is_drawn_as_far_as_the_neck(area_reduction: float) -> None:
    """The rule sets the true strain of the outer face, ln (R + T)/(R + T/2), equal to ln 1/(1 - q) of the neck."""
    radius_mm = least_radius_by_area_mm(2.0, area_reduction)
    assert math.log((radius_mm + 2.0) / (radius_mm + 1.0)) == pytest.approx(math.log(1 / (1 - area_reduction)))


@pytest.mark.parametrize("area_reduction", [0.5, 0.7, 1.0])
def test_a_metal_that_necks_by_half_folds_on_itself(area_reduction: float) -> None:
    assert least_radius_by_area_mm(3.0, area_reduction) == 0.0


@pytest.mark.parametrize("area_reduction", [0.0, -0.1, 1.01, math.nan])
def test_a_reduction_outside_its_range_is_refused(area_reduction: float) -> None:
    with pytest.raises(ValueError, match="above 0 up to 1"):
        least_radius_by_area_mm(1.0, area_reduction)
