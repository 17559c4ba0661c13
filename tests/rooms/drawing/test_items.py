"""Boxes, lines and texts."""

import dataclasses

import pytest

from flangewise.drawing import Box, Drawing, Line, Text, text_width_mm
from flangewise.drawing.items import THIN


def test_a_box_knows_its_size_and_middle() -> None:
    box = Box(10.0, 20.0, 30.0, 26.0)
    assert (box.width_mm, box.height_mm, box.centre_mm) == (20.0, 6.0, (20.0, 23.0))


def test_boxes_that_share_an_edge_only_do_not_meet() -> None:
    box = Box(0.0, 0.0, 10.0, 10.0)
    assert not box.meets(Box(10.0, 0.0, 20.0, 10.0))
    assert box.meets(Box(9.9, 0.0, 20.0, 10.0))
    assert not box.meets(Box(0.0, 10.0, 10.0, 20.0))


def test_a_box_holds_itself_but_nothing_larger() -> None:
    box = Box(0.0, 0.0, 10.0, 10.0)
    assert box.holds(box)
    assert box.holds(box.grown(-1.0))
    assert not box.holds(box.grown(0.01))


def test_moving_and_growing() -> None:
    assert Box(0.0, 0.0, 1.0, 1.0).moved(2.0, 3.0) == Box(2.0, 3.0, 3.0, 4.0)
    assert Box(0.0, 0.0, 1.0, 1.0).grown(0.5) == Box(-0.5, -0.5, 1.5, 1.5)


@pytest.mark.parametrize(("anchor", "left"), [("start", 50.0), ("middle", 45.0), ("end", 40.0)])
def test_a_text_stands_before_about_or_behind_its_point(anchor: str, left: float) -> None:
    size = 10.0 / text_width_mm("open", 1.0)
    box = Text((50.0, 20.0), "open", size, anchor=anchor).box  # type: ignore[arg-type]
    assert box.left_mm == pytest.approx(left)
    assert box.width_mm == pytest.approx(10.0)
    assert box.top_mm < 20.0 < box.bottom_mm


def test_a_drawing_is_not_changed_by_adding() -> None:
    empty = Drawing(10.0, 10.0)
    fuller = empty.adding([Line(((0.0, 0.0), (1.0, 1.0))), Text((1.0, 2.0), "a", 3.0)])
    assert empty.items == ()
    assert [line.pen for line in fuller.lines()] == [THIN]
    assert [text.words for text in fuller.texts()] == ["a"]
    assert fuller.frame == Box(0.0, 0.0, 10.0, 10.0)
    with pytest.raises(dataclasses.FrozenInstanceError):
        empty.width_mm = 5.0  # type: ignore[misc]
