"""Bodies and stacks."""

from __future__ import annotations

from flangewise.clearance import Body, ToolStack

BLOCK = Body("die", ((-20, 0), (20, 0), (20, -60), (-20, -60)), False)
RELIEVED = Body("punch", ((0, 0), (4, 5), (-6, 22), (-8, 9)), True)


def test_a_body_turned_twice_is_itself():
    assert RELIEVED.turned().turned() == RELIEVED
    assert RELIEVED.turned().points_mm[1] == (-4, 5)


def test_symmetry_looks_at_every_body():
    assert ToolStack("a", "p", "d", 12.0, 1.0, (BLOCK,)).symmetric
    assert not ToolStack("a", "p", "d", 12.0, 1.0, (BLOCK, RELIEVED)).symmetric
    assert ToolStack("none", "p", "d", 12.0, 1.0, ()).symmetric


def test_seen_from_behind_everything_is_turned():
    stack = ToolStack("a", "p", "d", 12.0, 1.0, (BLOCK, RELIEVED))
    assert stack.seen_from_behind() == (BLOCK.turned(), RELIEVED.turned())
