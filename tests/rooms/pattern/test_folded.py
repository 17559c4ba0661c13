"""Blanks folded up: where faces stand for parts whose shape is known."""

from __future__ import annotations

import math

import numpy as np
import pytest

from flangewise.geometry.frame import shift
from flangewise.pattern.folded import base_turned, folded, hinges

from .made import T_MM, bend, blank, hem, offset, part


def test_hinges_begin_where_the_face_before_ends() -> None:
    pattern = blank(part((40, 60), bend(1, 120.0, away=True)))
    (joint,) = hinges(pattern)
    assert (joint.face_from, joint.face_to, joint.axis_deg, joint.turn_deg) == (1, 2, 0.0, -120.0)
    assert joint.edge_mm == pytest.approx((0.0, 36.0))
    assert joint.radius_mm == 2.0


def test_a_channel_s_outside_sizes_stand_in_space() -> None:
    """20/60/20 toward the marked face: web 60 outside, flanges 20 outside, whatever K is."""
    pattern = blank(part((20, 60, 20), bend(1, k_factor=0.3), bend(2, k_factor=0.3)))
    up = folded(pattern, root=2, stand=shift(0.0, 0.0, T_MM / 2))
    free_edge = up.folded_mm(1, [(0.0, 0.0)])[0]
    other_edge = up.folded_mm(3, [(0.0, pattern.developed_mm)])[0]
    assert free_edge[2] == pytest.approx(20.0)
    assert other_edge[2] == pytest.approx(20.0)
    outer = (
        up.folded_mm(1, [(0.0, 0.0)], up_mm=-T_MM / 2)[0][1],
        up.folded_mm(3, [(0.0, pattern.developed_mm)], up_mm=-T_MM / 2)[0][1],
    )
    assert outer[1] - outer[0] == pytest.approx(60.0)


def test_only_the_bends_that_are_done_are_turned() -> None:
    pattern = blank(part((20, 60, 20), bend(1), bend(2)))
    half = folded(pattern, done={2})
    assert half.frames[2] == half.frames[1]
    assert half.frames[3].normal == pytest.approx((0.0, -1.0, 0.0))
    assert folded(pattern, done=()).turns_deg == (0.0, 0.0)


def test_an_offset_s_legs_are_level_and_a_step_apart() -> None:
    pattern = blank(part((40, 50), offset(1, 7.0, 70.0)))
    up = folded(pattern)
    assert up.frames[2].normal == pytest.approx((0.0, 0.0, 1.0))
    assert up.folded_mm(2, [(0.0, pattern.developed_mm)])[0][2] == pytest.approx(7.0)


def test_a_hem_s_gap() -> None:
    pattern = blank(part((12, 60), hem(1, 3.0)))
    up = folded(pattern, root=2)
    inner = up.folded_mm(1, [(0.0, 0.0)], up_mm=T_MM / 2)[0][2]
    assert inner - T_MM / 2 == pytest.approx(3.0)


def test_the_base_is_turned_about_the_bends_to_the_face_that_lies() -> None:
    """Bent up by 60 about the line across, and from the third face upside down."""
    pattern = blank(part((20, 60, 20), bend(1, 60.0), bend(2, 120.0)))
    flat, one, both = (np.array(base_turned(pattern, face, done={1, 2})) for face in (1, 2, 3))
    assert np.allclose(flat, np.eye(3))
    half, sine = math.cos(math.radians(60.0)), math.sin(math.radians(60.0))
    assert np.allclose(one, [[1, 0, 0], [0, half, sine], [0, -sine, half]])
    assert np.allclose(both, np.diag([1.0, -1.0, -1.0]))
    assert np.allclose(base_turned(pattern, 2, done={2}), np.eye(3))
