"""Outlines and segments as a table writes them."""

from __future__ import annotations

import math
from typing import Any

import pytest

from flangewise.geometry import Outline
from flangewise.shop import Segment
from flangewise.shop.bodies import read_outline, read_segments, written_outline, written_segments

SQUARE = [[0, 0], [10, 0], [10, 10], [0, 10]]


def test_points_become_an_outline_with_its_radii() -> None:
    outline = read_outline([[0, 0, 2], [10, 0], [10, 10], [0, 10]])
    assert outline.points_mm == ((0, 0), (10, 0), (10, 10), (0, 10))
    assert outline.radii_mm == (2, 0, 0, 0)


def test_a_rounded_square_has_the_area_it_should() -> None:
    outline = read_outline([[*point, 2] for point in SQUARE])
    assert outline.area_mm2() == pytest.approx(100 - (4 - math.pi) * 4, abs=0.1)


def test_an_outline_passes_through_unchanged() -> None:
    outline = read_outline(SQUARE)
    assert read_outline(outline) is outline


@pytest.mark.parametrize(
    ("points", "wrong"),
    [
        ("a square", "is no outline"),
        ([[0, 0], [1, 0]], "is no outline"),
        ([[0, 0], [10, 0], [10]], "is no point"),
        ([[0, 0], [10, 0], [10, 10, 1, 1]], "is no point"),
        ([[0, 0], [10, 0], 7], "is no point"),
        ([[0, 0], [10, 0], [10, "10"]], "no usable number"),
        ([[0, 0], [10, 0], [10, True]], "no usable number"),
        ([[0, 0], [10, 0], [10, math.nan]], "no usable number"),
        ([[0, 0], [10, 0], [10, math.inf]], "no usable number"),
        ([[0, 0], [10, 0], [10, 1e9]], "no usable number"),
        ([[0, 0], [10, 0], [10, None]], "no usable number"),
        ([[0, 0], [10, 0], [10, 10, -1]], "is negative"),
        (list(reversed(SQUARE)), "clockwise"),
        ([[0, 0], [10, 0], [20, 0]], "clockwise or enclose nothing"),
        ([[0, 0], [10, 10], [10, 0], [0, 12], [-4, 6]], "crosses itself"),
        ([[0, 0], [10, 0], [10, 0], [0, 10]], "two points stand at the same place"),
        ([[0, 0, 20], [10, 0], [10, 10], [0, 10]], "does not fit"),
        ([[0, 0], [5, 0, 1], [10, 0], [10, 10]], "straight"),
    ],
)
def test_what_is_no_outline(points: Any, wrong: str) -> None:
    with pytest.raises(ValueError, match=wrong):
        read_outline(points)


def test_neighbouring_radii_may_not_overlap_on_their_edge() -> None:
    """Two corners of 6 on an edge of 10 would need 12."""
    points = [[0, 0, 6], [10, 0, 6], [10, 10], [0, 10]]
    with pytest.raises(ValueError, match="run into each other"):
        read_outline(points)
    assert read_outline([[0, 0, 5], [10, 0, 5], [10, 10], [0, 10]]).radii_mm == (5, 5, 0, 0)


def test_an_outline_is_written_as_it_was_read() -> None:
    points = [[0.0, 0.0, 2.0], [10.0, 0.0], [10.0, 10.0], [0.0, 10.0]]
    assert written_outline(read_outline(points)) == points
    assert isinstance(read_outline(written_outline(read_outline(points))), Outline)


def test_segments_come_longest_first_and_ears_last() -> None:
    segments = read_segments({"10": 2, "220": 1, "ear 75 right": 2, "ear 75 left": 3, "12.5": 4})
    assert [(each.length_mm, each.held, each.ear) for each in segments] == [
        (220, 1, None),
        (12.5, 4, None),
        (10, 2, None),
        (75, 3, "left"),
        (75, 2, "right"),
    ]


def test_whole_numbers_may_stand_as_keys() -> None:
    assert read_segments({10: 2}) == (Segment(length_mm=10, held=2),)


def test_segments_are_written_as_they_were_read() -> None:
    given = {"220": 1, "12.5": 4, "ear 75 left": 3}
    assert written_segments(read_segments(given)) == given


@pytest.mark.parametrize(
    ("segments", "wrong"),
    [
        ({}, "holds no segments"),
        ([10, 20], "holds no segments"),
        ("10", "holds no segments"),
        ({"ten": 1}, "'ten' is no segment"),
        ({"-10": 1}, "is no segment"),
        ({"0": 1}, "is no segment"),
        ({"ear 75": 1}, "is no segment"),
        ({"75 left": 1}, "is no segment"),
        ({"nan": 1}, "is no segment"),
        ({"10": 0}, "0 of 10 are held"),
        ({"10": -1}, "-1 of 10 are held"),
        ({"10": 1.5}, "1.5 of 10 are held"),
        ({"10": True}, "True of 10 are held"),
        ({"10": None}, "None of 10 are held"),
        ({"10": 99999999}, "are held"),
    ],
)
def test_what_is_no_list_of_segments(segments: Any, wrong: str) -> None:
    with pytest.raises(ValueError, match=wrong):
        read_segments(segments)
