"""Cutting at a window, held against shapely."""

import random

import pytest
import shapely

from flangewise.drawing import Box, clipped, cut_to

WINDOW = Box(0.0, 0.0, 10.0, 10.0)
FRAME = shapely.box(0.0, 0.0, 10.0, 10.0)


def random_ring(seed: int) -> tuple[tuple[float, float], ...]:
    dice = random.Random(seed)
    return tuple((dice.uniform(-6, 16), dice.uniform(-6, 16)) for _ in range(dice.randint(3, 9)))


@pytest.mark.parametrize("seed", range(60))
@pytest.mark.parametrize("closed", [False, True])
def test_what_is_left_of_a_line_is_what_lies_inside(seed: int, closed: bool) -> None:
    ring = random_ring(seed)
    whole = shapely.LineString([*ring, ring[0]] if closed else ring)
    wanted = sum(
        shapely.LineString(pair).intersection(FRAME).length
        for pair in zip(whole.coords, list(whole.coords)[1:], strict=False)
    )
    left = clipped(ring, WINDOW, closed=closed)
    assert sum(shapely.LineString(run).length for run in left) == pytest.approx(wanted, abs=1e-6)
    assert all(FRAME.buffer(1e-6).covers(shapely.LineString(run)) for run in left)


@pytest.mark.parametrize("seed", range(60))
def test_what_is_left_of_a_shape_has_the_area_inside(seed: int) -> None:
    dice = random.Random(seed)
    middle = (dice.uniform(-3, 13), dice.uniform(-3, 13))
    shape = shapely.Point(middle).buffer(dice.uniform(2, 9), quad_segs=4)
    left = cut_to(tuple(shape.exterior.coords)[:-1], WINDOW)
    area = shapely.Polygon(left).area if len(left) > 2 else 0.0
    assert area == pytest.approx(shape.intersection(FRAME).area, abs=1e-6)


def test_a_line_wholly_inside_stays_one_run() -> None:
    assert clipped(((1.0, 1.0), (2.0, 2.0), (3.0, 1.0)), WINDOW, closed=False) == (
        ((1.0, 1.0), (2.0, 2.0), (3.0, 1.0)),
    )


def test_a_line_that_leaves_and_returns_makes_two_runs() -> None:
    assert len(clipped(((1.0, 5.0), (15.0, 5.0), (15.0, 6.0), (1.0, 6.0)), WINDOW, closed=False)) == 2


def test_a_closed_run_that_starts_inside_is_not_cut_at_its_start() -> None:
    runs = clipped(((5.0, 5.0), (15.0, 5.0), (15.0, 8.0), (5.0, 8.0)), WINDOW, closed=True)
    assert len(runs) == 1
    assert {runs[0][0], runs[0][-1]} == {(10.0, 5.0), (10.0, 8.0)}


def test_what_is_outside_is_gone() -> None:
    outside = ((20.0, 20.0), (30.0, 20.0), (30.0, 30.0))
    assert clipped(outside, WINDOW, closed=True) == ()
    assert cut_to(outside, WINDOW) == ()
