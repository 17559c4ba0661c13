"""Why there is no order, or why this one: the search's reasons as findings, and what the next best orders cost more."""

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from flangewise.findings import Finding, caution, place, refuse
from flangewise.jobs.gripped import held_by_gripper
from flangewise.jobs.job import Job, Ordered
from flangewise.sequence import MOST_REASONS, SAME_COST, Blocker, Solution, runner_ups, solve
from flangewise.words import Phrase, phrase, say

# So many of the next best orders are told.
MOST_TOLD = 3


def order_findings(ordered: Ordered) -> tuple[Finding, ...]:
    """What stands in the way of every order, or that none was found in the time allowed."""
    solution = ordered.solution
    labels = [operation.label for operation in ordered.problem.operations]
    # One reason a bend and body, those nearest to being free first.
    kept: dict[tuple[int, str], Blocker] = {}
    for blocker in solution.blockers:
        kept.setdefault((blocker.operation, blocker.body), blocker)
    reasons = tuple(_finding(blocker, labels) for blocker in list(kept.values())[:MOST_REASONS])
    if solution.feasible is None:
        return (caution("order-not-known"), *(replace(reason, severity="note") for reason in reasons))
    return reasons or (refuse("no-order"),)


def _finding(blocker: Blocker, labels: Sequence[str]) -> Finding:
    # The piece of the part that meets something, as a name and as a phrase.
    body, piece, named = blocker.body, "part", phrase("piece.part")
    if blocker.piece is not None:
        kind, number = "leg" if blocker.piece % 2 == 0 else "bend", blocker.piece // 2 + 1
        piece, named = f"{kind} {number}", place(kind, number)
    told = refuse(
        f"blocked-{blocker.against}",
        place("bend", labels[blocker.operation]),
        state=_state(blocker, labels),
        piece=named,
        body=phrase(f"body.plain-{body}"),
        overlap_mm=blocker.overlap_mm or 0.0,
    )
    return told.at_step(len(blocker.bent) + 1, bodies=(piece, body), overlap_mm=blocker.overlap_mm)


def _state(blocker: Blocker, labels: Sequence[str]) -> Phrase:
    ways = {"bent": blocker.bent, "flat": blocker.flat}
    told = {way: ", ".join(labels[i] for i in bends) for way, bends in ways.items() if bends}
    return phrase(f"state.{'-and-'.join(told) or 'any'}", **told)


def runners_up(job: Job) -> list[dict[str, Any]]:
    """The next best orders with the tools that were searched: order, cost, how much more, and where it goes.

    Empty where there is no plan, and beyond the number of bends for which every order can be ranked.
    """
    if job.ordered is None or not job.feasible or job.ordered.solution.cost is None:
        return []
    problem, best = job.ordered.problem, job.ordered.solution
    orders = [order for order in runner_ups(problem, count=MOST_TOLD + 1) if order != best.order]
    return [_priced(job, best, order) for order in orders[:MOST_TOLD] if not problem.limits.watch.over()]


def _priced(job: Job, best: Solution, order: tuple[int, ...]) -> dict[str, Any]:
    assert job.ordered is not None
    problem = replace(job.ordered.problem, order=order)
    other = held_by_gripper(job, replace(job.ordered, problem=problem, solution=solve(problem))).solution
    return {
        "order": [int(problem.operations[i].label) for i in order],
        "cost": other.cost,
        "more": (other.cost or math.inf) - (best.cost or 0.0),
        "where": where_dearer(best.cost or 0.0, other.cost or 0.0, _counts(other) - _counts(best)),
    }


def where_dearer(best_s: float, other_s: float, more: Counter[str]) -> str:
    """What an order does more of than the best, `more`, each with its count; else dearer gauging or opening, or nothing
    where both cost the same."""
    if abs(other_s - best_s) < SAME_COST:
        return say(phrase("why.same"))
    if not more:
        return say(phrase("why.gauging"))
    return "; ".join(say(phrase(f"why.{kind}", count=count)) for kind, count in sorted(more.items()))


def _counts(solution: Solution) -> Counter[str]:
    counts: Counter[str] = Counter(move.move for step in solution.steps for move in step.moves)
    counts["tool-change"] = sum(step.tool_changed for step in solution.steps)
    counts["side-exit"] = sum(step.side_exit for step in solution.steps)
    counts["tilted"] = sum(step.tilted.count for step in solution.steps if step.tilted is not None)
    return counts
