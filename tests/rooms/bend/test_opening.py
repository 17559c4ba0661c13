"""The opening rule by its multiples."""

import pytest

from flangewise.bend.force import opening_factor, usual_opening_mm


@pytest.mark.parametrize(
    ("thickness", "opening"), [(1, 6), (2.5, 15), (3, 24), (4, 32), (8, 64), (10, 100), (12, 144), (15, 180)]
)
def test_the_rule(thickness, opening):
    assert usual_opening_mm(thickness) == pytest.approx(opening)


def test_the_joints_of_the_rule():
    assert [opening_factor(t) for t in (2.6, 2.61, 8, 8.01, 11.99, 12)] == [6, 8, 8, 10, 10, 12]
