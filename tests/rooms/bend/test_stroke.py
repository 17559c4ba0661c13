"""The stroke: its points are bends, its rates are slopes, and the leg's tip against the sharp model."""

import math

import numpy as np
import pytest

from flangewise.bend import (
    BendSetup,
    Learned,
    air_bends,
    bend_to_turn,
    ram_speed_for_tip_mm_per_s,
    stroke,
    tip_speed_factor,
)
from flangewise.bend.air_bend import StrokePoints

from .metals import SOFT, STRONG

SETUP = BendSetup(2, 16, 1.5, 1)


def test_points_run_from_one_degree_to_the_end():
    along = stroke(SETUP, SOFT, to_loaded_turn_deg=92, points=20)
    assert along.loaded_turn_deg == pytest.approx(np.linspace(1, 92, 20).tolist())
    for column in (along.turn_deg, along.depth_mm, along.force_kn_per_m, along.loaded_deg_per_mm):
        assert len(column) == 20
    assert list(along.depth_mm) == sorted(along.depth_mm)


def test_a_point_is_the_bend_loaded_so_far():
    along = stroke(SETUP, SOFT, to_loaded_turn_deg=61, points=3)
    (alone,) = air_bends([SETUP], SOFT, [31], target="loaded")
    assert alone.converged
    assert along.depth_mm[1] == pytest.approx(alone.depth_mm, abs=1e-9)
    assert along.force_kn_per_m[1] == pytest.approx(alone.force_kn_per_m, rel=1e-9)
    assert along.turn_deg[1] == pytest.approx(alone.turn_deg, abs=1e-7)


def test_the_peak_of_the_bend_is_the_peak_of_the_stroke():
    bend = bend_to_turn(SETUP, STRONG, 90)
    assert bend.converged
    along = stroke(SETUP, STRONG, to_loaded_turn_deg=bend.loaded_turn_deg, points=200)
    assert bend.peak_kn_per_m == pytest.approx(max(along.force_kn_per_m), rel=1e-3)
    assert bend.peak_turn_deg == pytest.approx(
        along.loaded_turn_deg[along.force_kn_per_m.index(max(along.force_kn_per_m))], abs=1
    )


def test_rates_are_slopes():
    along = stroke(SETUP, SOFT, to_loaded_turn_deg=90, points=400)
    slopes = np.gradient(np.array(along.loaded_turn_deg), np.array(along.depth_mm))
    assert np.array(along.loaded_deg_per_mm)[1:-1] == pytest.approx(slopes[1:-1], rel=5e-3)


def test_what_was_learned_moves_the_stroke():
    bare, taught = (
        stroke(SETUP, SOFT, to_loaded_turn_deg=90, points=5, learned=learned)
        for learned in (Learned(), Learned(depth_offset_mm=0.2))
    )
    assert [a - b for a, b in zip(bare.depth_mm, taught.depth_mm, strict=True)] == pytest.approx([0.2] * 5)


def test_a_short_stroke_is_its_end():
    assert stroke(SETUP, SOFT, to_loaded_turn_deg=0.5).loaded_turn_deg == pytest.approx((0.5,))


def test_turns_that_do_not_exist_are_left_out():
    along = stroke(BendSetup(2, 16, 1.5, 7.9), SOFT, to_loaded_turn_deg=170, points=20)
    assert 0 < len(along.depth_mm) < 20


# Sharp model: factor 2L/V - 1 at first touch: V 16 and L 500 make 615 mm/s of a ram's 10.
def test_the_sharp_model_is_the_lower_bound():
    sharp = StrokePoints((0.0,), (0.0,), (0.0,), (0.0,), (math.degrees(2 * 2 / 16),))
    assert tip_speed_factor(sharp, 500) == pytest.approx(61.5)
    for opening, reach in [(8, 60), (16, 150), (16, 500), (24, 600)]:
        setup = BendSetup(opening / 8, opening, 0.09 * opening, 1)
        along = stroke(setup, SOFT, to_loaded_turn_deg=92)
        ratio = tip_speed_factor(along, reach) / (2 * reach / opening - 1)
        assert 1.1 < ratio < 1.35


def test_the_tip_is_fastest_near_25_to_30_degrees():
    along = stroke(SETUP, SOFT, to_loaded_turn_deg=92, points=92)
    fastest = along.loaded_turn_deg[along.loaded_deg_per_mm.index(max(along.loaded_deg_per_mm))]
    assert 18 < fastest < 35


def test_ram_speed_for_a_tip_limit():
    along = stroke(SETUP, SOFT, to_loaded_turn_deg=92)
    speed = ram_speed_for_tip_mm_per_s(250, along, reach_mm=500)
    assert speed is not None
    assert speed * tip_speed_factor(along, 500) == pytest.approx(250)
    # The sharp model allows 4.1 mm/s for V 16 and 500 mm; the real one less.
    assert speed < 4.1
    assert ram_speed_for_tip_mm_per_s(250, StrokePoints((), (), (), (), ()), reach_mm=500) is None
