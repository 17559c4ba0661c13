"""What every row has in common."""

from __future__ import annotations

import pytest
from pydantic import ValidationError

from flangewise.shop.row import Angle, Count, Frozen, NotNegative, Number, Positive, Share, unfit


class Sample(Frozen):
    """A value of each kind."""

    size: Positive = 1.0
    margin: NotNegative = 0.0
    place: Number = 0.0
    share: Share = 0.5
    angle: Angle = 90.0
    count: Count = 1


@pytest.mark.parametrize(
    "given",
    [{"size": 0.001}, {"margin": 0}, {"place": -999}, {"share": 1}, {"angle": 179.9}, {"count": 10000}, {"size": 3}],
)
def test_the_ends_of_each_range_are_in_it(given: dict[str, float]) -> None:
    (key, value) = next(iter(given.items()))
    assert getattr(Sample.model_validate(given), key) == value


@pytest.mark.parametrize(
    "given",
    [
        {"size": 0},
        {"size": 1e6},
        {"size": "3"},
        {"size": True},
        {"size": float("nan")},
        {"margin": -1e-9},
        {"place": -1e6},
        {"place": float("inf")},
        {"share": 0},
        {"share": 1.01},
        {"angle": 0},
        {"angle": 180},
        {"count": 0},
        {"count": 1.0},
        {"count": True},
        {"sizes": 1},
    ],
)
def test_beyond_them_nothing_is(given: dict[str, object]) -> None:
    with pytest.raises(ValidationError):
        Sample.model_validate(given)


def test_a_value_cannot_be_changed() -> None:
    with pytest.raises(ValidationError):
        Sample().size = 2.0  # type: ignore[misc]


def test_a_fault_of_a_check_keeps_its_three_parts() -> None:
    told = unfit("is wrong", "make it right", key="size").context
    assert told == {"wrong": "is wrong", "fits": "make it right", "key": "size"}
    assert unfit("is wrong", "make it right").context == {**told, "key": None}
