"""Reasons in words that can be checked by hand."""

from __future__ import annotations

import pytest

from flangewise.sequence import MOST_REASONS, UNLIMITED, Backgauge, SearchLimits, solve, why

from ..geometry.by_hand import sharp_chain

FINGER = ((0.0, 0.0), (0.0, 12.0), (-40.0, 12.0), (-40.0, 0.0))


def test_channel_leg_too_deep(toy):
    blockers = solve(toy([15.3, 30, 15.3], [90, 90])).blockers
    assert {blocker.operation for blocker in blockers} == {0, 1}
    worst = blockers[0]
    assert worst.bodies == ("part", "punch") and worst.step == 2
    assert worst.bent == (1,) and worst.flat == () and worst.piece == 4
    # 15.3 - 14.868 too long, met at 45 degrees
    assert worst.overlap_mm == pytest.approx((15.3 - 14.868) / 2**0.5, abs=0.03)


def test_web_too_short_for_the_die(toy):
    (first, *_) = solve(toy([30, 20.4, 30], [90, -90])).blockers
    assert first.bodies == ("part", "die") and first.overlap_mm == pytest.approx(0.3, abs=0.03)
    assert first.stack.startswith("toy") and first.behind in ("start", "end")


def test_what_must_still_be_flat_is_named(toy):
    # zigzag: the second bend needs its neighbour: with bends 1 and 3 up and 2 flat between
    solution = solve(toy([60, 70, 70, 60], [90, -90, 90], order=(0, 2, 1)))
    assert solution.feasible is False
    assert any(
        blocker.operation == 2 and blocker.flat == (1,) and blocker.bent == (0,) for blocker in solution.blockers
    )


def test_stops_that_find_nothing(toy):
    short = Backgauge(200.0, 300.0, -10.0, 50.0, FINGER)
    solution = solve(toy([40, 60], [90], gauge=short))
    assert solution.feasible is False
    assert {blocker.against for blocker in solution.blockers} == {"stop"}


def test_a_part_that_meets_itself(bend_all, stack):
    from flangewise.clearance import ToolStack

    bare = ToolStack("bare", "p", "d", 12.0, 0.0, ())
    solution = solve(bend_all(sharp_chain([40, 40, 40, 40], [90, 90, 90], thickness_mm=1.5), [bare]))
    assert solution.feasible is False
    assert all(blocker.against == "self" and blocker.overlap_mm >= 1.4 for blocker in solution.blockers)
    assert all(len(blocker.bent) == 2 for blocker in solution.blockers)


def test_no_reasons_for_a_part_that_can_be_made(toy):
    assert solve(toy([30, 60, 30], [90, 90])).blockers == ()


def test_a_part_that_does_not_come_out(toy, stack):
    from dataclasses import replace

    low = replace(stack(), open_limit_mm=20.0)
    solution = solve(toy([40, 100, 40], [90, 90], stack=low, check_exits=True))
    assert solution.feasible is None and {blocker.against for blocker in solution.blockers} == {"exit"}
    sideways = solve(toy([40, 100, 40], [90, 90], stack=low, check_exits=True, side_exit_allowed=True))
    assert sideways.feasible is True and any(step.side_exit for step in sideways.steps)
    dear = solve(toy([40, 100, 40], [90, 90], stack=stack(), check_exits=True))
    assert sideways.cost > dear.cost and sideways.proven_least


def read(blockers) -> list:
    """The reasons that are read: the first of each operation and body."""
    kept = {}
    for blocker in blockers:
        kept.setdefault((blocker.operation, blocker.body), blocker)
    return list(kept.values())[:MOST_REASONS]


@pytest.mark.parametrize("legs", [[40, 12, 30, 14, 35, 12], [60, 22, 48, 20, 44, 30], [25, 15, 25, 15, 25, 15]])
def test_no_more_reasons_are_asked_than_are_read(toy, monkeypatch, legs):
    """With all of them asked the same are read, in the same words; told of a shut section they are the same too."""
    from dataclasses import replace

    problem = toy(legs, [90] * 5)
    few = solve(problem)
    assert few.feasible is False and few.blockers
    shut = solve(replace(problem, limits=SearchLimits(watch=replace(UNLIMITED, is_shut=True))))
    assert shut.feasible is False and shut.blockers == few.blockers and shut.lower_bound is None
    one = solve(replace(problem, limits=SearchLimits(watch=replace(UNLIMITED, first_reason=True))))
    assert one.blockers[0] == few.blockers[0] and len(one.blockers) <= len(few.blockers)
    monkeypatch.setattr(why, "MOST_REASONS", 10**6)
    every = solve(problem).blockers
    assert read(every) == read(few.blockers) and len(every) >= len(few.blockers)
