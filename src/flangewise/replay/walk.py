"""The whole plan walked through step by step, the section carried along as each hit leaves it."""

import math
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise
from typing import Any

from flangewise.findings import Finding, place, refuse, sorted_findings
from flangewise.replay.bodies import Bodies, drawn
from flangewise.replay.fold import NumberedBend, SectionNumbers
from flangewise.replay.plan import Loading, PlanStep, read_steps
from flangewise.replay.step import step_findings
from flangewise.replay.stroke import ReplayHit, hit_of
from flangewise.words import Phrase, phrase

# What a move does to the part: does the face that is up change, does the end that is behind change.
_EFFECTS = {
    "turn": (False, True),
    "turn-in-plane": (False, True),
    "turn-over": (True, True),
    "turn-over-bed": (True, True),
    "turn-over-front": (True, False),
}


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
    for step in steps:
        for bend in (each for each in section.bends if each.number in step.bends):
            findings, turns = _walked(section, turns, step, bend=bend, bodies=bodies)
            found += (each if each.step is not None else each.at_step(step.step) for each in findings)
    return sorted_findings(found)


def _walked(
    section: SectionNumbers, turns_deg: tuple[float, ...], step: PlanStep, *, bend: NumberedBend, bodies: Bodies
) -> tuple[list[Finding], tuple[float, ...]]:
    if bend.kind != "hem" and turns_deg[bend.zones[0]] != 0:
        return [], turns_deg
    after = turns_after(section, turns_deg, step, bend=bend)
    tools = ((step.punch, bodies.punches), (step.die, bodies.dies))
    unknown = [name for name, known in tools if name not in known]
    found = [refuse("replay-tool-unknown", place("step", step.step), tool=name) for name in unknown]
    standing = {each.number for each in section.bends if turns_deg[each.zones[0]] != 0 and each is not bend}
    if step.gauged_on == "flange" and step.gauged_bend not in standing:
        # A flange is gauged on only when it is there, and never the one that is being made.
        found.append(refuse("replay-flange-missing", place("step", step.step), bend=step.gauged_bend or 0))
    if not unknown:
        stack = bodies.stack(step.punch, step.die, turned=step.punch_turned)
        hit = hit_of(section, turns_deg, step, bend=bend, stack=stack)
        unfit, finger_mm = _unfit(hit, step), drawn(bodies.finger) if bodies.finger is not None else None
        found += [unfit] if unfit is not None else step_findings(hit, step, finger_mm)
    return found, after


def _unfit(hit: ReplayHit, step: PlanStep) -> Finding | None:
    """A refusal where the pair is not of the kind the hit needs, or the pair cannot turn the sheet so far."""
    needed = {"air-bend": "vee", "flatten": "flat", "offset": "offset"}[hit.kind]
    where = place("step", step.step)
    if hit.stack.kind != needed:
        return refuse("replay-tool-kind", where, punch=step.punch, die=step.die, bend=hit.bend.number)
    if hit.air_bend is not None and not 0 < hit.air_bend.loaded_deg < 178.0:
        return refuse("replay-turn", where, turn_deg=hit.air_bend.loaded_deg)
    return None


def turns_after(
    section: SectionNumbers, turns_deg: tuple[float, ...], step: PlanStep, *, bend: NumberedBend
) -> tuple[float, ...]:
    """The signed turns of all zones once a step is made: a hem's first hit leaves its pre-bend, all else is full."""
    turns = list(turns_deg)
    for zone in bend.zones:
        full = section.turns_deg[zone]
        is_pre_bend = bend.kind == "hem" and turns_deg[zone] == 0
        told_deg = step.turn_deg("finished_deg")
        turns[zone] = math.copysign(150.0 if told_deg is None else told_deg, full) if is_pre_bend else full
    return tuple(turns)


def order_findings(section: SectionNumbers, steps: Sequence[PlanStep]) -> Iterator[Finding]:
    """Every bend is made, none twice, a hem in two hits with nothing between, and every turn of the part is told."""
    made = Counter(bend for step in steps for bend in step.bends)
    wanted = {bend.number: 2 if bend.kind == "hem" else 1 for bend in section.bends}
    for bend in sorted(made.keys() - wanted.keys()):
        yield refuse("replay-bend-unknown", place("bend", bend), bend=bend)
    for bend, hits in wanted.items():
        if made[bend] != hits:
            code = "replay-bend-left-out" if made[bend] < hits else "replay-bend-again"
            yield refuse(code, place("bend", bend), hits=hits, made=made[bend])
    for hem in (bend for bend in section.bends if bend.kind == "hem"):
        first, *more = [index for index, step in enumerate(steps) if hem.number in step.bends] or [0]
        if len(more) == 1 and more[0] != first + 1:
            yield refuse("replay-hem-parted", place("bend", hem.number)).at_step(more[0] + 1)
    for before, step in pairwise(steps):
        told = _turned(before.loading, step.moves)
        if told != step.loading:
            values = {"told": _loading_phrase(told), "wanted": _loading_phrase(step.loading)}
            yield refuse("replay-moves", place("step", step.step), **values).at_step(step.step)


def _turned(loading: Loading, moves: Sequence[tuple[str, str]]) -> Loading:
    """How the part lies after moves; a plain `turn-over` is told apart by its axis, some moves turn nothing."""
    for move, axis in moves:
        over_front = move == "turn-over" and axis.startswith("front")
        face, end = _EFFECTS.get("turn-over-front" if over_front else move, (False, False))
        loading = Loading(loading.marked_up != face, loading.start_behind != end)
    return loading


def _loading_phrase(loading: Loading) -> Phrase:
    face = "up" if loading.marked_up else "down"
    return phrase(f"replay.pose-{face}-{'start' if loading.start_behind else 'end'}")
