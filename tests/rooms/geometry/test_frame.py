"""Frames: rigid motions in space."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, strategies as st

from flangewise.geometry.frame import Frame, as_frame, shift, turn_about_along, turn_about_up

ANGLES = st.floats(-360.0, 360.0)
LENGTHS = st.floats(-1000.0, 1000.0)


@st.composite
def frames(draw: st.DrawFn) -> Frame:
    turned = turn_about_along(draw(ANGLES)).after(turn_about_up(draw(ANGLES)))
    return shift(draw(LENGTHS), draw(LENGTHS), draw(LENGTHS)).after(turned)


def test_no_motion_leaves_points_where_they_are() -> None:
    assert Frame().place([(1.0, 2.0, 3.0)]).tolist() == [[1.0, 2.0, 3.0]]


def test_a_shift_moves_points_and_turns_nothing() -> None:
    moved = shift(10.0, 20.0, 30.0)
    assert moved.place([(1.0, 2.0, 3.0)]).tolist() == [[11.0, 22.0, 33.0]]
    assert moved.turn([(1.0, 2.0, 3.0)]).tolist() == [[1.0, 2.0, 3.0]]
    assert moved.normal == (0.0, 0.0, 1.0)


def test_a_quarter_turn_about_along_lifts_what_lies_across() -> None:
    assert turn_about_along(90.0).place([(5.0, 1.0, 0.0)])[0] == pytest.approx([5.0, 0.0, 1.0])
    assert turn_about_along(-90.0).place([(5.0, 1.0, 0.0)])[0] == pytest.approx([5.0, 0.0, -1.0])
    assert turn_about_along(90.0).normal == pytest.approx((0.0, -1.0, 0.0))


def test_a_quarter_turn_about_up_brings_along_to_across() -> None:
    assert turn_about_up(90.0).place([(1.0, 0.0, 7.0)])[0] == pytest.approx([0.0, 1.0, 7.0])


def test_after_does_the_first_motion_first() -> None:
    turn_then_shift = shift(10.0, 0.0, 0.0).after(turn_about_up(90.0))
    shift_then_turn = turn_about_up(90.0).after(shift(10.0, 0.0, 0.0))
    assert turn_then_shift.place([(1.0, 0.0, 0.0)])[0] == pytest.approx([10.0, 1.0, 0.0])
    assert shift_then_turn.place([(1.0, 0.0, 0.0)])[0] == pytest.approx([0.0, 11.0, 0.0])


def test_a_single_point_and_no_point_are_taken_as_rows() -> None:
    assert Frame().place((1.0, 2.0, 3.0)).shape == (1, 3)
    assert Frame().place(np.zeros((0, 3))).shape == (0, 3)


def test_a_frame_holds_plain_numbers() -> None:
    held = as_frame(np.eye(3), np.array([1.0, 2.0, 3.0]))
    assert held == shift(1.0, 2.0, 3.0)
    assert hash(held) == hash(shift(1.0, 2.0, 3.0))
    assert all(type(value) is float for row in held.rotation for value in row)


@given(frames(), LENGTHS, LENGTHS, LENGTHS)
def test_the_inverse_takes_every_point_back(motion: Frame, x: float, y: float, z: float) -> None:
    there = motion.place([(x, y, z)])
    assert motion.inverse().place(there)[0] == pytest.approx([x, y, z], abs=1e-9)


@given(frames(), frames())
def test_motions_keep_lengths_and_handedness(first: Frame, second: Frame) -> None:
    rotation = np.array(second.after(first).rotation)
    assert rotation @ rotation.T == pytest.approx(np.eye(3), abs=1e-12)
    assert np.linalg.det(rotation) == pytest.approx(1.0, abs=1e-12)


@given(frames(), frames(), frames())
def test_motions_set_one_on_another_in_any_grouping(one: Frame, two: Frame, three: Frame) -> None:
    left, right = one.after(two).after(three), one.after(two.after(three))
    assert np.array(left.rotation) == pytest.approx(np.array(right.rotation), abs=1e-12)
    assert left.origin_mm == pytest.approx(right.origin_mm, abs=1e-8)


@given(st.floats(-180.0, 180.0))
def test_a_turn_about_along_has_the_angle_asked_for(turn_deg: float) -> None:
    normal = turn_about_along(turn_deg).normal
    assert math.degrees(math.atan2(-normal[1], normal[2])) == pytest.approx(turn_deg, abs=1e-9)
