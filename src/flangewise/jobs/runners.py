"""The orders that came next: what each costs more than the one chosen, and where."""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import replace
from typing import Any

from flangewise.jobs.one import Job
from flangewise.sequence import SectionProblem, Solution, runner_ups, solve
from flangewise.words import phrase, say

MOST_TOLD = 3
# Prices closer than this are the same.
SAME_COST = 1e-9


def runners_up(job: Job) -> list[dict[str, Any]]:
    """The next best orders with the tools that were searched: order, cost, how much more, and where it goes.

    Empty where there is no plan, and beyond the number of bends for which every order can be ranked.
    """
    if job.ordered is None or not job.feasible or job.ordered.solution.cost is None:
        return []
    problem, best = job.ordered.problem, job.ordered.solution
    orders = [each.order for each in runner_ups(problem, count=MOST_TOLD + 1) if each.order != best.order]
    return [_told(problem, best, order) for order in orders[:MOST_TOLD]]


def _told(problem: SectionProblem, best: Solution, order: tuple[int, ...]) -> dict[str, Any]:
    other = solve(replace(problem, order=order))
    return {
        "order": [int(problem.operations[i].label) for i in order],
        "cost": other.cost,
        "more": (other.cost or math.inf) - (best.cost or 0.0),
        "where": _where(best, other),
    }


def _where(best: Solution, other: Solution) -> str:
    """What it does more of: moves of a kind, tool changes; else dearer gauging or opening, or nothing."""
    if abs((other.cost or 0.0) - (best.cost or 0.0)) < SAME_COST:
        return say(phrase("why.same"))
    more = _counts(other) - _counts(best)
    if not more:
        return say(phrase("why.gauging"))
    return "; ".join(say(phrase(f"why.{kind}", count=count)) for kind, count in sorted(more.items()))


def _counts(solution: Solution) -> Counter[str]:
    counts: Counter[str] = Counter(move.move for step in solution.steps for move in step.moves)
    counts["tool-change"] = sum(step.tool_changed for step in solution.steps)
    counts["side-exit"] = sum(step.side_exit for step in solution.steps)
    return counts
