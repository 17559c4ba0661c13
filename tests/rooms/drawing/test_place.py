"""Labels: where there is room, never on anything, near what they name."""

import math
import random

import pytest
import shapely

from flangewise.drawing import ABOVE, RIGHT, Box, Drawing, Label, Line, Text
from flangewise.drawing.place import place

FRAME = Drawing(100.0, 60.0)


def label(words: str, at_mm: tuple[float, float]) -> Label:
    return Label((words,), at_mm)


def overlaps(drawing: Drawing, bare: Drawing) -> list[str]:
    """Texts that touch a line that was there before, another text, or the frame's edge."""
    boxes = [shapely.box(t.box.left_mm, t.box.top_mm, t.box.right_mm, t.box.bottom_mm) for t in drawing.texts()]
    lines = [shapely.LineString(line.points_mm).buffer(0.12) for line in bare.lines()]
    frame = shapely.box(0, 0, drawing.width_mm, drawing.height_mm)
    found = [text.words for text, box in zip(drawing.texts(), boxes, strict=True) if not frame.covers(box)]
    for place_, box in enumerate(boxes):
        found += [drawing.texts()[place_].words for line in lines if line.intersects(box)]
        found += [drawing.texts()[place_].words for other in boxes[place_ + 1 :] if other.intersects(box)]
    return found


@pytest.mark.parametrize("seed", range(30))
def test_nothing_overlaps_in_a_thicket(seed: int) -> None:
    dice = random.Random(seed)
    lines = [Line(tuple((dice.uniform(0, 100), dice.uniform(0, 60)) for _ in range(2))) for _ in range(5)]
    bare = FRAME.adding(lines)
    labels = [label(f"word {n}", (dice.uniform(5, 95), dice.uniform(5, 55))) for n in range(6)]
    drawing, unplaced = place(bare, labels)
    assert len(drawing.texts()) + len(unplaced) == 6
    assert overlaps(drawing, bare) == []


def test_an_empty_sheet_takes_the_first_wish() -> None:
    drawing, unplaced = place(FRAME, [Label(("X",), (50.0, 30.0), prefer=(ABOVE,))])
    box = drawing.texts()[0].box
    assert unplaced == ()
    assert box.bottom_mm <= 30.0 <= box.bottom_mm + 2.0
    assert box.centre_mm[0] == pytest.approx(50.0, abs=0.5)


def test_a_wish_that_is_taken_gives_way_to_the_next() -> None:
    blocked = FRAME.adding([Line(((45.0, 28.0), (55.0, 28.0)))])
    drawing, _ = place(blocked, [Label(("X",), (50.0, 30.0), prefer=(ABOVE, RIGHT))])
    assert drawing.texts()[0].box.left_mm > 50.0


def test_a_label_far_off_has_a_leader_to_its_point_and_one_near_has_none() -> None:
    near, _ = place(FRAME, [label("near", (50.0, 30.0))])
    assert near.lines() == ()
    comb = FRAME.adding([Line(((35.0 + n, 15.0), (35.0 + n, 45.0))) for n in range(31)])
    far, _ = place(comb, [label("far", (50.0, 30.0))])
    leaders = far.lines()[31:]
    assert leaders[0].points_mm[-1] == (50.0, 30.0)
    assert leaders[1].fill == "black"


def test_words_for_no_single_point_may_stand_on_it_without_a_leader() -> None:
    drawing, _ = place(FRAME, [Label(("MARKED FACE UP",), (50.0, 30.0), led=False)])
    assert drawing.texts()[0].box.centre_mm == pytest.approx((50.0, 30.0), abs=0.8)
    assert drawing.lines() == ()


def test_no_room_means_no_label_and_it_is_told() -> None:
    full = FRAME.adding([Line(((0.0, float(row)), (100.0, float(row)))) for row in range(60)])
    drawing, unplaced = place(full, [label("word", (50.0, 30.0))])
    assert [each.lines for each in unplaced] == [("word",)]
    assert drawing.texts() == ()


def test_labels_keep_out_of_strips_for_other_words() -> None:
    strip = Drawing(100.0, 60.0, labels_in=Box(0.0, 0.0, 100.0, 50.0))
    drawing, _ = place(strip, [label("word", (50.0, 58.0))])
    assert drawing.texts()[0].box.bottom_mm <= 50.0


def test_leaders_cross_no_text() -> None:
    wall = [Text((50.0, 10.0 + 4.0 * row), "wall of words", 3.5, anchor="middle") for row in range(11)]
    comb = [Line(((20.0 + n, 0.0), (20.0 + n, 60.0))) for n in range(0, 61, 2)]
    drawing, unplaced = place(FRAME.adding(wall).adding(comb), [label("mark", (50.0, 57.0))])
    shapes = [shapely.box(t.box.left_mm, t.box.top_mm, t.box.right_mm, t.box.bottom_mm) for t in drawing.texts()[:11]]
    leaders = [shapely.LineString(line.points_mm) for line in drawing.lines()[len(comb) :] if len(line.points_mm) == 2]
    assert len(unplaced) == 0
    assert not any(leader.intersects(shape) for leader in leaders for shape in shapes)


def test_lines_of_one_label_stand_under_each_other_about_one_middle() -> None:
    drawing, _ = place(FRAME, [Label(("open", "86"), (50.0, 30.0))])
    first, second = drawing.texts()
    assert second.at_mm[1] - first.at_mm[1] == pytest.approx(1.2 * 3.5)
    assert first.at_mm[0] == second.at_mm[0]


def test_the_same_labels_come_to_the_same_places() -> None:
    labels = [label(f"n {n}", (10.0 + 9 * n, 30.0)) for n in range(8)]
    assert place(FRAME, labels) == place(FRAME, labels)


def test_a_label_knows_its_own_size() -> None:
    one, two = Label(("wide words",), (0.0, 0.0)), Label(("wide words", "x"), (0.0, 0.0))
    assert one.width_mm == two.width_mm
    assert two.height_mm - one.height_mm == pytest.approx(1.2 * 3.5)
    assert math.isclose(one.height_mm, 3.5 * (0.8 + 0.24))
