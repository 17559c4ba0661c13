"""Blanks folded up: where faces stand for parts whose shape is known."""

from __future__ import annotations

import pytest

from flangewise.geometry.frame import shift
from flangewise.pattern.folded import askew_deg, folded, hinges

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


def test_a_face_is_askew_by_what_was_bent_between_and_level_again_when_turned_over() -> None:
    pattern = blank(part((20, 60, 20), bend(1, 60.0), bend(2, 120.0)))
    asked = [askew_deg(pattern, 2, face, done=done) for face, done in ((1, {1}), (3, {1, 2}), (3, {1}), (2, {1, 2}))]
    assert asked == pytest.approx([60.0, 60.0, 0.0, 0.0], abs=1e-6)
