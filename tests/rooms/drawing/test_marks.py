"""Arrows, arcs, break lines and the datum triangle."""

import itertools
import math

import pytest
import shapely

from flangewise.drawing import arc_points, arrow, datum, head, zigzag
from flangewise.drawing.marks import HEAD_MM, circle, towards


def test_a_head_points_where_it_goes() -> None:
    tip, one, other = head((10.0, 0.0), (0.0, 0.0)).points_mm
    assert tip == (10.0, 0.0)
    assert one[0] == other[0] == pytest.approx(10.0 - HEAD_MM)
    assert one[1] == pytest.approx(-other[1])


def test_an_arrow_has_one_head_and_a_direction_without_sense_has_two() -> None:
    assert len([line for line in arrow((0.0, 0.0), (9.0, 0.0)) if line.fill == "black"]) == 1
    assert len([line for line in arrow((0.0, 0.0), (9.0, 0.0), both=True) if line.fill == "black"]) == 2


def test_an_arc_keeps_its_radius_and_its_ends() -> None:
    points = arc_points((5.0, 5.0), 3.0, from_deg=90.0, to_deg=180.0, chord_mm=0.01)
    assert points[0] == pytest.approx((5.0, 2.0))
    assert points[-1] == pytest.approx((2.0, 5.0))
    for spot in points:
        assert math.dist(spot, (5.0, 5.0)) == pytest.approx(3.0)
    for here, there in itertools.pairwise(points):
        middle = ((here[0] + there[0]) / 2, (here[1] + there[1]) / 2)
        assert 3.0 - math.dist(middle, (5.0, 5.0)) <= 0.0101


def test_an_arc_of_no_radius_is_its_centre() -> None:
    assert arc_points((1.0, 2.0), 0.0, from_deg=0.0, to_deg=90.0) == ((1.0, 2.0),)


def test_a_circle_has_the_area_of_one() -> None:
    assert shapely.Polygon(circle((0.0, 0.0), 6.0).points_mm).area == pytest.approx(math.pi * 36, rel=0.01)


def test_a_break_line_runs_from_end_to_end_with_one_tooth() -> None:
    line = zigzag((0.0, 0.0), (0.0, 10.0), tooth_mm=1.0)
    assert (line.points_mm[0], line.points_mm[-1]) == ((0.0, 0.0), (0.0, 10.0))
    assert sorted({round(x, 6) for x, _ in line.points_mm}) == [-1.0, 0.0, 1.0]


def test_the_datum_triangle_lies_in_its_corner() -> None:
    shape = shapely.Polygon(datum((10.0, 20.0), (1.0, -1.0), leg_mm=5.0).points_mm)
    assert shape.bounds == (10.0, 15.0, 15.0, 20.0)
    assert shape.area == pytest.approx(12.5)


def test_direction_of_a_point_to_itself_is_to_the_right() -> None:
    assert towards((3.0, 3.0), (3.0, 3.0)) == (1.0, 0.0, 0.0)
    assert towards((0.0, 0.0), (3.0, 4.0)) == pytest.approx((0.6, 0.8, 5.0))
