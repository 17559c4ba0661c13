"""Line weights, dashes and how numbers are written."""

import pytest

from flangewise.drawing import items
from flangewise.drawing.items import HATCH_PITCH_MM, Pen, number


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (0.0, "0"),
        (-0.0, "0"),
        (-0.004, "0"),
        (1.5, "1.5"),
        (12.0, "12"),
        (0.125, "0.12"),
        (-3.456, "-3.46"),
        (100.0, "100"),
    ],
)
def test_a_number_is_written_short(value: float, text: str) -> None:
    assert number(value) == text


def test_weights_are_the_three_of_the_trade() -> None:
    found = {pen.weight_mm for pen in vars(items).values() if isinstance(pen, Pen)}
    assert found == {0.25, 0.5, 0.8}


def test_dashes_survive_a_copier() -> None:
    for pen in (items.DASHED, items.CHAIN, items.BOLD_DASHED):
        assert min(pen.dash_mm) >= 0.8
        assert len(pen.dash_mm) % 2 == 0


def test_hatch_lines_stay_apart() -> None:
    assert HATCH_PITCH_MM >= 1.0
