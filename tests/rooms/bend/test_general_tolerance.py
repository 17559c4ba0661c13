"""ISO 2768-1 as read in reprints; the upper limit belongs to each range."""

import pytest

from flangewise.bend import angle_tolerance_deg, linear_tolerance_mm


@pytest.mark.parametrize(
    ("size", "row"),
    [
        (3, (0.05, 0.1, 0.2, None)),
        (6, (0.05, 0.1, 0.3, 0.5)),
        (30, (0.1, 0.2, 0.5, 1)),
        (30.01, (0.15, 0.3, 0.8, 1.5)),
        (120, (0.15, 0.3, 0.8, 1.5)),
        (400, (0.2, 0.5, 1.2, 2.5)),
        (2000, (0.5, 1.2, 3, 6)),
        (4000, (None, 2.0, 4, 8)),
        (4001, (None, None, None, None)),
        (0.4, (None, None, None, None)),
    ],
)
def test_lengths(size, row):
    assert tuple(linear_tolerance_mm(size, name) for name in "fmcv") == row


def test_examples_of_the_reprint():
    assert linear_tolerance_mm(35) == 0.3
    assert linear_tolerance_mm(130) == 0.5


@pytest.mark.parametrize(
    ("leg", "fine", "coarse", "very"),
    [(10, 60, 90, 180), (10.1, 30, 60, 120), (50, 30, 60, 120), (400, 10, 15, 30), (401, 5, 10, 20)],
)
def test_angles_by_the_shorter_leg_in_minutes(leg, fine, coarse, very):
    for name, minutes in zip("fmcv", (fine, fine, coarse, very), strict=True):
        assert angle_tolerance_deg(leg, name) == pytest.approx(minutes / 60)


def test_the_middle_range_ends_at_120():
    # One reprint heads it "50 to 100".
    assert angle_tolerance_deg(120, "m") == pytest.approx(20 / 60)
    assert angle_tolerance_deg(120.1, "m") == pytest.approx(10 / 60)
