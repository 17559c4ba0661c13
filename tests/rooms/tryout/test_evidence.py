"""Deductions back-calculated, with the uncertainty that the printed figures give."""

import math
from dataclasses import replace

import pytest

from flangewise.punch_die import Pair
from flangewise.tryout import Tag, TriedBend, TriedPiece, correct, rows_of


def angle(thickness, legs, blank, *, turn=90.0, radius=2.0, **more):
    """A part of one bend, measured whole; planned deduction by K 0.42."""
    deduction = 2 * (radius + thickness) * math.tan(math.radians(turn) / 2) - math.radians(turn) * (
        radius + 0.42 * thickness
    )
    bend = TriedBend(1, turn, radius, deduction, rule_mm=deduction)
    return TriedPiece(thickness, (50.0, 30.0), legs, blank, True, (bend,), **more)


def test_one_bend_is_both_legs_less_the_blank():
    told = correct(angle(2.0, (50.1, 29.9), 76.2)).bends[0]
    # 80.0 - 76.2, drawn to the plan's own by the 2 % that a wide prior leaves.
    assert told.deduction_mm == pytest.approx(3.8, abs=0.02)
    assert told.deduction_sd_mm == pytest.approx(0.15, abs=0.005)


@pytest.mark.parametrize(("thickness", "printed"), [(1.0, 0.095), (2.0, 0.048), (3.0, 0.032)])
def test_uncertainty_of_k_at_90_degrees(thickness, printed):
    told = correct(angle(thickness, (50.0, 30.0), 77.0)).bends[0]
    assert told.k_sd == pytest.approx(printed, rel=0.06)


def test_k_by_the_formula_from_the_shown_deduction():
    told = correct(angle(2.0, (50.0, 30.0), 76.4)).bends[0]
    k = ((2 * (2.0 + 2.0) * 1.0 - told.deduction_mm) / (math.pi / 2) - 2.0) / 2.0
    assert told.k_factor == pytest.approx(k, abs=1e-9)


def test_without_legs_nothing_is_shown():
    told = correct(angle(2.0, (None, None), 76.4)).bends[0]
    assert told.deduction_mm is None
    assert told.k_factor is None


def test_a_planned_blank_is_less_sure_than_a_measured_one():
    measured = correct(angle(2.0, (50.0, 30.0), 76.4)).bends[0]
    guessed = correct(
        TriedPiece(2.0, (50.0, 30.0), (50.0, 30.0), 76.4, False, angle(2.0, (None, None), 76.4).bends)
    ).bends[0]
    assert guessed.deduction_sd_mm > measured.deduction_sd_mm


def test_two_bends_share_what_the_whole_part_shows(brake):
    plan = brake.planned()
    turns, legs = brake.bent(plan, brake.Hidden())
    told = correct(brake.measured(plan, turns, (legs[0], legs[1] + 0.4, legs[2]), 1))
    shown = [bend.deduction_mm for bend in told.bends]
    # The outer legs, each from its own edge, hold their bends' shares alike: half of 0.4 each, less their pull.
    assert shown[0] == pytest.approx(shown[1], abs=1e-9)
    assert 0.1 < shown[0] - plan.bends[0].deduction_mm < 0.2


def test_the_record_says_what_the_blank_was_made_with_and_both_angles_of_the_corner():
    """A blank made with a deduction learned before, 3.3, where the rule gives another; a corner read as 91.5."""
    piece = angle(2.0, (50.1, 29.9), 76.2)
    bend = replace(piece.bends[0], deduction_mm=3.3, turn_deg=88.5)
    made = replace(piece, bends=(bend,))
    (told,) = correct(made).as_json(made)["bends"]
    assert told["planned_deduction_mm"] == 3.3
    assert (told["wanted_included_deg"], told["measured_included_deg"], told["error_deg"]) == (90.0, 91.5, -1.5)


@pytest.mark.parametrize(("sizes", "more"), [("outside", 0.0), ("inside", 4.0)])
def test_a_row_keeps_deductions_as_outside_sizes_have_them(sizes, more):
    """At 90 degrees in 2 mm both outside legs are 2 longer than inside, so the same blank lacks 4 mm more."""
    piece = angle(2.0, (50.1, 29.9), 76.2, sizes=sizes)
    bend = replace(piece.bends[0], turn_deg=88.5, depth_mm=4.1, rule_mm=-0.7, deduction_mm=-0.7)
    made = replace(piece, bends=(bend,))
    tag, tools = Tag("A17", "foot", "bench", "DC01", 2.0, 1.96), Pair(None, None, "bend", 1.5, 16.0, 2.0)
    told = correct(made)
    (row,) = rows_of(made, told, tag=tag, tools={1: tools})
    assert row.rule_deduction_mm == pytest.approx(-0.7 + more)
    assert row.deduction_mm == pytest.approx(told.bends[0].deduction_mm + more)
    assert (row.thickness_mm, row.measured_thickness_mm, row.depth_mm) == (2.0, 1.96, 4.1)
    assert (row.wanted_turn_deg, row.measured_turn_deg, row.radius_mm, row.nose_radius_mm) == (90.0, 88.5, 2.0, 1.5)
    assert row.deduction_sd_mm == told.bends[0].deduction_sd_mm != told.bends[0].k_sd
