"""The opening rule by its multiples, and the order of the dies at hand."""

import pytest

from flangewise.bend.opening import opening_factor, opening_order, usual_opening_mm


@pytest.mark.parametrize(
    ("thickness", "opening"), [(1, 6), (2.5, 15), (3, 24), (4, 32), (8, 64), (10, 100), (12, 144), (15, 180)]
)
def test_the_rule(thickness, opening):
    assert usual_opening_mm(thickness) == pytest.approx(opening)


def test_the_joints_of_the_rule():
    assert [opening_factor(t) for t in (2.6, 2.61, 8, 8.01, 11.99, 12)] == [6, 8, 8, 10, 10, 12]


def test_order_of_the_dies_at_hand():
    # 2 mm asks for 12: a 10 is off by 1.2, a 16 by 1.333, an 8 by 1.5, a 24 by 2.
    assert opening_order([24, 8, 16, 10], 2) == [3, 2, 1, 0]
    assert opening_order([], 2) == []


def test_of_two_as_near_the_wider_comes_first():
    assert opening_order([6, 24], 2) == [1, 0]
