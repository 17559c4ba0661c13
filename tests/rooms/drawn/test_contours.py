"""Contours: gaps joined, pieces drawn twice, open ends, branches, crossings, a second blank."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import pytest

from .made import CUT, LINE, drawing, faults, on, read, texts


def _moved_first(document: Any, end: tuple[float, float]) -> Any:
    """The first edge of the plate, from (0, 0), ends elsewhere than at (120, 0)."""
    next(iter(document.modelspace().query("LINE"))).dxf.end = end
    return document


def test_gaps_are_joined_in_their_middle_and_told(tmp_path: Path) -> None:
    blank = read(_moved_first(drawing(LINE), (119.94, 0.0)), tmp_path)
    assert texts(blank.findings) == ["gaps in the contours were closed: 1, the widest 0.06 mm"]
    # The corner stands at 119.97: a triangle of 0.03 x 80 / 2 is lost.
    assert blank.area_mm2 == pytest.approx(9600.0 - 1.2, abs=1e-6)


def test_what_differs_in_the_last_written_digit_is_no_gap(tmp_path: Path) -> None:
    assert read(_moved_first(drawing(LINE), (119.9995, 0.0)), tmp_path).findings == ()


def test_an_open_end_is_told_with_how_far_the_next_is(tmp_path: Path) -> None:
    told = "the contour is open here; the next end is 0.8 mm away"
    found = faults(_moved_first(drawing(LINE), (119.2, 0.0)), tmp_path)
    assert texts(found) == [f"(119.2 mm, 0 mm): {told}", f"(120 mm, 0 mm): {told}"]


def test_a_branch_and_a_piece_too_many_are_told(tmp_path: Path) -> None:
    found = faults(drawing(LINE, more=lambda space: space.add_line((120, 0), (150, 9), **on(CUT))), tmp_path)
    assert texts(found) == [
        "(120 mm, 0 mm): the contour branches here: 3 ends meet. Delete what is no edge",
        f"(150 mm, 9 mm): the contour is open here; the next end is {math.dist((120, 0), (150, 9)):.2f} mm away",
    ]


def test_pieces_drawn_twice_count_once(tmp_path: Path) -> None:
    def more(space: Any) -> None:
        space.add_line((120, 0), (0, 0), **on(CUT))
        space.add_circle((80, 40), 10, **on(CUT))
        for span in ((90, 270), (270, 450)):
            space.add_arc((80, 40), 10, *span, **on(CUT))

    blank = read(drawing(LINE, more=more), tmp_path)
    assert [each.code for each in blank.findings] == ["drawn-twice", "drawn-twice"]
    assert (
        texts(blank.findings)[0] == "(120 mm, 0 mm): pieces of contour drawn twice count once: 1, the first lies here"
    )
    assert len(blank.cutouts_mm) == 1


def test_contours_that_cross_are_told_where(tmp_path: Path) -> None:
    bow = [(0.0, 0.0), (100.0, 60.0), (100.0, 0.0), (0.0, 60.0)]
    assert texts(faults(drawing(outline=bow), tmp_path)) == ["(50 mm, 30 mm): a contour crosses itself here"]

    def more(space: Any) -> None:
        space.add_lwpolyline([(110, 10), (130, 10), (130, 20), (110, 20)], close=True, **on(CUT))
        space.add_lwpolyline([(60, 30), (80, 30), (80, 50), (60, 50)], close=True, **on(CUT))
        space.add_lwpolyline([(70, 40), (90, 40), (90, 60), (70, 60)], close=True, **on(CUT))

    found = faults(drawing(LINE, more=more), tmp_path)
    assert [each.code for each in found] == ["drawn-contours-meet"] * 2
    assert found[0].place() in ("(120 mm, 10 mm)", "(120 mm, 20 mm)")
    assert found[1].place() in ("(80 mm, 40 mm)", "(70 mm, 50 mm)")


@pytest.mark.parametrize("centres", [((300, 40),), ((80, 40), (80, 40))])
def test_a_second_blank_is_told_beside_the_first_and_in_a_cutout(centres: Any, tmp_path: Path) -> None:
    def more(space: Any) -> None:
        for place, centre in enumerate(centres):
            space.add_circle(centre, 10 - 5 * place, **on(CUT))

    (found,) = faults(drawing(LINE, more=more), tmp_path)
    assert found.code == "drawn-second-blank"
    x_mm = dict(found.where.values)["x_mm"] if found.where else None
    assert x_mm == pytest.approx(centres[-1][0], abs=1.0)


def test_without_a_closed_contour_there_is_no_sheet(tmp_path: Path) -> None:
    document = drawing(LINE)
    for entity in document.modelspace().query('*[layer=="CUT"]'):
        entity.dxf.layer = "NOTES"
    assert texts(faults(document, tmp_path)) == ["no closed contour lies on layer CUT"]


def test_faults_of_all_kinds_come_at_once(tmp_path: Path) -> None:
    def more(space: Any) -> None:
        space.add_arc((60, 20), 5, 0, 90, **on("BEND-AWAY"))
        space.add_text("45", dxfattribs={"layer": "BEND-TOWARD", "insert": (42, 30)})

    found = faults(_moved_first(drawing(LINE, more=more, unit=2), (119.2, 0.0)), tmp_path)
    codes = ["drawn-unit-unknown", "drawn-open", "drawn-open", "drawn-line-curved", "drawn-text-bare"]
    assert [each.code for each in found] == codes
