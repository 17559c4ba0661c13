"""The whole plan walked through step by step, the section carried along as each hit leaves it."""

from collections.abc import Mapping
from typing import Any

from flangewise.findings import Finding, place, refuse, sorted_findings
from flangewise.replay.bodies import Bodies, Corners, Stack, drawn
from flangewise.replay.hit import ReplayHit, hit_of
from flangewise.replay.order import loading_of, order_findings
from flangewise.replay.plan import PlanStep, read_steps
from flangewise.replay.section import NumberedBend, SectionNumbers
from flangewise.replay.step import step_findings


def replay(
    section: SectionNumbers, plan: Mapping[str, Any], bodies: Bodies, *, file: str = "plan"
) -> tuple[Finding, ...]:
    """Every difference between what a plan says and what stepping through it shows; empty where there is none.

    Takes the plan in its JSON shape, the tool's own or edited by hand. Steps are walked in the order they stand in.
    Raises Unusable where the plan cannot be read.
    """
    steps = read_steps(plan, file)
    found = list(order_findings(section, steps))
    turns = (0.0,) * len(section.zones_mm)
    finger = drawn(bodies.finger) if bodies.finger is not None else None
    for step in steps:
        for bend in _known(section, step):
            findings, turns = _walked(section, turns, step, bend=bend, bodies=bodies, finger_mm=finger)
            found += findings
    return sorted_findings(found)


def _known(section: SectionNumbers, step: PlanStep) -> list[NumberedBend]:
    return [bend for bend in section.bends if bend.number in step.bends]


def _walked(
    section: SectionNumbers,
    turns_deg: tuple[float, ...],
    step: PlanStep,
    *,
    bend: NumberedBend,
    bodies: Bodies,
    finger_mm: Corners | None,
) -> tuple[list[Finding], tuple[float, ...]]:
    """One hit's findings, and the turns of all zones after it."""
    if bend.kind != "hem" and turns_deg[bend.zones[0]] != 0:
        return [], turns_deg
    stack, found = _stack(bodies, step)
    after = turns_after(section, turns_deg, step, bend=bend)
    found += _gauge_findings(section, turns_deg, step, bend=bend)
    if stack is None:
        return found, after
    hit = hit_of(section, turns_deg, step, bend=bend, loading=loading_of(step), stack=stack)
    unfit = _unfit(hit, step)
    found += [unfit] if unfit is not None else step_findings(hit, step, finger_mm)
    return found, after


def _stack(bodies: Bodies, step: PlanStep) -> tuple[Stack | None, list[Finding]]:
    missing = [name for name, known in ((step.punch, bodies.punches), (step.die, bodies.dies)) if name not in known]
    if not missing:
        return bodies.stack(step.punch, step.die, turned=step.punch_turned), []
    return None, [
        refuse("replay-tool-unknown", place("step", step.step), tool=name).at_step(step.step) for name in missing
    ]


def _unfit(hit: ReplayHit, step: PlanStep) -> Finding | None:
    """A refusal where the pair is not of the kind the hit needs, or the pair cannot turn the sheet so far."""
    needed = {"air-bend": "vee", "flatten": "flat", "offset": "offset"}[hit.kind]
    where = place("step", step.step)
    if hit.stack.kind != needed:
        return refuse("replay-tool-kind", where, punch=step.punch, die=step.die, bend=hit.bend.number).at_step(
            step.step
        )
    if hit.air_bend is not None and not 0 < hit.air_bend.loaded_deg < 178.0:
        return refuse("replay-turn", where, turn_deg=hit.air_bend.loaded_deg).at_step(step.step)
    return None


def _gauge_findings(
    section: SectionNumbers, turns_deg: tuple[float, ...], step: PlanStep, *, bend: NumberedBend
) -> list[Finding]:
    """A flange is gauged on only when it is there, and never the one that is being made."""
    if step.gauged_on != "flange":
        return []
    standing = {each.number for each in section.bends if turns_deg[each.zones[0]] != 0 and each is not bend}
    if step.gauged_bend in standing:
        return []
    where = place("step", step.step)
    return [refuse("replay-flange-missing", where, bend=step.gauged_bend or 0).at_step(step.step)]


def turns_after(
    section: SectionNumbers, turns_deg: tuple[float, ...], step: PlanStep, *, bend: NumberedBend
) -> tuple[float, ...]:
    """The signed turns of all zones once a step is made: a hem's first hit leaves its pre-bend, all else is full."""
    turns = list(turns_deg)
    for zone in bend.zones:
        full = section.turns_deg[zone]
        is_pre_bend = bend.kind == "hem" and turns_deg[zone] == 0
        pre_deg = step.finished_turn_deg if step.finished_turn_deg is not None else 150.0
        turns[zone] = (pre_deg if full > 0 else -pre_deg) if is_pre_bend else full
    return tuple(turns)
