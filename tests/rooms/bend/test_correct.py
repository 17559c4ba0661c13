"""From a measured piece to the next: depth, deductions, K with its uncertainty."""

import math

import numpy as np
import pytest

from flangewise.bend import (
    BendSetup,
    Learned,
    MeasuredLength,
    bend_at_depth,
    bend_to_turn,
    correction_weight,
    deduction_of_gauged_leg,
    deduction_of_whole_part,
    deductions_of_chain,
    depth_correction_mm,
    k_from_deduction,
    k_sd,
)

from .metals import AUSTENITIC, SOFT, STRONG

SETUP = BendSetup(2, 16, 1.5, 1)


def test_weights():
    assert [correction_weight(piece, 0.3, margin=0.4) for piece in (1, 2, 3, 4)] == [0.9, 0.5, 0, 0]


def test_noise_is_left_alone():
    assert correction_weight(3, 0.39, margin=0.4) == 0
    assert correction_weight(3, -0.41, margin=0.4) == 0.5


def test_first_order_of_the_depth_correction():
    bend = bend_to_turn(SETUP, SOFT, 90)
    assert bend.converged
    added = depth_correction_mm(SETUP, SOFT, wanted_turn_deg=90, measured_turn_deg=89.8, weight=1)
    assert added == pytest.approx(0.2 / bend.deg_per_mm, rel=0.01)


def test_nothing_off_nothing_added():
    assert depth_correction_mm(SETUP, SOFT, wanted_turn_deg=90, measured_turn_deg=90, weight=0.9) == 0


def test_no_model_bend_no_correction():
    assert depth_correction_mm(SETUP, STRONG, wanted_turn_deg=90, measured_turn_deg=179, weight=1) is None


def test_a_hidden_machine_and_metal_are_corrected_in_two_steps():
    rng = np.random.default_rng(5)
    for _ in range(20):
        truth = Learned(float(rng.uniform(-0.15, 0.15)), math.log(float(rng.uniform(0.75, 1.3))))
        wanted, swift = float(rng.uniform(30, 120)), (SOFT, AUSTENITIC)[int(rng.integers(2))]
        planned = bend_to_turn(SETUP, swift, wanted)
        assert planned.converged
        depth = planned.depth_mm
        for _piece in range(2):
            seen = bend_at_depth(SETUP, swift, depth, learned=truth)
            assert seen.converged
            added = depth_correction_mm(
                SETUP, swift, wanted_turn_deg=wanted, measured_turn_deg=seen.turn_deg, weight=1.0
            )
            assert added is not None
            depth += added
        third = bend_at_depth(SETUP, swift, depth, learned=truth)
        assert third.converged
        assert third.turn_deg == pytest.approx(wanted, abs=0.05)


@pytest.mark.parametrize(("thickness", "sd"), [(1, 0.095), (2, 0.048), (3, 0.032)])
def test_k_uncertainty_at_90(thickness, sd):
    assert k_sd(0.15, thickness, turn_deg=90) == pytest.approx(sd, abs=1e-3)
    # The same by bending the deduction by one s.d.
    k = [k_from_deduction(2, thickness, turn_deg=90, deduction_mm=3 + shift) for shift in (0, 0.15)]
    assert k[0] - k[1] == pytest.approx(k_sd(0.15, thickness, turn_deg=90))


def test_gauged_leg():
    # A leg of 25.2 with the stop at 23.3 from the centre line: deduction 3.8.
    equation = deduction_of_gauged_leg(1, 25.2, 23.3)
    assert equation.bends == (1,)
    assert equation.total_mm == pytest.approx(3.8)
    assert equation.sd_mm == pytest.approx(2 * math.hypot(0.1, 0.05))


def test_whole_part():
    equation = deduction_of_whole_part([20, 40, 30], 82.4)
    assert equation.bends == (0, 1)
    assert equation.total_mm == pytest.approx(7.6)
    assert equation.sd_mm == pytest.approx(math.sqrt(3 * 0.01 + 0.0025))


PLANNED = (MeasuredLength(3.7, 0.5), MeasuredLength(3.7, 0.5))


def test_without_equations_the_plan_comes_back():
    assert deductions_of_chain([], PLANNED) == (
        MeasuredLength(pytest.approx(3.7), pytest.approx(0.5)),
        MeasuredLength(pytest.approx(3.7), pytest.approx(0.5)),
    )
    assert deductions_of_chain([], []) == ()


def test_a_sum_is_shared_evenly_where_nothing_tells_the_bends_apart():
    equation = deduction_of_whole_part([20, 40, 30], 90 - 7.8, leg_sd_mm=1e-4, blank_sd_mm=1e-4)
    first, second = deductions_of_chain([equation], PLANNED)
    assert first.value_mm == pytest.approx(3.9, abs=1e-4) == pytest.approx(second.value_mm, abs=1e-4)
    # The sum is known, the share is not: each still 0.5/sqrt 2.
    assert first.sd_mm == pytest.approx(0.5 / math.sqrt(2), rel=1e-3)


def test_a_gauged_leg_and_the_sum_fix_both():
    equations = [
        deduction_of_gauged_leg(0, 20.0, 18.2, leg_sd_mm=1e-4, stop_sd_mm=1e-4),
        deduction_of_whole_part([20, 40, 30], 90 - 7.5, leg_sd_mm=1e-4, blank_sd_mm=1e-4),
    ]
    first, second = deductions_of_chain(equations, PLANNED)
    assert (first.value_mm, second.value_mm) == (pytest.approx(3.6, abs=1e-3), pytest.approx(3.9, abs=1e-3))
    assert max(first.sd_mm, second.sd_mm) < 2e-3


def test_two_measurements_weigh_by_their_certainty():
    # 3.6 +- 0.1 from the leg against 4.0 +- 0.2 planned: (3.6/0.01 + 4.0/0.04)/(1/0.01 + 1/0.04) = 3.68.
    leg = deduction_of_gauged_leg(0, 20.0, 18.2, leg_sd_mm=0.05, stop_sd_mm=0.0)
    (found,) = deductions_of_chain([leg], [MeasuredLength(4.0, 0.2)])
    assert found.value_mm == pytest.approx(3.68)
    assert found.sd_mm == pytest.approx(1 / math.sqrt(125))


def test_certainty_itself_is_refused():
    with pytest.raises(ValueError, match="without uncertainty"):
        deductions_of_chain([], [MeasuredLength(3.7, 0.0)])
