"""Plans whose gauging holds the tolerances of the part, preferred to cheaper ones whose gauging does not."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from flangewise.sequence.datum import Gauged, SizeError, Tolerances, leg_errors
from flangewise.sequence.problem import SectionProblem
from flangewise.sequence.proof import solve
from flangewise.sequence.solution import Solution, Step


@dataclass(frozen=True)
class Held:
    """A plan with the error of every leg, and the legs whose tolerance the worst case exceeds."""

    solution: Solution
    errors: tuple[SizeError, ...]
    exceeded: tuple[int, ...]


def gauged_by_zone(problem: SectionProblem, steps: Sequence[Step]) -> tuple[Gauged, ...]:
    """What every bend zone was gauged on in a plan, in the order of the zones; ungauged counts as its start edge."""
    found: dict[int, Gauged] = {}
    for step in steps:
        at = step.gauged
        for zone in problem.operations[step.operation].zones:
            if at is None or at.on != "flange" or at.zone is None:
                found[zone] = Gauged("end" if at is not None and at.on == "end" else "start")
            else:
                turn = min(abs(problem.chain.turns_deg[at.zone]), 90.0)
                found[zone] = Gauged("flange", at.zone, abs(at.height_mm), turn)
    return tuple(found[zone] for zone in sorted(found))


def errors_of(problem: SectionProblem, solution: Solution, tolerances: Tolerances) -> tuple[SizeError, ...]:
    """Error of every leg under the gauging of a plan; empty without a plan."""
    return leg_errors(gauged_by_zone(problem, solution.steps), tolerances) if solution.feasible else ()


def solve_within(problem: SectionProblem, tolerances: Tolerances, *, allowed_mm: Sequence[float]) -> Held:
    """The cheapest plan found whose gauging holds all legs; if none does, the cheapest of all.

    `allowed_mm`: allowed plus-minus of every leg. Preferences tried are: the datums that cost least, all
    bends from one edge, all from the other, formed faces for the bends beside a leg that is not held. A
    plan taken for its gauging is proven least only if no plan at all costs less.
    """
    plain = _held(problem, solve(problem), tolerances, allowed_mm)
    if not plain.solution.feasible or not plain.exceeded:
        return plain
    best = plain
    for preferred in _preferences(problem, plain.exceeded):
        wished = replace(problem, preferred=preferred)
        found = _at_true_price(problem, preferred, solution=solve(wished), plain=plain.solution)
        tried = _held(problem, found, tolerances, allowed_mm)
        if tried.solution.feasible and _rank(tried) < _rank(best):
            best = tried
    return best if not best.exceeded else plain


def _held(problem: SectionProblem, solution: Solution, tolerances: Tolerances, allowed_mm: Sequence[float]) -> Held:
    errors = errors_of(problem, solution, tolerances)
    pairs = enumerate(zip(errors, allowed_mm, strict=False))
    return Held(solution, errors, tuple(leg for leg, (error, limit) in pairs if error.worst_mm > limit + 1e-9))


def _rank(held: Held) -> tuple[int, float]:
    return len(held.exceeded), math.inf if held.solution.cost is None else held.solution.cost


def _preferences(problem: SectionProblem, exceeded: tuple[int, ...]) -> Iterator[tuple[tuple[str, ...], ...]]:
    count = len(problem.operations)
    for datum in ("start", "end"):
        yield ((datum,),) * count
    beside = {leg + side for leg in exceeded for side in (-1, 0)}
    zones = [operation.zones for operation in problem.operations]
    for edge in ("start", "end"):
        yield tuple(("flange", edge) if beside & set(own) else () for own in zones)
    yield tuple(("flange",) if beside & set(own) else () for own in zones)


def _at_true_price(
    problem: SectionProblem, preferred: tuple[tuple[str, ...], ...], *, solution: Solution, plain: Solution
) -> Solution:
    """A plan found with wishes, priced without them: what it costs is what its order and datums cost."""
    if not solution.feasible:
        return solution
    steps = tuple(
        replace(step, cost=step.cost - _unwished(problem, preferred[step.operation], step)) for step in solution.steps
    )
    cost = sum(step.cost for step in steps)
    bound = plain.lower_bound or 0.0
    return replace(solution, steps=steps, cost=cost, lower_bound=min(bound, cost), proven_least=cost <= bound + 1e-9)


def _unwished(problem: SectionProblem, wanted: tuple[str, ...], step: Step) -> float:
    """What the step was charged for a datum that was not wished for."""
    on = step.gauged.on if step.gauged is not None else step.behind
    return problem.costs.gauge_unwanted if wanted and on not in wanted else 0.0
