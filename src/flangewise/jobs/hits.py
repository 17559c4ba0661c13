"""The steps of an order as what the machine is set up for: which pair, which way, how far the part swings."""

from __future__ import annotations

import math

from flangewise.jobs.order import Ordered
from flangewise.jobs.problem import Choice
from flangewise.part import Part
from flangewise.punch_die import PunchDie
from flangewise.sequence import Step
from flangewise.setup import Chosen


def choice_of(ordered: Ordered, step: Step) -> Choice:
    """The pair, and whether it is turned, that a step of the order takes."""
    return ordered.offered[int(step.label)][step.option]


def pairs_of(ordered: Ordered) -> dict[int, PunchDie]:
    """The pair in use for each bend of the order."""
    return {int(step.label): choice_of(ordered, step).pair for step in ordered.solution.steps}


def chosen_hits(part: Part, ordered: Ordered) -> tuple[Chosen, ...]:
    """The steps of the order, each with its pairs and the reach of the swinging part."""
    turns_deg = {bend.number: bend.turn_deg for bend in part.section.bends}
    return tuple(_chosen(ordered, step, turns_deg[int(step.label)]) for step in ordered.solution.steps)


def _chosen(ordered: Ordered, step: Step, finished_turn_deg: float) -> Chosen:
    choice = choice_of(ordered, step)
    pairs = (choice.pair,) if choice.pair.then is None else (choice.pair, choice.pair.then)
    return Chosen(
        step=step,
        bends=(int(step.label),),
        pairs=pairs,
        turned=choice.turned,
        finished_turn_deg=finished_turn_deg,
        swing_mm=max(math.hypot(across, up) for across, up in step.before_mm),
    )
