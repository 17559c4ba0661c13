"""Scales that can be said, and rulers with a length left out."""

import itertools

import pytest
from hypothesis import given, strategies as st

from flangewise.drawing import SCALES, ruler, scale_for
from flangewise.drawing.view import BREAK_MM, KEPT_MM


@pytest.mark.parametrize(
    ("length", "room", "scale"), [(100, 100, 1.0), (100, 99, 0.8), (180, 70, 1 / 3), (10, 70, 6.0)]
)
def test_the_largest_scale_that_fits(length: float, room: float, scale: float) -> None:
    assert scale_for(length, room) == pytest.approx(scale)


def test_small_things_are_not_drawn_larger_than_asked() -> None:
    assert scale_for(1.0, 100.0, largest=4.0) == 4.0


def test_what_fits_no_scale_gets_the_smallest() -> None:
    assert scale_for(1e6, 10.0) == SCALES[0]


def test_a_length_that_fits_is_whole() -> None:
    whole = ruler(100.0, 120.0, scale=1.0)
    assert whole is not None
    assert whole.breaks_mm() == ()
    assert (whole.paper_mm(0.0), whole.paper_mm(37.0), whole.length_mm) == (0.0, 37.0, 100.0)


def test_a_long_bare_length_is_broken_once_in_its_middle() -> None:
    broken = ruler(1000.0, 120.0, scale=1.0)
    assert broken is not None
    assert broken.length_mm == pytest.approx(120.0)
    assert len(broken.breaks_mm()) == 1
    assert broken.paper_mm(1000.0) == pytest.approx(120.0)
    assert broken.paper_mm(10.0) == pytest.approx(10.0)
    assert broken.paper_mm(990.0) == pytest.approx(110.0)


def test_what_is_kept_is_never_cut() -> None:
    keep = [(480.0, 520.0)]
    broken = ruler(1000.0, 120.0, scale=1.0, keep=keep)
    assert broken is not None
    assert len(broken.breaks_mm()) == 2
    assert broken.paper_mm(520.0) - broken.paper_mm(480.0) == pytest.approx(40.0)


def test_too_much_to_keep_makes_none() -> None:
    assert ruler(1000.0, 120.0, scale=1.0, keep=[(0.0, 500.0)]) is None


def test_a_place_left_out_stands_at_the_edge_of_its_break() -> None:
    broken = ruler(1000.0, 120.0, scale=1.0)
    assert broken is not None
    ((end, start),) = broken.breaks_mm()
    assert start - end == pytest.approx(BREAK_MM)
    assert end <= broken.paper_mm(500.0) <= start


@given(
    length=st.floats(10, 5000),
    room=st.floats(40, 200),
    keep=st.lists(st.tuples(st.floats(0, 1), st.floats(0.001, 0.02)), max_size=4),
)
def test_a_ruler_fits_and_measures_true(length: float, room: float, keep: list[tuple[float, float]]) -> None:
    kept = [(length * at, min(length, length * (at + wide))) for at, wide in keep]
    for scale in (2.0, 1.0, 0.25, 0.05):
        made = ruler(length, room, scale=scale, keep=kept)
        if made is None:
            continue
        assert made.length_mm <= room + 1e-6 or length * scale <= room
        places = [length * step / 50 for step in range(51)]
        papers = [made.paper_mm(place) for place in places]
        assert all(before <= after + 1e-9 for before, after in itertools.pairwise(papers))
        for start, end in kept:
            assert made.paper_mm(end) - made.paper_mm(start) == pytest.approx((end - start) * scale, abs=1e-6)
        for piece in made.pieces:
            if len(made.pieces) > 1:
                assert (piece.to_mm - piece.from_mm) * scale >= KEPT_MM - 1e-6
