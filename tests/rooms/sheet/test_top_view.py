"""The part from above: which edges show, which way it is flipped, where lines and holes lie."""

from dataclasses import replace

import pytest

from flangewise.sheet.loading_view import (
    edges_seen,
    flipped,
    hole_place,
    hole_seen,
    lines_seen,
    on_leg,
    reach,
    top_at,
    upward,
)

from .demo import changed, channel, pattern_of
from .folding import Fold, laid

ANGLE = ((0.0, 0.0), (30.0, 0.0), (30.0, 20.0), (28.0, 20.0), (28.0, 2.0), (0.0, 2.0))


def test_a_standing_flange_shows_as_a_strip_as_wide_as_the_sheet() -> None:
    assert edges_seen(ANGLE) == (28.0,)
    assert reach(ANGLE) == (0.0, 30.0)


def test_a_flat_sheet_shows_no_edge_but_its_ends() -> None:
    assert edges_seen(((0.0, 0.0), (30.0, 0.0), (30.0, 2.0), (0.0, 2.0))) == ()


def test_the_top_is_the_highest_point_there() -> None:
    assert top_at(ANGLE, 10.0) == 2.0
    assert top_at(ANGLE, 29.0) == 20.0
    assert top_at(ANGLE, 40.0) == float("-inf")


@pytest.mark.parametrize(
    ("face", "start_at", "flip"),
    [("up", "operator", False), ("up", "backgauge", True), ("down", "backgauge", False), ("down", "operator", True)],
)
def test_turns_in_the_plane_swap_left_and_right_and_turns_over_the_bed_do_not(
    face: str, start_at: str, flip: bool
) -> None:
    step = changed(channel().steps[0], marked_face=face, start_at=start_at)  # type: ignore[arg-type]
    assert flipped(step) is flip


def test_lines_before_the_first_bend_are_where_the_blank_has_them() -> None:
    sheet = channel()
    seen = {each.label: each for each in lines_seen(sheet.pattern, sheet.steps[0])}
    assert seen["1"].state == "active"
    assert seen["1"].across_mm == pytest.approx(0.0, abs=1e-6)
    assert seen["2"].state == "later"
    assert seen["2"].across_mm == pytest.approx(
        -(sheet.pattern.zones[1].line_mm[0][1] - sheet.pattern.zones[0].line_mm[0][1]), abs=1e-6
    )


def test_after_the_first_bend_its_line_is_formed_and_the_next_is_active() -> None:
    sheet = channel()
    seen = {each.label: each for each in lines_seen(sheet.pattern, sheet.steps[1])}
    assert (seen["1"].state, seen["2"].state) == ("formed", "active")
    assert seen["1"].upward


def test_a_line_on_a_standing_leg_does_not_show() -> None:
    fold = Fold((20.0, 40.0, 20.0, 15.0), (4.0,) * 3, (90.0, 90.0, 90.0), (2.0,) * 3, 2.0)
    sheet = channel()
    pattern = pattern_of(fold, 100.0, ())
    before = laid(fold, pattern, frozenset({1}), 0, up=True, start_at="operator", formed=False)
    step = changed(sheet.steps[0], before=before, zones=pattern.zones[:1], done=("2",))
    seen = {each.label for each in lines_seen(pattern, step)}
    assert seen == {"1", "2"}


def test_a_bend_toward_the_marked_face_goes_up_with_that_face_up() -> None:
    sheet = channel()
    line, step = sheet.pattern.zones[0], sheet.steps[0]
    assert upward(line, step)
    assert not upward(line, changed(step, marked_face="down"))
    assert upward(replace(line, toward=False), changed(step, marked_face="down"))


def test_a_hole_keeps_its_distance_from_the_active_line_on_a_flat_leg() -> None:
    sheet = channel()
    hole = sheet.pattern.holes[0]
    rim = hole_seen(hole, sheet.steps[0], points=(hole.centre_mm,), thickness_mm=2.0)
    assert rim is not None
    ((along, across),) = rim
    assert along == hole.centre_mm[0]
    assert -across == pytest.approx(hole.centre_mm[1] - sheet.pattern.zones[0].line_mm[0][1], abs=1e-6)


def test_a_hole_on_a_standing_leg_does_not_show() -> None:
    sheet = channel()
    hole = sheet.pattern.holes[1]
    assert hole.face == 1
    assert hole_seen(hole, sheet.steps[1], points=(hole.centre_mm,), thickness_mm=2.0) is None


def test_a_place_on_a_leg_is_between_its_ends() -> None:
    flat = channel().steps[0].before.flats[1]
    middle = on_leg(flat, (flat.face.from_mm + flat.face.to_mm) / 2)
    assert middle[0] == pytest.approx((flat.start_mm[0] + flat.end_mm[0]) / 2)


def test_a_hole_is_told_as_the_operator_sees_it() -> None:
    sheet = channel()
    hole, step = sheet.pattern.holes[0], sheet.steps[0]
    assert (step.keyed.marked_face, step.start_at) == ("up", "operator")
    left_mm, back_mm = hole_place(hole, sheet.pattern, step)
    assert left_mm == pytest.approx(40.0)
    assert back_mm == pytest.approx(sheet.pattern.developed_mm - hole.centre_mm[1])
