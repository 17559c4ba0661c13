"""Sections, tools and grippers that a person can follow with pencil and compasses."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from flangewise.geometry import Outline
from flangewise.handling import GripPlanner, HeldPart, Rise, rise_of
from flangewise.sequence import Solution, least_priced, shapes_of, solve, stroke_of
from flangewise.sequence.problem import SectionProblem
from flangewise.shop import Gripper, Handler, load_shop

from ..sequence.conftest import toy_problem, with_times

LENGTH_MM = 200.0


def outline(*points: tuple[float, float]) -> Outline:
    """An outline of straight lines."""
    return Outline(points, (0.0,) * len(points))


def robot(gripper: Gripper, **changes: object) -> Handler:
    """The built-in robot with another gripper."""
    return load_shop().handlers["robot"].model_copy(update={"gripper": gripper, **changes})


def built_in() -> Gripper:
    """The built-in robot's own gripper."""
    gripper = load_shop().handlers["robot"].gripper
    assert gripper is not None
    return gripper


def slim_jaw() -> Gripper:
    """A jaw 15 deep that holds edges alone, turns nothing and goes with the sheet or lets go."""
    body = outline((-7.5, -6), (7.5, -6), (150, -12), (150, 12), (7.5, 6), (-7.5, 6))
    changes = {"pad_across_mm": 15.0, "pad_along_mm": 60.0, "outline_mm": body, "end_outline_mm": None}
    changes |= {"may_hold": ("edge",), "arm_turns": ("approach",), "turning": ()}
    return built_in().model_copy(update=changes)


def cups() -> Gripper:
    """Four cups of 20 under a plate 40 high, from above or below, turned by arm and gripper."""
    body = outline((-30, 0), (30, 0), (30, 40), (15, 40), (15, 120), (-15, 120), (-15, 40), (-30, 40))
    changes: dict[str, object] = {"kind": "cups", "pad_across_mm": 20.0, "pad_along_mm": 20.0, "rows_across": 2}
    changes |= {"rows_along": 2, "spacing_mm": 35.0, "outline_mm": body, "end_outline_mm": None, "holding_n": 400.0}
    changes |= {"may_hold": ("above", "below"), "arm_turns": ("normal", "across"), "friction": 0.3}
    return built_in().model_copy(update=changes)


GRIPPERS = {"jaw": built_in, "slim": slim_jaw, "cups": cups}


def planner(
    problem: SectionProblem, gripper: Gripper, *, length_mm: float = LENGTH_MM, **changes: object
) -> GripPlanner:
    """What asks the grips of a toy problem; the sheet is steel."""
    chain = problem.chain
    mass_kg = 7.85e-6 * chain.developed_mm * chain.thickness_mm * length_mm

    def rise(operation: int, option: int) -> Rise:
        own = problem.operations[operation]
        return rise_of(stroke_of(chain, own, own.options[option].hits[0]), None, None)

    part = HeldPart(chain, length_mm, mass_kg)
    return GripPlanner(problem, part, robot(gripper, **changes), rise, opening_mm=chain.thickness_mm + 20.0)


def problem_of(lengths: Sequence[float], turns: Sequence[float]) -> SectionProblem:
    """A toy section whose strokes take their time."""
    return with_times(toy_problem(lengths, turns))


def least(problem: SectionProblem, asked: GripPlanner) -> Solution | None:
    """The least plan with its grips, None where the section can not be bent at all."""
    base = solve(problem)
    if not base.feasible:
        return None
    known = replace(base, cost=(base.cost or 0.0) + asked.more_s(base.priced_steps))
    shapes = shapes_of(problem)
    return least_priced(problem, shapes, known, asked.more_s, always_s=0.0, bound=base, in_part=True)
