"""Allowance, setback and deduction against printed examples and exact geometry."""

import math

import pytest

from flangewise.bend.allowance import (
    RULES,
    bend_allowance,
    din_6935_k,
    k_factor_mm_per_deg,
    k_from_deduction,
    leg_setback_mm,
    measured_allowance,
    offset_web_mm,
    setback_mm,
)

from ...published.source import printed_at

INCH = 25.4


def din_deduction(radius, thickness, included):
    return bend_allowance(radius, thickness, turn_deg=180 - included).deduction_mm


def test_din_example_of_the_table_book_with_its_own_k():
    # Tabellenbuch Metall: beta 60, legs 16 and 21, r 6, s 5, k read from its diagram 0.7: v 5.77, L 31.23.
    per_deg = k_factor_mm_per_deg(6, 5, k_factor=0.35)
    deduction = 2 * leg_setback_mm(6, 5, turn_deg=120) - per_deg * 120
    assert deduction == pytest.approx(5.77, abs=0.01)
    assert 16 + 21 - deduction == pytest.approx(31.23, abs=0.01)


def test_din_example_with_the_formula_k():
    assert din_6935_k(6, 5) == pytest.approx(0.6896, abs=0.0002)
    assert din_deduction(6, 5, 60) == pytest.approx(5.823, abs=0.005)


# Tabellenbuch Metall after DIN 6935 supplement 2, beta 90, to 0.1 mm (from memory of the print; no doubtful cells).
@pytest.mark.parametrize(
    ("radius", "thickness", "printed"),
    [(1, 1, 1.9), (2.5, 2.5, 4.8), (6, 4, 8.3), (25, 3, 14.4), (16, 2.5, 9.9), (50, 5, 27.5), (10, 2, 6.7)],
)
def test_din_table_at_90(radius, thickness, printed):
    assert din_deduction(radius, thickness, 90) == pytest.approx(printed, abs=0.05)


# Worked from the formulas as the table book prints them, at its own k.
@pytest.mark.parametrize(
    ("radius", "thickness", "included", "v"),
    [
        (10, 4, 30, -2.625),
        (10, 4, 60, 3.500),
        (10, 4, 105, 6.173),
        (10, 4, 135, 2.410),
        (6, 4, 150, 1.445),
        (2, 2, 90, 3.837),
        (12, 2, 120, 2.552),
        (12, 2, 165, 0.283),
    ],
)
def test_din_other_angles(radius, thickness, included, v):
    assert din_deduction(radius, thickness, included) == pytest.approx(v, abs=0.001)


def test_din_sign_change_at_65_degrees_24_minutes():
    # DIN 6935 summary: v changes sign at 65 deg 24' 30" as the sheet gets thin.
    assert din_deduction(1000, 0.1, 65.408 - 0.02) < 0 < din_deduction(1000, 0.1, 65.408 + 0.02)


def test_din_is_continuous_at_90_and_above_165():
    assert din_deduction(10, 4, 90 - 1e-6) == pytest.approx(9.625, abs=1e-3)
    assert din_deduction(10, 4, 90 + 1e-6) == pytest.approx(9.625, abs=1e-3)
    assert din_deduction(10, 4, 165 + 1e-7) == pytest.approx(0.624, abs=1e-3)
    assert bend_allowance(10, 4, turn_deg=14).beyond_din
    assert not bend_allowance(10, 4, turn_deg=15).beyond_din


def test_din_k_is_held_below_its_table_and_capped_above():
    assert din_6935_k(0, 3) == din_6935_k(0.65 * 3, 3) == pytest.approx(0.65 + 0.5 * math.log10(0.65))
    assert bend_allowance(1.9, 3, turn_deg=90).k_held
    assert not bend_allowance(1.96, 3, turn_deg=90).k_held
    assert not bend_allowance(1.9, 3, turn_deg=90, rule="faa").k_held
    assert din_6935_k(5.1, 1) == din_6935_k(100, 1) == 1


def test_machinery_handbook_example_and_table_rows():
    # 31st ed. p. 1421, fig. 13: soft steel, T 0.125, R 0.375 in, 180 degrees: 1.338 in.
    assert bend_allowance(0.375, 0.125, turn_deg=180, rule="handbook-medium").allowance_mm == pytest.approx(
        1.338, abs=1e-3
    )
    for rule, printed in [("handbook-soft", 0.083), ("handbook-medium", 0.089), ("handbook-hard", 0.093)]:
        assert bend_allowance(1 / 32, 1 / 16, turn_deg=90, rule=rule).allowance_mm == pytest.approx(printed, abs=6e-4)


@pytest.mark.parametrize(
    ("rule", "k"), [("handbook-soft", 0.3501), ("handbook-medium", 0.4074), ("handbook-hard", 0.4520)]
)
def test_machinery_handbook_as_k(rule, k):
    # 0.55, 0.64, 0.71 over pi/2; exact only where the radius is zero, because 1.57 is not quite pi/2.
    assert bend_allowance(0, 1, turn_deg=90, rule=rule).k_factor == pytest.approx(k, abs=1e-4)


def test_faa_printed_figures():
    # FAA-H-8083-31: T .040, R .156 in: .273 by chart; Sheet Metal Workbook: T .050, R .032: BA .0853, BD .0787.
    assert bend_allowance(0.156, 0.040, turn_deg=90, rule="faa").allowance_mm == pytest.approx(0.273, abs=1e-3)
    bend = bend_allowance(0.032, 0.050, turn_deg=90, rule="faa")
    assert bend.allowance_mm == pytest.approx(0.0853, abs=1e-4)
    assert bend.deduction_mm == pytest.approx(0.0787, abs=1e-4)
    assert setback_mm(0.16, 0.04, turn_deg=90) == pytest.approx(0.200, abs=5e-4)


def test_groover_example_and_problem():
    # Groover ch. 20: t 3.2, R 4.75, A 60: 6.08 mm, blank 38 + 25 + BA. Problem: t 5, R 8.5, included 40, K 0.333.
    assert bend_allowance(4.75, 3.2, turn_deg=60, rule="textbook").allowance_mm == pytest.approx(6.08, abs=0.01)
    wide = bend_allowance(8.5, 5, turn_deg=140, k_factor=0.333)
    assert wide.rule == "k-factor"
    assert 58 + 46.5 + wide.allowance_mm == pytest.approx(129.34, abs=0.01)


def test_textbook_k_steps_at_two_thicknesses():
    assert bend_allowance(3.99, 2, turn_deg=90, rule="textbook").k_factor == pytest.approx(0.33)
    assert bend_allowance(4, 2, turn_deg=90, rule="textbook").k_factor == pytest.approx(0.5)


def test_exact_geometry_at_mid_plane():
    # K 0.5, r 10, t 2, 90 degrees: arc pi/2 x 11 = 17.2788, setback 12, deduction 6.7212.
    bend = bend_allowance(10, 2, turn_deg=90, k_factor=0.5)
    assert (bend.allowance_mm, bend.setback_mm) == (pytest.approx(17.2788, abs=1e-4), pytest.approx(12))
    assert bend.deduction_mm == pytest.approx(6.7212, abs=1e-4)


def test_setback_chart_and_edges():
    # FAA setback chart values tan(A/2), printed with the last digits cut off.
    for turn, printed in [(1, 0.00873), (30, 0.26795), (60, 0.57735), (120, 1.7320), (150, 3.7320)]:
        assert setback_mm(0.6, 0.4, turn_deg=turn) == pytest.approx(printed, abs=1e-4)
    assert setback_mm(1, 1, turn_deg=180) is None
    assert setback_mm(1, 1, turn_deg=0) == 0


@pytest.mark.parametrize(("turn", "outside", "inside"), [(90, 5, 3), (135, 5, 3), (180, 5, 3), (0, 0, 0)])
def test_leg_setback_of_both_sizes(turn, outside, inside):
    assert leg_setback_mm(3, 2, turn_deg=turn) == pytest.approx(outside)
    assert leg_setback_mm(3, 2, turn_deg=turn, sizes="inside") == pytest.approx(inside)


def test_leg_setback_below_90_is_where_the_faces_meet():
    assert leg_setback_mm(3, 2, turn_deg=60) == pytest.approx(5 / math.sqrt(3))
    assert leg_setback_mm(3, 2, turn_deg=60, sizes="inside") == pytest.approx(3 / math.sqrt(3))


# A fabrication shop's own bend tests, cold-rolled steel, inches: T, R and deduction, and K as it prints them.
@pytest.mark.parametrize(
    ("thickness", "radius", "deduction", "k"),
    [
        (*given, k)
        for given, k in printed_at(
            "shop-bend-deductions-cold-rolled", "k_from_deduction", "thickness_in", "inside_radius_in", "deduction_in"
        ).items()
    ],
)
def test_k_from_a_measured_deduction(thickness, radius, deduction, k):
    assert k_from_deduction(radius, thickness, turn_deg=90, deduction_mm=deduction) == pytest.approx(k, abs=1e-4)
    record = measured_allowance(radius, thickness, turn_deg=90, deduction_mm=deduction)
    assert record.k_factor == pytest.approx(k, abs=1e-4)
    assert record.allowance_mm == pytest.approx(2 * (radius + thickness) - deduction)


@pytest.mark.parametrize("rule", sorted(RULES))
@pytest.mark.parametrize("turn", [12, 90, 130, 180])
def test_k_of_every_rule_comes_back_from_its_deduction(rule, turn):
    bend = bend_allowance(3, 2, turn_deg=turn, rule=rule)
    assert k_from_deduction(3, 2, turn_deg=turn, deduction_mm=bend.deduction_mm) == pytest.approx(bend.k_factor)
    assert bend.allowance_mm == pytest.approx(math.radians(turn) * (3 + bend.k_factor * 2))


def test_no_turn_takes_nothing():
    bend = bend_allowance(3, 2, turn_deg=0)
    assert (bend.allowance_mm, bend.setback_mm, bend.deduction_mm) == (0, 0, 0)


def test_offset():
    # Square step of 10 in 2 mm with r 1: arcs take 2r + t = 4 of it, the web is the other 6.
    assert offset_web_mm(1, 2, step_mm=10) == pytest.approx(6)
    # At 60 degrees the arcs take half of 2r + t and the web rises by sin 60.
    assert offset_web_mm(1, 2, step_mm=10, turn_deg=60) == pytest.approx(8 / math.sin(math.pi / 3))
    assert offset_web_mm(3, 2, step_mm=4) < 0


def test_impossible_turns_are_refused():
    for turn in (-1, 180.5, math.nan):
        with pytest.raises(ValueError, match="0 to 180"):
            leg_setback_mm(1, 1, turn_deg=turn)
    with pytest.raises(ValueError, match="no turn"):
        k_from_deduction(1, 1, turn_deg=0, deduction_mm=0)
    with pytest.raises(ValueError, match="between 0 and 180"):
        offset_web_mm(1, 1, step_mm=4, turn_deg=180)
    with pytest.raises(KeyError):
        bend_allowance(1, 1, turn_deg=90, rule="no-such-rule")


def test_inch_and_mm_agree():
    for rule in RULES:
        inch = bend_allowance(0.06, 0.06, turn_deg=75, rule=rule).deduction_mm
        mm = bend_allowance(0.06 * INCH, 0.06 * INCH, turn_deg=75, rule=rule).deduction_mm
        assert inch * INCH == pytest.approx(mm, rel=1e-12)
