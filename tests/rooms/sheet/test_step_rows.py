"""Rows of the step table: the move in words, numbers apart from boxes, pictures where the part is laid anew."""

from dataclasses import replace

from flangewise.sheet import Voice
from flangewise.sheet.step_rows import step_rows

from .demo import channel

VOICE = Voice()


def rows(**changed: object):  # type: ignore[no-untyped-def]
    sheet = channel()
    steps = (replace(sheet.steps[0], **changed), *sheet.steps[1:])
    return step_rows(replace(sheet, steps=steps), VOICE)


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
    assert step_rows(still, VOICE)[1].moves == ("Leave the part as it lies.",)


def test_x_angle_and_opening_are_the_large_ones() -> None:
    assert [cell.label for cell in rows()[0].main] == ["X", "bend to, loaded", "open height"]
    assert [cell.value for cell in rows()[0].main] == ["79.69", "88.4°", "86"]


def test_without_a_model_the_finished_angle_stands_instead() -> None:
    row = rows(bend_to_deg=None, deg_per_mm=None, spread_deg=None)[0]
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
    first = rows(turn_deg=45.0, finished_deg=135.0)[0]
    assert "turn 45°" in first.heading
    assert {cell.label: cell.value for cell in first.numbers}["finished angle"] == "135.0°"


def test_opening_and_what_follows_are_told_with_their_reason() -> None:
    lines = rows()[0].lines
    assert "Open 86: flange 25 of bend 1 must pass under the punch." in lines
    assert "A correction of X here also shifts step 2." in lines
    assert "Leg 1 comes out 25." in lines


def test_a_last_step_shifts_nothing() -> None:
    assert not any("shifts" in line for line in rows()[1].lines)


def test_every_row_has_four_boxes_with_words_over_them() -> None:
    assert rows()[0].boxes == ("depth used", "angle read", "X used", "leg read")


def test_with_several_pairs_a_step_names_its_own() -> None:
    sheet = channel()
    two = replace(sheet, tools=(sheet.tools[0], sheet.tools[0]))
    cells = {cell.label: cell.value for cell in step_rows(two, VOICE)[0].numbers}
    assert cells["tool pair"] == "1"
    assert "tool pair" not in {cell.label for cell in rows()[0].numbers}


def test_kinds_of_hit_have_their_own_headings() -> None:
    headings = [rows(hit=hit)[0].heading for hit in ("pre-bend", "flatten", "offset")]
    assert ["first hit" in headings[0], "flatten" in headings[1], headings[2].startswith("Offset")] == [True] * 3
