"""Plans whose gauging holds the tolerances of the part, each leg that it is not likely to hold at a price."""

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

from flangewise.sequence.datum import Gauged, SizeError, Tolerances, leg_errors
from flangewise.sequence.problem import SectionProblem
from flangewise.sequence.proof import SAME_COST, PlanPrice, least_priced, shapes_of, solve
from flangewise.sequence.solution import PricedStep, Solution
from flangewise.sequence.stop_effect import on_flange


def gauged_by_zone(problem: SectionProblem, made: Iterable[PricedStep]) -> tuple[Gauged, ...]:
    """What every bend zone was gauged on, in the order of the zones; ungauged counts as its start edge."""
    found: dict[int, Gauged] = {}
    for step in made:
        at = step.gauging
        if at is not None and at.on == "flange" and at.zone is not None:
            gauged = on_flange(problem, at, at.zone, number=at.zone)
        else:
            gauged = Gauged("end" if at is not None and at.on == "end" else "start")
        found |= dict.fromkeys(problem.operations[step.operation].zones, gauged)
    return tuple(found[zone] for zone in sorted(found))


def errors_of(problem: SectionProblem, solution: Solution, tolerances: Tolerances) -> tuple[SizeError, ...]:
    """Error of every leg under the gauging of a plan; empty without a plan."""
    return leg_errors(gauged_by_zone(problem, solution.priced_steps), tolerances) if solution.feasible else ()


def solve_within(
    problem: SectionProblem,
    tolerances: Tolerances,
    *,
    allowed_mm: Sequence[float],
    loose_leg_s: float,
    plain: Solution,
    elsewhere: bool = False,
    more: PlanPrice | None = None,
) -> Solution:
    """The least plan with each leg that its gauging is not likely to hold priced with `loose_leg_s`, seconds.

    `allowed_mm`: allowed plus-minus of every leg. `plain`: the least plan without that price. Preferences tried are:
    the datums that cost least, all bends from one edge, all from the other, formed faces for the bends beside a leg
    that is not held. The best of them is proven by looking through all plans that cost less than it, where those are
    not too many. `elsewhere`: whether there may be plans that the problem does not know of, on other blanks or coming
    back to tools that stand; of those it is known only that none weighs less than `plain`.
    """

    def loose(made: Iterable[PricedStep]) -> tuple[int, ...]:
        """Legs whose tolerance their likely error exceeds."""
        errors = leg_errors(gauged_by_zone(problem, made), tolerances)
        pairs = zip(errors, allowed_mm, strict=False)
        return tuple(leg for leg, (error, most_mm) in enumerate(pairs) if error.statistical_mm > most_mm + 1e-9)

    def rank(solution: Solution) -> tuple[float, int, float]:
        legs = len(loose(solution.priced_steps))
        return solution.weight + legs * loose_leg_s, legs, solution.weight

    if not plain.feasible or not (exceeded := loose(plain.priced_steps)):
        return plain
    best, shapes = plain, shapes_of(problem)
    for preferred in _preferences(problem, exceeded):
        if problem.limits.watch.over():
            break
        wished = solve(replace(problem, preferred=preferred), shapes)
        tried = _at_true_price(problem, preferred, solution=wished, plain=plain)
        if more is not None and tried.feasible:
            tried = replace(tried, cost=(tried.cost or 0.0) + more(tried.priced_steps), proven_least=False)
        if tried.feasible and rank(tried) < rank(best):
            best = tried

    def plan_price(made: Iterable[PricedStep]) -> float:
        steps = tuple(made)
        return loose_leg_s * len(loose(steps)) + (more(steps) if more is not None else 0.0)

    # However it is gauged, a leg is off by its stop and half a deduction at least.
    least_mm = math.hypot(tolerances.stop_mm, tolerances.half_deduction_mm)
    always_s = loose_leg_s * sum(limit < least_mm - 1e-9 for limit in allowed_mm)
    loose_s = loose_leg_s * len(loose(best.priced_steps))
    known = replace(best, cost=(best.cost or 0.0) + loose_s, loose_s=loose_s)
    found = least_priced(problem, shapes, known, plan_price, always_s=always_s, bound=plain)
    if more is not None:
        found = replace(found, loose_s=loose_leg_s * len(loose(found.priced_steps)))
    if not elsewhere or found.weight <= plain.weight + always_s + SAME_COST:
        return found
    floor = min(found.lower_bound or 0.0, (plain.lower_bound or 0.0) + always_s)
    return replace(found, proven_least=False, lower_bound=floor)


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
    steps, unwished_s = [], 0.0
    for step in solution.steps:
        wanted, on = preferred[step.operation], step.behind if step.gauged is None else step.gauged.on
        charged_s = problem.costs.gauge_unwanted if wanted and on not in wanted else 0.0
        wishes = {name: cost - charged_s if name == "gauging" else cost for name, cost in step.wishes_s}
        kept = tuple((name, cost) for name, cost in wishes.items() if cost)
        steps.append(replace(step, cost=step.cost - charged_s, wishes_s=kept))
        unwished_s += charged_s
    cost, bound = (solution.cost or 0.0) - unwished_s, plain.lower_bound or 0.0
    proven = plain.proven_least and solution.breach <= plain.breach and cost <= bound + SAME_COST
    return replace(solution, steps=tuple(steps), cost=cost, lower_bound=min(bound, cost), proven_least=proven)
