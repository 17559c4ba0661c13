"""The turn of a line: an entry of the part file first, then a text beside it, then what the file says of all."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from flangewise.drawn import DrawnWish, LineBend

from .made import AWAY, LINE, SQUARE, TOWARD, drawing, entry, faults, read, texts


def _text(*said: str, at: tuple[float, float] = (42.0, 30.0), layer: str = TOWARD) -> Any:
    def more(space: Any) -> None:
        for text in said:
            space.add_text(text, dxfattribs={"layer": layer, "insert": at})

    return more


@pytest.mark.parametrize(
    ("said", "turn_deg", "radius_mm"),
    [
        ("turn 45", 45.0, None),
        ("TURN 45° r 3", 45.0, 3.0),
        ("included 135 r 3", 45.0, 3.0),
        ("included 60", 120.0, None),
        ("90", 90.0, None),
        ("90 R2.5", 90.0, 2.5),
        ("turn 22,5 deg, r 0,8", 22.5, 0.8),
    ],
)
def test_a_text_names_turn_and_radius(said: str, turn_deg: float, radius_mm: float | None, tmp_path: Path) -> None:
    (line,) = read(drawing(LINE, more=_text(said)), tmp_path).lines
    assert (line.bend, line.said_by) == (LineBend(turn_deg, radius_mm), "text")


def test_lengths_in_a_text_are_in_the_drawings_unit(tmp_path: Path) -> None:
    more = _text("turn 45 r 0.125", at=(42 / 25.4, 1.0))
    (line,) = read(drawing(LINE, unit=1, scale=1 / 25.4, more=more), tmp_path).lines
    assert line.bend.radius_mm == pytest.approx(3.175)


def test_a_text_stands_where_its_alignment_says(tmp_path: Path) -> None:
    """One set from the left at its first point, whatever its second; one set in the middle at its second."""
    far = (900.0, 900.0)

    def more(space: Any) -> None:
        left = {"layer": TOWARD, "insert": (42, 30), "align_point": far}
        space.add_text("turn 45%%d", dxfattribs=left)
        middle = {"layer": AWAY, "insert": far, "align_point": (88, 30), "halign": 4}
        space.add_text("included 60", dxfattribs=middle)

    blank = read(drawing(LINE, ((90.0, 0.0), (90.0, 80.0), AWAY), more=more), tmp_path)
    assert [(line.toward, line.bend.turn_deg) for line in blank.lines] == [(True, 45.0), (False, 120.0)]


def test_a_text_of_several_lines_is_read_as_one(tmp_path: Path) -> None:
    def more(space: Any) -> None:
        space.add_mtext("included\\P120", dxfattribs={"layer": TOWARD, "insert": (38, 30)})

    assert read(drawing(LINE, more=more), tmp_path).lines[0].bend == LineBend(60.0)


@pytest.mark.parametrize("angle", ["45", "135", "91"])
def test_a_bare_angle_is_a_fault_that_shows_both_spellings(angle: str, tmp_path: Path) -> None:
    told = f"(42 mm, 30 mm): '{angle}' is read both ways. Write turn {angle} or included {angle}"
    assert texts(faults(drawing(LINE, more=_text(angle)), tmp_path)) == [told]


@pytest.mark.parametrize(
    ("said", "code"),
    [
        ("bend 45 up", "drawn-text-unread"),
        ("-90", "drawn-text-unread"),
        ("turn 180", "drawn-turn-range"),
        ("included 180", "drawn-turn-range"),
        ("turn 0", "drawn-turn-range"),
    ],
)
def test_what_is_no_turn_is_a_fault(said: str, code: str, tmp_path: Path) -> None:
    assert [each.code for each in faults(drawing(LINE, more=_text(said)), tmp_path)] == [code]


def test_a_text_without_a_number_is_left_out_and_told(tmp_path: Path) -> None:
    blank = read(drawing(LINE, more=_text("bend up", "see note")), tmp_path)
    told = "texts without an angle on bend line layers were left out, 2: bend up, see note"
    assert texts(blank.findings) == [told]
    assert blank.lines[0].said_by == "file"


def test_a_text_belongs_to_a_line_of_its_layer(tmp_path: Path) -> None:
    other = ((50.0, 0.0), (50.0, 80.0), AWAY)
    blank = read(drawing(LINE, other, more=_text("turn 45", at=(49.0, 30.0))), tmp_path)
    assert [(line.toward, line.bend.turn_deg) for line in blank.lines] == [(True, 45.0), (False, 90.0)]
    found = faults(drawing(LINE, more=_text("turn 45", layer=AWAY)), tmp_path)
    assert texts(found) == ["(42 mm, 30 mm): 'turn 45' stands beside no bend line of its layer within 25 mm"]
    for astray in ((66.0, 30.0), (1e308, 30.0)):
        found = faults(drawing(LINE, more=_text("turn 45", at=astray)), tmp_path)
        assert [each.code for each in found] == ["drawn-text-astray"]


def test_texts_that_may_be_anothers_or_differ_are_told(tmp_path: Path) -> None:
    other = ((50.0, 0.0), (50.0, 80.0), TOWARD)
    found = faults(drawing(LINE, other, more=_text("turn 45", at=(45.1, 30.0))), tmp_path)
    assert texts(found) == [
        "(45.1 mm, 30 mm): 'turn 45' stands between bend lines 2 and 1. Move it beside its own",
    ]
    found = faults(drawing(LINE, more=_text("turn 45", "included 135", "turn 60")), tmp_path)
    assert texts(found) == ["bend line 1: texts beside it differ: 'turn 45', 'turn 60'. Keep one"]


def test_the_first_that_names_it_says_turn_and_radius(tmp_path: Path) -> None:
    """Turn and radius each from entry, text, file in this order."""
    wish = replace(SQUARE, bend=LineBend(90.0, 5.0))
    document = drawing(LINE, more=_text("turn 45 r 3"))
    cases = {
        (): (LineBend(45.0, 3.0), "text", None),
        (entry(43, 70, 30.0),): (LineBend(30.0, 3.0), "entry", 0),
        (entry(43, 70, None, 1.0),): (LineBend(45.0, 1.0), "text", 0),
    }
    for entries, (bend, said_by, place) in cases.items():
        (line,) = read(document, tmp_path, replace(wish, entries=entries)).lines
        assert (line.bend, line.said_by, line.entry) == (bend, said_by, place)
    assert read(drawing(LINE), tmp_path, wish).lines[0].bend == LineBend(90.0, 5.0)


def test_entries_that_name_no_line_or_one_twice_are_told(tmp_path: Path) -> None:
    entries = (entry(45.01, 10, 45.0), entry(40, 10, 45.0), entry(41, 60, 60.0), entry(44, 20, 180.0))
    found = faults(drawing(LINE), tmp_path, replace(SQUARE, entries=entries))
    assert texts(found) == [
        "(45.01 mm, 10 mm): entry 1 of `bends`: no bend line lies within 5 mm of here",
        "(41 mm, 60 mm): entries 2 and 3 of `bends` both name bend line 1. Keep one",
        "(44 mm, 20 mm): entries 2 and 4 of `bends` both name bend line 1. Keep one",
        "(44 mm, 20 mm): a turn of 180° is no bend. It is above 0 and below 180°",
    ]


def test_a_line_of_which_nothing_is_said_is_a_fault(tmp_path: Path) -> None:
    found = faults(drawing(LINE), tmp_path, DrawnWish())
    told = "it has no angle, at (40 mm, 40 mm). Give `bend`, an entry in `bends`, or a text beside it"
    assert texts(found) == [f"bend line 1: {told}"]
