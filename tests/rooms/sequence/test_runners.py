"""The orders after the best one."""

from __future__ import annotations

import pytest

from flangewise.sequence import runner_ups


@pytest.mark.parametrize(
    ("lengths", "turns"),
    [([20, 30, 50, 30, 20], [-90, 90, 90, -90]), ([60, 70, 70, 60], [90, -90, 90]), ([40, 60, 30, 50], [45, -90, 30])],
)
def test_all_orders_with_their_costs(toy, slow, lengths, turns):
    problem = toy(lengths, turns)
    expected = slow(problem).feasible_orders()
    found = runner_ups(problem, count=99)
    assert found == pytest.approx(expected)
    assert list(found.values()) == sorted(found.values())


def test_as_many_as_asked_for(toy):
    assert len(runner_ups(toy([20, 30, 50, 30, 20], [-90, 90, 90, -90]), count=2)) == 2


def test_none_for_a_part_that_cannot_be_made_and_for_very_many_bends(toy):
    assert runner_ups(toy([50, 8, 50], [90, -90]), count=3) == {}
    assert runner_ups(toy([60.0] * 14, [20] * 13), count=3) == {}
