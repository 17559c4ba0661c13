"""Which region belongs to which hit."""

from __future__ import annotations

import numpy as np
import pytest

from flangewise.clearance import Body, ToolStack
from flangewise.geometry import Chain
from flangewise.sequence import Hit, Operation, SectionProblem, ToolOption, solve
from flangewise.sequence.feasibility import FeasibilityTable
from flangewise.sequence.moves import END, START
from flangewise.sequence.regions import Regions, leg_is_at_end, offset_fits, offset_span_mm, side_up, stroke_of

from ..geometry.by_hand import from_the_end

ZONE = np.pi / 2 * (1 + 0.45 * 1.5)
STEP = Chain((27.5, 0.5, 57.5), (ZONE, ZONE), (90.0, -90.0), (1.0, 1.0), 1.5)
LAND = Body("die", ((-1, 0), (-14, 0), (-14, -76), (14, -76), (14, -4), (-1, -4)), False)
UPPER = Body("punch", ((1, 0), (12, 0), (12, 104), (-12, 104), (-12, 4), (1, 4)), True)


def step_problem(chain: Chain = STEP, *, stack: ToolStack | None = None) -> SectionProblem:
    stack = stack or ToolStack("step", "p", "d", 0.0, 0.0, (LAND, UPPER), levels_mm=(0.0, -4.0))
    return SectionProblem(chain, (Operation("1", (0, 1), (ToolOption((Hit(stack, 0.0, 1.0, "offset"),)),)),))


def test_symmetric_stacks_share_one_region(toy, gooseneck):
    plain, relieved = toy([30, 60, 30], [90, 90]), toy([30, 60, 30], [90, 90], stack=gooseneck)
    for problem, shared in ((plain, True), (relieved, False)):
        operation = problem.operations[0]
        regions = Regions(problem.chain)
        sides = regions.of(operation, operation.options[0].hits[0], behind=START)
        assert (sides.front is sides.behind) is shared
        again = regions.of(problem.operations[1], problem.operations[1].options[0].hits[0], behind=END)
        assert again.front is sides.front, "the same stroke with the same tools is swept once"


def test_sharp_chains_are_swung_with_sharp_corners(toy, bend_all, stack):
    sharp = toy([30, 60], [90])
    assert stroke_of(sharp.chain, sharp.operations[0], sharp.operations[0].options[0].hits[0]).radius_mm == -0.75
    round_one = bend_all(Chain((30.0, 60.0), (4.0,), (90.0,), (2.0,), 1.5), [stack()], over_deg=3.0)
    stroke = stroke_of(round_one.chain, round_one.operations[0], round_one.operations[0].options[0].hits[0])
    assert (stroke.radius_mm, stroke.zone_mm, stroke.half_turn_deg) == (2.0, 4.0, 46.5)


def test_which_face_is_up(toy):
    problem = toy([30, 60, 30], [90, -90])
    assert [side_up(problem, operation) for operation in problem.operations] == [True, False]
    assert side_up(step_problem(), step_problem().operations[0]) is None


@pytest.mark.parametrize(("up", "behind", "fits"), [(True, END, True), (False, START, True), (True, START, False)])
def test_an_offset_fits_its_tools_in_two_of_four_poses(up, behind, fits):
    problem = step_problem()
    operation = problem.operations[0]
    assert offset_fits(problem, operation, operation.options[0].hits[0], marked_up=up, behind=behind) is fits


def test_span_of_an_offset():
    operation = step_problem().operations[0]
    flat, formed = (offset_span_mm(STEP, operation, bent=bent) for bent in (False, True))
    assert flat == pytest.approx((2 * ZONE + 0.5, 0.0))
    assert formed == pytest.approx((2 * 1.75, 2 * 1.75 + 0.5))


def test_an_offset_is_pressed_and_its_long_leg_may_hang():
    assert len(FeasibilityTable(step_problem()).candidates[0]) == 2
    solution = solve(step_problem())
    assert solution.feasible is True and solution.steps[0].clearance_mm is None


@pytest.mark.parametrize(("turn", "up"), [(90.0, True), (-90.0, False)])
def test_a_flange_near_the_step_must_stand_not_hang(turn, up):
    # its leg is at 1.75 + 11 + 1.75 from the step: clear of the punch (12 + 0.7), not of the die (14 + 0.7)
    chain = Chain((57.5, 0.5, 11.0, 20.0), (ZONE, ZONE, ZONE), (-90.0, 90.0, turn), (1.0,) * 3, 1.5)
    bare = ToolStack("bare", "q", "e", 12.0, 1.0, ())
    operations = (
        Operation("1", (0, 1), step_problem().operations[0].options),
        Operation("2", (2,), (ToolOption((Hit(bare, 92.0, 1.0),)),)),
    )
    solution = solve(SectionProblem(chain, operations, order=(1, 0)))
    assert solution.feasible is True and solution.steps[1].marked_up is up
    poses = [
        way for way in FeasibilityTable(SectionProblem(chain, operations)).candidates[0] if way.marked_up is not up
    ]
    assert poses
    table = FeasibilityTable(SectionProblem(chain, operations))
    assert all(table.strikes(way, np.array([2]))[0] for way in poses)


def hem_problem(*, plates: tuple[Body, ...], leg_end: bool = False) -> SectionProblem:
    chain = Chain((12.0, 40.0, 25.0), (2.4, ZONE), (180.0, 90.0), (0.0, 1.0), 1.5)
    chain = from_the_end(chain) if leg_end else chain
    acute, flat = ToolStack("acute", "a", "v", 16.0, 1.0, ()), ToolStack("flat", "f", "g", 0.0, 0.0, plates)
    hem = Operation("h", (0,), (ToolOption((Hit(acute, 150.0, 1.0), Hit(flat, 180.0, 0.0, "press"))),))
    bend = Operation("b", (1,), (ToolOption((Hit(acute, 92.0, 1.0),)),))
    first, second = (bend, hem) if leg_end else (hem, bend)
    return SectionProblem(
        chain, (Operation("1", (0,), first.options), Operation("2", (1,), second.options)), check_self=False
    )


@pytest.mark.parametrize("leg_end", [False, True])
def test_a_hem_is_flattened_before_a_flange_stands_under_the_plate(leg_end):
    upper = Body("punch", ((-60, 0), (60, 0), (60, 40), (-60, 40)), True)
    lower = Body("die", ((-60, 0), (60, 0), (60, -60), (-60, -60)), False)
    problem = hem_problem(plates=(upper, lower), leg_end=leg_end)
    hem = 1 if leg_end else 0
    assert leg_is_at_end(problem.chain, problem.operations[hem]) is leg_end
    solution = solve(problem)
    assert solution.feasible is True and solution.order[0] == hem
    assert solution.steps[0].stacks[1].name == "flat" and len(solution.steps[0].stacks) == 2
