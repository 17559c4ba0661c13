"""First-order scatter against printed sensitivities and a printed Monte-Carlo table."""

import math
from dataclasses import replace

import pytest

from flangewise.bend import BendSetup, Spreads, bend_at_depth, bend_to_turn, expected_spread
from flangewise.bend.scatter import Sensitivities, sensitivities, spread_of

from .metals import SOFT, swift_of

SETUP = BendSetup(2, 16, 1.5, 1)

# Metal, set-up, thickness tolerance (EN 10131, 10259, 10051) -> s.d. by thickness, strength, hardening, depth; 95 %
# half widths: first piece, thickness measured, after one correction, after two. 4,000 draws of another program.
TABLE = [
    ("DC01", BendSetup(1.5, 12, 1.0, 1), 0.08, (0.64, 0.07, 0.29, 0.17), (1.5, 1.0, 0.8, 0.65)),
    ("DC01", SETUP, 0.10, (0.56, 0.06, 0.35, 0.13), (1.4, 0.9, 0.7, 0.55)),
    ("DC01", BendSetup(2, 12, 1.5, 1), 0.10, (1.02, 0.05, 0.20, 0.22), (2.1, 1.2, 1.1, 0.9)),
    ("1.4301", SETUP, 0.10, (0.59, 0.13, 0.34, 0.13), (1.4, 1.0, 0.7, 0.6)),
    ("S235", BendSetup(6, 50, 5, 3), 0.26, (0.48, 0.08, 0.32, 0.04), (1.2, 0.7, 0.5, 0.4)),
]


def spread(name, setup, spreads):
    bend = bend_to_turn(setup, swift_of(name), 90)
    assert bend.converged
    found = expected_spread(setup, swift_of(name), bend, spreads)
    assert found is not None
    return found


@pytest.mark.parametrize("row", TABLE)
def test_printed_table(row):
    name, setup, tolerance, causes, widths = row
    found = spread(name, setup, Spreads(tolerance, model_deg=0))
    by_cause = dict(found.by_cause_deg)
    # Printed are the coils' own; a piece differs within its coil by 0.3 of that: tol/10 to tol/3, 1.5 to 5 %.
    shares = (math.hypot(1, 0.3), math.hypot(1, 0.3), 1, 1)
    for cause, printed, share in zip(("thickness", "strength", "hardening", "depth"), causes, shares, strict=True):
        assert by_cause[cause] == pytest.approx(printed * share, abs=0.03), cause
    assert found.first_piece_deg == pytest.approx(widths[0], rel=0.08)
    assert found.thickness_measured_deg == pytest.approx(widths[1], rel=0.12)
    assert found.after_one_deg == pytest.approx(widths[2], rel=0.12)
    assert found.after_two_deg == pytest.approx(widths[3], rel=0.12)
    assert found.dominant == "thickness"


# Degrees of finished turn at a fixed depth: 0.1 mm more thickness; every flow stress 10 % higher.
@pytest.mark.parametrize(
    ("name", "by_thickness", "by_strength"),
    [("DC01", 1.72, -0.13), ("1.4301", 1.76, -0.27), ("5754-H22", 1.85, -0.28)],
)
def test_printed_sensitivities(name, by_thickness, by_strength):
    bend = bend_to_turn(SETUP, swift_of(name), 90)
    assert bend.converged
    at = sensitivities(SETUP, swift_of(name), bend.depth_mm)
    assert at is not None
    assert 0.1 * at.thickness_deg_per_mm == pytest.approx(by_thickness, abs=0.03)
    assert 0.1 * at.strength_deg == pytest.approx(by_strength, abs=0.03)
    assert at.depth_deg_per_mm == pytest.approx(bend.deg_per_mm, rel=1e-6)
    assert abs(at.friction_deg) * 0.05 < 0.05  # friction 0.05 moves the angle by less than 0.05 degrees


def test_a_sensitivity_is_what_bending_a_thicker_sheet_shows():
    bend = bend_to_turn(SETUP, SOFT, 90)
    at = sensitivities(SETUP, SOFT, bend.depth_mm)
    thicker = bend_at_depth(replace(SETUP, thickness_mm=2.002), SOFT, bend.depth_mm)
    assert thicker.turn_deg - 90 == pytest.approx(0.002 * at.thickness_deg_per_mm, rel=0.01)


def test_no_friction_is_no_obstacle():
    bend = bend_to_turn(replace(SETUP, friction=0), SOFT, 90)
    assert sensitivities(replace(SETUP, friction=0), SOFT, bend.depth_mm) is not None


def test_no_bend_no_sensitivities():
    assert sensitivities(SETUP, SOFT, -3) is None


def test_the_models_own_error_leads_where_nothing_was_measured():
    # 2 mm V 16: +-2.1 degrees with a model error of 0.8, as printed; +-1.4 without.
    unknown = spread("DC01", SETUP, Spreads(0.10))
    assert unknown.first_piece_deg == pytest.approx(2.1, abs=0.05)
    assert unknown.dominant == "model"


def worked(**changes):
    flat = Sensitivities(10.0, 0.0, 0.0, 0.0, 0.0)
    return spread_of(flat, Spreads(0.3, gauge_deg=0.0, model_deg=0.0, **changes))


def test_one_cause_worked_by_hand():
    # 10 degrees a mm: 0.1 mm s.d. between coils, 0.03 within. First: 1.96 x sqrt(1 + 0.09).
    found = worked()
    assert found.first_piece_deg == pytest.approx(1.96 * math.sqrt(1 + 0.09))
    assert found.thickness_measured_deg == pytest.approx(1.96 * 0.15)
    # After one: a tenth of the coil's 1.0 is left, 0.9 of the measured piece's own 0.3 comes in, the next has 0.3.
    assert found.after_one_deg == pytest.approx(1.96 * math.sqrt(0.01 + 0.0729 + 0.09))
    assert found.dominant == "thickness"


def test_a_measurement_never_widens_the_spread():
    # 0.03 mm: 0.01 between coils, 0.003 within, 0.0104 together; a reading of 0.015 is no closer and is left alone.
    steep = Sensitivities(200.0, 1.0, 5.0, 2.0, 30.0)
    for tolerance in (0.0, 0.01, 0.03, 0.04, 0.0431, 0.05, 0.2):
        found = spread_of(steep, Spreads(tolerance))
        assert found.thickness_measured_deg <= found.first_piece_deg, tolerance
        assert (found.thickness_measured_deg < found.first_piece_deg) is (0.3480 * tolerance > 0.015), tolerance
    assert spread_of(steep, Spreads(0.03)).cause == "thickness-unread"
    assert spread_of(steep, Spreads(0.2)).cause == "thickness"


# Thickness alone between coils 0.78 of the model's 0.8, with what differs within a coil 0.814: it is the larger.
@pytest.mark.parametrize(("deg_per_mm", "named"), [(7.8, "thickness"), (7.6, "model"), (0.5, "model")])
def test_the_cause_named_is_the_one_whose_removal_narrows_the_first_piece_most(deg_per_mm, named):
    at, full = Sensitivities(deg_per_mm, 2.0, 8.0, 3.0, 20.0), Spreads(0.3)
    without = {
        "thickness": replace(full, thickness_tolerance_mm=0.0),
        "strength": replace(full, strength_between_share=0.0, strength_within_share=0.0),
        "hardening": replace(full, exponent=0.0),
        "friction": replace(full, friction=0.0),
        "depth": replace(full, depth_mm=0.0),
        "model": replace(full, model_deg=0.0),
    }
    left = {cause: spread_of(at, spreads).first_piece_deg for cause, spreads in without.items()}
    assert min(left, key=lambda cause: left[cause]) == spread_of(at, full).dominant == named


def test_spreads_of_a_tolerance():
    spreads = Spreads(0.3)
    assert (spreads.thickness_between_mm, spreads.thickness_within_mm) == (pytest.approx(0.1), pytest.approx(0.03))
