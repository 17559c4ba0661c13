"""Folding a tree of plane faces: known shapes, any order of hinges, and what is no tree."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, strategies as st

from flangewise.geometry.fold import Fold, Hinge, fold_tree, hinge_motion
from flangewise.geometry.frame import Frame, shift, turn_about_up

T_MM = 2.0


def hinge(
    face_from: int = 1,
    face_to: int = 2,
    *,
    at_mm: float = 20.0,
    turn_deg: float = 90.0,
    radius_mm: float = 3.0,
    neutral_mm: float = 0.8,
) -> Hinge:
    """A bend zone across the blank; its width is the arc of the line `neutral_mm` from the inside."""
    width_mm = math.radians(abs(turn_deg)) * (radius_mm + neutral_mm)
    return Hinge(face_from, face_to, (0.0, at_mm), 0.0, width_mm, turn_deg, radius_mm)


def test_a_flat_fold_is_the_blank_itself() -> None:
    flat = fold_tree([hinge()], [0.0], thickness_mm=T_MM)
    assert flat.folded_mm(2, [(5.0, 60.0)])[0] == pytest.approx([5.0, 60.0, 0.0])
    assert flat.frames[1] == Frame()


def test_a_square_bend_stands_up_where_the_arc_ends() -> None:
    bend = hinge()
    done = fold_tree([bend], [90.0], thickness_mm=T_MM)
    # The middle of the sheet goes through a quarter circle of radius r + t/2 = 4 from (20, 0).
    start, free = done.folded_mm(2, [(0.0, 20.0 + bend.width_mm), (0.0, 20.0 + bend.width_mm + 30.0)])
    assert start == pytest.approx([0.0, 24.0, 4.0])
    assert free == pytest.approx([0.0, 24.0, 34.0])
    # Toward the marked face: that face is inside, half a thickness nearer the centre.
    assert done.folded_mm(2, [(0.0, 20.0 + bend.width_mm)], up_mm=T_MM / 2)[0] == pytest.approx([0.0, 23.0, 4.0])


def test_away_from_the_marked_face_goes_down() -> None:
    bend = hinge(turn_deg=-90.0)
    done = fold_tree([bend], [-90.0], thickness_mm=T_MM)
    assert done.folded_mm(2, [(0.0, 20.0 + bend.width_mm)])[0] == pytest.approx([0.0, 24.0, -4.0])
    assert done.folded_mm(2, [(0.0, 20.0 + bend.width_mm)], up_mm=-T_MM / 2)[0] == pytest.approx([0.0, 23.0, -4.0])


def test_a_closed_hem_lies_on_its_leg() -> None:
    hem = hinge(turn_deg=180.0, radius_mm=0.0, neutral_mm=1.0)
    done = fold_tree([hem], [180.0], thickness_mm=T_MM)
    assert done.folded_mm(2, [(0.0, 20.0 + hem.width_mm)], up_mm=T_MM / 2)[0] == pytest.approx([0.0, 20.0, 1.0])
    assert done.folded_mm(2, [(0.0, 20.0 + hem.width_mm + 8.0)])[0] == pytest.approx([0.0, 12.0, 2.0])


def test_the_neutral_line_keeps_its_length_on_the_way() -> None:
    bend = hinge()
    for turn_deg in (10.0, 45.0, 89.0, 90.0):
        neutral_radius_mm = bend.radius_at_mm(turn_deg) + bend.neutral_mm
        assert math.radians(turn_deg) * neutral_radius_mm == pytest.approx(bend.width_mm)
    assert bend.radius_at_mm(90.0) == pytest.approx(3.0)
    assert bend.radius_at_mm(0.0) == math.inf
    assert bend.neutral_mm == pytest.approx(0.8)


def test_the_arc_joins_the_two_faces() -> None:
    bend = hinge(turn_deg=120.0)
    done = fold_tree([bend], [120.0], thickness_mm=T_MM)
    arc = done.arc_mm(0, 7.0, up_mm=1.0, chords=12)
    assert arc.shape == (13, 3)
    assert arc[0] == pytest.approx(done.folded_mm(1, [(7.0, 20.0)], up_mm=1.0)[0])
    assert arc[-1] == pytest.approx(done.folded_mm(2, [(7.0, 20.0 + bend.width_mm)], up_mm=1.0)[0])
    # Every point lies on the inner circle, 3 mm from the centre above the zone's edge.
    assert np.hypot(arc[:, 1] - 20.0, arc[:, 2] - 4.0) == pytest.approx(np.full(13, 3.0))


def test_the_arc_of_a_flat_zone_is_its_strip() -> None:
    bend = hinge()
    flat = fold_tree([bend], [0.0], thickness_mm=T_MM)
    assert flat.arc_mm(0, 0.0, chords=2).tolist() == [
        [0.0, 20.0, 0.0],
        pytest.approx([0.0, 20.0 + bend.width_mm / 2, 0.0]),
        pytest.approx([0.0, 20.0 + bend.width_mm, 0.0]),
    ]


def test_a_tray_has_its_flanges_on_all_sides() -> None:
    """Four flanges on a base of 100 x 60, the strips to the left of axes that run round it counterclockwise outside."""
    width_mm = math.radians(90.0) * 3.8
    sides = [
        Hinge(1, 2, (0.0, 60.0), 0.0, width_mm, 90.0, 3.0),
        Hinge(1, 3, (100.0, 60.0), -90.0, width_mm, 90.0, 3.0),
        Hinge(1, 4, (100.0, 0.0), 180.0, width_mm, 90.0, 3.0),
        Hinge(1, 5, (0.0, 0.0), 90.0, width_mm, 90.0, 3.0),
    ]
    tray = fold_tree(sides, [90.0] * 4, thickness_mm=T_MM)
    out_mm = width_mm + 25.0
    tips = {
        2: ((50.0, 60.0 + out_mm), [50.0, 64.0, 29.0]),
        3: ((100.0 + out_mm, 30.0), [104.0, 30.0, 29.0]),
        4: ((50.0, -out_mm), [50.0, -4.0, 29.0]),
        5: ((-out_mm, 30.0), [-4.0, 30.0, 29.0]),
    }
    looked_at = list(tips.items())
    assert looked_at
    for face, (on_blank, in_space) in looked_at:
        assert tray.folded_mm(face, [on_blank])[0] == pytest.approx(in_space)
        assert tray.frames[face].inverse().place([in_space])[0] == pytest.approx([*on_blank, 0.0])


def test_a_flange_on_a_flange_of_a_slanted_edge() -> None:
    """The second bend's axis stands at 30 degrees: its frame is that of the chain turned by 30 degrees about up."""
    straight = fold_tree([hinge(at_mm=0.0)], [90.0], thickness_mm=T_MM)
    bend = hinge(at_mm=0.0)
    turned = fold_tree([Hinge(1, 2, (0.0, 0.0), 30.0, bend.width_mm, 90.0, 3.0)], [90.0], thickness_mm=T_MM)
    about_up = turn_about_up(30.0)
    expected = about_up.after(straight.frames[2]).after(about_up.inverse())
    assert np.array(turned.frames[2].rotation) == pytest.approx(np.array(expected.rotation), abs=1e-12)
    assert turned.frames[2].origin_mm == pytest.approx(expected.origin_mm)


@given(st.permutations(range(4)), st.integers(1, 5), st.lists(st.floats(-170.0, 170.0), min_size=4, max_size=4))
def test_any_order_of_hinges_and_any_root_make_the_same_part(
    order: list[int], root: int, turns_deg: list[float]
) -> None:
    joints = [hinge(face, face + 1, at_mm=20.0 + 30.0 * face, turn_deg=90.0) for face in range(1, 5)]
    plain = fold_tree(joints, turns_deg, thickness_mm=T_MM)
    mixed = fold_tree(
        [joints[i] for i in order],
        [turns_deg[i] for i in order],
        thickness_mm=T_MM,
        root=root,
        stand=plain.frames[root],
    )
    for face in range(1, 6):
        spot = [(3.0, 35.0 * face)]
        assert mixed.folded_mm(face, spot)[0] == pytest.approx(plain.folded_mm(face, spot)[0], abs=1e-8)


@given(st.floats(-175.0, 175.0), st.floats(0.0, 20.0), st.floats(-200.0, 200.0), st.floats(-1.0, 1.0))
def test_unfolding_takes_points_of_a_face_back_to_the_blank(
    turn_deg: float, radius_mm: float, at_mm: float, up_mm: float
) -> None:
    bend = hinge(turn_deg=turn_deg if abs(turn_deg) > 1 else 30.0, radius_mm=radius_mm)
    part = fold_tree([bend], [bend.turn_deg], thickness_mm=T_MM)
    there = part.folded_mm(2, [(4.0, at_mm)], up_mm=up_mm)
    assert part.frames[2].inverse().place(there)[0] == pytest.approx([4.0, at_mm, up_mm], abs=1e-9)


@given(st.floats(1.0, 179.0))
def test_a_zone_has_no_gap_at_any_turn(turn_deg: float) -> None:
    """The chords of the arc come out as long as a circle's through the middle of the sheet."""
    bend = hinge(turn_deg=179.0)
    part = fold_tree([bend], [turn_deg], thickness_mm=T_MM)
    arc = part.arc_mm(0, 0.0, chords=64)
    middle_mm = bend.radius_at_mm(turn_deg) + T_MM / 2
    steps = [float(np.linalg.norm(after - before)) for before, after in pairwise(arc)]
    assert steps == pytest.approx([2 * middle_mm * math.sin(math.radians(turn_deg) / 128)] * 64, rel=1e-6)


def test_the_motion_of_a_hinge_is_the_frame_it_gives_the_next_face() -> None:
    bend = hinge(turn_deg=60.0)
    stand = shift(1.0, 2.0, 3.0)
    part = fold_tree([bend], [60.0], thickness_mm=T_MM, stand=stand)
    motion = stand.after(hinge_motion(bend, 60.0, thickness_mm=T_MM))
    assert np.array(part.frames[2].rotation) == pytest.approx(np.array(motion.rotation))
    assert part.frames[2].origin_mm == pytest.approx(motion.origin_mm)


def test_no_hinge_is_one_face() -> None:
    alone = fold_tree([], [], thickness_mm=T_MM)
    assert isinstance(alone, Fold)
    assert list(alone.frames) == [1]


def test_what_is_no_tree_is_refused() -> None:
    with pytest.raises(ValueError, match="one turn for each hinge"):
        fold_tree([hinge()], [], thickness_mm=T_MM)
    with pytest.raises(ValueError, match="faces 1 and 2 are joined twice"):
        fold_tree([hinge(), hinge(at_mm=50.0)], [0.0, 0.0], thickness_mm=T_MM)
    with pytest.raises(ValueError, match="do not join every face to the root"):
        fold_tree([hinge(7, 8)], [0.0], thickness_mm=T_MM)
