"""Rows of the step table: the move in words, numbers apart from boxes, pictures where the part is laid anew."""

import re
from dataclasses import replace

from flangewise.part import WantedBend
from flangewise.punch_die import Mounting
from flangewise.setup import Correction
from flangewise.sheet import Identity, Printing, SheetData, SheetStep
from flangewise.sheet.page_words import correction_cell, correction_line, heading, moves_before, step_lines
from flangewise.sheet.render import html_of

from .demo import cells, changed, channel, pair, with_step, with_tools, wording

WORDING = wording()


def rows(sheet: SheetData | None = None, **changes: object) -> list[str]:
    """The rows of the step table as they are printed, the first step changed as said."""
    shown = sheet or with_step(channel(), 0, **changes)
    html = html_of(shown, Identity("a1b2c3d4e5f6", "0.1.0"), Printing(html=True), record=None)
    return html.split('<article class="step">')[1:]


def test_a_loading_picture_is_drawn_where_the_part_is_laid_anew_but_not_twice_for_the_first() -> None:
    first, second = rows()
    assert '<div class="loading">' not in first
    assert '<div class="loading"><svg' in second


def test_the_first_step_refers_to_page_one_and_the_next_says_its_move() -> None:
    first, second = channel().steps
    assert moves_before(first, WORDING, first=True) == ["Load as in the picture on page 1."]
    assert moves_before(second, WORDING, first=False) == ["TURN 180° in the plane, same face up."]


def test_a_step_without_a_move_says_so() -> None:
    sheet = channel()
    still = replace(sheet, steps=(sheet.steps[0], replace(sheet.steps[1], moves=(), new_load=False)))
    assert '<p class="move">Leave the part as it lies. ' in rows(still)[1]


def test_x_angle_and_opening_are_the_large_ones() -> None:
    large = cells(rows()[0].split('<div class="main">')[1].split('<div class="grid">')[0])
    assert large == {"X": "79.69", "bend to, loaded": "88.4°", "open height": "86"}


def test_without_a_model_the_finished_angle_stands_instead() -> None:
    row = rows(bend_to_deg=None, mounting=Mounting(replace(pair(), deg_per_mm=None)), spread=None)[0]
    large, small = (cells(part) for part in row.split('<div class="main">')[1].split('<div class="grid">'))
    assert list(large)[1] == "finished angle"
    assert (small["degrees per mm"], small["spread, before correction"]) == ("–", "–")


def test_depth_per_degree_is_the_inverse_of_degrees_per_mm() -> None:
    numbers = cells(rows()[0])
    assert numbers["degrees per mm"] == "17.5"
    assert numbers["depth per degree"] == f"{1 / 17.5:.3f}"


def test_the_turn_is_said_as_a_turn_and_angles_as_included_ones() -> None:
    assert heading(channel().steps[0], WORDING) == "Bend 1: turn 90° toward the marked face"
    assert cells(rows()[0])["finished angle"] == "90.0°"


def test_a_135_degree_corner_is_a_turn_of_45() -> None:
    zone = replace(channel().pattern.zones[0], turn_deg=45.0)
    first = rows(zones=(zone,), bend=WantedBend(1, 45.0, away=False))[0]
    assert "turn 45°" in first
    assert cells(first)["finished angle"] == "135.0°"


def test_opening_and_what_follows_are_told_with_their_reason() -> None:
    sheet = channel()
    lines = step_lines(sheet, sheet.steps[0].keyed, WORDING)
    assert "Open 86: flange 25 of bend 1 must pass under the punch." in lines
    assert "Leg 1, 25 ±0.2: too long, X − by as much. One more on X also gives leg 2 −1." in lines


def corrected(step: SheetStep, sheet: SheetData | None = None) -> str:
    return correction_line(sheet or channel(), step.keyed, WORDING)


def test_a_leg_in_front_of_the_stop_is_put_right_the_other_way() -> None:
    step = changed(channel().steps[0], correction=Correction(3, 40.0, 0.3, 1.0, (0.0, 1.0, -1.0), 1))
    assert corrected(step) == "Leg 3, 40 ±0.3: too long, X + by as much. One more on X also gives leg 2 +1."


def test_a_leg_that_is_read_later_says_when() -> None:
    later = changed(channel().steps[0], correction=Correction(1, 25.0, None, -1.0, (1.0, -1.0), 2))
    assert corrected(later).startswith("Leg 1, 25: too long, X −")
    assert corrected(later).endswith("Read leg 1 after step 2.")
    hem = changed(later, hit="pre-bend")
    assert corrected(hem).endswith("Read leg 1 after step 2, to the outermost point of the fold.")
    sheet = channel()
    inside = replace(sheet, part=replace(sheet.part, section=replace(sheet.part.section, sizes="inside")))
    assert corrected(hem, inside).endswith("Read leg 1 after step 2.")


def test_flattening_corrects_nothing_and_a_hit_without_stops_says_nothing() -> None:
    flat = changed(channel().steps[0], hit="flatten", correction=None)
    assert corrected(flat) == "X corrects nothing here: correct it at the first hit."
    assert corrected(changed(flat, hit="bend")) == ""


def test_a_leg_that_follows_by_a_share_says_how_many_times() -> None:
    step = changed(channel().steps[0], correction=Correction(1, 25.0, 0.2, -2.0, (0.5, -0.5), 1))
    assert "X − 2 × by as much" in corrected(step)


def test_the_cell_of_a_leg_names_the_step_and_the_sign() -> None:
    sheet = channel()
    assert [correction_cell(sheet, leg, WORDING) for leg in (1, 2, 3)] == ["X − (1)", "X − (2)", "–"]


def test_every_row_has_four_boxes_with_words_over_them() -> None:
    assert re.findall(r'<div class="box"><b>(.*?)</b><i></i>', rows()[0]) == [
        "depth used",
        "angle read",
        "X used",
        "leg read",
    ]


def test_with_several_pairs_a_step_names_its_own() -> None:
    sheet = channel()
    two = with_tools(sheet, Mounting(pair()), Mounting(pair(), True))
    assert cells(rows(two)[0])["tool pair"] == "1"
    assert "tool pair" not in cells(rows()[0])


def test_kinds_of_hit_have_their_own_headings() -> None:
    headings = [heading(changed(channel().steps[0], hit=hit), WORDING) for hit in ("pre-bend", "flatten", "offset")]
    assert ["first hit" in headings[0], "flatten" in headings[1], headings[2].startswith("Offset")] == [True] * 3
