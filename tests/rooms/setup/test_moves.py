"""Moves in words, the axis named: the part handled, the tools changed, the part shifted along the bed."""

from __future__ import annotations

from dataclasses import replace

import pytest

from flangewise.punch_die import Mounting, place_stations
from flangewise.sequence import Move as Handling
from flangewise.setup import Instruction, SetupStep, words_before
from flangewise.setup.seconds import moves_before
from flangewise.words import phrase, say

from .made import machine, made, pair, step

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
    ("axis", "word"), [("the bed", "front edge to the back"), ("front to back", "left end to the right")]
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


def at_stop(x_mm: float | None, *moves: str) -> SetupStep:
    """A step with its stops at X, and moves that say their own name."""
    (plain,) = made().steps
    told = tuple(Instruction(name, None, phrase("sheet.named", words=name)) for name in moves)
    return replace(plain, stops=replace(plain.stops, x_mm=x_mm), moves=told)


@pytest.mark.parametrize(
    ("then_mm", "now_mm", "words"),
    [
        (141.25, 23.04, ["pull it out to the next stop"]),
        (23.44, 43.44, ["push it on to the next stop, further back"]),
        (30.0, 30.0, []),
        (30.0, 30.01, []),
        (None, 30.0, []),
        (30.0, None, []),
    ],
)
def test_a_new_stop_wants_the_part_brought_to_it(then_mm: float | None, now_mm: float | None, words: list[str]) -> None:
    step = at_stop(now_mm)
    assert [say(each) for each in words_before(step, at_stop(then_mm))] == words
    assert step.as_json()["moves"] == []


@pytest.mark.parametrize("move", ["turn-in-plane", "turn-over"])
def test_a_part_laid_anew_goes_to_its_stop_with_it(move: str) -> None:
    assert [say(each) for each in words_before(at_stop(20.0, move), at_stop(60.0))] == [move]


def test_a_shift_comes_before_the_stop_and_the_way_out_last() -> None:
    words = words_before(at_stop(20.0, "shift", "side-exit"), at_stop(60.0))
    assert [say(each) for each in words] == ["shift", "pull it out to the next stop", "side-exit"]


def test_before_the_first_hit_there_is_no_stop_to_come_from() -> None:
    assert words_before(at_stop(20.0), None) == ()
