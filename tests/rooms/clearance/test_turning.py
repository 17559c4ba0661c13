"""A foot turned inside four walls until it passes the mouth between four returns."""

from __future__ import annotations

import math

import numpy as np
import pytest

from flangewise.clearance import Turned, turned_out
from flangewise.geometry import Points


def box(left: float, low: float, right: float, high: float) -> Points:
    return np.array([(left, low), (right, low), (right, high), (left, high)])


def frame(long: float, wide: float) -> tuple[Points, ...]:
    """Four bars around an opening about the origin."""
    x, y, far = long / 2, wide / 2, 200.0
    return box(-far, -far, -x, far), box(x, -far, far, far), box(-far, -far, far, -y), box(-far, y, far, far)


START = ((-5.0, -98.0), (5.0, 98.0))
FOOT = box(-145.0, -10.0, 145.0, 10.0)


def test_a_foot_of_290_by_20_in_a_mouth_of_270_by_170() -> None:
    """L cos p + b sin p <= 270 from acos(270/290.69) + atan(20/290) on, L sin p + b cos p <= 170 up to asin - atan."""
    long, lead = math.hypot(290, 20), math.degrees(math.atan2(20, 290))
    least = math.degrees(math.acos(270 / long)) + lead
    most = math.degrees(math.asin(170 / long)) - lead
    assert (least, most) == (pytest.approx(25.69, abs=0.01), pytest.approx(31.84, abs=0.01))
    found = turned_out([Turned(FOOT, frame(296, 196))], [Turned(FOOT, frame(270, 170))], START)
    assert found == (pytest.approx(least, abs=0.01), pytest.approx(most, abs=0.01))


def test_walls_that_let_it_not_turn_so_far() -> None:
    assert turned_out([Turned(FOOT, frame(291, 60))], [Turned(FOOT, frame(270, 170))], START) is None


def test_a_mouth_that_it_never_passes() -> None:
    assert turned_out([Turned(FOOT, frame(296, 196))], [Turned(FOOT, frame(200, 170))], START) is None


def test_what_passes_as_it_lies_need_not_be_turned() -> None:
    found = turned_out([Turned(FOOT, frame(296, 196))], [Turned(FOOT, frame(292, 170))], START)
    assert found is not None and found[0] == 0.0


def test_what_has_no_place_inside_does_not_start_outside() -> None:
    """Walls 280 apart hold no foot of 290; beyond them it would lie free."""
    assert turned_out([Turned(FOOT, frame(280, 60))], [Turned(FOOT, frame(280, 60))], START) is None


def test_two_blocks_are_turned_about_what_stands_between_them() -> None:
    """A post of 10 x 10 where 290 turn: a foot without a gap meets it, one with a gap of 80 passes."""
    post = np.array([(-5.0, 5.0), (5.0, 5.0), (5.0, 15.0), (-5.0, 15.0)])
    blocks = [np.array([(a, -10.0), (b, -10.0), (b, 10.0), (a, 10.0)]) for a, b in ((-145.0, -40.0), (40.0, 145.0))]
    wide, mouth = frame(296, 196), frame(270, 170)

    def out(rings: list[np.ndarray]) -> tuple[float, float] | None:
        start = (-4.0, 10.0), (4.0, 12.0)
        inside, through = ([Turned(ring, (*each, post)) for ring in rings] for each in (wide, mouth))
        return turned_out(inside, through, start)

    assert out([FOOT]) is None
    assert out(blocks) is not None
