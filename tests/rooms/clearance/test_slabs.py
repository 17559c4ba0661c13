"""A pan 300 x 200 with sides of 40: where along the 200 bend no tool may stand."""

from __future__ import annotations

import numpy as np
import pytest

from flangewise.clearance import Region, swept_region

from ...laws.slabs import SpaceFace, fits, forbidden_stretches, free_stretches

T = 1.5


def near(stretches):
    return [pytest.approx(stretch, abs=1e-3) for stretch in stretches]


BASE = SpaceFace(np.array([(0, 0, 0), (200, 0, 0), (200, 300, 0), (0, 300, 0)], dtype=float))


def side(x: float) -> SpaceFace:
    return SpaceFace(np.array([(x, 0, 0), (x, 300, 0), (x, 300, 40), (x, 0, 40)], dtype=float))


def inward(low: float, high: float) -> SpaceFace:
    return SpaceFace(np.array([(low, 0, 40), (high, 0, 40), (high, 300, 40), (low, 300, 40)], dtype=float))


@pytest.fixture(scope="module")
def punch_region(bodies, square_bend) -> Region:
    return swept_region(tuple(body for body in bodies if body.with_ram), square_bend, reach_mm=400)


def test_the_base_itself_forbids_nothing(punch_region):
    assert forbidden_stretches([BASE], punch_region, thickness_mm=T) == ()


def test_standing_sides_forbid_the_two_ends(punch_region):
    found = forbidden_stretches([BASE, side(0), side(200)], punch_region, thickness_mm=T)
    assert list(found) == near([(-T / 2, T / 2), (200 - T / 2, 200 + T / 2)])
    assert fits([200 - T], (0, 200), found, shortfall_mm=1.0)
    assert not fits([200], (0, 200), found, shortfall_mm=1.0), "one long punch strikes the sides"
    assert not fits([190], (0, 200), found, shortfall_mm=1.0), "and a short one leaves too much"
    assert fits([100, 60, 35], (0, 200), found, shortfall_mm=5.0)


def test_inward_returns_forbid_their_whole_width(punch_region):
    faces = [BASE, side(0), side(200), inward(0, 15), inward(185, 200)]
    found = forbidden_stretches(faces, punch_region, thickness_mm=T)
    assert list(found) == near([(-T / 2, 15), (185, 200 + T / 2)])
    assert list(free_stretches(0, 200, found)) == near([(15, 185)])
    assert not fits([170], (0, 200), found, shortfall_mm=14.0)
    assert fits([170], (0, 200), found, shortfall_mm=15.0)


def test_a_low_side_beside_the_die_is_free_of_the_die(bodies, square_bend):
    die = swept_region(tuple(body for body in bodies if not body.with_ram), square_bend, reach_mm=400)
    assert forbidden_stretches([side(0)], die, thickness_mm=T) == ()
    hanging = SpaceFace(np.array([(50, 30, 0), (120, 30, 0), (120, 30, -25), (50, 30, -25)], dtype=float))
    beside = SpaceFace(np.array([(50, 10, 0), (120, 10, 0), (120, 10, -25), (50, 10, -25)], dtype=float))
    assert forbidden_stretches([hanging], die, thickness_mm=T) == ()
    assert list(forbidden_stretches([beside], die, thickness_mm=T)) == near([(50, 120)])


def test_a_slanting_side_is_read_back_along_the_bed(punch_region):
    slant = SpaceFace(np.array([(0, 0, 0), (0, 300, 0), (40, 300, 40), (40, 0, 40)], dtype=float))
    ((low, high),) = forbidden_stretches([slant], punch_region, thickness_mm=T)
    grow = T / 2 * np.cos(np.pi / 4)
    # it begins where the punch does: half the sheet above the middle surface
    assert low == pytest.approx(T / 2 - grow, abs=0.05) and high == pytest.approx(40 + grow, abs=0.05)


def test_a_window_in_a_face_lets_the_tool_through(punch_region):
    window = np.array([(40, 2, 40), (160, 2, 40), (160, 298, 40), (40, 298, 40)], dtype=float)
    lid = SpaceFace(inward(0, 200).ring_mm, (window,))
    whole = forbidden_stretches([inward(0, 200)], punch_region, thickness_mm=T)
    assert list(whole) == near([(0, 200)])
    holed = forbidden_stretches([lid], punch_region, thickness_mm=T)
    assert free_stretches(0, 200, holed) == ()  # its rims before and behind the window are still struck


def test_a_face_without_area_is_refused():
    with pytest.raises(ValueError, match="area"):
        SpaceFace(np.zeros((3, 3))).normal()
