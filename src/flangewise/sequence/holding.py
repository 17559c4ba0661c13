"""Plans whose gauging holds the tolerances of the part, preferred to cheaper ones whose gauging does not."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from flangewise.sequence.datum import Gauged, SizeError, Tolerances, leg_errors
from flangewise.sequence.problem import SectionProblem
from flangewise.sequence.proof import SAME_COST, Kept, solve
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


def solve_within(
    problem: SectionProblem,
    tolerances: Tolerances,
    *,
    allowed_mm: Sequence[float],
    loose_leg_s: float = math.inf,
    plain: Solution | None = None,
) -> Held:
    """The cheapest plan found, each leg that its gauging does not hold priced with `loose_leg_s`.

    `allowed_mm`: allowed plus-minus of every leg. Preferences tried are: the datums that cost least, all
    bends from one edge, all from the other, formed faces for the bends beside a leg that is not held. A
    plan taken for its gauging is proven least only if no plan at all costs less. With an infinite price a plan that
    holds all legs is taken if one is found, else the cheapest of all, unpriced. `plain`: the least plan, where known.
    """
    kept = Kept()
    cheapest = _held(problem, plain if plain is not None else solve(problem, kept), tolerances, allowed_mm)
    if not cheapest.solution.feasible or not cheapest.exceeded:
        return cheapest

    def rank(held: Held) -> tuple[float, int, float]:
        loose = len(held.exceeded)
        return held.solution.weight + (loose * loose_leg_s if loose else 0.0), loose, held.solution.weight

    best = cheapest
    for preferred in _preferences(problem, cheapest.exceeded):
        wished = replace(problem, preferred=preferred)
        found = _at_true_price(problem, preferred, solution=solve(wished, kept), plain=cheapest.solution)
        tried = _held(problem, found, tolerances, allowed_mm)
        if tried.solution.feasible and rank(tried) < rank(best):
            best = tried
    return best if math.isfinite(loose_leg_s) or not best.exceeded else cheapest


def _held(problem: SectionProblem, solution: Solution, tolerances: Tolerances, allowed_mm: Sequence[float]) -> Held:
    errors = errors_of(problem, solution, tolerances)
    pairs = enumerate(zip(errors, allowed_mm, strict=False))
    return Held(solution, errors, tuple(leg for leg, (error, limit) in pairs if error.worst_mm > limit + 1e-9))


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
    steps = tuple(_without(step, _unwished(problem, preferred[step.operation], step)) for step in solution.steps)
    unwished = sum(_unwished(problem, preferred[step.operation], step) for step in solution.steps)
    cost, bound = (solution.cost or 0.0) - unwished, plain.lower_bound or 0.0
    proven = plain.proven_least and solution.breach <= plain.breach and cost <= bound + SAME_COST
    return replace(solution, steps=steps, cost=cost, lower_bound=min(bound, cost), proven_least=proven)


def _without(step: Step, unwished_s: float) -> Step:
    """The step without what it was charged for a datum that was not wished for."""
    wishes = ((name, cost - unwished_s if name == "gauging" else cost) for name, cost in step.wishes_s)
    return replace(step, cost=step.cost - unwished_s, wishes_s=tuple((name, cost) for name, cost in wishes if cost))


def _unwished(problem: SectionProblem, wanted: tuple[str, ...], step: Step) -> float:
    """What the step was charged for a datum that was not wished for."""
    on = step.gauged.on if step.gauged is not None else step.behind
    return problem.costs.gauge_unwanted if wanted and on not in wanted else 0.0
