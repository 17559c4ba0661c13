"""Ways out of the tools that are tilted: found where no level one is, and free at every moment of them."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
import shapely

from flangewise.clearance import CONTACT_MM, Body, Tilting, movables, way_out

from .test_exits import lying

THICKNESS_MM, NOSE_MM, LIFT_MM = 1.5, -2.72, 194.0
# A punch with a deep neck, relieved toward the operator, under its ram; a narrow die on its bed.
NECK = (
    (0, 0), (4.5, 4.65), (-6, 20), (-18, 36), (-18, 76), (9, 106), (9, 116), (8, 116), (8, 142),
    (-8, 142), (-8, 116), (-12, 116), (-38, 92), (-38, 46), (-8, 8.68),
)  # fmt: skip
TOOLS = (
    Body("punch", NECK, True),
    Body("ram", ((-24, 142), (24, 142), (30, 188), (30, 962), (-30, 962), (-30, 188)), True),
    Body("die", ((6, 0), (0, -5.8), (-6, 0), (-10, 0), (-10, -76), (10, -76), (10, 0)), False),
    Body("bed", ((-34, -76), (34, -76), (34, -128), (44, -756), (-44, -756), (-34, -128)), False),
)
# The middle of a sheet just bent: in front a short leg hooked into the neck, behind a long one back and up again.
HOOKED = (
    (-68.61, 179.55), (-16.7, 127.63), (-15.99, 126.12), (-16.42, 124.5), (-61.59, 60.0), (-62.02, 58.39),
    (-61.32, 56.87), (-1.66, -2.78), (-0.99, -3.25), (0, -3.5), (0.99, -3.25), (1.66, -2.78), (17.54, 13.09),
    (18.34, 14.68), (18.28, 15.87), (5.59, 63.21),
)  # fmt: skip


def looked_at(bodies, points_mm, *, nose_mm=NOSE_MM):
    """A part at the bottom of a stroke: its level ways, and its tilted ones."""
    tools, line = movables(bodies), np.array(points_mm)
    level = way_out(tools, line, thickness_mm=THICKNESS_MM, nose_mm=nose_mm)
    return level, Tilting(tools, line, level, thickness_mm=THICKNESS_MM, nose_mm=nose_mm)


def apart_mm(points_mm, place, *, lift_mm=LIFT_MM):
    """Distance of the sheet from tools and machine at a place, by a polygon of its own; an overlap is negative."""
    across, up, tilt = place
    cos, sin = math.cos(math.radians(tilt)), math.sin(math.radians(tilt))
    moved = np.array(points_mm) @ np.array([[cos, sin], [-sin, cos]]) + np.array([across, up])
    line = shapely.LineString(moved)
    shapes = (shapely.Polygon(np.add(b.points_mm, (0, (NOSE_MM + lift_mm) * b.with_ram))) for b in TOOLS)
    return min(line.distance(shape) for shape in shapes) - THICKNESS_MM / 2


def moments(way):
    """The places of a way at moments half a millimetre from each other, for a part that reaches 250 mm."""
    found = []
    for one, other in itertools.pairwise((place.across_mm, place.up_mm, place.tilt_deg) for place in way):
        step = np.subtract(other, one)
        count = math.ceil((math.hypot(step[0], step[1]) + 250 * math.radians(abs(step[2]))) / 0.5)
        found += [tuple(np.add(one, share * step)) for share in np.linspace(0, 1, max(2, count))]
    return found


def test_a_part_hooked_on_the_punch_goes_up_with_it_and_comes_off_tilted():
    level, tilting = looked_at(TOOLS, HOOKED)
    assert not level.open_at(LIFT_MM) and not level.free_in_place(10.0)
    way = tilting.out_at(LIFT_MM)
    assert way is not None
    first, second, *_, last = ((place.across_mm, place.up_mm, place.tilt_deg) for place in way)
    assert first == (0, 0, 0) and second == (0, LIFT_MM, 0)
    assert max(abs(place.tilt_deg) for place in way) >= 10
    # Past the bed's front, 44 mm before the middle, with the 68 mm that the part reaches behind.
    assert last[0] > 44 + 68


def test_where_the_punch_must_leave_it_lying_it_has_no_way():
    _, tilting = looked_at(TOOLS, HOOKED)
    assert tilting.out_at(LIFT_MM, hung=False) is None


@pytest.mark.parametrize("longer_mm", [-60.0, -40.0, -20.0, 0.0, 8.0])
def test_a_way_is_free_at_every_moment(longer_mm):
    along = np.subtract(HOOKED[0], HOOKED[1]) / math.dist(HOOKED[0], HOOKED[1])
    part = (tuple(np.add(HOOKED[0], longer_mm * along)), *HOOKED[1:])
    way = looked_at(TOOLS, part)[1].out_at(LIFT_MM)
    assert way is not None
    rising = [apart_mm(part, (0, up, 0), lift_mm=up) for up in np.linspace(0, LIFT_MM, 400)]
    assert min(rising) > -CONTACT_MM - 0.01
    walked = moments(way[1:])
    assert len(walked) > 300
    assert min(apart_mm(part, place) for place in walked) > -CONTACT_MM - 0.01
    # Off the nose it keeps half a millimetre, less what the drawing of arcs takes.
    off = [place for place in walked if math.dist(place[:2], (0, LIFT_MM)) > 2]
    assert off and min(apart_mm(part, place) for place in off) > 0.3


def test_each_move_is_straight_or_a_tilt_on_the_spot():
    way = looked_at(TOOLS, HOOKED)[1].out_at(LIFT_MM)
    assert way is not None and len(way) > 3
    both = [
        one
        for one, other in itertools.pairwise(way)
        if one.tilt_deg != other.tilt_deg and (one.across_mm, one.up_mm) != (other.across_mm, other.up_mm)
    ]
    assert both == []


def test_a_section_closed_round_the_punch_has_no_way(bodies, square_bend):
    path = lying([30, 40, 60, 40, 29], [90] * 4, 1, square_bend, start_behind=True)
    _, tilting = looked_at(bodies, path.points_mm, nose_mm=-square_bend.depth_mm(45.0))
    assert [tilting.out_at(lift) for lift in (60.0, 200.0, 400.0)] == [None] * 3


def test_a_part_that_is_level_is_not_tilted(bodies, square_bend):
    path = lying([40, 100, 40], [90, 90], 1, square_bend, start_behind=False)
    way = looked_at(bodies, path.points_mm, nose_mm=-square_bend.depth_mm(45.0))[1].out_at(60.0)
    assert way is not None and {place.tilt_deg for place in way} == {0.0}
