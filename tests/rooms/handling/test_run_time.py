"""Hand and robot over a batch, reckoned by hand."""

from __future__ import annotations

from dataclasses import replace

import pytest

from flangewise.handling import Attended, RunTime, attended, breaks_even_at, compared, job_s
from flangewise.shop import Running

HAND = RunTime("operator", 1, "operator", 5.0, 2.0, 4.0, 3.0, 4.0, 2.0, 1000.0)
ROBOT = replace(HAND, handler="robot", kind="robot", load_s=10.0, unload_s=9.0)
# 2 s of a person a part.
PEOPLE = Attended(teach_s=2000.0, each_s=2.0, availability_share=0.8, scrap_share=0.0)


def test_a_part_is_made_of_its_pieces_and_who_is_waited_for_is_named() -> None:
    assert HAND.cycle_s == 20.0
    assert (HAND.bottleneck, HAND.handled_to_ram) == ("operator", pytest.approx(4.0))
    slow = replace(HAND, ram_s=50.0)
    assert (slow.bottleneck, ROBOT.bottleneck) == ("ram", "robot")


def test_a_batch_by_robot_is_taught_and_stands_still_now_and_then() -> None:
    """1000 + 2000 + 100 x 30 / 0.8 = 6750 s of the machine, 1000 + 2000 + 100 x 2 of people; by hand 1000 + 2000."""
    told = compared(HAND, ROBOT, 100, PEOPLE)
    assert (told.robot.machine_s, told.robot.people_s) == (pytest.approx(6750), pytest.approx(3200))
    assert (told.hand.machine_s, told.hand.people_s) == (3000.0, 3000.0)


def test_from_where_on_the_robot_takes_no_more() -> None:
    """2000 s more before, 18 s of a person less a part: 112 parts; of the machine's time never."""
    told = compared(HAND, ROBOT, 100, PEOPLE)
    assert (told.people_from, told.machine_from) == (112, None)
    at = [compared(HAND, ROBOT, count, PEOPLE) for count in (111, 112)]
    assert [(each.robot.people_s or 0) <= (each.hand.people_s or 0) for each in at] == [False, True]


def test_two_people_by_hand_pay_sooner() -> None:
    """Of two persons 2 x 1000 + 2 x 20 n against 3000 + 2 n: 27 parts."""
    assert compared(replace(HAND, people=2), ROBOT, 100, PEOPLE).people_from == 27


def test_scrap_and_availability_stretch_the_run() -> None:
    assert job_s(30, 100, set_up_s=0, scrap_share=0.02, availability_share=0.9) == pytest.approx(3400)


def test_where_the_robot_is_ahead_from_the_first_part_on_it_is_told_as_none_at_all() -> None:
    assert breaks_even_at(10, 10, each_s=1, other_each_s=2) == 0


def test_what_was_not_entered_is_named_and_nothing_stands_for_it() -> None:
    told = attended(Running(), a_stack=None, a_box=None)
    assert not isinstance(told, Attended)
    assert {"teach_s", "availability_share", "blanks_a_refill", "parts_a_box"} <= set(told)
    whole = Running(teach_s=60, availability_share=0.9, scrap_share=0.0, refill_s=120, box_change_s=60)
    people = attended(whole, a_stack=60, a_box=20)
    assert isinstance(people, Attended) and people.each_s == pytest.approx(2 + 3)
    assert compared(HAND, ROBOT, 10, told).robot.missing == told
