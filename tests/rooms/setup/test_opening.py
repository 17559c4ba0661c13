"""How far the ram opens: what must pass, what is kept in hand, why, and where the daylight ends."""

from __future__ import annotations

import pytest

from flangewise.findings import place
from flangewise.sequence import Hold, MadeStep
from flangewise.setup.ram import least_opening_mm, margin_mm, open_height, up_to_step_mm
from flangewise.words import say

from .made import chosen, codes, handler, hit, machine, pair, step, value, work

PLAIN = {"load_margin_mm": 15.0, "unload_margin_mm": 10.0, "tilt_margin_mm": 0.0}


def opened(by=None, on=None, piece=None, **changes):  # type: ignore[no-untyped-def]
    return open_height(hit(chosen(**changes)), work(on, by or handler(**PLAIN)), piece=piece)


def test_a_flange_of_58_behind_the_punch_needs_75() -> None:
    """58 and the sheet of 2 with 15 in hand."""
    assert opened(open_height_mm=60.0).open_height_mm == 75


def test_a_flat_sheet_needs_itself_and_the_margin() -> None:
    made = opened(open_height_mm=2.0)
    assert made.open_height_mm == 17
    assert "sheet" in say(made.reason) and made.findings == ()


def test_less_than_the_sheet_is_never_enough() -> None:
    assert opened(open_height_mm=-1.5).open_height_mm == 17


def test_the_reason_names_the_leg_and_its_height() -> None:
    made = opened(open_height_mm=60.0, opening_reason="stands-behind", piece=place("leg", 3))
    assert (
        say(made.reason) == "60 mm because leg 3 stands up behind the punch and must pass under it. 15 mm kept in hand"
    )
    below = opened(open_height_mm=30.0, opening_reason="hangs-below", piece=place("leg", 1))
    assert "leg 1 hangs down" in say(below.reason)


def test_the_margin_is_the_larger_of_both_ways_and_tilt() -> None:
    assert margin_mm(handler(load_margin_mm=20.0, unload_margin_mm=30.0, tilt_margin_mm=4.0)) == 34
    assert margin_mm(handler("robot", load_margin_mm=15.0, unload_margin_mm=15.0, tilt_margin_mm=4.0)) == 19


def in_front(front_mm: float) -> Hold:
    return Hold(front_mm, 0.1, 0.1, 0.0, None, "jaw")


# 10 must pass, 19 in hand; 25 more for the body of a gripper whose jaws reach 40 over the part.
@pytest.mark.parametrize(("front_mm", "opening_mm"), [(100.0, 29), (40.0, 29), (39.9, 54), (12.0, 54)])
def test_a_gripper_counts_only_where_too_little_is_in_front_for_it(front_mm: float, opening_mm: float) -> None:
    robot = handler("robot", load_margin_mm=15.0, unload_margin_mm=15.0, tilt_margin_mm=4.0, gripper_height_mm=25.0)
    made = opened(robot, hold=in_front(front_mm))
    assert made.open_height_mm == opening_mm
    assert ("gripper" in say(made.reason)) is (opening_mm == 54)
    # What must pass and what is told to be kept in hand add up to the opening, a gripper's body among it.
    assert f"{opening_mm - 10} mm kept in hand" in say(made.reason)


def test_a_hand_is_no_gripper() -> None:
    made = opened(hold=in_front(12.0))
    assert made.open_height_mm == 25 and "gripper" not in say(made.reason)


def test_openings_are_rounded_up_to_what_can_be_set() -> None:
    assert up_to_step_mm(75.2, 1.0) == 76
    assert up_to_step_mm(75.0 + 1e-9, 1.0) == 75
    assert opened(on=machine(opening_step_mm=5.0), open_height_mm=60.5).open_height_mm == 80


def most_mm() -> float:
    made = pair()
    assert made.tools.punch is not None and made.tools.die is not None
    return machine().daylight_mm - made.tools.punch.height_mm - made.tools.die.height_mm


def test_more_than_the_daylight_leaves_is_refused_with_both_figures() -> None:
    made = opened(open_height_mm=most_mm() + 1)
    (told,) = made.findings
    assert (told.code, told.severity) == ("opening-over-daylight", "refuse")
    assert value(made.findings, "opening-over-daylight", "most_mm") == pytest.approx(most_mm())


def test_less_in_hand_than_wanted_is_cautioned_and_the_machine_opens_all_it_can() -> None:
    made = opened(open_height_mm=most_mm() - 5)
    assert codes(made.findings) == {"opening-margin-short"}
    assert made.findings[0].severity == "caution"
    assert made.open_height_mm == pytest.approx(most_mm())


def test_a_part_that_leaves_along_the_bed_only_needs_its_sheet() -> None:
    made = opened(open_height_mm=None, side_exit=True)
    assert made.open_height_mm == 17
    assert "along the bed" in say(made.reason)


def test_the_straight_pull_is_what_is_keyed_in() -> None:
    """A leg of 58 behind could be wriggled out under 40; the setter pulls it straight: 60 and 15 in hand."""
    assert opened(open_height_mm=40.0, least_opening_mm=60.0).open_height_mm == 75


def test_where_a_straight_pull_does_not_fit_the_measured_way_out_decides() -> None:
    """All the machine opens, and nothing to be told as long as the way out keeps its margin of 15."""
    made = opened(open_height_mm=most_mm() - 15, least_opening_mm=most_mm() + 30)
    assert made.open_height_mm == pytest.approx(most_mm()) and made.findings == ()


def test_where_the_way_out_was_not_measured_the_straight_pull_decides() -> None:
    assert least_opening_mm(step(open_height_mm=None, least_opening_mm=30.0), thickness_mm=2.0) == 30
    assert least_opening_mm(step(open_height_mm=None, least_opening_mm=1.0), thickness_mm=2.0) == 2
    # Along the bed the sheet alone must pass.
    assert least_opening_mm(step(open_height_mm=None, least_opening_mm=30.0, side_exit=True), thickness_mm=2.0) == 2


def test_what_is_kept_in_hand_lifts_no_tool_into_the_part(monkeypatch: pytest.MonkeyPatch) -> None:
    """13 needed and 15 in hand, but an ear's foot stands under a lip that it meets at 20.4: opened to 20, and told."""
    free = opened(least_opening_mm=13.0, open_height_mm=None)
    monkeypatch.setattr(MadeStep, "most_opening_mm", 20.4)
    held = opened(least_opening_mm=13.0, open_height_mm=None)
    assert (free.open_height_mm, free.findings) == (28, ())
    assert held.open_height_mm == 20
    assert "7 mm kept in hand" in say(held.reason)
    assert codes(held.findings) == {"opening-held-down"}
    assert value(held.findings, "opening-held-down", "most_mm") == 20
