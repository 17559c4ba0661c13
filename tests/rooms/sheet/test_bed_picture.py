"""The tools along the bed: to scale, left end left, segments in their order, the part between punch and die."""

from dataclasses import replace

import pytest

from flangewise.punch_die import Station
from flangewise.sheet.bed_picture import bed_picture

from .demo import channel, station, wording

WORDING = wording()


def picture(*stations: Station, bed_mm: float = 920.0):  # type: ignore[no-untyped-def]
    sheet = channel()
    setup = replace(sheet.setup, stations=stations or sheet.setup.stations)
    machine = sheet.machine.model_copy(update={"bed_length_mm": bed_mm})
    return bed_picture(replace(sheet, setup=setup, machine=machine), WORDING, width_mm=178.0, height_mm=34.0)


def boxes(drawing, top_mm: float) -> list[tuple[float, float]]:  # type: ignore[no-untyped-def]
    """Closed rectangles whose top is at a height: left and right of each, from the left."""
    found = [line.points_mm for line in drawing.lines() if line.closed and len(line.points_mm) == 4]
    return sorted((points[0][0], points[1][0]) for points in found if abs(points[0][1] - top_mm) < 0.01)


def test_segments_stand_left_to_right_in_proportion() -> None:
    drawing = picture()
    tops = sorted({line.points_mm[0][1] for line in drawing.lines() if line.closed and len(line.points_mm) == 4})
    punch = boxes(drawing, tops[0])
    widths = [right - left for left, right in punch]
    assert [round(width / widths[-1] * 15.0) for width in widths] == [110, 60, 15]
    die = [right - left for left, right in boxes(drawing, tops[1])]
    assert [round(width / widths[-1] * 15.0) for width in die] == [15, 60, 110]


def test_from_and_to_are_said_from_the_left_end_of_the_bed() -> None:
    words = {text.words for text in picture().texts()}
    assert {"368", "553"} <= words or {"367", "552"} <= words
    assert {"left end", "machine centre 460", "station 1: 110 + 60 + 15"} <= words


def test_the_part_lies_as_a_bold_line_as_long_as_it_is() -> None:
    drawing = picture()
    (bold,) = [line for line in drawing.lines() if line.pen and line.pen.weight_mm == 0.8]
    first = boxes(drawing, min(line.points_mm[0][1] for line in drawing.lines() if line.closed))[0]
    per_mm = (first[1] - first[0]) / 110.0
    assert bold.points_mm[1][0] - bold.points_mm[0][0] == pytest.approx(180.0 * per_mm)


def test_a_long_bed_is_broken_beside_the_tools() -> None:
    wide = picture(station(1350.0, 1550.0, (200.0,), (200.0,)), bed_mm=2900.0)
    assert any(len(line.points_mm) == 6 for line in wide.lines())


def test_two_stations_are_both_named() -> None:
    drawing = picture(station(200.0, 310.0, (110.0,), (110.0,)), station(500.0, 560.0, (60.0,), (60.0,)))
    words = {text.words for text in drawing.texts()}
    assert {"station 1: 110", "station 2: 60", "200 – 310", "500 – 560"} <= words
