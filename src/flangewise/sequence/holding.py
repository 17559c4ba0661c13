"""Plans whose gauging holds the tolerances of the part, preferred to cheaper ones whose gauging does not."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from flangewise.sequence.datum import Gauged, SizeError, Tolerances, leg_errors
from flangewise.sequence.problem import SectionProblem
from flangewise.sequence.proof import SAME_COST, Kept, Made, least_priced, solve
from flangewise.sequence.solution import Gauging, Solution, Step


@dataclass(frozen=True)
class Held:
    """A plan with the error of every leg, and the legs whose tolerance it exceeds."""

    solution: Solution
    errors: tuple[SizeError, ...]
    exceeded: tuple[int, ...]


def gauged_by_zone(problem: SectionProblem, made: Iterable[tuple[int, Gauging | None]]) -> tuple[Gauged, ...]:
    """What every bend zone was gauged on, in the order of the zones; ungauged counts as its start edge.

    `made`: each operation with what the stops touched.
    """
    found: dict[int, Gauged] = {}
    for operation, at in made:
        for zone in problem.operations[operation].zones:
            if at is None or at.on != "flange" or at.zone is None:
                found[zone] = Gauged("end" if at is not None and at.on == "end" else "start")
            else:
                turn = min(abs(problem.chain.turns_deg[at.zone]), 90.0)
                found[zone] = Gauged("flange", at.zone, abs(at.height_mm), turn)
    return tuple(found[zone] for zone in sorted(found))


def errors_of(problem: SectionProblem, solution: Solution, tolerances: Tolerances) -> tuple[SizeError, ...]:
    """Error of every leg under the gauging of a plan; empty without a plan."""
    made = ((step.operation, step.gauged) for step in solution.steps)
    return leg_errors(gauged_by_zone(problem, made), tolerances) if solution.feasible else ()


def solve_within(
    problem: SectionProblem,
    tolerances: Tolerances,
    *,
    allowed_mm: Sequence[float],
    loose_leg_s: float | None = None,
    plain: Solution | None = None,
) -> Held:
    """The least plan with each leg that its gauging is not likely to hold priced with `loose_leg_s`, seconds.

    `allowed_mm`: allowed plus-minus of every leg. Preferences tried are: the datums that cost least, all
    bends from one edge, all from the other, formed faces for the bends beside a leg that is not held. The best of them
    is proven by looking through all plans that cost less than it, where those are not too many. Without a price a plan
    that holds all legs even in the worst case is taken if one is found, else the cheapest of all. `plain`: the least
    plan, where known.
    """
    kept, likely = Kept(), loose_leg_s is not None
    first = plain if plain is not None else solve(problem, kept)
    cheapest = _held(problem, first, tolerances, allowed_mm, likely=likely)
    if not cheapest.solution.feasible or not cheapest.exceeded:
        return cheapest

    def price(exceeded: tuple[int, ...]) -> float:
        return len(exceeded) * (math.inf if loose_leg_s is None else loose_leg_s) if exceeded else 0.0

    def rank(held: Held) -> tuple[float, int, float]:
        return held.solution.weight + price(held.exceeded), len(held.exceeded), held.solution.weight

    best = cheapest
    for preferred in _preferences(problem, cheapest.exceeded):
        wished = replace(problem, preferred=preferred)
        found = _at_true_price(problem, preferred, solution=solve(wished, kept), plain=cheapest.solution)
        tried = _held(problem, found, tolerances, allowed_mm, likely=likely)
        if tried.solution.feasible and rank(tried) < rank(best):
            best = tried
    if loose_leg_s is None:
        return best if not best.exceeded else cheapest

    def plan_price(made: Iterable[Made]) -> float:
        gauged = gauged_by_zone(problem, ((operation, at) for operation, _, at in made))
        return price(_exceeded(leg_errors(gauged, tolerances), allowed_mm, likely=True))

    # However it is gauged, a leg is off by its stop and half a deduction at least.
    least_mm = math.hypot(tolerances.stop_mm, tolerances.half_deduction_mm)
    always_s = loose_leg_s * sum(limit < least_mm - 1e-9 for limit in allowed_mm)
    loose_s = price(best.exceeded)
    known = replace(best.solution, cost=(best.solution.cost or 0.0) + loose_s, loose_s=loose_s)
    least = least_priced(problem, kept, known, plan_price, always_s=always_s, bound=cheapest.solution)
    return _held(problem, least, tolerances, allowed_mm, likely=True)


def _exceeded(errors: Sequence[SizeError], allowed_mm: Sequence[float], *, likely: bool) -> tuple[int, ...]:
    """Legs whose tolerance the likely error exceeds, or the worst case."""
    told = [error.statistical_mm if likely else error.worst_mm for error in errors]
    return tuple(leg for leg, (error, limit) in enumerate(zip(told, allowed_mm, strict=False)) if error > limit + 1e-9)


def _held(
    problem: SectionProblem,
    solution: Solution,
    tolerances: Tolerances,
    allowed_mm: Sequence[float],
    *,
    likely: bool,
) -> Held:
    errors = errors_of(problem, solution, tolerances)
    return Held(solution, errors, _exceeded(errors, allowed_mm, likely=likely))


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
