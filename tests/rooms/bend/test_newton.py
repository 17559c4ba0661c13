"""The solver: answers do not depend on where it starts, and what has no answer is said to have none."""

import math

import numpy as np
import pytest

from flangewise.bend import newton
from flangewise.bend.elastica import arm
from flangewise.bend.newton import CONVERGED, UNREACHABLE, Aim, scan, solve, start_from_finished, start_from_loaded

from .metals import METALS
from .test_elastica import one, rows


def answer(sheet, aim, half=0.6, strain=-1.5):
    return solve(sheet, aim, one(half), one(strain))


@pytest.mark.parametrize("metal", METALS)
@pytest.mark.parametrize("degrees", [12.0, 60.0, 90.0, 130.0])
def test_a_solution_closes_the_arm_and_meets_its_target(metal, degrees):
    sheet, turn = rows(METALS[metal]), np.radians(one(degrees))
    found = solve(sheet, Aim.of("finished", turn), *start_from_finished(turn, sheet))
    assert found.status[0] == CONVERGED
    state = arm(found.half_turn, found.log_strain, sheet)
    assert abs(state.closing_mm[0]) < 1e-9
    assert 2 * found.half_turn[0] - state.springback_rad[0] == pytest.approx(turn[0], abs=1e-11)
    assert state.depth_mm[0] == pytest.approx(found.depth_mm[0], abs=1e-9)
    assert state.force_n_per_mm[0] == pytest.approx(found.force_n_per_mm[0], rel=1e-9)


@pytest.mark.parametrize(("half", "strain"), [(0.01, -9.0), (1.4, -0.1), (0.8, -4.0), (1.5, 1.0)])
def test_the_start_does_not_matter(half, strain):
    sheet = rows(METALS["A"])
    wanted = Aim.of("finished", np.radians(one(75)))
    usual, odd = answer(sheet, wanted), answer(sheet, wanted, half, strain)
    assert odd.status[0] == CONVERGED
    assert odd.depth_mm[0] == pytest.approx(usual.depth_mm[0], abs=1e-9)


def test_rates_are_slopes_of_the_stroke():
    sheet = rows(METALS["C"])
    found = answer(sheet, Aim.of("loaded", np.radians(one(80))))
    up, down = (answer(sheet, Aim.of("loaded", np.radians(one(80 + step)))) for step in (0.01, -0.01))
    along = up.depth_mm[0] - down.depth_mm[0]
    assert found.half_turn_rate[0] == pytest.approx((up.half_turn[0] - down.half_turn[0]) / along, rel=1e-5)
    finished = [2 * one_side.half_turn[0] - one_side.springback_rad[0] for one_side in (up, down)]
    assert found.finished_rate[0] == pytest.approx((finished[0] - finished[1]) / along, rel=1e-5)


def test_a_turn_beyond_all_depth_is_unreachable_and_has_no_figures():
    sheet = rows(METALS["D"], thickness=1.0)
    found = answer(sheet, Aim.of("finished", np.radians(one(178))))
    assert found.status[0] == UNREACHABLE
    assert all(column[0] == 0 for column in found[:-1])


def test_a_nose_wider_than_the_die_is_unreachable():
    sheet = rows(METALS["A"], nose=14.0)
    assert answer(sheet, Aim.of("finished", np.radians(one(110)))).status[0] == UNREACHABLE


def test_a_depth_above_first_touch_is_unreachable():
    sheet = rows(METALS["A"])
    assert answer(sheet, Aim.of("depth", one(-2.5 / 8))).status[0] == UNREACHABLE


def test_the_scan_starts_near_the_answer():
    sheet = rows(METALS["B"])
    wanted = Aim.of("finished", np.radians(one(97)))
    half, strain, reached = scan(sheet, wanted)
    found = answer(sheet, wanted)
    assert reached.tolist() == [True]
    assert half[0] == pytest.approx(found.half_turn[0], abs=math.radians(3))
    assert strain[0] == pytest.approx(found.log_strain[0], abs=0.2)


def test_blocks_give_what_one_call_gives(monkeypatch):
    sheet, turns = rows(METALS["A"]), np.radians(np.linspace(20, 110, 37))
    whole = solve(sheet, Aim.of("finished", turns), *start_from_finished(turns, sheet))
    monkeypatch.setattr(newton, "_BLOCK", 5)
    parts = solve(sheet, Aim.of("finished", turns), *start_from_finished(turns, sheet))
    looked_at = list(zip(whole, parts, strict=True))
    assert looked_at
    for one_call, blocks in looked_at:
        assert one_call.tolist() == blocks.tolist()


def test_mixed_aims_in_one_call():
    sheet = rows(METALS["A"])
    finished, loaded = Aim.of("finished", np.radians(one(90))), Aim.of("loaded", np.radians(one(60)))
    both = solve(sheet, finished.join(loaded), np.array([0.8, 0.5]), np.array([-1.5, -1.7]))
    assert both.depth_mm[0] == pytest.approx(answer(sheet, finished).depth_mm[0], abs=1e-9)
    assert both.depth_mm[1] == pytest.approx(answer(sheet, loaded).depth_mm[0], abs=1e-9)
    assert finished.join(loaded).take(np.array([1])).value.tolist() == loaded.value.tolist()


def test_starts_are_near():
    for metal in METALS.values():
        sheet, turn = rows(metal), np.radians(one(90))
        half, strain = start_from_loaded(turn, sheet)
        found = answer(sheet, Aim.of("loaded", turn))
        assert half[0] == pytest.approx(found.half_turn[0])
        assert strain[0] == pytest.approx(found.log_strain[0], abs=1.0)
