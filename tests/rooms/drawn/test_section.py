"""A drawn blank whose lines are parallel and cross it whole is a section; any other is none."""

from __future__ import annotations

from pathlib import Path

import pytest

from flangewise.drawn import as_section

from .made import AWAY, LINE, PLATE, TOWARD, drawing, read

RIGHT = ((95.0, 80.0), (95.0, 0.0), AWAY)


def test_the_flats_go_from_edge_to_line_to_edge(tmp_path: Path) -> None:
    """Upright lines: the start is the left edge. The base is the middle face, the others hang on it."""
    section = as_section(read(drawing(LINE, RIGHT), tmp_path))
    assert section is not None
    assert section.flats_mm == pytest.approx((40.0, 55.0, 25.0))
    assert (section.length_mm, section.developed_mm) == pytest.approx((80.0, 120.0))
    assert (section.lines, section.faces, section.is_rectangle) == ((1, 2), (2, 1, 3), True)


@pytest.mark.parametrize(("at_mm", "faces"), [(30.0, (2, 1)), (50.0, (1, 2))])
def test_one_line_starts_at_the_lower_edge(at_mm: float, faces: tuple[int, ...], tmp_path: Path) -> None:
    section = as_section(read(drawing(((0.0, at_mm), (120.0, at_mm), TOWARD)), tmp_path))
    assert section is not None
    assert section.flats_mm == pytest.approx((at_mm, 80.0 - at_mm))
    assert (section.length_mm, section.faces) == (pytest.approx(120.0), faces)


def test_a_blank_with_a_corner_off_is_a_section_but_no_rectangle(tmp_path: Path) -> None:
    cut = [(0.0, 0.0), (110.0, 0.0), (120.0, 10.0), (120.0, 80.0), (0.0, 80.0)]
    section = as_section(read(drawing(LINE, outline=cut), tmp_path))
    assert section is not None and not section.is_rectangle
    assert section.flats_mm == pytest.approx((40.0, 80.0))


TAB = [*PLATE[:1], (30.0, 0.0), (30.0, -20.0), (90.0, -20.0), (90.0, 0.0), *PLATE[1:]]
NONE = {
    "no line": ((), PLATE),
    "not parallel": ((LINE, ((90.0, 0.0), (95.0, 80.0), AWAY)), PLATE),
    "sheet beside the line": ((((30.0, 0.0), (90.0, 0.0), TOWARD),), TAB),
    "two tabs": (
        (((0.0, 20.0), (120.0, 20.0), AWAY),),
        [(0.0, 0.0), (50.0, 0.0), (50.0, 30.0), (70.0, 30.0), (70.0, 0.0), (120.0, 0.0), (120.0, 80.0), (0.0, 80.0)],
    ),
}


@pytest.mark.parametrize("name", NONE)
def test_what_is_no_section(name: str, tmp_path: Path) -> None:
    lines, outline = NONE[name]
    blank = read(drawing(*lines, outline=outline), tmp_path)
    assert len(blank.faces) == len(blank.lines) + 1
    assert as_section(blank) is None
