"""Tabs on one line."""

from __future__ import annotations

from flangewise.sequence import BendLine, Costs, merged, solve

FIRST = BendLine((0.0, 20.0), 0.0, 90.0, 1.0)
SECOND = BendLine((110.0, 20.0), 180.0, 90.0, 1.0)


def test_two_tabs_on_one_line_are_one_operation():
    assert merged([FIRST, SECOND]) == ((0, 1),)


def test_tabs_to_opposite_sides_are_two_operations_with_one_turn_over(toy):
    opposite = BendLine((110.0, 20.0), 0.0, -90.0, 1.0)
    assert merged([FIRST, opposite]) == ((0,), (1,))
    # as handling they are two bends of opposite sign: the same as those of a section with room between
    costs = Costs(hit=0.0, turn_over_bed=1.0, turn_over_front_back=1.0, turn_in_plane=0.0)
    assert solve(toy([40, 60, 40], [90, -90], costs=costs)).cost == 1.0


def test_other_line_angle_or_radius_stays_apart():
    beside = BendLine((110.0, 20.2), 0.0, 90.0, 1.0)
    steeper = BendLine((110.0, 20.0), 0.0, 60.0, 1.0)
    rounder = BendLine((110.0, 20.0), 0.0, 90.0, 2.0)
    skew = BendLine((110.0, 20.0), 1.0, 90.0, 1.0)
    assert merged([FIRST, beside, steeper, rounder, skew, SECOND]) == ((0, 5), (1,), (2,), (3,), (4,))
