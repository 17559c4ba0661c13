"""Moves in words, the axis named: the part handled, the tools changed, the part shifted along the bed."""

from __future__ import annotations

from dataclasses import replace

import pytest

from flangewise.punch_die import Mounting, place_stations
from flangewise.sequence import Move as Handling
from flangewise.setup.moves import moves_before
from flangewise.words import say

from .made import machine, pair, step

STATION, OTHER = place_stations(
    [Mounting(pair()), Mounting(pair(die="vee-16-80"))], machine=machine("long-1450"), length_mm=180.0
)


def handled(*moves: Handling):  # type: ignore[no-untyped-def]
    return moves_before(step(moves=moves), STATION, STATION)


def test_nothing_is_done_where_nothing_changes() -> None:
    assert handled() == ()
    assert moves_before(step(), STATION, None) == ()


def test_a_turn_in_the_plane_keeps_the_face() -> None:
    (move,) = handled(Handling("turn-in-plane", None, 2.0))
    assert (move.move, move.axis) == ("turn-in-plane", None)
    assert "same face up" in say(move.words)


@pytest.mark.parametrize(
    ("axis", "word"), [("the bed", "about the bed"), ("front to back", "about the line from front to back")]
)
def test_a_turn_over_names_its_axis(axis: str, word: str) -> None:
    (move,) = handled(Handling("turn-over", axis, 4.0))  # type: ignore[arg-type]
    assert (move.move, move.axis) == ("turn-over", axis)
    assert word in say(move.words) and "flip" not in say(move.words)


def test_several_moves_stay_in_their_order() -> None:
    moves = handled(Handling("turn-over", "the bed", 4.0), Handling("turn-in-plane", None, 2.0))
    assert [move.move for move in moves] == ["turn-over", "turn-in-plane"]


def test_going_to_the_other_station_is_a_shift_with_its_side() -> None:
    (to_right,) = moves_before(step(), OTHER, STATION)
    (to_left,) = moves_before(step(), STATION, OTHER)
    assert to_right.move == to_left.move == "shift"
    assert say(to_right.words).startswith("shift right") and say(to_left.words).startswith("shift left")


def test_another_set_up_is_a_change_of_tools_before_the_part_is_handled() -> None:
    changed = replace(OTHER, set_up=2)
    moves = moves_before(step(moves=(Handling("turn-in-plane", None, 2.0),)), changed, STATION)
    assert [move.move for move in moves] == ["tool-change", "turn-in-plane"]
    assert say(moves[0].words) == f"change the tools: {OTHER.punch} on vee-16-80"
    turned = moves_before(step(), replace(changed, turned=True), STATION)
    assert "set turned" in say(turned[0].words)


def test_the_second_hit_of_a_hem_leaves_the_part_as_it_lies() -> None:
    assert moves_before(None, STATION, STATION) == ()


def test_the_way_out_along_the_bed_is_the_last_move() -> None:
    moves = moves_before(step(side_exit=True, moves=(Handling("turn-in-plane", None, 2.0),)), STATION, STATION)
    assert [move.move for move in moves] == ["turn-in-plane", "side-exit"]
