"""The loading picture: to scale, the datum on one corner of the part however it lies."""

from dataclasses import replace
from typing import Any

import pytest

from flangewise.drawing import Line
from flangewise.sheet.blank_picture import blank_picture, hole_name
from flangewise.sheet.loading_view import flipped

from .demo import changed, channel, hole, wording

WORDING = wording()
ROOM: dict[str, Any] = {"width_mm": 178.0, "height_mm": 80.0}


def triangle(lines: tuple[Line, ...]) -> tuple[float, float]:
    """The corner that the datum triangle sits in: the one with the right angle."""
    return next(
        line.points_mm[0] for line in lines if line.fill == "black" and len(line.points_mm) == 3 and line.pen is None
    )


def solid(lines: tuple[Line, ...]) -> list[Line]:
    """Filled triangles with two sides square to the sheet: the datum, not an arrow head."""
    found = []
    for line in lines:
        if line.fill == "black" and len(line.points_mm) == 3:
            (x, y), one, other = line.points_mm
            if one[1] == y and other[0] == x:
                found.append(line)
    return found


@pytest.mark.parametrize(
    ("face", "start_at"), [("up", "operator"), ("up", "backgauge"), ("down", "operator"), ("down", "backgauge")]
)
def test_the_datum_stays_on_the_corner_of_start_edge_and_left_end(face: str, start_at: str) -> None:
    sheet = channel()
    base = sheet.steps[0] if start_at == "operator" else sheet.steps[1]
    before = sheet.steps[0].before if start_at == "operator" else None
    if before is None:
        turned = tuple((-across, up) for across, up in sheet.steps[0].before.outline_mm)
        flats = tuple(
            replace(flat, start_mm=(-flat.start_mm[0], flat.start_mm[1]), end_mm=(-flat.end_mm[0], flat.end_mm[1]))
            for flat in sheet.steps[0].before.flats
        )
        before = replace(sheet.steps[0].before, outline_mm=turned, flats=flats)
    step = changed(base, marked_face=face, start_at=start_at, before=before, done=(), zones=sheet.pattern.zones[:1])  # type: ignore[arg-type]
    drawing = blank_picture(sheet, step, WORDING, **ROOM)
    (datum,) = solid(drawing.lines())
    x, y = datum.points_mm[0]
    left, below = x < drawing.width_mm / 2, y > drawing.height_mm / 2
    assert left is not flipped(step)
    assert below is (start_at == "operator")


def test_the_part_is_drawn_to_scale() -> None:
    sheet = channel()
    drawing = blank_picture(sheet, sheet.steps[0], WORDING, **ROOM)
    wide = [line for line in drawing.lines() if line.pen and line.pen.weight_mm == 0.5 and len(line.points_mm) == 2]
    level = max(abs(a[0] - b[0]) for a, b in (line.points_mm for line in wide))
    upright = max(
        abs(a[1] - b[1]) for a, b in (line.points_mm for line in wide if line.points_mm[0][0] == line.points_mm[1][0])
    )
    assert level / upright == pytest.approx(sheet.pattern.along_bends_mm / sheet.pattern.developed_mm, rel=1e-6)


def test_the_gauged_edge_and_the_active_line_are_the_boldest() -> None:
    drawing = blank_picture(channel(), channel().steps[0], WORDING, **ROOM)
    bold = {round(line.points_mm[0][1], 3) for line in drawing.lines() if line.pen and line.pen.weight_mm == 0.8}
    assert len(bold) == 2


def test_lines_to_come_are_dashed_and_formed_ones_are_named_with_their_way() -> None:
    sheet = channel()
    flat = blank_picture(sheet, sheet.steps[0], WORDING, **ROOM)
    assert any(line.pen and line.pen.dash_mm for line in flat.lines())
    formed = blank_picture(sheet, sheet.steps[1], WORDING, sized=False, **ROOM)
    assert not any(line.pen and line.pen.dash_mm for line in formed.lines())
    assert "A formed, up" in {text.words for text in formed.texts()}


def test_both_lines_of_an_offset_go_by_its_one_letter() -> None:
    sheet = channel()
    first, second = sheet.pattern.zones
    zones = (replace(first, label="1a"), replace(second, label="1b", bend=1))
    shown = replace(sheet, pattern=replace(sheet.pattern, zones=zones))
    step = changed(sheet.steps[0], zones=zones, done=())
    words = [text.words for text in blank_picture(shown, step, WORDING, **ROOM).texts()]
    assert words.count("A") == 1 and not {"Aa", "Ab"} & set(words)


def test_film_and_burr_are_said_as_they_lie() -> None:
    sheet = channel()
    down = changed(sheet.steps[0], marked_face="down")
    words = {text.words for text in blank_picture(sheet, down, WORDING, **ROOM).texts()}
    assert "BURR DOWN, FILM UP" in words
    up = {text.words for text in blank_picture(sheet, sheet.steps[0], WORDING, **ROOM).texts()}
    assert "BURR UP, FILM DOWN" in up


def test_a_hit_without_stops_has_no_x() -> None:
    sheet = channel()
    free = changed(sheet.steps[0], x_mm=None, r_mm=None, z_mm=())
    words = {text.words for text in blank_picture(sheet, free, WORDING, **ROOM).texts()}
    assert not any(each.startswith(("X ", "Z")) for each in words)


def test_holes_go_by_their_numbers_behind_a_small_letter() -> None:
    """Bends go by capital letters and steps by bare numbers."""
    assert [hole_name(hole(n, 1, (0.0, 0.0), 1.0)) for n in (1, 27)] == ["1", "27"]
    words = {text.words for text in blank_picture(channel(), channel().steps[0], WORDING, **ROOM).texts()}
    assert {"h1", "h2"} <= words
