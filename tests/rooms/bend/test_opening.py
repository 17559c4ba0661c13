"""The opening rule against the printed charts."""

import pytest

from flangewise.bend.opening import (
    chart_least_leg_mm,
    chart_radius_mm,
    opening_factor,
    opening_order,
    usual_opening_mm,
)


@pytest.mark.parametrize(
    ("thickness", "opening"), [(1, 6), (2.5, 15), (3, 24), (4, 32), (8, 64), (10, 100), (12, 144), (15, 180)]
)
def test_the_rule(thickness, opening):
    assert usual_opening_mm(thickness) == pytest.approx(opening)


def test_the_joints_of_the_rule():
    assert [opening_factor(t) for t in (2.6, 2.61, 8, 8.01, 11.99, 12)] == [6, 8, 8, 10, 10, 12]


# A tool maker's metric chart: V, least flange b, inside radius ir.
@pytest.mark.parametrize(
    ("opening", "leg", "radius"), [(8, 5.5, 1.3), (16, 11, 2.6), (32, 22, 5.0), (63, 45, 10), (100, 71, 16)]
)
def test_chart_shares(opening, leg, radius):
    assert chart_least_leg_mm(opening) == pytest.approx(leg, rel=0.05)
    assert chart_radius_mm(opening) == pytest.approx(radius, rel=0.05)


def test_order_of_the_dies_at_hand():
    # 2 mm asks for 12: a 10 is off by 1.2, a 16 by 1.333, an 8 by 1.5, a 24 by 2.
    assert opening_order([24, 8, 16, 10], 2) == [3, 2, 1, 0]
    assert opening_order([], 2) == []


def test_of_two_as_near_the_wider_comes_first():
    assert opening_order([6, 24], 2) == [1, 0]
