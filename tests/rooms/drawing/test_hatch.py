"""Hatching, measured with shapely."""

import itertools
import math

import pytest
import shapely

from flangewise.drawing import hatch

SQUARE = ((0.0, 0.0), (20.0, 0.0), (20.0, 20.0), (0.0, 20.0))
HORSESHOE = ((0.0, 0.0), (20.0, 0.0), (20.0, 20.0), (14.0, 20.0), (14.0, 6.0), (6.0, 6.0), (6.0, 20.0), (0.0, 20.0))


@pytest.mark.parametrize("outline", [SQUARE, HORSESHOE])
@pytest.mark.parametrize("angle", [45.0, -45.0, 0.0, 30.0])
def test_every_line_lies_inside(outline: tuple[tuple[float, float], ...], angle: float) -> None:
    shape = shapely.Polygon(outline).buffer(1e-6)
    lines = hatch(outline, angle_deg=angle)
    assert lines
    assert all(shape.covers(shapely.LineString(line.points_mm)) for line in lines)


@pytest.mark.parametrize("outline", [SQUARE, HORSESHOE])
def test_the_length_drawn_is_area_over_pitch(outline: tuple[tuple[float, float], ...]) -> None:
    drawn = sum(math.dist(*line.points_mm) for line in hatch(outline, pitch_mm=1.0))
    assert drawn == pytest.approx(shapely.Polygon(outline).area / 1.0, rel=0.02)


def test_lines_are_a_pitch_apart() -> None:
    middles = sorted(
        (a[1] + b[1]) / 2 for a, b in (line.points_mm for line in hatch(SQUARE, pitch_mm=2.0, angle_deg=0.0))
    )
    assert len(middles) in {9, 10}
    assert all(after - before == pytest.approx(2.0) for before, after in itertools.pairwise(middles))


def test_lines_closer_than_a_millimetre_are_refused() -> None:
    with pytest.raises(ValueError, match="closer than 1 mm"):
        hatch(SQUARE, pitch_mm=0.8)


def test_a_shape_narrower_than_the_pitch_may_stay_empty() -> None:
    assert len(hatch(((0.0, 0.0), (0.3, 0.0), (0.3, 0.3)), pitch_mm=5.0)) <= 1
