"""What the planner tells of a part, held against the judge: feasible or not, the least or not, and at what price."""

from __future__ import annotations

import math
import time
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from flangewise.jobs.plan_part import blanked_on
from flangewise.part import Part, machines_wanted
from flangewise.shop import Shop

from .bench import Bench, Hit, Plan
from .board import Board
from .judge import Judge
from .least import Least
from .rack import formed_mm
from .strikes import FREE, NEAR
from .tilted import TOLD

# Drawn arcs, steps of the opening and of the ram's speed: what one who reckons otherwise may come to.
SAME_S, SAME_BREACH, ALIKE = 0.15, 2e-3, 1e-6


@dataclass(frozen=True)
class Verdict:
    """`word`: agrees, near, or what is wrong; `low` and `high` the bracket, `own` the plan told, priced again."""

    word: str
    low: Plan | None = None
    high: Plan | None = None
    own: Plan | None = None
    told: str = ""
    judge_s: float = 0.0


def _hits(judge: Judge, record: Mapping[str, Any]) -> tuple[Board, tuple[Hit, ...]] | None:
    """A plan of the published record as the judge's own; None where its tools are not among those offered."""
    part, taken, made, done = judge.bench.job.part, {}, [], 0
    steps = [
        step for at, step in enumerate(record["steps"]) if not at or step["bends"] != record["steps"][at - 1]["bends"]
    ]
    for step in steps:
        bend = step["bends"][0] - 1
        names = (step["punch"], step["die"], step["punch_turned"])
        found = [i for i, choice in enumerate(judge.bench.choices[bend]) if choice.tools[0].key == names]
        if len(found) != 1:
            return None
        taken[bend] = found[0]
        on = step["gauged_on"]["on"]
        start = on == "start" if on != "flange" else step["gauged_on"]["bend"] - 1 < bend
        ways = tuple((move["move"], tuple(map(tuple, move["way"]))) for move in step["moves"] if move["move"] in TOLD)
        face = step["marked_face"] == "up"
        made.append((bend, found[0], face, start, on == "flange", done, ways, step["open_height_mm"]))
        done |= 1 << bend
    radii = [
        round(formed_mm(part, bend, judge.bench.choices[i][taken[i]].pair), 7)
        for i, bend in enumerate(part.section.bends)
    ]
    for board in judge.boards:
        if all(taken[bend] in own for bend, own in enumerate(board.own)) and radii:
            return board, tuple(Hit(*each) for each in made)
    return None


def least_of(judges: Mapping[str, Judge], limit: int, *, most_s: float) -> Plan | None:
    """The least on any machine."""
    plans = [plan for judge in judges.values() if (plan := Least(judge).found(limit, most_s=most_s)) is not None]
    return min(plans, key=lambda plan: plan.weight, default=None)


def judged(part: Part, shop: Shop, record: Mapping[str, Any], *, most_s: float = 60.0) -> Verdict:
    """The planner's record of a part, judged."""
    begun = time.process_time()
    judges = {name: Judge(Bench(blanked_on(part, shop, name))) for name in machines_wanted(part, shop)}
    low = least_of(judges, NEAR, most_s=most_s)
    high = low if low is None or not low.near else least_of(judges, FREE, most_s=most_s)
    own = _priced(judges[record["machine"]], record) if record["feasible"] else None
    word, told = _word(record, low, high, own)
    return Verdict(word, low, high, own, told, time.process_time() - begun)


def priced(part: Part, shop: Shop, record: Mapping[str, Any]) -> Plan | None:
    """The plan that a record tells, priced again and walked, whatever the least is."""
    return _priced(Judge(Bench(blanked_on(part, shop, record["machine"]))), record)


def _priced(judge: Judge, record: Mapping[str, Any]) -> Plan | None:
    found = _hits(judge, record)
    return judge.price(*found) if found is not None else None


def _word(record: Mapping[str, Any], low: Plan | None, high: Plan | None, own: Plan | None) -> tuple[str, str]:
    if record["feasible"] is None:
        return "not told", "the planner does not know"
    if not record["feasible"]:
        if high is not None:
            return "WRONG: refused", f"bent for {high.cost_s:.2f}"
        return ("agrees", "cannot be bent") if low is None else ("near", f"only just: {low.near}")
    if own is None:
        return "WRONG: tools", "the plan's tools are not among those offered"
    if own.struck:
        return "WRONG: struck", "; ".join(own.struck)
    if abs(own.cost_s - record["cost"]) > SAME_S:
        return "WRONG: price", f"told {record['cost']:.3f}, comes to {own.cost_s:.3f}"
    if any(hit.told for hit in own.hits):
        if record["proven_least"] and (record["lower_bound"] or 0.0) > own.cost_s + SAME_S:
            return "WRONG: bound", f"told at least {record['lower_bound']:.2f}, is {own.cost_s:.2f}"
        return "tilted", "the way told was walked, none looked for"
    if low is None:
        return "WRONG: judge", "a plan that holds was not found"
    if _less(own, low):
        return "WRONG: judge", f"the plan told is less: {own.weight:.2f} against {low.weight:.2f}"
    if not record["proven_least"]:
        bound = record["lower_bound"]
        if bound is not None and not own.breach and high is not None and bound > high.cost_s + SAME_S:
            return "WRONG: bound", f"told at least {bound:.2f}, is {high.cost_s:.2f}"
        over = own.weight - (high.weight if high is not None else math.inf)
        return "not proven", f"over the least by {max(over, 0.0):.2f}"
    if high is not None and own.breach - high.breach > SAME_BREACH:
        return "WRONG: hold", f"held worse by {own.breach - high.breach:.4f} for {high.cost_s - own.cost_s:.2f} s less"
    if high is not None and _less(high, own):
        return "WRONG: not least", f"told {own.weight:.2f}, least {high.weight:.2f}"
    if own.near or _less(low, own):
        return "near", "; ".join(own.near)
    hold = abs(own.breach - low.breach)
    return ("near", f"holds are alike to {hold:.1g}") if hold > ALIKE else ("agrees", "")


def _less(one: Plan, other: Plan) -> bool:
    """Whether a plan is less beyond what drawing and rounding may make of it."""
    breach = other.breach - one.breach
    if abs(breach) > SAME_BREACH:
        return breach > 0
    return abs(breach) < ALIKE and one.cost_s < other.cost_s - SAME_S


def told(verdict: Verdict) -> str:
    """A verdict in a line."""

    def each(plan: Plan | None) -> str:
        if plan is None:
            return "none"
        order = "-".join(str(hit.bend + 1) for hit in plan.hits)
        return f"{plan.cost_s:.2f}{f' breach {plan.breach:.4f}' if plan.breach else ''} ({order})"

    return (
        f"{verdict.word}: {verdict.told} | least {each(verdict.low)} .. {each(verdict.high)}, told {each(verdict.own)}"
    )
