"""A picture that grows until its labels fit."""

from flangewise.drawing import Drawing, Label, Line
from flangewise.drawing.label_room import GROWTH_MM, with_room_for_labels

WORDS = Label(("some words",), (20.0, 5.0))


def test_a_picture_with_room_does_not_grow() -> None:
    drawing = with_room_for_labels(lambda growth: (Drawing(60.0, 20.0 + growth), [WORDS]))()
    assert drawing.height_mm == 20.0
    assert [text.words for text in drawing.texts()] == ["some words"]


def test_a_full_picture_grows_just_as_far_as_it_must() -> None:
    def build(growth: float) -> tuple[Drawing, list[Label]]:
        full = [Line(((0.0, float(y)), (60.0, float(y)))) for y in range(21)]
        return Drawing(60.0, 20.0 + growth, tuple(full)), [WORDS]

    drawing = with_room_for_labels(build)()
    assert drawing.height_mm == 20.0 + GROWTH_MM[1]
    assert len(drawing.texts()) == 1


def test_words_that_never_fit_are_left_out_rather_than_laid_over_lines() -> None:
    full = [Line(((0.0, float(y)), (60.0, float(y)))) for y in range(100)]
    drawing = with_room_for_labels(lambda growth: (Drawing(60.0, 20.0 + growth, tuple(full)), [WORDS]))()
    assert drawing.texts() == ()


def test_a_label_without_room_goes_first_the_second_time() -> None:
    wall = Line(((0.0, 7.0), (60.0, 7.0)))
    large = Label(("the only place for this is up here",), (30.0, 3.5), 3.0, led=False)
    greedy = Label(("x",), (30.0, 3.5), 3.0, led=False)
    drawing = with_room_for_labels(lambda growth: (Drawing(60.0, 14.0 + growth, (wall,)), [greedy, large]))()
    assert {text.words for text in drawing.texts()} == {"x", "the only place for this is up here"}
    assert drawing.height_mm == 14.0
