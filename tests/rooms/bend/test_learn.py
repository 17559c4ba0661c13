"""What lots teach: a printed simulation of many shops, and cases worked by hand."""

import math
from dataclasses import replace

import numpy as np
import pytest

from flangewise.bend import LearnedState, LotError, borrowed_state, learn_lots, prior_state, shrunken_mean
from flangewise.bend.learn import learn_lot


def lot(error, *, rate=13.0, springback=3.2, lot_sd=0.45, piece_sd=0.25):
    return LotError(error, rate, springback, lot_sd, piece_sd)


def test_prior():
    state = prior_state(0.12)
    assert math.sqrt(state.offset_var_mm2) == pytest.approx(math.hypot(0.04, 0.03))
    assert (state.depth_offset_mm, state.springback_log, state.lots) == (0, 0, 0)
    assert state.learned.depth_offset_mm == 0


def test_one_lot_worked_by_hand():
    # Only the offset is unknown (0.1 mm), 10 degrees a mm, lot and piece noise 0.6 and 0.8: gain 0.1/(1 + 1).
    state = LearnedState(0.0, 0.0, 0.01, 0.0, 0.0, 0)
    after, used = learn_lot(state, LotError(1.0, 10.0, 0.0, 0.6, 0.8), drift_sd_mm=0)
    assert used
    assert after.depth_offset_mm == pytest.approx(0.05)
    assert after.offset_var_mm2 == pytest.approx(0.005)
    assert after.lots == 1


def test_springback_is_told_from_the_offset_by_bends_of_different_turn():
    # Truth: offset 0.05 mm, springback times e^0.2. At 60, 90, 120 degrees rate and springback differ.
    bends = [(15.3, 2.6), (13.4, 3.2), (8.5, 4.4)] * 40
    lots = [LotError(rate * 0.05 - release * 0.2, rate, release, 0.05, 0.05) for rate, release in bends]
    state, left_out = learn_lots(prior_state(0.12), lots, drift_sd_mm=0)
    assert left_out == ()
    assert state.depth_offset_mm == pytest.approx(0.05, abs=0.005)
    assert state.springback_log == pytest.approx(0.2, abs=0.02)
    assert state.lots == 120


def test_a_wild_lot_is_flagged_and_not_used():
    state, used = learn_lot(prior_state(0.1), lot(0.4))
    assert used
    after, used = learn_lot(state, lot(9.0))
    assert not used
    assert (after.depth_offset_mm, after.springback_log, after.lots) == (
        state.depth_offset_mm,
        state.springback_log,
        1,
    )
    _, left_out = learn_lots(prior_state(0.1), [lot(0.4), lot(9.0), lot(0.5)])
    assert left_out == (1,)


def test_drift_keeps_the_state_open():
    still, moving = (prior_state(0.1), prior_state(0.1))
    for _ in range(200):
        still, _ = learn_lot(still, lot(0.0), drift_sd_mm=0)
        moving, _ = learn_lot(moving, lot(0.0), drift_sd_mm=0.015)
    assert still.offset_var_mm2 < moving.offset_var_mm2


# Printed: 4,000 shops, austenitic 2 mm in V 16, 60/90/120 degrees mixed, offset 0.06 mm, springback 0.20, lots 0.035
# mm: rms error of the first piece at lot 1, 2, 3, 6, 12 with the filter; without learning it stays 1.16.
def test_learning_over_lots_reproduces_the_printed_fall():
    rng = np.random.default_rng(3)
    shops, lots = 1500, 12
    figures = np.array([(14.6, 2.85), (13.4, 3.23), (9.0, 3.9)])
    errors = np.zeros((shops, lots))
    for shop in range(shops):
        offset, log = rng.normal(0, 0.06), rng.normal(0, 0.20)
        state = LearnedState(0.0, 0.0, 0.06**2, 0.20**2, 0.0, 0)
        for number in range(lots):
            rate, release = figures[rng.integers(3)]
            noise = rng.normal(0, 0.25)
            error = rate * (offset + rng.normal(0, 0.035)) - release * log
            errors[shop, number] = error - rate * state.depth_offset_mm + release * state.springback_log
            seen = LotError(float(error + noise), float(rate), float(release), float(rate * 0.035), 0.25)
            state, _ = learn_lot(state, seen, drift_sd_mm=0.004)
    rms = np.sqrt((errors**2).mean(axis=0))
    for number, printed in {1: 1.16, 2: 0.69, 3: 0.62, 6: 0.53, 12: 0.50}.items():
        assert rms[number - 1] == pytest.approx(printed, rel=0.12), number
    assert rms[11] < rms[5] < rms[2] < rms[0]


def test_a_new_key_borrows_the_springback_of_its_metal():
    fresh = prior_state(0.1)
    taught = replace(fresh, springback_log=0.2, springback_var=0.001, depth_offset_mm=0.1, lots=8)
    lent = borrowed_state(fresh, [taught, fresh])
    assert 0.1 < lent.springback_log < 0.2
    assert lent.depth_offset_mm == 0
    assert lent.lots == 0
    assert 0 < lent.springback_var < fresh.springback_var
    assert borrowed_state(fresh, [fresh]) == fresh
    assert borrowed_state(fresh, []) == fresh


def test_a_surer_lender_counts_for_more():
    fresh = prior_state(0.1)
    sure = replace(fresh, springback_log=0.2, springback_var=0.0005, lots=9)
    vague = replace(fresh, springback_log=-0.2, springback_var=0.03, lots=1)
    assert borrowed_state(fresh, [sure, vague]).springback_log > 0


def shrunk(values, *, between=0.1, noise=0.1, parent=3.7):
    return shrunken_mean(values, parent_mm=parent, between_sd_mm=between, noise_sd_mm=noise)


def test_no_rows_give_the_parent():
    found = shrunk([])
    assert (found.mean_mm, found.sd_mm, found.count, found.outliers) == (3.7, 0.1, 0, ())


def test_one_row_goes_halfway_where_parent_and_noise_are_alike():
    found = shrunk([3.9])
    assert found.mean_mm == pytest.approx(3.8)
    assert found.sd_mm == pytest.approx(0.1 / math.sqrt(2))
    assert found.count == 1


def test_two_rows_with_fading_worked_by_hand():
    # Weights 0.9 and 1: mean 3.9 + 0.1/1.9, n_eff = 1.9^2/1.81.
    found = shrunk([3.9, 4.0])
    effective = 1.9**2 / 1.81
    share = 0.01 / (0.01 + 0.01 / effective)
    assert found.mean_mm == pytest.approx(3.7 + share * (0.2 + 0.1 / 1.9))


def test_many_rows_leave_the_parent_behind():
    found = shrunk([4.0] * 30)
    assert found.mean_mm == pytest.approx(3.985, abs=0.01)
    assert found.sd_mm < 0.03


def test_an_outlier_is_named_and_not_used():
    clean = shrunk([3.71, 3.74, 3.70, 3.72], noise=0.05)
    dirty = shrunk([3.71, 3.74, 5.20, 3.70, 3.72], noise=0.05)
    assert dirty.outliers == (2,)
    assert dirty.count == 4
    assert dirty.mean_mm == pytest.approx(clean.mean_mm, abs=0.01)


def test_a_single_row_far_from_everything_is_an_outlier():
    assert shrunk([9.0]).outliers == (0,)


def test_noise_must_be_known():
    with pytest.raises(ValueError, match="without noise"):
        shrunk([3.7], noise=0)
