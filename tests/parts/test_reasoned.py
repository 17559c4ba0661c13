"""Parts whose answer is known by reasoning, through the command line with the toy shop as a folder.

The toy tools are plain blocks; radii, over-bend and blank are real. Limits are reckoned for them in `reckoned`. Middle
sizes of the usual benchmark parts are turned into outside sizes.
"""

from __future__ import annotations

import math
from itertools import permutations
from pathlib import Path

import pytest
import yaml

from flangewise.jobs import Job, worked_out
from flangewise.part import read_part

from .reckoned import (
    BED_HALF_MM,
    DIE_HALF_MM,
    DISC_MM,
    bent,
    channel_leg_mm,
    corner_clear_mm,
    least_leg_mm,
    lipped_web_mm,
    standing_mm,
    zed_web_mm,
)
from .running import GOOSE, STRAIGHT, TOY, Record, order, part, reasons, refused, shop_in, sound

NEAR_MM = 0.2
ASKED: dict[str, Job] = {}


def outside(middle_mm: list[float]) -> list[float]:
    """Outside sizes of legs given between the corners of their middle lines."""
    last = len(middle_mm) - 1
    return [bent().outside_mm(leg, 1 if i in (0, last) else 2) for i, leg in enumerate(middle_mm)]


def job_of(wanted: Record) -> Job:
    """A part worked out, without the search for what would free it."""
    text = yaml.safe_dump(wanted)
    if text not in ASKED:
        ASKED[text] = worked_out(read_part(text, "part.yaml", shop_in(TOY)), shop_in(TOY))
    return ASKED[text]


def can_be_bent(wanted: Record) -> bool | None:
    return job_of(wanted).feasible


# --- one bend


def test_a_leg_just_reaching_the_shoulder(tmp_path: Path) -> None:
    """Straight flanges reach the shoulder at the length reckoned; the true curve of the sheet differs by under 0.1."""
    least = least_leg_mm()
    short = refused(part([least - NEAR_MM, 40], [90]), tmp_path)
    assert [each["code"] for each in short["findings"] if each["severity"] == "refuse"] == ["leg-too-short"]
    record = sound(part([least + NEAR_MM, 40], [90]), tmp_path)
    assert "leg-near-least" in {each["code"] for each in record["findings"]}


def test_the_angle_ends_where_the_die_does(tmp_path: Path) -> None:
    """Walls of 84 degrees leave 96 degrees of turn, over-bend included."""
    assert bent(93).loaded_deg < 96 < bent(96).loaded_deg
    sound(part([40, 40], [93]), tmp_path)
    record = refused(part([40, 40], [96]), tmp_path)
    codes = {each["code"] for each in record["findings"] if each["severity"] == "refuse"}
    assert codes == {"die-wall-touched", "punch-flank-touched"}


# --- channels


@pytest.mark.parametrize("web", [30, 60, 80, 100])
def test_channel_leg_limit_not_monotone_in_the_web(web: float, tmp_path: Path) -> None:
    limit = channel_leg_mm(web)
    assert can_be_bent(part([limit + NEAR_MM, web, limit + NEAR_MM], [90, 90])) is False
    record = sound(part([limit - NEAR_MM, web, limit - NEAR_MM], [90, 90]), tmp_path)
    assert record["proven_least"] and record["totals"]["turn_overs"] == 0


def test_the_limits_of_channels_fall_between_80_and_100() -> None:
    assert channel_leg_mm(80) > channel_leg_mm(100) > channel_leg_mm(60)


def test_a_leg_too_long_names_leg_punch_and_how_much_too_far() -> None:
    """The edge of a leg 10 too long overlaps the punch by 10 times the sine of the half turn, square to its side."""
    limit = channel_leg_mm(60)
    told = [each for each in job_of(part([limit + 10, 60, limit + 10], [90, 90])).findings if each.severity == "refuse"]
    assert {each.bodies for each in told} == {("leg 1", "punch"), ("leg 3", "punch")}
    for reason in told:
        assert reason.step == 2
        assert reason.overlap_mm == pytest.approx(10 * math.sin(bent().half_rad), abs=0.1)


def test_the_relieved_punch_takes_the_narrow_channel_with_its_finished_leg_in_the_relief(tmp_path: Path) -> None:
    legs = outside([40, 30, 40])
    assert can_be_bent(part(legs, [90, 90])) is False
    record = sound(part(legs, [90, 90], GOOSE), tmp_path)
    last = record["steps"][-1]
    free_end = "start" if last["bends"] == [1] else "end"
    finished_in_front = last["gauged_on"]["on"] == free_end
    assert finished_in_front is not last["punch_turned"]
    other = order(record)[::-1]
    assert can_be_bent(part(legs, [90, 90], GOOSE, order=other)) is True


def test_the_relieved_punch_is_found_where_tools_are_free(tmp_path: Path) -> None:
    record = sound(part(outside([40, 30, 40]), [90, 90], None), tmp_path)
    assert "goose-84" in {step["punch"] for step in record["steps"]}


# --- bends both ways


@pytest.mark.parametrize(
    ("leg", "beside", "clear"),
    [(30, DIE_HALF_MM, None), (70, BED_HALF_MM, DISC_MM)],
)  # beside the die its top corner is nearest, beside the bed its flat side
def test_a_zed_needs_a_web_that_clears_die_and_bed(
    leg: float, beside: float, clear: float | None, tmp_path: Path
) -> None:
    clear_mm = corner_clear_mm(bent().radius_mm) if clear is None else clear
    web, leg_mm = zed_web_mm(beside, clear_mm), bent().outside_mm(leg, 1)
    assert can_be_bent(part([leg_mm, web - NEAR_MM, leg_mm], [90, -90])) is False
    record = sound(part([leg_mm, web + NEAR_MM, leg_mm], [90, -90]), tmp_path)
    assert record["totals"]["turn_overs"] == 1


def test_a_low_step_cannot_be_bent_in_a_vee(tmp_path: Path) -> None:
    """A web of 8 is shorter than the least leg itself: neither bend can be the second."""
    record = refused(part(outside([50, 8, 50]), [90, -90]), tmp_path)
    assert record["steps"] == []


def test_the_long_flange_of_a_zed_comes_last() -> None:
    """First, it would hang into the bed."""
    first = job_of(part(outside([70, 40, 30]), [90, -90], order=[1, 2]))
    assert first.feasible is False and "bed" in {body for each in first.findings for body in each.bodies}
    assert can_be_bent(part(outside([70, 40, 30]), [90, -90], order=[2, 1])) is True


# --- four bends


HAT = [20, 30, 50, 30, 20]


def test_a_hat_is_bent_outside_first(tmp_path: Path) -> None:
    turns = [-90, 90, 90, -90]
    record = sound(part(outside(HAT), turns), tmp_path)
    assert record["totals"]["turn_overs"] == 1 and record["proven_least"]
    different = [o for o in permutations((1, 2, 3, 4)) if o[0] == 1]  # begun at the other end it is the same
    possible = {wanted for wanted in different if can_be_bent(part(outside(HAT), turns, order=list(wanted)))}
    assert possible == {o for o in different if o.index(1) < o.index(2) and o.index(4) < o.index(3)}


def test_a_hat_with_legs_too_long_for_its_top() -> None:
    """Its legs are those of a channel of 50, and longer than that one's may be."""
    legs = outside([20, 38, 50, 38, 20])
    assert legs[1] - bent().setback_mm > channel_leg_mm(legs[2])
    assert can_be_bent(part(legs, [-90, 90, 90, -90])) is False


def test_lips_of_a_channel_come_before_its_legs() -> None:
    wide = outside([15, 40, 100, 40, 15])
    assert can_be_bent(part(wide, [90] * 4, order=[1, 4, 3, 2])) is True
    assert can_be_bent(part(wide, [90] * 4, order=[2, 1, 4, 3])) is False


def test_a_lipped_channel_needs_a_web(tmp_path: Path) -> None:
    lip, leg = outside([15, 40, 60])[:2]
    web = lipped_web_mm(lip, leg)
    assert can_be_bent(part([lip, leg, web - NEAR_MM, leg, lip], [90] * 4)) is False
    sound(part([lip, leg, web + NEAR_MM, leg, lip], [90] * 4), tmp_path)


def test_a_closed_box_is_proven_impossible(tmp_path: Path) -> None:
    record = refused(part(outside([30, 40, 60, 40, 30]), [90] * 4), tmp_path)
    assert any("punch" in reason["bodies"] and reason["overlap_mm"] > 0 for reason in reasons(record))


def test_a_spiral_is_bent_from_its_inside(tmp_path: Path) -> None:
    assert order(sound(part(outside([100, 80, 40, 12]), [90] * 3), tmp_path)) == [3, 2, 1]
    for wanted in ([2, 3, 1], [3, 1, 2]):
        assert can_be_bent(part(outside([100, 80, 40, 12]), [90] * 3, order=wanted)) is False
    assert can_be_bent(part(outside([60, 40, 25, 12]), [90] * 3)) is False


def zigzag(bends: int) -> tuple[list[float], list[float]]:
    legs = outside([60.0, *[70.0] * (bends - 1), 60.0])
    return legs, [90.0 * (-1) ** i for i in range(bends)]


def test_the_zigzag_is_beyond_the_limit_of_two_legs_laid_flat() -> None:
    """With one bend between them flat, two bends are those of a channel whose web is both legs."""
    legs, _ = zigzag(3)
    flat_web = 2 * legs[1] - (2 * bent().setback_mm - bent().zone_mm)
    assert legs[0] > channel_leg_mm(flat_web) + NEAR_MM


@pytest.mark.parametrize("bends", [3, 4])
def test_a_zigzag_is_turned_over_half_as_often_as_it_has_bends(bends: int, tmp_path: Path) -> None:
    record = sound(part(*zigzag(bends)), tmp_path)
    assert record["totals"]["turn_overs"] == bends // 2 and record["proven_least"]


@pytest.mark.parametrize(("made", "possible"), [((1, 2, 3), True), ((2, 1, 3), True), ((1, 3, 2), False)])
def test_a_zigzag_grows_as_one_run(made: tuple[int, ...], possible: bool) -> None:
    """Its own mirror image, so these are all of three bends: four orders of six."""
    assert can_be_bent(part(*zigzag(3), order=list(made))) is possible


@pytest.mark.parametrize("made", [(1, 4, 2, 3), (2, 4, 3, 1)])
def test_a_zigzag_of_four_has_dead_ends(made: tuple[int, ...]) -> None:
    assert can_be_bent(part(*zigzag(4), order=list(made))) is False


# --- in and out


def test_a_channel_opens_for_the_leg_behind(tmp_path: Path) -> None:
    """The free leg stands up behind the punch; straight out to the front it must pass under the nose.

    On a grid of 5 mm: a lift of 25 is not enough for a leg of 40, as free translations on that grid showed.
    """
    legs = outside([40, 100, 40])
    last = sound(part(legs, [90, 90]), tmp_path)["steps"][-1]
    assert last["bends"] == ([1] if last["gauged_on"]["on"] == "start" else [2])
    lift = last["open_height_mm"] + last["depth_mm"]
    assert 25 < lift <= standing_mm(legs[0]) + 5


# --- more room never hurts, larger tools never help


@pytest.mark.parametrize(
    ("legs", "turns"),
    [([20, 60, 20], [90, 90]), ([30, 40, 30], [90, -90])],
)
def test_fewer_tools_to_choose_from_never_lower_the_cost(legs: list[float], turns: list[float], tmp_path: Path) -> None:
    free = sound(part(outside(legs), turns, None), tmp_path)
    pinned = sound(part(outside(legs), turns, STRAIGHT), tmp_path)
    assert free["cost"] <= pinned["cost"] and free["lower_bound"] <= free["cost"]


def test_the_two_dies_are_used_where_only_they_will_do(tmp_path: Path) -> None:
    """Beside the narrow die a flange hangs free at half the distance, so a Z of half the web can be bent."""
    web = zed_web_mm(DIE_HALF_MM, 0.0) - 5
    wanted = part([bent().outside_mm(30, 1), web, bent().outside_mm(30, 1)], [90, -90], None)
    record = sound(wanted, tmp_path)
    assert "tower-12" in {step["die"] for step in record["steps"]}
    assert can_be_bent(part(wanted["section"]["legs"], [90, -90], STRAIGHT)) is False
