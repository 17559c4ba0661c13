"""The way of a held point: the bend model against the closed form, what follows from it for the ram, and the choice."""

from __future__ import annotations

import math

import numpy as np
import pytest

from flangewise.bend import BendSetup, stroke, tip_speed_factor
from flangewise.clearance import Stroke
from flangewise.handling.follow import Rise, followed_s, rise_of
from flangewise.sequence import Hit

from ..setup.made import pair
from .toys import problem_of


def _rise(radius_mm: float = 2.0, turn_deg: float = 90.0) -> Rise:
    return rise_of(Stroke(12.0, 1.0, 1.5, radius_mm, 3.5, turn_deg / 2), None, None)


def test_a_point_is_carried_round_the_arc_of_the_bend() -> None:
    """At the bottom the zone is an arc: its edge lies (r + t/2) sin a off the middle."""
    rise, half = _rise(), math.radians(45)
    across, up = rise.places_mm((0.0, 0.0))[-1]
    nose_mm = -rise.depths_mm[-1]
    assert across == pytest.approx(2.75 * math.sin(half))
    assert up == pytest.approx(nose_mm + 2.0 - 2.75 * math.cos(half))
    far = rise.places_mm((100.0, 0.0))[-1]
    assert far - (across, up) == pytest.approx(100 * np.array([math.cos(half), math.sin(half)]))


def test_the_table_begins_flat_at_first_touch_and_ends_with_the_stroke() -> None:
    rise = _rise()
    path = rise.path((80.0, 0.0))
    first, last = path[0], path[-1]
    assert (first.turn_deg, first.rise_deg, first.depth_mm) == pytest.approx((0.0, 0.0, -1.5))
    assert (first.across_mm, first.up_mm) == pytest.approx((80 + 1.75, 0.75))
    assert (last.turn_deg, last.rise_deg) == pytest.approx((90.0, 45.0))
    assert [each.depth_mm for each in path] == sorted(each.depth_mm for each in path)
    assert not rise.by_model


def test_the_ram_goes_as_slow_as_the_arm_follows() -> None:
    """Factor 20, ram 10: 200 mm/s. An arm of 100 halves the ram: 6 mm take 1.2 s and not 0.6."""
    hit: Hit = problem_of([50.0, 50.0], [90.0]).operations[0].options[0].hits[0]
    assert hit.time is not None and hit.time.travel_mm == 8.0
    assert followed_s(20.0, hit, ram_mm_per_s=10.0, follow_mm_per_s=250.0) == (0.0, 10.0)
    assert followed_s(20.0, hit, ram_mm_per_s=10.0, follow_mm_per_s=100.0) == pytest.approx((0.8, 5.0))
    assert followed_s(20.0, hit, ram_mm_per_s=10.0, follow_mm_per_s=None)[0] == math.inf


def test_with_the_bend_model_a_point_is_faster_than_the_sharp_formula_has_it() -> None:
    """By common practice 1.2 to 1.3 times; held against the model's own rate of turn, which knows no arc."""
    made_bend = pair()
    assert made_bend.air is not None and made_bend.model is not None
    setup: BendSetup = made_bend.model.setup
    radius_mm, half_deg = made_bend.air.effective_radius_mm, made_bend.air.loaded_turn_deg / 2
    swung = Stroke(setup.opening_mm, setup.shoulder_radius_mm, setup.thickness_mm, radius_mm, 3.5, half_deg)
    rise = rise_of(swung, made_bend.air, (setup, made_bend.model.swift))
    assert rise.by_model
    reach_mm = 150.0
    along = stroke(setup, made_bend.model.swift, to_loaded_turn_deg=made_bend.air.loaded_turn_deg, points=46)
    own = rise.speed_factor((reach_mm - 1.75, 0.0))
    assert own == pytest.approx(tip_speed_factor(along, reach_mm), rel=0.05)
    assert own > 1.1 * (2 * reach_mm / setup.opening_mm - 1)
