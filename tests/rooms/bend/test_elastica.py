"""The closed-form arm against the same beam integrated step by step, in the machine's own coordinates."""

import math

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from flangewise.bend import BendSetup
from flangewise.bend.elastica import Rows, arm, corrected_nose_mm, force_nose_share, sections
from flangewise.bend.records import BendBatch

from .metals import METALS, moment_curve_of, moment_n


def one(value):
    return np.array([float(value)])


def rows(swift, *, thickness=2.0, opening=16.0, shoulder=1.5, nose=1.0, friction=0.1):
    setup = BendSetup(thickness, opening, shoulder, nose, friction)
    return BendBatch.of([setup], [swift]).rows(nose_correction=False)


def closed_state(at_half, sheet: Rows):
    """Log strain that closes the arm at a half turn, by halving."""

    def gap(log_strain):
        return float(arm(one(at_half), one(log_strain), sheet, plastic_points=64).closing_mm[0])

    top = float(sheet.nose_log_strain[0]) + 2 * 0.99 * at_half
    return brentq(gap, -14, top, xtol=1e-14)


def integrate(swift, half, state, *, thickness, opening, shoulder, nose, friction):
    """March from the die contact inward; gives end point, springback of the half, length, slope at the end."""
    wrapped = float(state.wrapped_rad[0])
    normal = float(state.force_n_per_mm[0]) / (2 * (math.cos(half) + friction * math.sin(half)))
    push = normal * np.array([-math.sin(half) + friction * math.cos(half), math.cos(half) + friction * math.sin(half)])
    contact = np.array([opening / 2 - shoulder * math.sin(half), -shoulder * (1 - math.cos(half))])
    begin = contact + thickness / 2 * np.array([-math.sin(half), math.cos(half)])
    curve = moment_curve_of([swift])
    stiffness = swift.plane_modulus_mpa * thickness**3 / 12

    def moment_at(x, y):
        arm_x, arm_y = contact[0] - x, contact[1] - y
        return arm_x * push[1] - arm_y * push[0]

    def curvature(moment):
        elastic = moment / stiffness
        if elastic * thickness / 2 <= float(curve.yield_strain[0]):
            return elastic

        def off(strain):
            return float(moment_n(curve, one(strain), thickness_mm=one(thickness))[0]) - moment

        return brentq(off, float(curve.yield_strain[0]), 3.0, xtol=1e-14) * 2 / thickness

    def step(_, values):
        x, y, slope, _released = values
        moment = moment_at(x, y)
        return [-math.cos(slope), -math.sin(slope), -curvature(moment), moment / stiffness]

    def left_the_arm(_, values):
        return values[2] - wrapped

    left_the_arm.terminal = True
    span = (0, 3 * opening)
    return solve_ivp(step, span, [*begin, half, 0.0], events=left_the_arm, rtol=1e-9, atol=1e-11, method="DOP853")


@pytest.mark.parametrize(("metal", "degrees", "nose"), [("A", 5, 1.0), ("B", 20, 1.0), ("C", 35, 3.0), ("A", 46, 1.0)])
def test_arm_is_the_beam(metal, degrees, nose):
    swift, half = METALS[metal], math.radians(degrees)
    tools = {"thickness": 2.0, "opening": 16.0, "shoulder": 1.5, "nose": nose, "friction": 0.1}
    sheet = rows(swift, **tools)
    state = arm(one(half), one(closed_state(half, sheet)), sheet, plastic_points=64)
    marched = integrate(swift, half, state, **tools)
    x, y, _, released = marched.y[:, -1]
    wrapped, on_nose = float(state.wrapped_rad[0]), nose + 1.0
    assert x == pytest.approx(on_nose * math.sin(wrapped), abs=1e-6)
    depth = -(y - on_nose * (1 - math.cos(wrapped))) - 1.0
    assert float(state.depth_mm[0]) == pytest.approx(depth, abs=1e-6)
    assert float(state.contact_mm[0]) == pytest.approx(marched.t[-1] + on_nose * wrapped, abs=1e-6)
    nose_moment = float(sections(one(half), one(closed_state(half, sheet)), sheet).apex_moment_n[0])
    stiffness = swift.plane_modulus_mpa * 8 / 12
    total = 2 * (released + nose_moment / stiffness * on_nose * wrapped)
    assert float(state.springback_rad[0]) == pytest.approx(total, abs=1e-7)


def test_both_regimes_were_met():
    states = []
    for metal, degrees, nose in [("A", 5, 1.0), ("C", 35, 3.0)]:
        sheet, half = rows(METALS[metal], nose=nose), math.radians(degrees)
        states.append(float(arm(one(half), one(closed_state(half, sheet)), sheet).wrapped_rad[0]))
    assert states[0] == 0 < states[1]


@pytest.mark.parametrize(("degrees", "within"), [(45, 2e-7), (60, 2e-5), (67.5, 4e-4)])
def test_twenty_points_are_enough(degrees, within):
    sheet, half = rows(METALS["C"]), math.radians(degrees)
    state = closed_state(half, sheet)
    fine = arm(one(half), one(state), sheet, plastic_points=64).depth_mm[0]
    assert arm(one(half), one(state), sheet).depth_mm[0] == pytest.approx(fine, abs=within)


def test_punch_force_balances_the_two_reactions():
    # Punch force = vertical part of both reactions: R cos(a - b) each, and the moment at the apex is R times its lever.
    sheet, half = rows(METALS["A"]), math.radians(40)
    cut = sections(one(half), one(closed_state(half, sheet)), sheet)
    state = arm(one(half), one(closed_state(half, sheet)), sheet)
    reaction = float(cut.reaction_n_per_mm[0])
    assert float(state.force_n_per_mm[0]) == pytest.approx(2 * reaction * math.cos(half - math.atan(0.1)), rel=1e-12)


def test_regimes_join_without_a_step():
    sheet = rows(METALS["A"])
    edge, half = float(sheet.nose_log_strain[0]), one(math.radians(45))
    below, above = (arm(half, one(edge + step), sheet) for step in (-1e-9, 1e-9))
    looked_at = list(zip(below, above, strict=True))
    assert looked_at
    for low, high in looked_at:
        assert low[0] == pytest.approx(high[0], rel=1e-7, abs=1e-7)


def test_no_friction_is_the_limit_of_little():
    state = -2.0
    none, little = (arm(one(0.6), one(state), rows(METALS["A"], friction=mu)) for mu in (0.0, 1e-8))
    looked_at = list(zip(none, little, strict=True))
    assert looked_at
    for low, high in looked_at:
        assert low[0] == pytest.approx(high[0], abs=1e-5)


def test_taking_rows_keeps_singles_for_all():
    sheet = rows(METALS["A"])._replace(thickness_mm=np.array([1.0, 2.0, 3.0]))
    taken = sheet.take(np.array([2, 0]))
    assert taken.thickness_mm.tolist() == [3.0, 1.0]
    assert taken.half_opening_mm.tolist() == [8.0]
    assert taken.curve.exponent.tolist() == [0.207]


def test_nose_correction():
    # 0.15 t for a knife edge, nothing for a nose much larger than the sheet.
    assert corrected_nose_mm(one(0), one(2))[0] == pytest.approx(0.3)
    assert corrected_nose_mm(one(2), one(2))[0] == pytest.approx(2 + 0.3 * math.exp(-0.5))
    assert corrected_nose_mm(one(60), one(2))[0] == pytest.approx(60)


@pytest.mark.parametrize(("opening", "share"), [(10, 0), (11, 0), (11.5, 0.5), (12, 1), (30, 1)])
def test_the_force_leaves_the_correction_out_in_narrow_dies(opening, share):
    assert force_nose_share(one(2), one(opening))[0] == pytest.approx(share)


def test_other_noses_move_the_strain_at_which_they_wrap():
    sheet = rows(METALS["A"]).with_nose(one(3))
    assert sheet.nose_log_strain[0] == pytest.approx(math.log(2 / 8))
    assert sheet.nose_mm[0] == 3
