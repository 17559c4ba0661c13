"""The picture of a hit: to scale, part before thin and after solid, far stops beyond a break."""

from dataclasses import replace

import pytest
import shapely

from flangewise.drawing import Box
from flangewise.sheet import step_picture
from flangewise.sheet.step_picture import _share, _thickness, _windows

from ...each import of_each
from .demo import changed, channel, finger, random_sheet, wording

WORDING = wording()
ROOM = Box(0.5, 0.5, 65.0, 47.0)


def solid_area(step_number: int) -> float:
    sheet = channel()
    drawing = step_picture(sheet.steps[step_number], WORDING)
    shapes = [line for line in drawing.lines() if line.fill == "black" and len(line.points_mm) > 8]
    return sum(shapely.Polygon(line.points_mm).area for line in shapes)


@pytest.mark.parametrize("number", [0, 1])
def test_the_part_after_the_hit_is_solid_and_whole(number: int) -> None:
    step = channel().steps[number]
    main, strip = _windows(step, ROOM)
    assert strip is None
    assert solid_area(number) == pytest.approx(shapely.Polygon(step.after_mm).area * main.scale**2, rel=1e-3)


def test_the_thickness_drawn_is_that_of_the_sheet() -> None:
    for seed in range(40):
        sheet = random_sheet(seed)
        assert _thickness(sheet.steps[0]) == pytest.approx(sheet.part.thickness_mm, rel=1e-6)


@of_each(range(60))
def test_a_sheet_is_drawn_thick_enough_to_be_seen(seed: int) -> None:
    step = random_sheet(seed).steps[0]
    main, _ = _windows(step, ROOM)
    assert main.scale * _thickness(step) >= 0.7


def test_a_far_stop_has_a_strip_of_its_own() -> None:
    sheet = channel()
    step = sheet.steps[0]
    far = tuple((across - 400.0 if across < -40.0 else across, up) for across, up in step.before.outline_mm)
    x_mm = -min(across for across, _ in far)
    bodies = (*step.bodies[:2], replace(step.bodies[2], points_mm=finger(x_mm, 0.5)))
    main, strip = _windows(changed(step, x_mm=x_mm, before=replace(step.before, outline_mm=far), bodies=bodies), ROOM)
    assert strip is not None
    assert strip.scale == main.scale
    stop = strip.spot((-x_mm, 0.0))
    assert strip.box.left_mm < stop[0] < strip.box.right_mm
    assert strip.box.right_mm < main.box.left_mm


def test_an_opening_within_the_picture_is_to_scale_and_one_beyond_is_broken() -> None:
    step = channel().steps[0]
    near = step_picture(changed(step, open_height_mm=20.0), WORDING)
    main, _ = _windows(step, Box(0.5, 0.5, 79.0 - 14.0, 60.0 - 5.5 - 7.0))
    uprights = [
        line.points_mm
        for line in near.lines()
        if len(line.points_mm) == 2 and line.points_mm[0][0] == line.points_mm[1][0] == 75.0
    ]
    assert abs(uprights[0][0][1] - uprights[0][1][1]) == pytest.approx(20.0 * main.scale)


def test_without_stops_there_is_neither_x_nor_finger() -> None:
    step = channel().steps[0]
    free = changed(step, x_mm=None, r_mm=None, bodies=step.bodies[:2])
    words = {text.words for text in step_picture(free, WORDING).texts()}
    assert not any(each.startswith("X ") for each in words)


@pytest.mark.parametrize(("low", "high"), [(-100.0, 20.0), (-20.0, 100.0), (-60.0, 60.0)])
def test_what_is_trimmed_keeps_the_heart_and_its_size(low: float, high: float) -> None:
    start, end = _share(low, high, -10.0, 10.0, 50.0)
    assert end - start == pytest.approx(50.0)
    assert start <= -10.0
    assert end >= 10.0
    assert start >= low - 1e-9 or end <= high + 1e-9
