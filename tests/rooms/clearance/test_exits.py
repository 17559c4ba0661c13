"""Least opening of the ram, for sections worked out on a 5 mm grid by an earlier prototype."""

from __future__ import annotations

import numpy as np
import pytest

from flangewise.clearance import least_lift_mm, movables, way_out
from flangewise.geometry import wing_path

from ..geometry.by_hand import sharp_chain


def lying(lengths, turns, zone, stroke, *, start_behind):
    """The finished section in the tools at the bottom of the stroke of one bend."""
    chain = sharp_chain(lengths, turns, thickness_mm=1.5)
    wings = [wing_path(chain, zone, toward_end=end, angles_deg=turns, marked_up=True) for end in (True, False)]
    front, behind = wings if start_behind else wings[::-1]
    half, edge = stroke.half_turn_deg, stroke.edge_mm(stroke.half_turn_deg)
    back = behind.placed(rotate_deg=half, to_mm=edge, mirror=True).backward()
    return back.then(front.placed(rotate_deg=half, to_mm=edge))


@pytest.mark.parametrize(
    ("lengths", "zone", "start_behind", "lift"),
    [
        ([40, 100, 40], 1, False, 30),
        ([40, 100, 40], 1, True, 85),
        ([15, 40, 100, 40, 15], 2, False, 45),
        ([15, 40, 100, 40, 15], 2, True, 85),
    ],
)
def test_opening_after_the_last_bend(bodies, square_bend, lengths, zone, start_behind, lift):
    path = lying(lengths, [90] * (len(lengths) - 1), zone, square_bend, start_behind=start_behind)
    way = way_out(movables(bodies), path.points_mm, thickness_mm=1.5, nose_mm=-square_bend.depth_mm(45.0))
    assert least_lift_mm(way, most_mm=300) == lift
    assert not way.open_at(lift - 5.0)
    assert least_lift_mm(way, most_mm=lift - 1.0) is None


def test_a_section_closed_round_the_punch_comes_out_sideways_only(bodies, square_bend):
    path = lying([30, 40, 60, 40, 29], [90] * 4, 1, square_bend, start_behind=True)
    narrow = tuple(body for body in bodies if body.name != "punch")
    way = way_out(movables(bodies), path.points_mm, thickness_mm=1.5, nose_mm=-square_bend.depth_mm(45.0))
    assert least_lift_mm(way, most_mm=400) is None and not way.free_in_place(5.0)
    assert not way.free_in_place(400.0)
    free = way_out(movables(narrow), path.points_mm, thickness_mm=1.5, nose_mm=-square_bend.depth_mm(45.0))
    assert least_lift_mm(free, most_mm=400) is not None


def test_the_ram_has_no_upper_end(bodies, square_bend):
    # a finite ram would let a tall part out over its top
    path = lying([40, 100, 40], [90, 90], 1, square_bend, start_behind=True)
    way = way_out(movables(bodies), path.points_mm, thickness_mm=1.5, nose_mm=-square_bend.depth_mm(45.0))
    assert not way.open_at(20.0)


def test_a_part_pressed_into_its_tools_is_not_caught(bodies, square_bend):
    path = lying([40, 60], [90], 0, square_bend, start_behind=True)
    deeper = path.points_mm + np.array((0.0, -0.2))
    nose = -square_bend.depth_mm(45.0)
    assert not way_out(movables(bodies), deeper, thickness_mm=1.5, nose_mm=nose).free_in_place(5.0)
    loose = way_out(movables(bodies), deeper, thickness_mm=1.5, nose_mm=nose, tight_mm=0.3)
    assert loose.free_in_place(5.0) and least_lift_mm(loose, most_mm=300) is not None


def test_a_punch_does_not_pass_through_a_section_closed_over_it(bodies, square_bend):
    # high enough, the nose would stand free above the tube; but it cannot get there
    path = lying([30, 40, 60, 40, 29], [90] * 4, 1, square_bend, start_behind=True)
    way = way_out(movables(bodies), path.points_mm, thickness_mm=1.5, nose_mm=-square_bend.depth_mm(45.0))
    assert not any(way.open_at(lift) for lift in (60.0, 120.0, 200.0))
