"""The raster: a rectangle said to be free touches no ink, held against shapely."""

import random

import pytest
import shapely

from flangewise.drawing import Box, Line, bounds, clean
from flangewise.drawing.ink import CELL_MM
from flangewise.drawing.items import Pen

FRAME = Box(0.0, 0.0, 60.0, 40.0)


def random_line(dice: random.Random) -> Line:
    count = dice.randint(2, 5)
    points = tuple((dice.uniform(0, 60), dice.uniform(0, 40)) for _ in range(count))
    return Line(points, Pen(dice.choice((0.25, 0.5, 0.8))), closed=dice.random() < 0.3)


def shape_of(line: Line) -> shapely.Geometry:
    points = [*line.points_mm, line.points_mm[0]] if line.closed else line.points_mm
    assert line.pen is not None
    return shapely.LineString(points).buffer(line.pen.weight_mm / 2, cap_style="flat")


@pytest.mark.parametrize("seed", range(40))
def test_a_free_box_touches_nothing(seed: int) -> None:
    dice = random.Random(seed)
    lines = [random_line(dice) for _ in range(4)]
    ink, shapes = clean(FRAME).with_lines(lines), [shape_of(line) for line in lines]
    frees = 0
    for _ in range(200):
        left, top = dice.uniform(0, 55), dice.uniform(0, 36)
        box = Box(left, top, left + dice.uniform(0.2, 5), top + dice.uniform(0.2, 4))
        if ink.free(box):
            frees += 1
            rectangle = shapely.box(box.left_mm, box.top_mm, box.right_mm, box.bottom_mm)
            assert not any(shape.intersects(rectangle) for shape in shapes)
    assert frees > 20


@pytest.mark.parametrize("seed", range(10))
def test_what_is_two_cells_off_all_ink_is_free(seed: int) -> None:
    dice = random.Random(seed)
    line = random_line(dice)
    ink, shape = clean(FRAME).with_lines([line]), shape_of(line)
    for _ in range(100):
        left, top = dice.uniform(0, 58), dice.uniform(0, 38)
        box = Box(left, top, left + 1.5, top + 1.5)
        if shape.distance(shapely.box(left, top, left + 1.5, top + 1.5)) > 2 * CELL_MM:
            assert ink.free(box)


def test_a_black_shape_counts_whole_and_an_outline_does_not() -> None:
    square = ((10.0, 10.0), (30.0, 10.0), (30.0, 30.0), (10.0, 30.0))
    inside = Box(15.0, 15.0, 20.0, 20.0)
    assert clean(FRAME).with_lines([Line(square, closed=True)]).free(inside)
    assert not clean(FRAME).with_lines([Line(square, None, closed=True, fill="black")]).free(inside)


def test_a_black_horseshoe_leaves_its_mouth_free() -> None:
    shoe = ((5.0, 5.0), (35.0, 5.0), (35.0, 10.0), (10.0, 10.0), (10.0, 25.0), (35.0, 25.0), (35.0, 30.0), (5.0, 30.0))
    ink = clean(FRAME).with_lines([Line(shoe, None, closed=True, fill="black")])
    assert ink.free(Box(15.0, 12.0, 30.0, 23.0))
    assert not ink.free(Box(15.0, 6.0, 30.0, 9.0))


def test_beyond_the_frame_nothing_is_free() -> None:
    assert not clean(FRAME).free(Box(58.0, 10.0, 61.0, 12.0))
    assert not clean(FRAME).free(Box(-1.0, 10.0, 2.0, 12.0))
    assert clean(FRAME).free(Box(0.0, 0.0, 60.0, 40.0))


def test_boxes_are_ink_too_and_a_raster_is_not_changed() -> None:
    empty = clean(FRAME)
    box = Box(10.0, 10.0, 20.0, 14.0)
    assert not empty.with_boxes([box]).free(Box(19.0, 13.0, 25.0, 20.0))
    assert empty.free(box)


def test_the_frame_may_start_anywhere() -> None:
    shifted = clean(Box(100.0, 50.0, 160.0, 90.0)).with_lines([Line(((110.0, 60.0), (150.0, 60.0)))])
    assert not shifted.free(Box(120.0, 59.0, 125.0, 61.0))
    assert shifted.free(Box(120.0, 65.0, 125.0, 70.0))


def test_bounds_hold_all_points() -> None:
    assert bounds([(1.0, 5.0), (-2.0, 3.0), (0.0, 9.0)]) == Box(-2.0, 3.0, 1.0, 9.0)
    with pytest.raises(ValueError):
        bounds([])
