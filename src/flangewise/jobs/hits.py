"""The steps of an order as what the machine is set up for: which pair, which way, how far the part swings."""

from __future__ import annotations

from flangewise.bend import angle_tolerance_deg, linear_tolerance_mm
from flangewise.jobs.order import Ordered
from flangewise.jobs.problem import Choice
from flangewise.jobs.wishes import outside_legs_mm
from flangewise.part import Part, WantedBend
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
    bends = {bend.number: bend for bend in part.section.bends}
    return tuple(_chosen(ordered, step, part, bends[int(step.label)]) for step in ordered.solution.steps)


def _chosen(ordered: Ordered, step: Step, part: Part, bend: WantedBend) -> Chosen:
    choice = choice_of(ordered, step)
    pairs = (choice.pair,) if choice.pair.then is None else (choice.pair, choice.pair.then)
    return Chosen(
        step=step,
        bends=(int(step.label),),
        pairs=pairs,
        turned=choice.turned,
        finished_turn_deg=bend.turn_deg,
        swing_mm=step.reach_mm,
        tolerance_deg=tolerance_deg(part, bend),
    )


def tolerance_deg(part: Part, bend: WantedBend) -> float | None:
    """What the drawing allows a bend's angle, plus and minus; ISO 2768-1 m by the shorter leg where it says nothing."""
    if bend.kind != "bend":
        return None
    wanted = bend.tolerance_deg if bend.tolerance_deg is not None else part.tolerances.angle_deg
    legs = outside_legs_mm(part)
    return wanted if wanted is not None else angle_tolerance_deg(min(legs[bend.number - 1], legs[bend.number]))


def leg_tolerances_mm(part: Part) -> tuple[float | None, ...]:
    """What each leg is allowed, plus and minus: the part's own figure, else ISO 2768-1 m for the size as drawn."""
    return part.tolerances.legs_mm or tuple(linear_tolerance_mm(leg) for leg in part.section.legs_mm)
