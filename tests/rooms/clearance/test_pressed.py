"""Straight-line strokes."""

from __future__ import annotations

import numpy as np
import pytest

from flangewise.clearance import LIFT_MM, Body, Slide, lines_of, slid_region

LAND = Body("die", ((0.0, 0.0), (40.0, 0.0), (40.0, -30.0), (0.0, -30.0)), False)
PLATE = Body("punch", ((-20.0, 0.0), (20.0, 0.0), (20.0, 40.0), (-20.0, 40.0)), True)


def meets(region, points) -> bool:
    return bool(region.strikes(lines_of(np.array([points], dtype=float)))[0])


def test_a_wing_lying_on_its_land_is_free():
    slide = Slide((5.0, 0.75), (5.0, 0.75), 1.5 + LIFT_MM, 1.5)
    region = slid_region((LAND, PLATE), slide, thickness_mm=1.5, reach_mm=100)
    assert not meets(region, [(0, 0), (60, 0)])
    assert meets(region, [(0, 0), (10, 0), (10, 30)]), "the plate coming down strikes a flange under it"
    assert not meets(region, [(0, 0), (20, 0), (20, 30)])


def test_a_wing_going_down_passes_everything_between():
    # the wing starts level with the top of a block and ends 10 lower, 3 away from its side
    slide = Slide((43.0, 0.75), (43.0, -9.25), 100.0, 100.0)
    region = slid_region((LAND,), slide, thickness_mm=1.5, reach_mm=100)
    assert not meets(region, [(0, 0), (60, 0)])
    assert meets(region, [(0, 0), (20, 0), (20, 5), (-8, 5)]), "a return above it comes down on the block"


def test_moving_sideways_and_down_is_a_straight_way():
    slide = Slide((60.0, 0.75), (41.5, -9.25), 100.0, 100.0)
    region = slid_region((LAND,), slide, thickness_mm=1.5, reach_mm=100)
    # the block's upper corner at (40, 0) is seen from (-20, -0.75) to (-1.5, 9.25)
    for share in (0.0, 0.3, 0.9):
        x, y = -20 + share * 18.5, -0.75 + share * 10.0
        assert meets(region, [(x, y - 0.2), (x, y + 0.2)])
    assert not meets(region, [(-1.5 + 1.0, 5.0), (3.0, 5.0)])


def test_a_folded_leg_sees_the_tools_upside_down():
    slide = Slide((-15.0, 2.25), (-15.0, 2.25), 3.0, 3.0, turned_over=True)
    region = slid_region((PLATE,), slide, thickness_mm=1.5, reach_mm=100)
    assert not meets(region, [(0, 0), (30, 0)])
    assert meets(region, [(0, 0), (30, 0), (30, -10)]) and not meets(region, [(0, 0), (30, 0), (30, 10)])


@pytest.mark.parametrize("names", [("die",), ("die", "punch")])
def test_bodies_keep_their_names(names):
    chosen = tuple(body for body in (LAND, PLATE) if body.name in names)
    slide = Slide((5.0, 0.75), (5.0, 0.75), 1.5, 1.5)
    assert {each.name for each in slid_region(chosen, slide, thickness_mm=1.5, reach_mm=100).sweeps} == set(names)
