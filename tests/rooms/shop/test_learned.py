"""What lots teach: hidden offsets found again, errors that fall lot by lot, outliers left out, keys that borrow."""

import math
import random
from dataclasses import replace

import pytest

from flangewise.shop import MeasuredBends, MeasuredRow, bend_key, learned_deduction, learned_depth
from flangewise.shop.learned import deduction_key_of, depth_key_of

# 1.4301, 2 mm in an opening of 16, at 60, 90 and 120 degrees: degrees per mm and springback, by the process model.
BENDS = {60.0: (16.1, 2.9), 90.0: (13.4, 3.23), 120.0: (8.9, 3.7)}


def row(lot, *, turn=90.0, error=0.0, bend=1, piece=1, material="1.4301", thickness=2.0, die="v16", **more):
    """A measured row with an error of the turn against the bare model."""
    rate, springback = BENDS[turn]
    return MeasuredRow(
        lot=lot, part="p", bend=bend, piece=piece, machine="m", material=material, thickness_mm=thickness,
        measured_thickness_mm=None, punch="n1", nose_radius_mm=1.0, die=die, wanted_turn_deg=turn, depth_mm=3.6,
        measured_turn_deg=turn + error, model_turn_deg=turn, deg_per_mm=rate, springback_deg=springback,
        radius_mm=2.8, rule_deduction_mm=3.9, deduction_mm=None, deduction_sd_mm=None, **more,
    )  # fmt: skip


KEY = depth_key_of(row("x"))


def taught(rows, key=KEY, tolerance=0.10):
    return learned_depth(MeasuredBends(tuple(rows)), key, tolerance_mm=tolerance)


def test_nothing_measured_teaches_nothing():
    assert taught([]) is None


def test_a_constant_offset_is_found():
    # 0.08 mm deeper than shown at every turn, the springback as the model has it.
    rows = [
        row(f"L{lot}", turn=turn, error=0.08 * BENDS[turn][0]) for lot in range(12) for turn in [60.0 + 30 * (lot % 3)]
    ]
    found = taught(rows)
    assert found.lots == 12
    # Offset and springback share what their effects have alike; what they foresee together is the hidden error.
    assert found.learned.depth_offset_mm == pytest.approx(0.08, abs=0.025)
    for rate, springback in BENDS.values():
        foreseen = rate * found.learned.depth_offset_mm - springback * found.learned.springback_log
        assert foreseen == pytest.approx(0.08 * rate, rel=0.15)
    assert found.told.values[0] == ("count", 12)


def test_pieces_of_a_lot_count_as_one():
    single = taught([row("A", error=1.0)])
    several = taught([row("A", error=error, piece=piece) for piece, error in enumerate((0.9, 1.0, 1.1), start=1)])
    assert several.lots == 1
    assert several.learned.depth_offset_mm >= single.learned.depth_offset_mm
    assert several.learned.depth_offset_mm == pytest.approx(single.learned.depth_offset_mm, rel=0.2)


def test_an_outlier_is_named_and_not_used():
    calm = [row(f"L{lot}", error=0.4) for lot in range(5)]
    found = taught([*calm, row("odd", error=9.0)])
    assert found.outliers == ("odd",)
    assert found.lots == 5
    assert found.learned.depth_offset_mm == pytest.approx(taught(calm).learned.depth_offset_mm, abs=1e-12)


def test_a_measured_thickness_makes_a_lot_count_more():
    known = taught([replace(row("A", error=1.5), measured_thickness_mm=2.01)])
    assert known.learned.depth_offset_mm > taught([row("A", error=1.5)]).learned.depth_offset_mm


def test_a_new_key_borrows_the_springback_of_its_material():
    # Springback 25 % more than the model's at every angle, on other dies.
    rows = [
        row(f"L{lot}", turn=turn, error=-BENDS[turn][1] * math.log(1.25), die=f"v{10 + lot % 2}")
        for lot in range(12)
        for turn in [60.0 + 30 * (lot % 3)]
    ]
    lent = taught(rows)
    assert (lent.lots, lent.donor_lots) == (0, 12)
    assert 0.03 < lent.learned.springback_log < math.log(1.25)
    assert taught(rows, replace(KEY, material="DC01")) is None


def test_first_piece_errors_fall_over_lots_as_simulated():
    # Hidden: key offset s.d. 0.06 mm, ln springback 0.20, lots 0.035 mm, piece 0.25 degrees; angles 60, 90, 120 mixed.
    # A simulation of 4000 shops gave rms 1.16, 0.69, 0.62, 0.53, 0.50 at lots 1, 2, 3, 6, 12.
    dice = random.Random(5)
    at = (1, 2, 3, 6, 12)
    errors = {lot: [] for lot in at}
    for _ in range(500):
        offset, spring = dice.gauss(0, 0.06), dice.gauss(0, 0.20)
        rows = []
        for lot in range(1, 13):
            turn = dice.choice(tuple(BENDS))
            rate, springback = BENDS[turn]
            error = rate * (offset + dice.gauss(0, 0.035)) - springback * spring + dice.gauss(0, 0.25)
            if lot in at:
                found = taught(rows, tolerance=0.105)
                said = 0.0
                if found is not None:
                    said = rate * found.learned.depth_offset_mm - springback * found.learned.springback_log
                errors[lot].append(error - said)
            rows.append(row(f"L{lot}", turn=turn, error=error))
    rms = [math.sqrt(sum(e * e for e in errors[lot]) / len(errors[lot])) for lot in at]
    assert rms == pytest.approx([1.16, 0.69, 0.62, 0.53, 0.50], abs=0.09)
    assert rms[0] > rms[1] > rms[2] > rms[3] > rms[4] - 0.02


def deducted(lot, deduction, **more):
    return replace(row(lot, **more), deduction_mm=deduction, deduction_sd_mm=0.15)


def learned(rows, key=None, rule=3.9):
    key = key or deduction_key_of(row("x"))
    return learned_deduction(MeasuredBends(tuple(rows)), key, rule_mm=rule)


def test_a_deduction_is_drawn_toward_the_rule_and_less_so_with_lots():
    values = [4.1] * 8
    changes = [learned([deducted(f"L{lot}", v) for lot, v in enumerate(values[:n])]).deduction_mm for n in (1, 3, 8)]
    # One lot: tau = 0.1 t = 0.2, noise 0.15: 0.2^2 / (0.2^2 + 0.15^2) = 0.64 of the difference of 0.2.
    assert changes[0] == pytest.approx(3.9 + 0.64 * 0.2, abs=1e-3)
    assert 3.9 < changes[0] < changes[1] < changes[2] < 4.1


def test_deduction_tells_how_sure_it_is():
    one = learned([deducted("A", 4.1)])
    five = learned([deducted(f"L{lot}", 4.1) for lot in range(5)])
    assert five.plus_minus_mm < one.plus_minus_mm
    assert five.lots == 5


def test_a_deduction_of_another_die_of_the_material_is_borrowed():
    lent = learned([deducted(f"L{lot}", 4.2, die="v12") for lot in range(6)])
    assert lent.lots == 0
    assert lent.donor_lots == 6
    assert 3.95 < lent.deduction_mm < 4.2
    assert learned([deducted("A", 4.2, material="DC01")]) is None


def test_keys_hold_apart_what_differs():
    base = bend_key("DC01", 2.0, "v16", 1.0, machine="m")
    assert base == bend_key("DC01", 2.001, "v16", 1.1, machine="m")
    assert base != bend_key("DC01", 2.0, "v16", 3.0, machine="m")
    assert base != bend_key("DC01", 2.0, "v16", 1.0, machine="other")
    one = bend_key("DC01", 2.0, "v16", 1.0, turn_deg=90.0)
    assert one != bend_key("DC01", 2.0, "v16", 1.0, turn_deg=60.0)
