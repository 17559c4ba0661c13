"""Rows of the step table: the move in words, numbers apart from boxes, pictures where the part is laid anew."""

from dataclasses import replace

from flangewise.part import WantedBend
from flangewise.punch_die import Mounting
from flangewise.setup import Correction
from flangewise.sheet import SheetData, SheetStep
from flangewise.sheet.correction_words import correction_cell, correction_line
from flangewise.sheet.step_rows import StepRow, step_rows

from .demo import changed, channel, pair, with_step, with_tools, wording

WORDING = wording()


def rows(**changes: object) -> tuple[StepRow, ...]:
    return step_rows(with_step(channel(), 0, **changes), WORDING)


def test_a_loading_picture_is_drawn_where_the_part_is_laid_anew_but_not_twice_for_the_first() -> None:
    first, second = rows()
    assert first.loading_picture == ""
    assert second.loading_picture.startswith("<svg")


def test_the_first_step_refers_to_page_one_and_the_next_says_its_move() -> None:
    first, second = rows()
    assert first.moves == ("Load as in the picture on page 1.",)
    assert second.moves == ("TURN 180° in the plane, same face up.",)


def test_a_step_without_a_move_says_so() -> None:
    sheet = channel()
    still = replace(sheet, steps=(sheet.steps[0], replace(sheet.steps[1], moves=(), new_load=False)))
    assert step_rows(still, WORDING)[1].moves == ("Leave the part as it lies.",)


def test_x_angle_and_opening_are_the_large_ones() -> None:
    assert [cell.label for cell in rows()[0].main] == ["X", "bend to, loaded", "open height"]
    assert [cell.value for cell in rows()[0].main] == ["79.69", "88.4°", "86"]


def test_without_a_model_the_finished_angle_stands_instead() -> None:
    row = rows(bend_to_deg=None, mounting=Mounting(replace(pair(), deg_per_mm=None)), spread=None)[0]
    assert row.main[1].label == "finished angle"
    assert {cell.value for cell in row.numbers if cell.label in {"degrees per mm", "spread, before correction"}} == {
        "–"
    }


def test_depth_per_degree_is_the_inverse_of_degrees_per_mm() -> None:
    cells = {cell.label: cell.value for cell in rows()[0].numbers}
    assert cells["degrees per mm"] == "17.5"
    assert cells["depth per degree"] == f"{1 / 17.5:.3f}"


def test_the_turn_is_said_as_a_turn_and_angles_as_included_ones() -> None:
    first = rows()[0]
    assert first.heading == "Bend 1: turn 90° toward the marked face"
    assert {cell.label: cell.value for cell in first.numbers}["finished angle"] == "90.0°"


def test_a_135_degree_corner_is_a_turn_of_45() -> None:
    zone = replace(channel().pattern.zones[0], turn_deg=45.0)
    first = rows(zones=(zone,), bend=WantedBend(1, "bend", 45.0, away=False))[0]
    assert "turn 45°" in first.heading
    assert {cell.label: cell.value for cell in first.numbers}["finished angle"] == "135.0°"


def test_opening_and_what_follows_are_told_with_their_reason() -> None:
    lines = rows()[0].lines
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
    assert rows()[0].boxes == ("depth used", "angle read", "X used", "leg read")


def test_with_several_pairs_a_step_names_its_own() -> None:
    sheet = channel()
    two = with_tools(sheet, Mounting(pair()), Mounting(pair(), True))
    cells = {cell.label: cell.value for cell in step_rows(two, WORDING)[0].numbers}
    assert cells["tool pair"] == "1"
    assert "tool pair" not in {cell.label for cell in rows()[0].numbers}


def test_kinds_of_hit_have_their_own_headings() -> None:
    headings = [rows(hit=hit)[0].heading for hit in ("pre-bend", "flatten", "offset")]
    assert ["first hit" in headings[0], "flatten" in headings[1], headings[2].startswith("Offset")] == [True] * 3
