"""Hidden lines of the isometric view, held against rays through the solid itself."""

import random

import pytest
import shapely

from flangewise.drawing.view import SIGHT, entry_mm, inside, ridges, seen_runs

CHANNEL = ((0.0, 0.0), (60.0, 0.0), (60.0, 25.0), (58.0, 25.0), (58.0, 2.0), (2.0, 2.0), (2.0, 25.0), (0.0, 25.0))

ZED = ((0.0, 0.0), (30.0, 0.0), (30.0, 23.0), (55.0, 23.0), (55.0, 25.0), (28.0, 25.0), (28.0, 2.0), (0.0, 2.0))
ROUND = tuple(shapely.Point(10.0, 5.0).buffer(12.0, quad_segs=8).exterior.coords)[:-1]


def shape(section: tuple[tuple[float, float], ...]) -> shapely.Polygon:
    return shapely.Polygon(section).buffer(0)


@pytest.mark.parametrize("seed", range(20))
def test_inside_agrees_with_shapely(seed: int) -> None:
    dice = random.Random(seed)
    for _ in range(50):
        spot = (dice.uniform(-5, 65), dice.uniform(-5, 30))
        if shape(CHANNEL).boundary.distance(shapely.Point(spot)) > 1e-3:
            assert inside(CHANNEL, spot) is shape(CHANNEL).contains(shapely.Point(spot))


@pytest.mark.parametrize("section", [CHANNEL, ZED, ROUND])
def test_how_far_a_point_is_seen_is_where_its_sight_first_enters(section: tuple[tuple[float, float], ...]) -> None:
    solid = shape(section)
    dice = random.Random(1)
    for _ in range(200):
        point = (dice.uniform(-40, 70), dice.uniform(-40, 40))
        if solid.distance(shapely.Point(point)) < 0.01:
            continue
        reach = dice.uniform(5, 200)
        far = entry_mm(section, point, within_mm=reach)
        sight = shapely.LineString([point, (point[0] + SIGHT[0] * reach, point[1] + SIGHT[1] * reach)])
        hit = sight.intersection(solid.buffer(-1e-4))
        if hit.is_empty:
            assert far == pytest.approx(reach)
        else:
            entered = shapely.Point(point).distance(hit) / 2**0.5
            assert far == pytest.approx(entered, abs=1e-2)


def test_the_outside_of_the_near_flange_hides_the_inside_of_its_own() -> None:
    assert entry_mm(CHANNEL, (60.0, 0.0), within_mm=100.0) == 100.0
    assert entry_mm(CHANNEL, (58.0, 2.0), within_mm=100.0) == 0.0
    assert entry_mm(CHANNEL, (2.0, 25.0), within_mm=100.0) == 100.0


def test_the_inside_of_the_far_flange_is_seen_until_the_near_one_comes_before_it() -> None:
    far = entry_mm(CHANNEL, (40.0, 2.0), within_mm=100.0)
    assert far == pytest.approx(18.0)


def test_runs_seen_at_the_back_are_what_rays_see() -> None:
    depth = 30.0
    solid = shape(CHANNEL).buffer(-1e-4)
    seen = shapely.union_all(
        [shapely.LineString(run) for run in seen_runs(CHANNEL, (*CHANNEL, CHANNEL[0]), depth_mm=depth)]
    )
    ring = shapely.LineString([*CHANNEL, CHANNEL[0]])
    for step in range(400):
        spot = ring.interpolate(ring.length * (step + 0.37) / 400)
        ray = shapely.LineString([spot, (spot.x + depth, spot.y + depth)])
        hidden = ray.intersects(solid)
        assert (seen.distance(spot) < 1e-6) is not hidden


def test_long_edges_are_drawn_at_corners_and_where_the_surface_turns_away() -> None:
    assert set(ridges(CHANNEL)) == set(CHANNEL)
    circle = tuple(shapely.Point(0, 0).buffer(10, quad_segs=16).exterior.coords)[:-1]
    assert len(ridges(circle)) == 2
