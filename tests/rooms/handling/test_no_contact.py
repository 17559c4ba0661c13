"""Part and gripper moved through every step of random plans by another simulator: nothing is touched."""

from __future__ import annotations

import random
from collections.abc import Sequence

import pytest

from flangewise.handling.held import dones_of
from flangewise.handling.way import HeldStep
from flangewise.sequence import PricedStep

from ...how_many import one_in
from . import simulator
from .toys import GRIPPERS, LENGTH_MM, least, planner, problem_of

# What the two draw differently: arcs of no size, chords of a hull.
ALIKE_MM = 0.2
SECTIONS = 200


def _section(seed: int) -> tuple[list[float], list[float]]:
    """Legs and turns of a section of one to four bends, most of them near what can be bent and held."""
    drawn = random.Random(seed)
    bends = drawn.choice([1, 2, 2, 3, 3, 4])
    return (
        [drawn.choice([25.0, 35.0, 50.0, 80.0, 120.0]) + drawn.uniform(0, 10) for _ in range(bends + 1)],
        [drawn.choice([90.0, -90.0, 60.0, -60.0, 30.0]) for _ in range(bends)],
    )


def _walked(name: str, lengths: Sequence[float], turns: Sequence[float]) -> int:
    """A section planned with a gripper and walked through; how many steps were held."""
    problem = problem_of(lengths, turns)
    asked = planner(problem, GRIPPERS[name]())
    best = least(problem, asked)
    if best is None:
        return 0
    plan = best.priced_steps
    way, held = asked.way(plan), 0
    before: tuple[PricedStep, HeldStep] | None = None
    for step, done, told in zip(plan, dones_of(plan), way.steps, strict=True):
        if told.grip is not None and told.grip_out is not None:
            _step_is_clear(asked, lengths, turns, step, done, told)
            held += 1
        if before is not None and told.between == "in-hand":
            _turn_is_clear(asked, lengths, turns, before, told, done)
        before = step, told
    return held


def _lie(
    lengths: Sequence[float], turns: Sequence[float], step: PricedStep, done: int, half_deg: float
) -> simulator.Lain:
    made = {bend for bend in range(len(turns)) if done >> bend & 1}
    lies = {"marked_up": step.marked_up, "start_behind": step.start_behind}
    return simulator.lain(lengths, turns, made=made, bend=step.operation, half_deg=half_deg, **lies)


def _step_is_clear(
    asked: object, lengths: Sequence[float], turns: Sequence[float], step: PricedStep, done: int, told: HeldStep
) -> None:
    stack = asked.problem.operations[step.operation].options[step.option].hits[0].stack  # type: ignore[attr-defined]
    half, row = abs(turns[step.operation]) / 2, asked.shape.row  # type: ignore[attr-defined]
    grips = asked.grips[told.grip], asked.grips[told.grip_out]  # type: ignore[attr-defined]
    lies = {"marked_up": step.marked_up, "start_behind": step.start_behind}
    goes_with = told.within in ("follow", "float")
    for moment in range(simulator.MOMENTS + 1):
        held = (
            [grips[0]]
            if goes_with
            else [grips[0]]
            if moment == 0
            else [grips[1]]
            if moment == simulator.MOMENTS
            else []
        )
        at = half * moment / simulator.MOMENTS
        lie = _lie(lengths, turns, step, done, at)
        for grip in held:
            outline = asked.shape.body_mm(grip.kind)  # type: ignore[attr-defined]
            body = simulator.body_at(grip, outline, lie, **lies)
            tools = simulator.tool_shapes(stack.bodies, simulator.nose_up_mm(at))
            gaps = list(simulator.gaps_mm(body, grip, lie, tools[: len(stack.bodies)]))
            to_tools, to_part = gaps[: len(tools)], gaps[len(tools) :]
            assert min(to_tools) >= row.clear_mm - ALIKE_MM, (step, grip, moment, gaps)
            assert min(to_part, default=1.0) >= 1.0 - ALIKE_MM, (step, grip, moment, gaps)


def _turn_is_clear(
    asked: object,
    lengths: Sequence[float],
    turns: Sequence[float],
    before: tuple[PricedStep, HeldStep],
    told: HeldStep,
    done: int,
) -> None:
    step, was = before
    grip = asked.grips[was.grip_out]  # type: ignore[attr-defined]
    assert was.grip_out is not None and told.grip is not None
    made = {bend for bend in range(len(turns)) if done >> bend & 1}
    lies = {"marked_up": step.marked_up, "start_behind": step.start_behind}
    flat = simulator.lain(
        lengths,
        turns,
        made=made - {step.operation},
        bend=step.operation,
        half_deg=abs(turns[step.operation]) / 2,
        **lies,
    )
    if grip.kind == "end":
        return
    about = "approach" if grip.kind == "edge" else "normal"
    outline = asked.shape.body_mm(grip.kind)  # type: ignore[attr-defined]
    sizes = {"length_mm": LENGTH_MM, "pad_along_mm": asked.shape.wide_mm}
    assert simulator.turned_clear(flat, grip, outline, about=about, **sizes, **lies), (step, grip)


@pytest.mark.parametrize("name", GRIPPERS)
def test_a_held_part_touches_nothing_through_every_step_and_turn(name: str) -> None:
    numbers = range(0, SECTIONS, one_in(25))
    held = [_walked(name, *_section(seed)) for seed in numbers]
    assert len(held) >= 8
    assert sum(held) >= len(held) / 3, "enough of the steps are held for anything to be seen"


def test_the_simulator_sees_a_contact() -> None:
    """A jaw on the front leg of an angle, so near the bend that it comes under the punch."""
    problem = problem_of([60.0, 60.0], [90.0])
    asked = planner(problem, GRIPPERS["jaw"]())
    grip = next(each for each in asked.grips if each.kind == "edge" and each.toward_end)
    step = PricedStep(0, 0, None, True, True)
    told = HeldStep(0, 0, "pick", (), "follow", 0.0, 0.0)
    near = type(grip)("edge", 1, 18.0, True, True)
    fake = type("Asked", (), {"problem": problem, "shape": asked.shape, "grips": (near,)})()
    with pytest.raises(AssertionError):
        _step_is_clear(fake, [60.0, 60.0], [90.0], step, 0, told)
