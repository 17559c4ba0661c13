"""Handling between poses."""

from __future__ import annotations

import pytest

from flangewise.clearance import ToolStack
from flangewise.sequence import Costs, Hit, ToolOption
from flangewise.sequence.moves import (
    least_turn_over,
    moves_between,
    own_price,
    pose_number,
    pose_parts,
    pose_prices,
    tool_price,
)

PRICES = Costs(turn_over_bed=10, turn_over_front_back=14, turn_in_plane=3, stop_change=0.5, tool_change=60)


def pose(up: bool, behind: int, datum: int = 0) -> int:
    return pose_number(marked_up=up, behind=behind, datum=datum)


def test_pose_numbers_go_there_and_back():
    assert [pose_number(marked_up=u, behind=b, datum=d) for u, b, d in map(pose_parts, range(8))] == list(range(8))


@pytest.mark.parametrize(
    ("after", "moves", "price"),
    [
        (pose(True, 0), [], 0),
        (pose(True, 0, 1), [], 0.5),
        (pose(True, 1), [("turn-in-plane", None)], 3),
        (pose(False, 1), [("turn-over", "the bed")], 10),
        (pose(False, 0), [("turn-over", "the bed"), ("turn-in-plane", None)], 13),  # cheaper than 14 in one
    ],
)
def test_cheapest_moves_from_marked_up_start_behind(after, moves, price):
    found = moves_between(PRICES, pose(True, 0), after)
    assert [(move.move, move.axis) for move in found] == moves
    assert pose_prices(PRICES)[pose(True, 0), after] == pytest.approx(price)


def test_turning_over_end_for_end_in_one_move_when_it_is_cheaper():
    found = moves_between(Costs(turn_over_front_back=11, turn_in_plane=3), pose(True, 0), pose(False, 0))
    assert [(move.move, move.axis) for move in found] == [("turn-over", "front to back")]
    assert least_turn_over(Costs(turn_over_bed=9, turn_over_front_back=5, turn_in_plane=1)) == 5


def test_prices_are_symmetric():
    table = pose_prices(PRICES)
    assert (table == table.T).all() and (table.diagonal() == 0).all()


def test_tool_changes_count_punch_and_die():
    first, other_die, turned = (
        ToolStack(name, "p", die, 12, 1, (), turned=turn)
        for name, die, turn in (("a", "d", False), ("b", "e", False), ("c", "d", True))
    )
    assert tool_price(PRICES, first, first) == 0
    assert tool_price(PRICES, first, other_die) == 60 and tool_price(PRICES, first, turned) == 60
    assert tool_price(PRICES, other_die, turned) == 120
    hem = ToolOption((Hit(first, 150, 1), Hit(other_die, 180, 0, "press")))
    assert own_price(PRICES, hem) == 2 + 60 and own_price(PRICES, ToolOption((Hit(first, 90, 1),))) == 1


def test_prices_must_be_real():
    with pytest.raises(ValueError, match="finite"):
        Costs(turn_in_plane=-1)
    with pytest.raises(ValueError, match="finite"):
        Costs(tool_change=float("inf"))


def test_tilting_a_part_out_costs_no_less_than_sliding_it_off():
    assert Costs(side_exit=4.0, tilt=4.0).tilt == 4.0 and Costs(side_exit=4.0).tilt is None
    with pytest.raises(ValueError, match="no less than sliding"):
        Costs(side_exit=4.0, tilt=3.9)
