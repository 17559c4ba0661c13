"""Segments put together to a length: as few as reach it, and how they are laid out."""

from __future__ import annotations

import itertools

import pytest

from flangewise.punch_die import SegmentUse, cover
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


@pytest.mark.parametrize("least", range(10, 475, 35))
def test_no_way_takes_fewer_segments_or_as_few_with_less_overhang(least: int) -> None:
    """Against all subsets of the set, counted out."""
    plain = [segment.length_mm for segment in SET if segment.ear is None]
    ways = [(count, sum(each)) for count in range(1, 8) for each in itertools.combinations(plain, count)]
    taken = lengths(cover(SET, least, most_mm=900))
    assert (len(taken), sum(taken)) == min(way for way in ways if way[1] >= least)


def test_the_longest_stands_in_the_middle() -> None:
    placed = lengths(cover(SET, 470, most_mm=900))
    assert placed.index(220) == len(placed) // 2
    assert placed[0] < placed[1] and placed[-1] < placed[-2]


def test_an_ear_stands_at_its_own_end() -> None:
    made = cover(SET, 620, most_mm=900)
    assert (made[0], made[-1]) == (SegmentUse(75, "left"), SegmentUse(75, "right"))
    assert [use.text for use in made if use.ear] == ["ear 75 left", "ear 75 right"]


def test_nothing_held_makes_nothing() -> None:
    assert cover((), 100, most_mm=900) == ()


def test_half_millimetres_are_kept() -> None:
    made = cover((*set_of(mm10=2), Segment(length_mm=12.5, held=1)), 22.4, most_mm=900)
    assert sorted(lengths(made)) == [10, 12.5]


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
