"""A step on the sheet: the move in words, the row of figures, what to read and how to put it right, empty boxes."""

import re
from dataclasses import replace

import pytest

from flangewise.findings import Finding, caution, note, place
from flangewise.part import WantedBend
from flangewise.punch_die import Mounting
from flangewise.sequence import Hold
from flangewise.setup import Correction
from flangewise.sheet import Identity, Printing, SheetData, SheetStep
from flangewise.sheet.marks import bend_mark, with_marks
from flangewise.sheet.render import html_of
from flangewise.sheet.step_findings import common_signs, step_signs
from flangewise.sheet.step_words import (
    common_cells,
    common_hand,
    correction_cell,
    correction_line,
    heading,
    keyed_line,
    moves_before,
    reads,
    step_lines,
)
from flangewise.words import phrase

from .demo import cells, changed, channel, pair, with_step, with_tools, wording

WORDING = wording()


def rows(sheet: SheetData | None = None, **changes: object) -> list[str]:
    """The steps as they are printed, the first one changed as said."""
    shown = sheet or with_step(channel(), 0, **changes)
    html = html_of(shown, Identity("a1b2c3d4e5f6", "0.1.0"), Printing(html=True), record=None)
    return html.split('<article class="step">')[1:]


def test_how_the_part_lies_is_drawn_where_it_is_laid_anew_but_not_twice_for_the_first() -> None:
    first, second = rows()
    assert "How the part lies now" not in first
    assert "How the part lies now" in second


def test_the_first_step_refers_to_the_blank_and_the_next_says_its_move() -> None:
    first, second = channel().steps
    assert moves_before(first, WORDING, first=True) == [("", "Load as in the picture of the blank.")]
    (move,) = moves_before(second, WORDING, first=False)
    assert move == ("sheet.named", "TURN 180° in the plane, same face up.")


@pytest.mark.parametrize(
    ("code", "words"),
    [
        ("move.turn-over-bed", "TURN OVER front to back"),
        ("move.turn-in-plane", "HALF TURN, same face up"),
        ("move.to-stop-nearer", "PULL OUT to the next stop"),
    ],
)
def test_a_move_is_said_in_capitals_beside_its_sign(code: str, words: str) -> None:
    step = replace(channel().steps[1], moves=(phrase(code),))
    assert moves_before(step, WORDING, first=False) == [(code, words)]


def test_a_step_without_a_move_says_so() -> None:
    sheet = channel()
    still = replace(sheet, steps=(sheet.steps[0], replace(sheet.steps[1], moves=(), new_load=False)))
    assert '<p class="move">LEAVE as it lies</p>' in rows(still)[1]


def test_depth_x_and_r_are_the_large_ones() -> None:
    large = cells(rows()[0].split('<div class="main">')[1].split('<div class="grid">')[0])
    first = channel().steps[0].keyed
    assert large == {"DEPTH": WORDING.depth(first.ram.depth_mm), "X": "79.69", "R": "0.50"}


def test_a_control_that_takes_angles_gets_the_angle_large_and_the_depth_small() -> None:
    sheet = channel()
    by_angle = replace(sheet, machine=sheet.machine.model_copy(update={"keyed": "angle"}))
    row = rows(by_angle)[0]
    large = cells(row.split('<div class="main">')[1].split('<div class="grid">')[0])
    assert large["ANGLE UNDER LOAD"] == "88.4°" and "DEPTH" not in large
    assert f"DEPTH {WORDING.depth(sheet.steps[0].keyed.ram.depth_mm)}" in row
    assert reads(by_angle, by_angle.steps[0], WORDING)[0].endswith("1° too open: angle −1°.")


def test_the_same_figures_stand_in_the_same_places_at_every_step() -> None:
    labels = [re.findall(r"<b>([^<]*)</b><span>", row.split('<div class="main">')[1]) for row in rows()]
    assert labels[0][:7] == ["DEPTH", "X", "R", "Z1 / Z2", "at rest", "force, kN", "open"]
    assert labels[0][:7] == labels[1][:7]


def test_what_does_not_change_stands_once_and_what_is_nothing_nowhere() -> None:
    sheet = channel()
    assert common_cells(sheet, WORDING) == ["slow from 6.0", "ram speed 10.0", "stop retracts 5", "crowning 0.05"]
    fast = with_step(sheet, 0, ram_speed_mm_per_s=7.5)
    assert "ram speed 10.0" not in common_cells(fast, WORDING)
    assert keyed_line(fast, fast.steps[0], WORDING) == "Ram speed 7.5."
    still = with_step(with_step(sheet, 0, retract_mm=0.0), 1, retract_mm=0.0)
    assert not any("retracts" in each for each in common_cells(still, WORDING))


def test_what_to_read_says_the_angle_its_tolerance_and_the_depth_for_a_degree() -> None:
    sheet = with_step(channel(), 0, tolerance_deg=0.5)
    angle = reads(channel(), channel().steps[0], WORDING)[0]
    assert angle.startswith("Read A 90.0°")
    # 17.5 degrees a mm.
    assert angle.endswith(f"1° too open: depth +{1 / 17.5:.3f}.")
    assert sheet.steps[0].keyed.planned.tolerance_deg is None or "±" in reads(sheet, sheet.steps[0], WORDING)[0]


def test_the_turn_is_said_as_a_turn_and_angles_as_included_ones() -> None:
    assert heading(channel().steps[0], WORDING) == "90° toward the marked face"
    assert cells(rows()[0])["at rest"] == "90.0°"


def test_a_135_degree_corner_is_a_turn_of_45() -> None:
    zone = replace(channel().pattern.zones[0], turn_deg=45.0)
    first = rows(zones=(zone,), bend=WantedBend(1, 45.0, away=False))[0]
    assert "45° toward" in first
    assert cells(first)["at rest"] == "135.0°"


def test_opening_is_told_with_its_reason() -> None:
    sheet = channel()
    lines = step_lines(sheet, sheet.steps[0], WORDING)
    assert "Open 86: flange 25 of bend 1 must pass under the punch." in lines


def opened(step: SheetStep, margin_mm: float) -> SheetStep:
    hand = phrase("reason.in-hand", margin_mm=margin_mm)
    opening = replace(step.keyed.ram.opening, reason=phrase("reason.open-bend", height_mm=7.5, hand=hand))
    return changed(step, ram=replace(step.keyed.ram, opening=opening))


def test_what_every_opening_keeps_in_hand_is_said_once_for_the_job() -> None:
    sheet = channel()
    alike = replace(sheet, steps=tuple(opened(step, 29.0) for step in sheet.steps))
    assert common_hand(alike, WORDING) == ("29 mm kept in hand", True)
    assert step_lines(alike, alike.steps[0], WORDING)[-1] == "Open 86: 7.5 mm to take out what this bend makes."
    differ = replace(sheet, steps=(opened(sheet.steps[0], 29.0), opened(sheet.steps[1], 40.0)))
    assert common_hand(differ, WORDING) == ("", False), "neither is that of most"
    assert step_lines(differ, differ.steps[1], WORDING)[-1].endswith("what this bend makes. 40 mm kept in hand.")
    assert common_hand(sheet, WORDING) == ("", False), "a reason that keeps nothing in hand"
    most = replace(sheet, steps=(*alike.steps, opened(sheet.steps[1], 9.0)))
    assert common_hand(most, WORDING) == ("29 mm kept in hand", False)
    told = [step_lines(most, step, WORDING)[-1] for step in most.steps]
    assert ["in hand" in each for each in told] == [False, False, True]


def swung(step: int, slow_tip_mm_per_s: float) -> Finding:
    values = {"reach_mm": 90.0, "ram_mm_per_s": 10.0, "tip_mm_per_s": 300.0, "slow_mm_per_s": 8.0}
    limit = {"limit_mm_per_s": 250.0, "slow_tip_mm_per_s": slow_tip_mm_per_s}
    return note("tip-speed", place("step", step), **values, **limit)


def test_what_several_steps_have_is_said_once_with_their_numbers() -> None:
    sheet = channel()
    plain = replace(sheet, part=replace(sheet.part, good_face="none", film="none"))
    three = replace(plain, steps=(*plain.steps, changed(plain.steps[1], number=3)))
    shown = replace(three, findings=(swung(1, 248.0), swung(3, 250.0), caution("one-finger", place("step", 1))))
    assert common_signs(shown, WORDING) == ["Steps 1, 3: Stand clear of the swing: the tip comes up at 250 mm/s."]
    beside = [step_signs(shown, step, WORDING, alone=False) for step in shown.steps]
    assert beside == [["One stop only: keep it square."], [], []]
    assert "swing" in step_signs(shown, shown.steps[2], WORDING)[0], "a step shown alone says its own"
    one = replace(three, findings=(swung(1, 248.0),))
    assert common_signs(one, WORDING) == []
    assert "swing" in step_signs(one, one.steps[0], WORDING, alone=False)[0]


def corrected(step: SheetStep, sheet: SheetData | None = None) -> str:
    return correction_line(sheet or channel(), step, WORDING)


def test_the_leg_that_x_makes_stands_with_its_sign() -> None:
    assert corrected(channel().steps[0]) == "L1 25 ±0.2: too long, X −. One more on X: L2 −1."


def test_a_leg_in_front_of_the_stop_is_put_right_the_other_way() -> None:
    step = changed(channel().steps[0], correction=Correction(3, 40.0, 0.3, 1.0, (0.0, 1.0, -1.0), 1))
    assert corrected(step) == "L3 40 ±0.3: too long, X +. One more on X: L2 +1."


def test_a_leg_that_is_read_later_says_when() -> None:
    later = changed(channel().steps[0], correction=Correction(1, 25.0, None, -1.0, (1.0, -1.0), 2))
    assert corrected(later).startswith("L1 25: too long, X −")
    assert corrected(later).endswith("Read L1 after step 2.")
    hem = changed(later, hit="pre-bend")
    assert corrected(hem).endswith("Read L1 after step 2, to the outermost point of the fold.")
    sheet = channel()
    inside = replace(sheet, part=replace(sheet.part, section=replace(sheet.part.section, sizes="inside")))
    assert corrected(hem, inside).endswith("Read L1 after step 2.")


def test_flattening_corrects_nothing_and_a_hit_without_stops_says_nothing() -> None:
    flat = changed(channel().steps[0], hit="flatten", correction=None)
    assert corrected(flat) == ""
    assert corrected(changed(flat, hit="bend")) == ""


def test_a_leg_that_follows_by_a_share_says_how_many_times() -> None:
    step = changed(channel().steps[0], correction=Correction(1, 25.0, 0.2, -2.0, (0.5, -0.5), 1))
    assert "X − 2 ×" in corrected(step)


def test_the_cell_of_a_leg_names_the_step_and_the_sign() -> None:
    sheet = channel()
    assert [correction_cell(sheet, leg, WORDING) for leg in (1, 2, 3)] == ["X − (1)", "X − (2)", "–"]


def test_where_there_is_room_a_step_has_four_boxes_with_words_over_them() -> None:
    assert re.findall(r'<div class="box "><b>(.*?)</b><i></i>', rows()[0]) == [
        "depth used",
        "angle read",
        "X used",
        "leg read",
    ]


def test_with_several_pairs_a_step_names_its_own() -> None:
    sheet = channel()
    two = with_tools(sheet, Mounting(pair()), Mounting(pair(), True))
    assert "Pair 1" in rows(two)[0]
    assert "Pair" not in rows()[0]


def test_kinds_of_hit_have_their_own_headings() -> None:
    headings = [heading(changed(channel().steps[0], hit=hit), WORDING) for hit in ("pre-bend", "flatten", "offset")]
    assert ["first hit" in headings[0], "flatten" in headings[1], headings[2].startswith("offset")] == [True] * 3
    # The first hit of a hem leaves it at 30: it is told as what that turns, and not the fold of 180.
    pair = replace(channel().steps[0].keyed.pair, kind="hem", turn_deg=150.0)
    first = changed(channel().steps[0], mounting=Mounting(pair))
    assert heading(first, WORDING).startswith("first hit: 150° ")


def test_bends_go_by_letters_without_those_that_look_like_figures() -> None:
    assert "".join(bend_mark(number) for number in range(1, 25)) == "ABCDEFGHJKLMNPQRSTUVWXYZ"
    told = with_marks(
        phrase("reason.open-behind", height_mm=2.0, piece=place("bend", 3), hand=phrase("x", bends="1, 2"))
    )
    assert dict(dict(told.values)["piece"].values)["number"] == "C"  # type: ignore[union-attr,arg-type]
    assert dict(dict(told.values)["hand"].values)["bends"] == "A, B"  # type: ignore[union-attr,arg-type]


def test_a_caution_stands_in_few_words_at_the_step_it_concerns() -> None:
    little = caution("hold-little-in-front", place("step", 2), front_mm=31.0)
    sharp = note("nose-sharp", place("bend", 1), nose_mm=1.0, least_mm=1.3, radius_mm=2.0)
    sheet = replace(channel(), findings=(little, sharp))
    plain = replace(sheet, part=replace(sheet.part, good_face="none", film="none"))
    assert step_signs(plain, plain.steps[0], WORDING) == ["Nose 1 mm may mark the inside."]
    assert step_signs(plain, plain.steps[1], WORDING) == ["Only 31 mm of sheet in front: tool or magnet."]


def test_a_hold_that_a_caution_asks_for_is_not_said_again_below_it() -> None:
    hold = Hold(31.0, 0.1, 0.1, 0.0, None, "tool", breach=1.0)
    sheet = with_step(with_step(channel(), 0, hold=hold), 1, hold=hold)
    shown = replace(sheet, findings=(caution("hold-little-in-front", place("step", 2), front_mm=31.0),))
    told = [" ".join(step_lines(shown, step, WORDING)) for step in shown.steps]
    assert "31 of sheet in front: hold it with a tool" in told[0]
    assert "in front" not in told[1] and "tool or magnet" in step_signs(shown, shown.steps[1], WORDING)[0]


def test_a_good_face_on_the_die_and_a_film_in_a_fold_are_told_at_their_steps() -> None:
    sheet = channel()
    good = replace(sheet, part=replace(sheet.part, good_face="other", film="marked"))
    assert "Good face on the die" in step_signs(good, good.steps[0], WORDING)[0]
    fold = changed(good.steps[0], hit="pre-bend")
    assert "Film inside the fold" in step_signs(good, fold, WORDING)[0]
    bare = replace(good, part=replace(good.part, good_face="none", film="other"))
    assert step_signs(bare, fold, WORDING) == []
