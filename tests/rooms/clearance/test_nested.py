"""Outlines that lie in each other: what touches shares nothing, what overlaps shares what can be reckoned by hand."""

from __future__ import annotations

import math

import pytest

from flangewise.clearance import is_clear, moved, shared_mm2

SQUARE = ((0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0))


def test_the_room_shared_is_that_of_the_overlap() -> None:
    assert shared_mm2(moved(SQUARE, [(0, 0), (4, 7)])) == pytest.approx(6 * 3, abs=1e-3)
    assert shared_mm2(moved(SQUARE, [(0, 0), (10, 0), (20, 0)])) == pytest.approx(0, abs=1e-3)
    assert shared_mm2(moved(SQUARE, [(0, 0), (5, 0), (9, 0)])) == pytest.approx(50 + 60 + 10, abs=1e-3)


def test_what_touches_is_clear_and_what_overlaps_is_not() -> None:
    assert is_clear(moved(SQUARE, [(0, 0), (0, 10)]))
    assert not is_clear(moved(SQUARE, [(0, 0), (0, 9.9)]))


def test_a_half_turn_is_about_the_middle() -> None:
    corner = ((0.0, 0.0), (6.0, 0.0), (6.0, 2.0), (2.0, 2.0), (2.0, 4.0), (0.0, 4.0))
    (over,) = moved(corner, [(1.0, 0.0)], half_turn=True)
    assert sorted((round(x, 9), round(y, 9)) for x, y in over) == sorted((7 - x, 4 - y) for x, y in corner)


def test_long_strips_at_a_slant_that_touch_share_nothing_at_any_height_of_the_stack() -> None:
    """Legs of 150 and 260 at 45 degrees, 2 thick: the pitch of 2.83 has made a library find the whole strip shared."""
    long, short, t = 260.0, 150.0, 2.0
    corner = [(0, 0), (long, 0), (long, t), (t, t), (t, short), (0, short)]
    lean = math.radians(-45 - 90)
    legs = tuple((x * math.cos(lean) - y * math.sin(lean), x * math.sin(lean) + y * math.cos(lean)) for x, y in corner)
    pitch = t / math.sin(math.radians(45))
    pairs = [moved(legs, [(0, pitch * nth), (0, pitch * (nth + 1))]) for nth in range(40)]
    assert len(pairs) == 40
    assert [nth for nth, pair in enumerate(pairs) if not is_clear(pair)] == []
