"""Grips keep off bends, holes and edges; forces, turning room and seating as they are asked of them."""

from __future__ import annotations

import math
import random

import pytest

from flangewise.geometry import done_angles, section_path
from flangewise.handling.gripper import Grip, GripperShape, HeldPart, Hole, grips_of
from flangewise.handling.seating import buckling_n, seating
from flangewise.handling.turning_room import may_turn
from flangewise.sequence import Candidate

from ...how_many import one_in
from ..geometry.by_hand import sharp_chain
from .toys import GRIPPERS, built_in, cups, planner, problem_of, slim_jaw

SECTIONS = 200


def _section(seed: int) -> tuple[list[float], list[float]]:
    drawn = random.Random(seed)
    bends = drawn.choice([1, 2, 3, 4])
    return [drawn.uniform(15, 130) for _ in range(bends + 1)], [drawn.choice([90.0, -90.0, 45.0]) for _ in range(bends)]


def _stretch(kind: str, name: str) -> float:
    """How much of a flat the pads of a toy take up, from their drawings."""
    return {"jaw": {"edge": 25.0, "end": 80.0}, "slim": {"edge": 15.0}, "cups": {"face": 55.0}}[name][kind]


@pytest.mark.parametrize("name", GRIPPERS)
def test_grips_never_lie_across_a_bend(name: str) -> None:
    """Of every grip that holds at a step the pads lie on one flat, V/2 + t + 3 off the bend that is made."""
    held = 0
    for seed in range(0, SECTIONS, one_in(8)):
        lengths, turns = _section(seed)
        asked = planner(problem_of(lengths, turns), GRIPPERS[name]())
        count = len(turns)
        for bend in range(count):
            for done in (0, ((1 << count) - 1) & ~(1 << bend)):
                for behind in (0, 1):
                    way = Candidate(bend, 0, turns[bend] >= 0, behind)
                    grips = asked.table.at(way, done)
                    for grip, usable in zip(asked.grips, grips.load | grips.through | grips.out, strict=True):
                        if not usable:
                            continue
                        held += 1
                        half = _stretch(grip.kind, name) / 2
                        low, high = grip.at_mm - half, lengths[grip.flat] - grip.at_mm - half
                        beside = [mm for zone, mm in ((grip.flat - 1, low), (grip.flat, high)) if zone == bend]
                        assert min(low, high) >= -1e-6
                        assert all(mm >= 6.0 + 1.5 + 3.0 - 1e-6 for mm in beside), (seed, grip, bend)
                        in_front = (grip.flat > bend) == (behind == 0)
                        assert in_front or grip.kind == "end"
    assert held > 20


def test_a_hole_under_the_pads_moves_them_along_the_bed_and_a_row_of_holes_takes_them_away() -> None:
    chain = sharp_chain([60.0, 60.0], [90.0], thickness_mm=1.5)
    shape = GripperShape(slim_jaw())

    def held(*holes: Hole) -> list[float]:
        part = HeldPart(chain, 200.0, 0.3, holes)
        return [grip.beside_mm for grip in grips_of(part, shape) if grip.flat == 0]

    middle = Hole(0, 0.0, 8.0, 5.0, 5.0)
    assert held() == [0.0]
    # Half the hole, 5 free and half of the 60 of pad.
    assert held(middle) == [-40.0]
    assert held(middle, Hole(0, -70.0, 8.0, 5.0, 5.0), Hole(0, 70.0, 8.0, 5.0, 5.0)) == []
    # One further than the pad is deep and 5 more is in nobody's way.
    assert held(Hole(0, 0.0, 26.0, 5.0, 5.0)) == [0.0]


def test_a_weak_gripper_is_told_to_be_weak_and_an_unknown_one_is_not_reckoned() -> None:
    problem = problem_of([60.0, 60.0], [90.0])
    way = Candidate(0, 0, True, 0)
    weak = planner(problem, built_in().model_copy(update={"holding_n": 1.0}))
    assert "force" in weak.table.at(way, 0).against and not weak.table.at(way, 0).through.any()
    light = planner(problem, built_in().model_copy(update={"payload_kg": 4.0}))
    assert "payload" in light.table.at(way, 0).against
    unknown = planner(problem, built_in().model_copy(update={"friction": None, "holding_n": None}))
    assert unknown.table.at(way, 0).through.any()
    assert {each.holds for each in unknown.table.strengths(0)} == {None}


def test_a_leg_that_stands_about_the_arm_keeps_the_part_from_turning() -> None:
    """A leg that comes back over the arm goes round it 40 off; the arm, 20 high and 40 wide each way, is in its way.

    62 off it passes.
    """
    shape = GripperShape(built_in())

    def turns(web_mm: float, done: set[int]) -> bool:
        chain = sharp_chain([40.0, web_mm, 90.0], [90.0, 90.0], thickness_mm=1.5)
        part = HeldPart(chain, 200.0, 0.5)
        grips = grips_of(part, shape)
        (edge,) = (n for n, grip in enumerate(grips) if grip.kind == "edge" and not grip.toward_end)
        return may_turn(grips, shape, part, section_path(chain, done_angles(chain, done)))[edge]

    assert turns(40.0, set()) and turns(62.0, {0, 1})
    assert not turns(40.0, {0, 1})


def test_room_round_the_axis_is_the_parts_own_diagonal() -> None:
    """A flat part of 200 held at an edge turns about its middle: it reaches 100 to each side."""
    chain = sharp_chain([60.0, 60.0], [90.0], thickness_mm=1.5)
    part = HeldPart(chain, 200.0, 0.3)
    turning = built_in().turning[0]

    def turns(room_mm: float) -> bool:
        row = slim_jaw().model_copy(update={"turning": (turning.model_copy(update={"room_mm": room_mm}),)})
        shape = GripperShape(row)
        return may_turn(grips_of(part, shape), shape, part, section_path(chain, (0.0,)))[0]

    assert turns(100.5) and not turns(99.5)


def test_a_strip_buckles_by_euler() -> None:
    """pi^2 E I / L^2 for 210000 MPa, 250 x 0.8 x 300 without sideways strain, and 1/(1 - nu^2) of it more."""
    bar = math.pi**2 * 210_000 * 250 * 0.8**3 / 12 / 300**2
    sizes = {"along_mm": 250.0, "thickness_mm": 0.8, "free_mm": 300.0, "modulus_mpa": 210_000.0}
    assert buckling_n(poisson=0.0, **sizes) == pytest.approx(bar)
    assert buckling_n(poisson=0.3, **sizes) == pytest.approx(bar / 0.91)
    seat = {"push_n": 200.0, "found_by": None, "retries": 2, "stop_repeat_mm": 0.05, "fingers_apart_mm": 200.0}
    found = seating(poisson=0.3, **sizes, **seat)  # type: ignore[arg-type]
    assert found.keeps is (found.most_n >= 200.0)
    # Stops 0.05 off to either side turn the edge by 0.1 in 200.
    assert found.askew_mm_per_m == pytest.approx(0.5)
    assert seating(poisson=0.3, **sizes, **(seat | {"push_n": None})).keeps is None  # type: ignore[arg-type]


def test_a_flat_that_rises_slowly_beside_the_cups_is_met_as_the_part_turns() -> None:
    """Cups of 60 by 55 sweep hypot(30, 27.5) = 40.7 about their middle: at 30 degrees a flat 39 from it comes into it
    less high than is kept from the body."""
    asked = planner(problem_of([80.0, 120.0], [30.0]), cups())
    sides = [Grip("face", 1, 39.0, marked, True, 0.0) for marked in (True, False)]
    free = [Grip("face", 1, 60.0, marked, True, 0.0) for marked in (True, False)]
    assert sorted(may_turn(sides, asked.shape, asked.part, asked.path(1))) == [False, True]
    assert may_turn(free, asked.shape, asked.part, asked.path(1)) == [True, True]
