"""The orders that came next: what each costs more than the one chosen, and where."""

from __future__ import annotations

import itertools
import math
from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from typing import Any

from flangewise.jobs.one import Job
from flangewise.sequence import SectionProblem, Solution, solve
from flangewise.words import phrase, say

# Up to so many bends every order is priced; beyond, those that move one bend to another place.
MOST_FOR_ALL = 5
MOST_TOLD = 3


def runners_up(job: Job) -> list[dict[str, Any]]:
    """The next best orders, each priced with its order fixed: order, cost, how much more, and where it goes."""
    if job.ordered is None or not job.feasible or job.ordered.solution.cost is None:
        return []
    problem, best = job.ordered.problem, job.ordered.solution
    priced = [(order, solve(replace(problem, order=order))) for order in _others(best.order)]
    feasible = sorted(((each.cost, order, each) for order, each in priced if each.feasible and each.cost is not None))
    return [_told(problem, best, order, other) for _, order, other in feasible[:MOST_TOLD]]


def _others(order: tuple[int, ...]) -> Iterator[tuple[int, ...]]:
    if len(order) <= MOST_FOR_ALL:
        yield from (other for other in itertools.permutations(order) if other != order)
        return
    seen = {order}
    for i, j in itertools.permutations(range(len(order)), 2):
        moved = list(order)
        moved.insert(j, moved.pop(i))
        if tuple(moved) not in seen:
            seen.add(tuple(moved))
            yield tuple(moved)


def _told(problem: SectionProblem, best: Solution, order: tuple[int, ...], other: Solution) -> dict[str, Any]:
    return {
        "order": [int(problem.operations[i].label) for i in order],
        "cost": other.cost,
        "more": (other.cost or math.inf) - (best.cost or 0.0),
        "where": _where(best, other),
    }


def _where(best: Solution, other: Solution) -> str:
    """What it does more of: moves of a kind, tool changes; else the dearer gauging and opening."""
    more = _counts(other) - _counts(best)
    if not more:
        return say(phrase("why.gauging"))
    return "; ".join(say(phrase(f"why.{kind}", count=count)) for kind, count in sorted(more.items()))


def _counts(solution: Solution) -> Counter[str]:
    counts: Counter[str] = Counter(move.move for step in solution.steps for move in step.moves)
    counts["tool-change"] = sum(step.tool_changed for step in solution.steps)
    counts["side-exit"] = sum(step.side_exit for step in solution.steps)
    return counts
