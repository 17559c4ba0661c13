"""Gauging errors of a channel, worked out by hand for three ways of gauging it."""

from __future__ import annotations

import math

import pytest

from flangewise.sequence import Gauged, Tolerances, leg_errors

EACH = Tolerances(stop_mm=0.10, cut_mm=0.10, half_deduction_mm=0.05, angle_deg=0.5)
OWN_EDGES = (Gauged("start"), Gauged("end"))
ON_FIRST_LEG = (Gauged("start"), Gauged("flange", 0, height_mm=10.0))
ONE_EDGE = (Gauged("start"), Gauged("start"))


@pytest.mark.parametrize(
    ("gauged", "worst", "statistical"),
    [
        (OWN_EDGES, (0.15, 0.40, 0.15), (0.112, 0.187, 0.112)),
        (ON_FIRST_LEG, (0.15, 0.237, 0.487), (0.112, 0.142, 0.206)),
        (ONE_EDGE, (0.15, 0.30, 0.25), (0.112, 0.158, 0.150)),
    ],
)  # leg 1, web, leg 2: sums of 0.10 stop, 0.10 cut, 0.05 half deduction, 10 mm x 0.5 degrees = 0.087
def test_the_nine_figures_of_a_channel(gauged, worst, statistical):
    errors = leg_errors(gauged, EACH)
    assert [error.worst_mm for error in errors] == pytest.approx(worst, abs=5e-4)
    assert [error.statistical_mm for error in errors] == pytest.approx(statistical, abs=5e-4)


def test_a_flat_blank_has_the_error_of_its_cut():
    (only,) = leg_errors((), EACH)
    assert only.worst_mm == pytest.approx(0.10) and only.statistical_mm == pytest.approx(0.10)


def test_constant_stop_error_cancels_between_bends_gauged_on_each_other():
    errors = leg_errors(ON_FIRST_LEG, Tolerances(stop_mm=0.1, cut_mm=0.0, half_deduction_mm=0.0, angle_deg=0.0))
    assert errors[1].worst_mm == pytest.approx(0.1)


def test_leaning_flange_counts_by_the_square_of_its_sine():
    only_angle = Tolerances(stop_mm=0.0, cut_mm=0.0, half_deduction_mm=0.0, angle_deg=1.0)
    leaning = leg_errors((Gauged("start"), Gauged("flange", 0, 10.0, 60.0)), only_angle)
    assert leaning[1].worst_mm == pytest.approx(10 * math.radians(1) / 0.75)


def test_gaugings_in_a_circle_are_refused():
    with pytest.raises(ValueError, match="on itself"):
        leg_errors((Gauged("flange", 1), Gauged("flange", 0)), EACH)
    with pytest.raises(ValueError, match="on itself"):
        leg_errors((Gauged("flange", 0),), EACH)
    with pytest.raises(ValueError, match="another bend"):
        leg_errors((Gauged("flange"),), EACH)


def test_past_a_formed_step_the_legs_on_the_way_come_in():
    # Bends 1 and 2 stand as a step: X of bend 3 is leg 3 and leg 1, so leg 3 is X less leg 1, with half a deduction
    # at its own end: two stops of 0.1 and two halves of 0.05.
    past = Gauged("start", past_share=((1, 0.0), (0, 1.0)))
    errors = leg_errors((Gauged("start"), Gauged("flange", 0), past), Tolerances(0.1, 0.1, 0.05, 0.0))
    assert errors[2].worst_mm == pytest.approx(0.3)
