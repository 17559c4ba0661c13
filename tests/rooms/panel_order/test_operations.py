"""Which bends of a panel are made in one hit: on one line, alike, and in line in every state."""

from __future__ import annotations

import pytest

from flangewise.panel_order import PanelOperation, operations_of

from ...published.panels import SQUARE, blank, blank_of, panel_of


def named(operations: tuple[PanelOperation, ...]) -> list[tuple[int, ...]]:
    return [operation.bends for operation in operations]


def test_each_side_of_a_pan_is_an_operation() -> None:
    operations = operations_of(blank("pan"))
    assert named(operations) == [(1,), (2,), (3,), (4,)]
    assert [operation.length_mm for operation in operations] == pytest.approx([292, 192, 292, 192])


def test_tabs_on_one_line_alike_are_one_hit_and_one_bent_away_its_own() -> None:
    """Tabs 20 to 70 and 110 to 150. What is bent lies to the left of the line, so it runs from 150 back to 20."""
    operations = operations_of(blank("tabs"))
    assert named(operations)[:2] == [(1, 2), (3,)]
    assert operations[0].runs_mm == (pytest.approx((0.0, 40.0)), pytest.approx((80.0, 130.0)))
    assert operations[0].marked_up and not operations[1].marked_up
    assert named(operations_of(blank("tabs"), together=False))[:3] == [(1,), (2,), (3,)]


def test_tips_of_tabs_go_together_only_where_their_tabs_do() -> None:
    """Both tips lie on one line of the blank; bent apart, one would stand while the other lies."""
    tip = f"tip: {{height: 12, bend: {SQUARE}}}"
    tab = f"{{height: 25, bend: %s, from: %d, to: %d, {tip}}}"
    alike = blank_of(
        panel_of(f"{{base: [260, 140], flanges: {{near: [{tab % (SQUARE, 20, 70)}, {tab % (SQUARE, 110, 150)}]}}}}")
    )
    assert named(operations_of(alike)) == [(1, 3), (2, 4)]
    other = "{turn: 90, away: true, k_factor: 0.42}"
    apart = blank_of(
        panel_of(f"{{base: [260, 140], flanges: {{near: [{tab % (SQUARE, 20, 70)}, {tab % (other, 110, 150)}]}}}}")
    )
    assert named(operations_of(apart)) == [(1,), (2,), (3,), (4,)]


def test_opposite_sides_never_go_together() -> None:
    assert all(len(operation.bends) == 1 for operation in operations_of(blank("box")))
