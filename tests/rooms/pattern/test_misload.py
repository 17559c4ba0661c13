"""Silent misloads, held against brute force: the holes themselves laid in every way and compared as sets."""

import random
from dataclasses import replace
from itertools import product

import pytest

from flangewise.bend import bend_allowance
from flangewise.part import Part, Section
from flangewise.pattern import BendZone, FlatHole, FlatPattern, misloads
from flangewise.pattern.misload import looks_square

from ...each import of_each

PLAIN = Part("p", "DC01", 2.0, Section(180.0, (50.0, 50.0), (), None, "outside", ()), "")
FACED = replace(PLAIN, burr="marked")
GRAINED = replace(PLAIN, grain="along")


def line(at_mm: float) -> BendZone:
    return BendZone(
        1, "1", 1, 2, ((0.0, at_mm), (180.0, at_mm)), 90.0, True, 2.0, bend_allowance(2.0, 2.0, turn_deg=90)
    )


def sheet(size: tuple[float, float], holes: tuple[FlatHole, ...], lines: tuple[float, ...]) -> FlatPattern:
    """A blank (along, developed) with its holes and bend lines; nothing else of it is asked."""
    zones = tuple(line(at) for at in lines)
    return FlatPattern("p", 2.0, (), zones, (), holes, size[0] * size[1], 0.5, (), size[1], size[0])


def blank(
    *holes: tuple[float, float], size: tuple[float, float] = (180.0, 100.0), lines: tuple[float, ...] = (50.0,)
) -> FlatPattern:
    made = tuple(FlatHole(n, 1, at, 6.0, None) for n, at in enumerate(holes, start=1))
    return sheet(size, made, lines)


def ways(*args: tuple[float, float], part: Part = PLAIN, **more: object) -> set[str]:
    return {each.way for each in misloads(blank(*args, **more), part)}  # type: ignore[arg-type]


def test_one_hole_off_centre_in_a_rectangle_has_three_silent_misloads() -> None:
    assert ways((40.0, 30.0)) == {"turned-180", "over-bed", "over-front"}


def test_one_hole_off_centre_in_a_square_has_seven() -> None:
    assert len(ways((40.0, 30.0), size=(100.0, 100.0))) == 7


def test_a_hole_in_the_middle_is_alike_from_all_sides() -> None:
    assert ways((90.0, 50.0)) == set()


def test_a_hole_on_the_middle_line_tells_some_ways_only() -> None:
    assert ways((90.0, 30.0)) == {"turned-180", "over-bed"}
    assert ways((40.0, 50.0)) == {"turned-180", "over-front"}


def test_two_holes_that_change_places_tell_nothing_by_that_turn() -> None:
    assert ways((40.0, 30.0), (140.0, 70.0)) == {"over-bed", "over-front"}


def test_holes_of_another_size_are_no_match() -> None:
    holes = (FlatHole(1, 1, (40.0, 30.0), 6.0, None), FlatHole(2, 1, (140.0, 70.0), 8.0, None))
    found = misloads(sheet((180.0, 100.0), holes, (50.0,)), PLAIN)
    assert "turned-180" in {each.way for each in found}


def test_without_holes_only_the_face_tells() -> None:
    found = misloads(blank(), FACED)
    assert {each.way for each in found} == {"over-bed", "over-front"}
    assert all(each.face and each.hole is None for each in found)


def test_without_holes_and_faces_nothing_tells_but_lines_off_the_middle() -> None:
    assert ways() == set()
    assert ways(lines=(20.0,)) == {"turned-180", "over-bed"}


def test_a_square_with_grain_can_be_laid_across_it() -> None:
    found = misloads(blank(size=(100.0, 100.0)), GRAINED)
    assert {each.way for each in found if each.grain} == {
        "turned-90",
        "turned-270",
        "over-diagonal-1",
        "over-diagonal-2",
    }


@pytest.mark.parametrize(
    ("size", "told"), [((90.0, 89.97), False), ((90.0, 89.91), False), ((90.0, 89.8), True), ((90.0, 88.0), True)]
)
def test_a_quarter_turn_of_sides_alike_gives_the_same_part(size: tuple[float, float], told: bool) -> None:
    quarter = {"turned-90", "turned-270", "over-diagonal-1", "over-diagonal-2"}
    assert (ways(size=size) & quarter == quarter) is told
    grained = misloads(blank(size=size), GRAINED)
    assert {each.lines for each in grained if each.way in quarter} == {told}


@pytest.mark.parametrize(
    ("size", "square"),
    [((118.0, 120.0), True), ((100.0, 102.9), True), ((100.0, 104.0), False), ((1000.0, 1029.0), True)],
)
def test_sides_look_equal_within_3_mm_or_3_percent(size: tuple[float, float], square: bool) -> None:
    assert looks_square(blank(size=size)) is square


def brute_force(found: FlatPattern) -> set[str]:
    """Each way as two swaps of sign, the holes moved and compared as rounded sets."""
    names = {(-1, -1): "turned-180", (1, -1): "over-bed", (-1, 1): "over-front"}

    def moved(along: int, deep: int) -> set[tuple[float, float]]:
        middle = (found.along_bends_mm / 2, found.developed_mm / 2)
        places = (
            (middle[0] + along * (x - middle[0]), middle[1] + deep * (y - middle[1]))
            for x, y in (h.centre_mm for h in found.holes)
        )
        return {(round(x, 3) + 0.0, round(y, 3) + 0.0) for x, y in places}

    right = moved(1, 1)
    return {names[pair] for pair in product((1, -1), repeat=2) if pair != (1, 1) and moved(*pair) != right}


@of_each(range(60))
def test_random_holes_agree_with_brute_force(seed: int) -> None:
    dice = random.Random(seed)
    grid = [(x, y) for x in (30.0, 90.0, 150.0) for y in (20.0, 50.0, 80.0)]
    made = blank(*dice.sample(grid, dice.randint(1, 6)))
    assert {each.way for each in misloads(made, PLAIN)} == brute_force(made)


def test_the_telling_hole_is_the_one_that_lands_furthest_from_its_like() -> None:
    made = blank((89.0, 50.0), (40.0, 30.0))
    found = {each.way: each.hole for each in misloads(made, PLAIN)}
    assert found["turned-180"] is not None and found["turned-180"].number == 2
