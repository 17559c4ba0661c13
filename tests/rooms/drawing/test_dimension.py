"""Dimensions: lines where they belong, arrows inside or outside, words to be placed."""

import math

import pytest

from flangewise.drawing import linear
from flangewise.drawing.marks import HEAD_MM


def shafts(dimension: object) -> list[tuple[tuple[float, float], ...]]:
    return [line.points_mm for line in dimension.lines if line.fill == "none"]  # type: ignore[attr-defined]


def test_the_line_lies_to_the_left_of_its_direction_and_spans_the_length() -> None:
    start, end = linear((0.0, 0.0), (40.0, 0.0), off_mm=5.0, words="40").lines[2].points_mm
    assert (start, end) == ((0.0, -5.0), (40.0, -5.0))


def test_a_negative_offset_lies_on_the_other_side() -> None:
    assert linear((0.0, 0.0), (40.0, 0.0), off_mm=-5.0, words="40").lines[2].points_mm[0] == (0.0, 5.0)


def test_extension_lines_leave_a_gap_and_pass_the_dimension_line() -> None:
    first = linear((0.0, 0.0), (40.0, 0.0), off_mm=5.0, words="40").lines[0].points_mm
    assert first[0][1] == pytest.approx(-0.8)
    assert first[1][1] == pytest.approx(-6.2)


def test_a_long_dimension_has_its_arrows_inside() -> None:
    heads = [line for line in linear((0.0, 0.0), (40.0, 0.0), off_mm=5.0, words="40").lines if line.fill == "black"]
    assert len(heads) == 2
    assert all(0.0 <= x <= 40.0 for line in heads for x, _ in line.points_mm)


def test_a_short_dimension_has_its_arrows_outside_pointing_in() -> None:
    lines = linear((0.0, 0.0), (2.0, 0.0), off_mm=5.0, words="2").lines
    heads = [line for line in lines if line.fill == "black"]
    assert min(x for x, _ in heads[0].points_mm) == pytest.approx(-HEAD_MM)
    assert max(x for x, _ in heads[1].points_mm) == pytest.approx(2.0 + HEAD_MM)
    assert {line.points_mm[0] for line in heads} == {(0.0, -5.0), (2.0, -5.0)}


def test_words_go_over_the_middle_if_they_fit_and_beyond_the_end_if_not() -> None:
    fits = linear((0.0, 0.0), (40.0, 0.0), off_mm=5.0, words="40").label
    assert fits.at_mm == (20.0, -5.0)
    assert fits.prefer[0] == pytest.approx((0.0, -1.0))
    wide = linear((0.0, 0.0), (10.0, 0.0), off_mm=5.0, words="X 1234.56").label
    assert wide.at_mm[0] > 10.0
    assert wide.prefer[0] == pytest.approx((1.0, 0.0))


def test_a_slanting_dimension_is_square_to_its_offset() -> None:
    start, end = linear((0.0, 0.0), (30.0, 40.0), off_mm=10.0, words="50").lines[2].points_mm
    assert math.dist(start, end) == pytest.approx(50.0)
    assert math.dist(start, (0.0, 0.0)) == pytest.approx(10.0)
    assert (start[0] * 30.0 + start[1] * 40.0) == pytest.approx(0.0)


def test_lettering_changes_the_label_only() -> None:
    made = linear((0.0, 0.0), (40.0, 0.0), off_mm=5.0, words="40")
    larger = linear((0.0, 0.0), (40.0, 0.0), off_mm=5.0, words="40", size_mm=5.0)
    assert larger.lines == made.lines
    assert larger.label.size_mm == 5.0
