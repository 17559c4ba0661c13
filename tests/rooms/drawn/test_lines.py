"""Bend lines on the sheet: straight, from edge to edge, none across another, what hangs on what."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from .made import AWAY, CUT, LINE, SQUARE, TOWARD, drawing, faults, on, read, texts


def _upright(from_mm: float, to_mm: float, at_mm: float = 40.0, layer: str = TOWARD) -> Any:
    return ((at_mm, from_mm), (at_mm, to_mm), layer)


@pytest.mark.parametrize(("from_mm", "to_mm"), [(0.0, 80.0), (0.3, 79.6), (-5.0, 85.0), (85.0, -0.2)])
def test_a_line_is_cut_or_lengthened_to_the_edges(from_mm: float, to_mm: float, tmp_path: Path) -> None:
    """What hangs on it, the part of 40 x 80, lies on its left."""
    blank = read(drawing(_upright(from_mm, to_mm)), tmp_path)
    (line,) = blank.lines
    assert (*line.start_mm, *line.end_mm) == pytest.approx((40.0, 0.0, 40.0, 80.0), abs=1e-9)
    assert (line.number, line.toward, line.face_from, line.face_to) == (1, True, 1, 2)
    assert blank.faces[1].outline_mm == ((0.0, 0.0), (40.0, 0.0), (40.0, 80.0), (0.0, 80.0))


def test_an_end_inside_the_sheet_is_told_with_what_to_do(tmp_path: Path) -> None:
    assert texts(faults(drawing(_upright(0.0, 60.0), _upright(0.6, 80.0, 70.0)), tmp_path)) == [
        "bend line 1: it ends inside the sheet at (40 mm, 60 mm), 20 mm from its edge. "
        "Draw it from edge to edge, or cut a relief at its end",
        "bend line 2: it ends inside the sheet at (70 mm, 0.6 mm), 0.6 mm from its edge. "
        "Draw it from edge to edge, or cut a relief at its end",
    ]


def test_lines_that_cross_lie_off_the_sheet_or_along_its_edge_are_told(tmp_path: Path) -> None:
    across = ((0.0, 30.0), (120.0, 30.0), AWAY)
    found = faults(drawing(LINE, across, _upright(0.0, 80.0, 200.0), _upright(0.0, 80.0, 120.0)), tmp_path)
    assert texts(found) == [
        "bend line 2: it lies along an edge of the sheet, at (120 mm, 40 mm)",
        "bend line 3: it does not lie on the sheet, at (200 mm, 40 mm)",
        "bend line 1: it crosses bend line 4 at (40 mm, 30 mm)",
    ]


def test_a_line_parted_by_a_hole_is_one_bend_in_two_runs(tmp_path: Path) -> None:
    def hole(space: Any) -> None:
        space.add_lwpolyline([(30, 20), (50, 20), (50, 60), (30, 60)], close=True, **on(CUT))

    whole = read(drawing(LINE, more=hole), tmp_path)
    (line,) = whole.lines
    assert line.runs_mm == (((40.0, 0.0), (40.0, 20.0)), ((40.0, 60.0), (40.0, 80.0)))
    assert whole.area_mm2 == pytest.approx(8800.0) and len(whole.faces) == 2
    # Drawn as two lines, on either side of the hole, it is the same bend.
    assert read(drawing(_upright(0.0, 20.0), _upright(60.0, 80.0), more=hole), tmp_path) == whole


def test_a_hole_that_touches_a_line_does_not_part_it(tmp_path: Path) -> None:
    def hole(space: Any) -> None:
        space.add_lwpolyline([(40, 40), (50, 30), (50, 50)], close=True, **on(CUT))

    (line,) = read(drawing(LINE, more=hole), tmp_path).lines
    assert line.runs_mm == (((40.0, 0.0), (40.0, 80.0)),)


def test_dashes_make_a_line_and_one_drawn_over_counts_once(tmp_path: Path) -> None:
    dashes = [_upright(0.0, 30.0), _upright(30.05, 60.0), _upright(50.0, 80.0), LINE]
    blank = read(drawing(*dashes), tmp_path)
    assert len(blank.lines) == 1
    assert [each.code for each in blank.findings] == ["drawn-lines-twice"]
    found = faults(drawing(LINE, _upright(10.0, 60.0, layer=AWAY)), tmp_path)
    assert texts(found)[0].startswith("(40 mm, 10 mm): bend lines toward and away lie on each other here")


def test_a_bend_line_is_straight(tmp_path: Path) -> None:
    straight = drawing(more=lambda space: space.add_lwpolyline([(40, 0), (40.005, 40), (40, 80)], **on(TOWARD)))
    assert len(read(straight, tmp_path).lines) == 1
    bent = drawing(more=lambda space: space.add_lwpolyline([(40, 0), (41, 40), (40, 80)], **on(TOWARD)))
    assert texts(faults(bent, tmp_path)) == ["(40 mm, 0 mm): a bend line is straight, and this one is not"]


def test_the_base_is_the_largest_face_or_the_one_named(tmp_path: Path) -> None:
    lines = (_upright(0.0, 80.0, 20.0), _upright(0.0, 80.0, 95.0, AWAY))
    hung = [(line.face_from, line.face_to, line.start_mm[1]) for line in read(drawing(*lines), tmp_path).lines]
    # What hangs left of the base has its line upward, what hangs right of it downward.
    assert hung == [(1, 2, 0.0), (1, 3, 80.0)]
    named = read(drawing(*lines), tmp_path, replace(SQUARE, base_mm=(5.0, 5.0)))
    assert [(line.face_from, line.face_to) for line in named.lines] == [(1, 2), (2, 3)]
    for place in ((20.0, 40.0), (500.0, 0.0)):
        (found,) = faults(drawing(*lines), tmp_path, replace(SQUARE, base_mm=place))
        assert found.code == "drawn-base-astray"


def _window(space: Any) -> None:
    space.add_lwpolyline([(50, 30), (70, 30), (70, 50), (50, 50)], close=True, **on(CUT))


def test_lines_round_a_window_close_a_ring(tmp_path: Path) -> None:
    lines = [
        ((0.0, 40.0), (50.0, 40.0), TOWARD),
        ((70.0, 40.0), (120.0, 40.0), TOWARD),
        ((60.0, 0.0), (60.0, 30.0), AWAY),
        ((60.0, 50.0), (60.0, 80.0), AWAY),
        _upright(0.0, 80.0, 110.0),
    ]
    (found,) = faults(drawing(*lines[:4], more=_window), tmp_path)
    assert found.code == "drawn-ring"
    named = {found.place().split()[-1], *str(dict(found.where.values)["number"] if found.where else "")}
    others = dict(found.phrase.values)["lines"]
    assert isinstance(others, tuple)
    assert named | set(map(str, others)) == {"1", "2", "3", "4"}


def test_a_line_to_a_window_parts_nothing(tmp_path: Path) -> None:
    found = faults(drawing(((0.0, 40.0), (50.0, 40.0), TOWARD), more=_window), tmp_path)
    assert texts(found) == ["bend line 1: it does not part the sheet: the way round it is open, from (0 mm, 40 mm)"]


def test_a_stroke_over_a_notch_bends_two_tabs(tmp_path: Path) -> None:
    """The notch between the tabs reaches past the line: one line of the drawing, two bends, each with its own face."""
    outline = [
        (0.0, 0.0),
        (50.0, 0.0),
        (50.0, 30.0),
        (70.0, 30.0),
        (70.0, 0.0),
        (120.0, 0.0),
        (120.0, 80.0),
        (0.0, 80.0),
    ]
    blank = read(drawing(((0.0, 20.0), (120.0, 20.0), AWAY), outline=outline), tmp_path)
    assert [(line.number, line.start_mm, line.end_mm, line.face_from) for line in blank.lines] == [
        (1, (50.0, 20.0), (0.0, 20.0), 1),
        (2, (120.0, 20.0), (70.0, 20.0), 1),
    ]


def test_more_lines_than_any_part_has_are_not_read(tmp_path: Path) -> None:
    lines = [_upright(0.0, 80.0, 0.1 + place * 0.2) for place in range(501)]
    assert texts(faults(drawing(*lines), tmp_path)) == ["the drawing has 501 bend lines; 500 are read at most"]


@pytest.mark.parametrize("over_mm", [0.0, -0.3, 20.0, 27.0])
def test_lines_may_meet_in_the_corners_of_notches(over_mm: float, tmp_path: Path) -> None:
    """Notches cut just to the lines: these end in their corners, fall short of them, or run on along their edges."""
    cross = [(20.0, 0.0), (100.0, 0.0), (100.0, 20.0), (120.0, 20.0), (120.0, 60.0), (100.0, 60.0), (100.0, 80.0)]
    cross += [(20.0, 80.0), (20.0, 60.0), (0.0, 60.0), (0.0, 20.0), (20.0, 20.0)]
    level = [((20.0 - over_mm, y), (100.0 + over_mm, y), TOWARD) for y in (20.0, 60.0)]
    upright = [_upright(20.0 - over_mm, 60.0 + over_mm, x) for x in (20.0, 100.0)]
    blank = read(drawing(*level, *upright, outline=cross), tmp_path)
    ends = sorted(sorted((round(x, 6), round(y, 6)) for x, y in (line.start_mm, line.end_mm)) for line in blank.lines)
    corners = ((20.0, 20.0), (20.0, 60.0), (100.0, 20.0), (100.0, 60.0))
    assert ends == [[corners[one], corners[other]] for one, other in ((0, 1), (0, 2), (1, 3), (2, 3))]
    assert [(line.face_from, len(line.runs_mm)) for line in blank.lines] == [(1, 1)] * 4
    assert sorted(tuple(map(round, point)) for point in blank.faces[0].outline_mm) == [*corners]
