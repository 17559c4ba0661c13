"""Segments put together to a length: what a set makes, what it does not, and how it is laid out."""

from __future__ import annotations

import itertools

import pytest

from flangewise.punch_die import SegmentUse, cover, make_length
from flangewise.punch_die.segments import held_mm
from flangewise.shop import Segment


def set_of(**held: int) -> tuple[Segment, ...]:
    """A set written `mm20=1`, an ear written `left75=1`."""
    made = []
    for name, count in held.items():
        kind, length = name.rstrip("0123456789"), float(name.lstrip("abcdefghijklmnopqrstuvwxyz"))
        ear = kind if kind in ("left", "right") else None
        made.append(Segment(length_mm=length, held=count, ear=ear))
    return tuple(made)


SET = set_of(mm10=1, mm15=1, mm20=1, mm35=1, mm60=1, mm110=1, mm220=1, left75=1, right75=1)


def lengths(uses: tuple[SegmentUse, ...]) -> list[float]:
    return [use.length_mm for use in uses]


def test_one_set_is_620_long_and_470_without_its_ears() -> None:
    assert held_mm(SET) == 620
    assert held_mm(segment for segment in SET if segment.ear is None) == 470


def test_580_cannot_be_made_from_one_set_and_its_neighbours_are_575_and_585() -> None:
    made = make_length(SET, 580)
    assert made.segments == ()
    assert (made.below_mm, made.above_mm) == (575, 585)


@pytest.mark.parametrize("wanted", [40, 580, 615])
def test_what_one_set_misses_with_its_ears(wanted: int) -> None:
    assert make_length(SET, wanted).segments == ()


@pytest.mark.parametrize("wanted", [40, 100, 150, 210, 260, 320, 370, 430, 465])
def test_what_one_set_misses_without_its_ears(wanted: int) -> None:
    assert make_length(SET, wanted, with_ears=False).segments == ()


def test_every_other_multiple_of_5_is_made_and_adds_up() -> None:
    for wanted in range(10, 625, 5):
        if wanted not in (40, 580, 615):
            assert sum(lengths(make_length(SET, wanted).segments)) == wanted


@pytest.mark.parametrize("wanted", range(10, 475, 35))
def test_no_way_takes_fewer_segments(wanted: int) -> None:
    """Against all subsets of the set, counted out."""
    plain = [segment.length_mm for segment in SET if segment.ear is None]
    ways = [count for count in range(1, 8) for subset in itertools.combinations(plain, count) if sum(subset) == wanted]
    made = make_length(SET, wanted, with_ears=False)
    assert len(made.segments) == min(ways, default=0)


def test_the_longest_stands_in_the_middle() -> None:
    made = make_length(SET, 10 + 20 + 60 + 110 + 220, with_ears=False)
    placed = lengths(made.segments)
    assert placed.index(220) == len(placed) // 2
    assert placed[0] < placed[1] and placed[-1] < placed[-2]


def test_an_ear_stands_at_its_own_end() -> None:
    made = make_length(SET, 620)
    assert made.segments[0] == SegmentUse(75, "left")
    assert made.segments[-1] == SegmentUse(75, "right")
    assert [use.text for use in made.segments if use.ear] == ["ear 75 left", "ear 75 right"]


def test_a_length_shorter_than_the_shortest_segment_has_only_a_neighbour_above() -> None:
    made = make_length(SET, 5)
    assert (made.segments, made.below_mm, made.above_mm) == ((), None, 10)


def test_more_than_all_segments_has_only_a_neighbour_below() -> None:
    made = make_length(SET, 700)
    assert (made.segments, made.below_mm, made.above_mm) == ((), 620, None)


def test_nothing_held_makes_nothing() -> None:
    made = make_length((), 100)
    assert (made.segments, made.below_mm, made.above_mm) == ((), None, None)


@pytest.mark.parametrize("wanted", [0, -5, float("nan")])
def test_no_length_is_no_tool(wanted: float) -> None:
    with pytest.raises(ValueError, match="above 0"):
        make_length(SET, wanted)


def test_half_millimetres_are_kept() -> None:
    made = make_length((*set_of(mm10=2), Segment(length_mm=12.5, held=1)), 22.5)
    assert sorted(lengths(made.segments)) == [10, 12.5]


def test_one_longer_segment_is_taken_rather_than_three_that_fit() -> None:
    assert lengths(cover(SET, 180, most_mm=900)) == [220]


def test_of_as_few_segments_the_least_overhang_is_taken() -> None:
    assert lengths(cover(SET, 55, most_mm=900)) == [60]


def test_ears_are_left_alone_where_plain_segments_reach() -> None:
    assert all(use.ear is None for use in cover(SET, 470, most_mm=900))


def test_ears_are_taken_where_plain_segments_do_not_reach() -> None:
    assert sum(lengths(cover(SET, 500, most_mm=900))) >= 500
    assert any(use.ear for use in cover(SET, 500, most_mm=900))


def test_a_bend_longer_than_all_segments_gets_no_tool() -> None:
    assert cover(SET, 621, most_mm=900) == ()


def test_tools_a_little_short_of_a_long_bend_do_where_the_shop_says_so() -> None:
    assert sum(lengths(cover(SET, 624, most_mm=900, short_mm=5))) == 620
    assert cover(SET, 626, most_mm=900, short_mm=5) == ()


def test_no_tool_is_longer_than_the_bed() -> None:
    assert sum(lengths(cover(SET, 190, most_mm=200))) <= 200
    assert cover(SET, 210, most_mm=200) == ()


def test_long_bars_are_put_end_to_end() -> None:
    bars = set_of(mm700=4, mm220=2, mm110=2)
    # Three bars are 2,100; two of them and one 220 are 1,620, so no other three pieces reach 1,900.
    assert lengths(cover(bars, 1900, most_mm=2900)) == [700, 700, 700]
