"""The first piece of a robot's run, bent by hand: the same stops, tools and depths, or how a step is done otherwise."""

from collections.abc import Sequence
from typing import Any

from flangewise.findings import Finding, caution, note, place, sorted_findings
from flangewise.jobs.job import Job
from flangewise.jobs.problem import hold_of
from flangewise.records import dataclass, replace
from flangewise.sequence import Asked, HoldRule, SearchLimits, SectionProblem, Solution, Step, keeps, solve
from flangewise.setup import Setup, SetupStep
from flangewise.shop import Handler, Shop
from flangewise.words import Value

# More than this is no weight for one person before somebody has looked at it; common practice, a flag and no verdict.
ONE_PERSON_KG = 10.0


@dataclass(frozen=True)
class HandStep:
    """How a hand does one step of a robot's plan: as the robot does, or gauged otherwise, or not by hand alone."""

    step: int
    same: bool
    other: Step | None = None

    def as_json(self) -> dict[str, Any]:
        """With keys as the plan's own steps have them; `other` is None where a hand does as the robot."""
        keys = {"gauged_on": "on", "x_mm": "x_mm", "r_mm": "r_mm", "retract_mm": "retract_mm"}
        at = self.other.gauged if self.other is not None else None
        return {"same": self.same, **{key: None if at is None else getattr(at, name) for key, name in keys.items()}}


def with_first_piece(job: Job) -> Job:
    """The job with what is to be known of its first piece by hand, where a robot tends the machine.

    That is what is done otherwise at which step, and what one person does not lift.
    """
    steps = hand_steps(job)
    if not steps:
        return job
    assert job.setup is not None and job.pattern is not None
    told = first_piece_findings(steps, job.setup, mass_kg=job.pattern.mass_kg)
    return replace(job, findings=sorted_findings((*job.findings, *told)))


def first_piece_findings(steps: Sequence[HandStep], setup: Setup, *, mass_kg: float) -> list[Finding]:
    """What a hand does otherwise at which step, or that it does all as the robot; and what one person does not lift."""
    hits = {hit.step: hit for hit in setup.steps}
    told = [_told(hits[each.step], each) for each in steps if not each.same and hits[each.step].hit != "flatten"]
    told = told or [note("first-piece-as-the-run")]
    if mass_kg > ONE_PERSON_KG:
        told.append(caution("first-piece-heavy", mass_kg=mass_kg))
    return told


def panel_hand_steps(setup: Setup, handler: Handler, shop: Shop) -> tuple[HandStep, ...]:
    """Each hit of a robot's plan of a panel as the hand of the shop's first operator would do it: alike, or not by hand
    alone; no other way is looked for. Empty where a person tends the machine."""
    operator = next((each for each in shop.handlers.values() if each.kind == "operator"), None)
    if handler.kind != "robot" or operator is None:
        return ()
    rule = hold_of(operator, kg_per_mm=0.0)
    return tuple(
        HandStep(hit.step, same=hit.planned.is_second or hit.hold is None or keeps(rule, hit.hold))
        for hit in setup.steps
    )


def hand_steps(job: Job) -> tuple[HandStep, ...]:
    """Each hit of a robot's plan as a hand would do it; empty where a person tends the machine, or without a plan.

    The hand is that of the shop's first operator. A hit that lies so that a hand cannot hold it is looked for with the
    other end behind, in the same order with the same tools.
    """
    operator = next((each for each in job.shop.handlers.values() if each.kind == "operator"), None)
    if job.handler.kind != "robot" or not job.feasible or operator is None or job.setup is None or job.ordered is None:
        return ()
    problem, plan = job.ordered.problem, job.ordered.solution
    assert problem.hold is not None
    rule = hold_of(operator, kg_per_mm=problem.hold.kg_per_mm)
    kept = {step.operation: step.hold is None or keeps(rule, step.hold) for step in plan.steps}
    if all(kept.values()):
        return tuple(HandStep(step.step, same=True) for step in job.setup.steps)
    by_hand = {step.operation: step for step in solve(_by_hand(problem, plan, rule)).steps}
    numbers = {step.label: step.operation for step in plan.steps}
    found = []
    for hit in job.setup.steps:
        operation = numbers[str(hit.bends[0])]
        other = None if kept[operation] else by_hand.get(operation)
        usable = other is not None and other.hold is not None and other.hold.by == "hand"
        found.append(HandStep(hit.step, kept[operation], other if usable else None))
    return tuple(found)


def _by_hand(problem: SectionProblem, plan: Solution, rule: HoldRule) -> SectionProblem:
    """The same order, faces and tools, held by hand."""
    taken = {step.operation: step for step in plan.steps}
    operations = tuple(
        replace(each, options=(each.options[taken[index].option],)) for index, each in enumerate(problem.operations)
    )
    asked = tuple(Asked(marked_up=taken[index].marked_up) for index in range(len(operations)))
    free = replace(problem, operations=operations, hold=rule, tell_blockers=False, limits=SearchLimits())
    return replace(free, order=plan.order, asked=asked)


def _told(hit: SetupStep, by_hand: HandStep) -> Finding:
    where = place("step", hit.step)
    front_mm = hit.hold.told_front_mm if hit.hold is not None else 0.0
    at = by_hand.other.gauged if by_hand.other is not None else None
    if at is None:
        return caution("first-piece-with-help", where, front_mm=front_mm)
    values: dict[str, Value] = {"front_mm": front_mm, "x_mm": at.x_mm, "r_mm": at.r_mm}
    return caution(f"first-piece-on-{at.on}", where, **values)
