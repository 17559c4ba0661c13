"""Drawings as SVG text, read back as XML."""

import xml.etree.ElementTree as ET

from flangewise.drawing import BOLD, DASHED, THIN, Drawing, Line, Text, svg
from flangewise.drawing.svg import path_data

NAME = "{http://www.w3.org/2000/svg}"


def read(drawing: Drawing) -> ET.Element:
    return ET.fromstring(svg(drawing))


def test_size_is_in_mm_and_so_are_the_units_inside() -> None:
    root = read(Drawing(180.0, 62.5))
    assert (root.get("width"), root.get("height"), root.get("viewBox")) == ("180mm", "62.5mm", "0 0 180 62.5")
    assert root.get("font-family") == "DejaVu Sans"


def test_steps_are_told_from_the_point_before_and_rounding_does_not_add_up() -> None:
    points = tuple((0.004 * step, 0.0) for step in range(1001))
    ends = [0.0]
    for step in path_data(points, closed=False).split("h")[1:]:
        ends.append(ends[-1] + float(step))
    assert abs(ends[-1] - 4.0) < 1e-6


def test_path_data_has_level_upright_and_slanting_steps() -> None:
    assert path_data(((1.0, 1.0), (4.0, 1.0), (4.0, 0.5), (3.0, 0.0)), closed=True) == "M1 1h3v-0.5l-1 -0.5z"
    assert path_data(((1.0, 1.0), (1.0, 1.0)), closed=False) == "M1 1"


def test_neighbouring_lines_of_one_pen_share_a_path() -> None:
    lines = [Line(((0.0, float(row)), (9.0, float(row)))) for row in range(50)]
    root = read(Drawing(10.0, 60.0, tuple(lines)))
    assert len(root.findall(NAME + "path")) == 1


def test_other_pens_start_another_path_and_keep_their_turn() -> None:
    items = (
        Line(((0.0, 0.0), (1.0, 0.0)), THIN),
        Line(((0.0, 1.0), (1.0, 1.0)), BOLD),
        Line(((0.0, 2.0), (1.0, 2.0)), DASHED),
    )
    paths = read(Drawing(10.0, 10.0, items)).findall(NAME + "path")
    assert [path.get("stroke-width") for path in paths] == ["0.25", "0.8", "0.25"]
    assert [path.get("stroke-dasharray") for path in paths] == [None, None, "2.4 1.2"]


def test_white_shapes_hide_one_another_so_each_is_its_own() -> None:
    square = ((0.0, 0.0), (1.0, 0.0), (1.0, 1.0))
    white = [Line(square, THIN, closed=True, fill="white")] * 3
    assert len(read(Drawing(10.0, 10.0, tuple(white))).findall(NAME + "path")) == 3


def test_a_filled_shape_without_a_pen_has_no_stroke() -> None:
    path = read(Drawing(9.0, 9.0, (Line(((0.0, 0.0), (1.0, 0.0), (1.0, 1.0)), None, closed=True, fill="black"),)))[0]
    assert path.get("fill") == "black"
    assert path.get("stroke") is None


def test_words_are_escaped_and_read_back_whole() -> None:
    words = "<b>A & B</b> \"x\" 'y' ±½"
    root = read(Drawing(50.0, 10.0, (Text((1.0, 5.0), words, 3.5, True, "middle"),), described=words))
    assert root.find(NAME + "title").text == words  # type: ignore[union-attr]
    text = root.find(NAME + "text")
    assert text is not None and text.text == words
    assert (text.get("text-anchor"), text.get("font-weight"), text.get("font-size")) == ("middle", "bold", "3.5")


def test_nothing_is_told_in_colour_or_grey() -> None:
    items = (Line(((0.0, 0.0), (1.0, 0.0), (1.0, 1.0)), THIN, closed=True, fill="black"), Text((0.0, 5.0), "a", 3.0))
    looked_at = list(read(Drawing(9.0, 9.0, items)).iter())
    assert looked_at
    for element in looked_at:
        assert element.get("stroke") in {None, "none", "black"}
        assert element.get("fill") in {None, "none", "black", "white"}
        assert element.get("opacity") is None


def test_a_file_of_its_own_has_a_head() -> None:
    assert svg(Drawing(1.0, 1.0), standalone=True).startswith('<?xml version="1.0"')
    assert svg(Drawing(1.0, 1.0)).startswith("<svg ")


def test_the_same_drawing_is_the_same_text() -> None:
    made = Drawing(9.0, 9.0, (Line(((0.1, 0.2), (0.3, 0.4))), Text((1.0, 2.0), "a", 3.0)))
    assert svg(made) == svg(made)
