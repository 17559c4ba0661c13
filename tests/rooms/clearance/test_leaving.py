"""Ways out from between tools that stand along a stretch of the bed, by hand."""

from __future__ import annotations

import numpy as np
import pytest

from flangewise.clearance import Body, StandingTool, way_out_of_row
from flangewise.geometry import SpacePoints


def box(along: tuple[float, float], across: tuple[float, float], up: tuple[float, float]) -> SpacePoints:
    return np.array([(x, y, z) for x in along for y in across for z in up])


def outline(across: tuple[float, float], up: tuple[float, float]) -> tuple[tuple[float, float], ...]:
    (left, right), (low, high) = across, up
    return (left, low), (right, low), (right, high), (left, high)


def tools(punch: tuple[float, float] | None = (0.0, 100.0), wide: float = 10.0) -> list[StandingTool]:
    """A punch 100 high along a stretch of the bed, under a ram along all of it, over a die 20 wide."""
    along = None if punch is None else (punch,)
    return [
        StandingTool(Body("punch", outline((-wide, wide), (0, 100)), True), along),
        StandingTool(Body("ram", outline((-30, 30), (100, 500)), True)),
        StandingTool(Body("die", outline((-10, 10), (-60, 0)), False), ((-200.0, 300.0),)),
        StandingTool(Body("bed", outline((-40, 40), (-400, -60)), False)),
    ]


def floor(along: tuple[float, float] = (-50.0, 150.0)) -> SpacePoints:
    return box(along, (-80, 80), (0.1, 1.9))


def test_a_sheet_is_drawn_out_once_the_punch_is_off_it() -> None:
    found = way_out_of_row(tools(), [floor()], nose_mm=2.0, most_mm=100.0)
    assert found is not None
    # The least step of the grid.
    assert (found.lift_mm, found.straight_up, found.along_bed) == (5.0, True, False)


def test_what_stands_behind_must_pass_under_the_nose() -> None:
    """30 high behind: the nose, 2 up, must be lifted by 28 at least: 30 on the grid of 5."""
    wall = box((-50, 150), (-80, -78), (0.1, 30))
    found = way_out_of_row(tools(), [floor(), wall], nose_mm=2.0, most_mm=100.0)
    assert found is not None and found.lift_mm == 30.0
    # With less it is slid off along the bed: nothing stands across it.
    found = way_out_of_row(tools(), [floor(), wall], nose_mm=2.0, most_mm=25.0)
    assert found is not None and (found.lift_mm, found.along_bed) == (25.0, True)


@pytest.mark.parametrize(("along", "lift_mm"), [((-50.0, -1.0), 5.0), ((-50.0, 1.0), 30.0), ((101.0, 150.0), 5.0)])
def test_only_what_stands_over_the_row_is_in_its_way(along: tuple[float, float], lift_mm: float) -> None:
    """The wall behind stands beside the row, and under the ram all the same; or reaches 1 before it."""
    wall = box(along, (-80, -78), (0.1, 30))
    found = way_out_of_row(tools(), [floor(), wall], nose_mm=2.0, most_mm=100.0)
    assert found is not None and found.lift_mm == lift_mm


def test_a_punch_under_returns_on_both_sides_is_caught() -> None:
    """A foot 20 wide and 30 high under returns 40 up that leave 16; beside the row they are in nobody's way."""
    foot = StandingTool(Body("punch", outline((-10, 10), (0, 30)), True), ((0.0, 35.0),))
    others = tools()[1:]

    def returns(*stretch: float) -> list[SpacePoints]:
        low, high = stretch
        walls = [box((low, high), (side * 14, side * 12), (0.1, 42)) for side in (-1, 1)]
        return [floor(), *walls, *(box((low, high), (side * 14, side * 8), (40, 42)) for side in (-1, 1))]

    slid = way_out_of_row([foot, *others], returns(0, 35), nose_mm=2.0, most_mm=60.0)
    assert slid is not None and slid.along_bed, "along the foot, as along a rail"
    ends = [box(along, (-12, 12), (0.1, 42)) for along in ((-3, -1), (36, 38))]
    assert way_out_of_row([foot, *others], [*returns(0, 35), *ends], nose_mm=2.0, most_mm=60.0) is None
    found = way_out_of_row([foot, *others], returns(36, 100), nose_mm=2.0, most_mm=60.0)
    assert found is not None and found.straight_up
    # Without the return behind the part is drawn out to the front.
    front = [piece for piece in returns(0, 35) if piece[:, 1].min() > -1 or piece[:, 2].max() < 3]
    found = way_out_of_row([foot, *others], [*front, *ends], nose_mm=2.0, most_mm=60.0)
    assert found is not None and not found.along_bed


def test_what_straddles_the_die_is_slid_off_along_it() -> None:
    """Flanges hang 50 down before and behind the die: they cannot be lifted over it by 30."""
    hanging = [box((-50, 150), (side * 15, side * 13), (-50, 1.9)) for side in (-1, 1)]
    found = way_out_of_row(tools(), [floor(), *hanging], nose_mm=2.0, most_mm=30.0)
    assert found is not None and found.along_bed and found.lift_mm == 30.0
    # Hung at an end of the part as well they would run into the end of the die.
    across = box((-52, -50), (-15, 15), (-50, 1.9))
    beside = [StandingTool(tool.body, ((-40.0, 300.0),)) if tool.body.name == "die" else tool for tool in tools()]
    assert way_out_of_row(beside, [floor(), *hanging, across], nose_mm=2.0, most_mm=30.0) is None


def test_a_lip_over_the_foot_says_how_far_it_may_rise() -> None:
    """A foot 30 high, 2 over the die, under a lip at 52: it rises 20 to the lip."""
    foot = [StandingTool(Body("punch", outline((-5, 5), (0, 30)), True), ((0.0, 20.0),)), tools()[2]]
    lip = box((0.0, 20.0), (-80, 80), (52.0, 54.0))
    found = way_out_of_row(foot, [floor((0.0, 20.0)), lip], nose_mm=2.0, most_mm=100.0)
    assert found is not None
    assert (found.straight_up, found.most_lift_mm) == (True, pytest.approx(20.0, abs=0.01))
    free = way_out_of_row(foot, [floor((0.0, 20.0))], nose_mm=2.0, most_mm=100.0)
    assert free is not None and free.most_lift_mm == float("inf")
