"""Where along the bed a plate is struck by a body that is endless along it: figures by hand, and points by chance."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely

from flangewise.clearance import Body, Solid, Stretches, Stroke, ToolStack, joined, together, tool_regions
from flangewise.clearance.stretches import runs_over

T = 2.0


def plate(along: tuple[float, float, float], upward: tuple[float, float, float], *, half: float = T / 2) -> Solid:
    """A plate 200 by 60 about the origin, spanned by two directions."""
    one, other = (np.array(each) / np.linalg.norm(each) for each in (along, upward))
    normal = np.cross(one, other)
    corners = [u * one + v * other for u, v in ((-100, -30), (100, -30), (100, 30), (-100, 30))]
    return Solid(np.array([c - half * normal for c in corners]), np.array([c + half * normal for c in corners]))


def test_a_block_against_an_upright_plate_turned_to_the_bed() -> None:
    """20 wide, the plate turned 20 degrees: 10 / tan 20 to its middle, t / (2 sin 20) more to its skin: 30.40."""
    cos, sin = math.cos(math.radians(20)), math.sin(math.radians(20))
    block = shapely.box(-10, -100, 10, 100)
    ((low, high),) = runs_over(plate((cos, sin, 0), (0, 0, 1)), block)
    assert (low, high) == pytest.approx((-30.3986, 30.3986), abs=1e-3)
    assert high == pytest.approx(10 / math.tan(math.radians(20)) + T / 2 / sin)


def test_a_block_against_a_plate_that_rises_along_the_bed() -> None:
    """Rising 45 degrees, a block 35.76 high: 17.88 to the middle and t / (2 sin 45), 1.414, to the skin: 19.29."""
    ((low, high),) = runs_over(plate((1, 0, 1), (0, 1, 0)), shapely.box(-10, -17.88, 10, 17.88))
    assert (low, high) == pytest.approx((-19.294, 19.294), abs=1e-3)


def test_a_plate_all_inside_is_struck_from_end_to_end() -> None:
    own = plate((3, 1, 1), (0, 1, 2))
    everywhere = shapely.box(-500, -500, 500, 500)
    assert runs_over(own, everywhere) == [pytest.approx((own.corners_mm[:, 0].min(), own.corners_mm[:, 0].max()))]


@pytest.mark.parametrize("seed", range(12))
def test_no_point_of_a_plate_is_struck_outside_and_ends_are_reached(seed: int) -> None:
    """Points by chance in plates of any attitude against two bodies: all struck ones inside, some near each end."""
    rng = np.random.default_rng(seed)
    one, other, _ = np.linalg.qr(rng.normal(size=(3, 3)))[0]
    own = plate(tuple(one), tuple(other))
    bodies = [shapely.box(-8, -6, 3, 9).buffer(1.0), shapely.box(20, -20, 28, 30)]
    shares = rng.dirichlet(np.full(8, 0.3), 60_000)
    points = shares @ own.corners_mm
    looked_at = 0
    for body in bodies:
        places = points[shapely.contains_xy(body, points[:, 1], points[:, 2]), 0]
        runs = runs_over(own, shapely.intersection(body, shapely.MultiPoint(own.corners_mm[:, 1:]).convex_hull))
        if not len(places):
            continue
        looked_at += 1
        ((low, high),) = runs
        assert low - 1e-9 <= places.min() and places.max() <= high + 1e-9
        assert places.min() - low < 4.0 and high - places.max() < 4.0
    assert looked_at


def test_stretches_are_joined_moved_and_seen_from_ahead() -> None:
    assert joined([(5.0, 6.0), (0.0, 1.0), (1.0, 2.0), (0.5, 0.7)]) == ((0.0, 2.0), (5.0, 6.0))
    one = Stretches(punch=((0.0, 2.0), (5.0, 6.0)), die=((1.0, 2.0),))
    assert one.seen_from_ahead(10.0).punch == ((4.0, 5.0), (8.0, 10.0))
    assert one.shifted(3.0).die == ((4.0, 5.0),)
    assert together([one, Stretches(punch=((2.0, 5.0),))]).punch == ((0.0, 6.0),)
    assert together([one, Stretches(fatal=True)]).fatal


def test_a_flange_beside_the_bend_forbids_punch_and_foot_and_what_reaches_the_ram_is_fatal(
    bodies: tuple[Body, ...], square_bend: Stroke
) -> None:
    """A side 40 high stands in the punch's way by its own thickness, contact taken off; one of 150 meets the holder."""
    stack = ToolStack("toy", "punch", "die", 12.0, 0.0, bodies)
    tools = tool_regions(stack, square_bend, foot_mm=30.0, reach_mm=400.0, behind=False)
    half = 0.7
    aside = np.array([half, 0.0, 0.0])

    def side(high: float, low: float = 0.0) -> Solid:
        ring = np.array([(0, 0, low), (0, 40, low), (0, 40, high), (0, 0, high)], dtype=float)
        return Solid(ring - aside, ring + aside)

    flat, low, tall, far = tools.forbidden([[], [side(40)], [side(150)], [side(60, 45)]])
    assert flat == Stretches()
    assert low.punch == low.foot == (pytest.approx((-half, half)),)
    assert low.die == ()
    assert tall.fatal
    # From 45 up nothing of the foot, 30 high over the nose, is met.
    assert far.punch == (pytest.approx((-half, half)),)
    assert far.foot == ()
