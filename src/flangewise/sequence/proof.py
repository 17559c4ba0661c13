"""From a problem to an answer that says what it proves.

A narrow beam looks for a first plan; the exact search proves the least with it as upper bound. The best
plan is then looked at closely (the part against itself, the way in and out, the stops); what fails is
forbidden in all sets it speaks of and the search runs again on the tables it already has.
"""

from __future__ import annotations

import time
from dataclasses import dataclass, replace

import numpy as np

from flangewise.sequence.closer import Closer
from flangewise.sequence.detail import steps_of
from flangewise.sequence.problem import SectionProblem
from flangewise.sequence.search import Search, Unfolded
from flangewise.sequence.solution import Solution
from flangewise.sequence.state import Gates
from flangewise.sequence.trace import Choice, trace
from flangewise.sequence.why import blockers_of

BEAMS = (300, 4000)
SMALL = 12
FEW_CHOICES = 2


@dataclass(frozen=True)
class Found:
    """The best plan after closer looks (None: none), and what is proven: no plan costs less than `bound`."""

    plan: tuple[Choice, ...] | None
    cost: float
    bound: float
    unfolded: Unfolded


def solve(problem: SectionProblem) -> Solution:
    """Plan of least cost, with its proof; or the proof that there is none; or neither, said so.

    A section and its mirror image get one plan, with the other face up: among plans of one price the search takes the
    first it comes to, so it is always asked with the first bend toward the marked face.
    """
    if any(turn < 0 for turn in problem.chain.turns_deg[:1]):
        asked = tuple(
            each if each.marked_up is None else replace(each, marked_up=not each.marked_up) for each in problem.asked
        )
        return _other_face_up(_solved(replace(problem, chain=problem.chain.mirrored(), asked=asked)))
    return _solved(problem)


def _other_face_up(solution: Solution) -> Solution:
    return replace(
        solution,
        steps=tuple(replace(step, marked_up=not step.marked_up) for step in solution.steps),
        blockers=tuple(
            each if each.marked_up is None else replace(each, marked_up=not each.marked_up)
            for each in solution.blockers
        ),
    )


def _solved(problem: SectionProblem) -> Solution:
    search = Search(Gates(problem))
    closer = Closer(search)
    found = _best_checked(search, closer, time.monotonic() + problem.limits.seconds)
    planned = found.plan is not None
    proven = found.cost <= found.bound + 1e-9
    feasible = True if planned else (False if np.isinf(found.bound) else None)
    return Solution(
        feasible=feasible,
        proven_least=planned and proven,
        cost=found.cost if planned else None,
        lower_bound=None if np.isinf(found.bound) else min(found.bound, found.cost),
        steps=steps_of(search, closer, found.plan or ()),
        blockers=() if planned or not problem.tell_blockers else blockers_of(search, found.unfolded),
        visited=found.unfolded.visited,
    )


def _best_checked(search: Search, closer: Closer, until: float) -> Found:
    """Search, look closely, forbid what failed, search again."""
    problem = search.gates.problem
    bound = 0.0
    for _ in range(problem.limits.repairs):
        unfolded, bound = best_table(search, until)
        if not np.isfinite(unfolded.cost):
            return Found(None, np.inf, bound, unfolded)
        plan = trace(search, unfolded)
        failed = closer.look(plan)
        if not failed:
            return Found(plan, unfolded.cost, bound, unfolded)
        for item in failed:
            search.gates.remember(item)
        if time.monotonic() > until:
            break
    return Found(None, np.inf, bound, unfolded)


def best_table(search: Search, until: float) -> tuple[Unfolded, float]:
    """The best table found and a bound no plan can beat (infinite: there is no plan at all)."""
    problem = search.gates.problem
    if problem.order is not None:
        table = search.along(problem.order)
        return table, table.cost
    upper, best = np.inf, None
    if search.stations.count > FEW_CHOICES:
        best = search.unfold(width=BEAMS[0], choices=1)
        upper = best.cost
    for width in BEAMS if search.count > SMALL else ():
        beam = search.unfold(upper=upper, width=width)
        if best is None or beam.cost < best.cost:
            best = beam
        upper = min(upper, beam.cost)
        if beam.dropped >= upper:
            return best, upper
        if time.monotonic() > until:
            break
    exact = search.unfold(upper=upper, width=problem.limits.sets_per_layer, until=until)
    if best is None or exact.cost <= best.cost:
        best = exact
    return best, min(best.cost, exact.dropped)
