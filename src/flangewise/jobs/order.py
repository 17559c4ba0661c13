"""The least plan of a part over all its tools, each plan on the blank that its own tools make.

All pairs of the shop are judged for every bend. Those of a bend that form one radius make one blank with any others, so
the search is asked blank by blank: that of the best pairs first, then those of the others while a plan on them could
still weigh less than the best so far. What no plan weighs less than on any of the blanks is reckoned on the first, with
all that lies beyond a bend taken to be anywhere that another blank could put it.
"""

import math
from collections.abc import Iterator, Sequence
from contextlib import suppress
from dataclasses import replace

from flangewise.jobs.blanks import (
    Alike,
    alone,
    blanks_of,
    of_box,
    on_all_blanks,
    on_blank,
    options_of,
    still_of_use,
)
from flangewise.jobs.boxes import MOST_PAID, Boxes
from flangewise.jobs.gripped import broken_on_all, held_by_gripper
from flangewise.jobs.job import Job, Ordered
from flangewise.jobs.pairs_by_price import near_enough
from flangewise.jobs.problem import problem_of
from flangewise.jobs.shut import ShutBends, is_shut_on_all, shut_runs
from flangewise.jobs.standing import as_they_stand
from flangewise.pattern import NoBlank
from flangewise.sequence import (
    BREACH_S,
    SAME_COST,
    LeastWeight,
    SearchLimits,
    SectionProblem,
    Shapes,
    shapes_of,
    solve,
)

# So many blanks are searched, with a gripper fewer, since its grips are looked at; where more could still come in below
# the best plan, it is not proven.
MOST_BLANKS, MOST_GRIPPED = 120, 24
# Of the blanks that one pair makes for all bends so many are looked at.
MOST_ALONE = 24
# Of so few bends other blanks are searched before it is asked whether every die of every machine shuts them; as soon as
# there is no plan on so many of them it is.
FEW_BENDS, FEW_TRIED = 4, 4
# Where a blank could not be settled, so many others are searched for a plan.
FEW_BLANKS = 6
# Of the time left, what the blank of the best pairs may take before the others are looked at.
FIRST_SHARE = 0.5


def find_order(
    job: Job,
    *,
    below_s: float = math.inf,
    shut: ShutBends | None = None,
    shapes: Shapes | None = None,
    left: Sequence[Sequence[Alike]] | None = None,
) -> Job:
    """A laid-out job with the least plan, its tools and their blank, or the proof that there is none, or neither.

    Only a plan that weighs less than `below_s` is looked for, else that is the lower bound. `shut`: of all machines,
    asked where the first blank has none; `shapes`: as asked quickly; `left`: the pairs that such a plan may take (None:
    all), the first among them in any case. Raises ValueError where a bend has no usable pair.
    """
    by_blank = blanks_of(job) if left is None else left
    if not all(by_blank):
        raise ValueError("a bend has no usable pair")
    only, first = all(len(each) == 1 for each in by_blank), tuple(each[0] for each in by_blank)
    own = job if only or job.watch.quick else replace(job, watch=job.watch.share(FIRST_SHARE))
    # Who only asks whether there is a plan, or what beams find, is not told why there is none.
    tells_why = math.isinf(below_s) and not (job.watch.any_plan or job.watch.quick)
    best = _ordered(own, first, below_s=below_s, tells_why=tells_why, shapes=shapes)
    assert best.ordered is not None
    problem = replace(best.ordered.problem, limits=SearchLimits(watch=job.watch))
    best = replace(best, watch=job.watch, ordered=replace(best.ordered, problem=problem))
    enough = only or job.watch.quick or (job.watch.any_plan and best.solution.feasible)
    if not enough:
        best = _least_of_all(best, by_blank, below_s, shut)
    # With the pairs that were left out there may be a plan, though none that weighs less.
    return _not_proven(best, below_s) if left is not None and best.solution.feasible is False else best


def _least_of_all(first: Job, by_blank: Sequence[Sequence[Alike]], below_s: float, shut: ShutBends | None) -> Job:
    """The best job after the other blanks, or the proof that all dies of every machine shut it."""
    has_none, is_few = first.solution.feasible is False, len(by_blank) <= FEW_BENDS
    if has_none and shut is not None and (shut.is_known or (not is_few and shut.is_all)):
        return _as_proven(first, math.inf)
    best = _through_blanks(first, by_blank, below_s, shut)
    is_open = best.solution.feasible is None and math.isinf(below_s) and not best.watch.over()
    return _as_proven(best, math.inf) if is_open and shut is not None and shut.is_all else best


def _through_blanks(first: Job, by_blank: Sequence[Sequence[Alike]], below_s: float, shut: ShutBends | None) -> Job:
    """The best job after the other blanks; proven as far as no plan on any of them weighs less than a bound.

    `shut`: asked where there is none on any of the first few.
    """
    broken = first.solution.breach if first.solution.feasible else math.inf
    broken -= broken_on_all(first, on_all_blanks(first, by_blank), broken) if 0 < broken < math.inf else 0
    if broken <= 0:
        # What a plan takes that weighs less than the one at hand: no plan with anything else does. One that breaks a
        # rule of holding that another may keep leaves room for all pairs.
        always_s = BREACH_S * first.solution.breach
        by_blank = near_enough(first, by_blank, min(below_s, first.weight) - always_s)
        if all(len(each) == 1 for each in by_blank):
            return _as_proven(first, min(first.solution.open_bound, below_s, first.weight))
    everything = on_all_blanks(first, by_blank)
    least, tried = LeastWeight(everything, each_held=True), [first]
    if not first.solution.feasible and len(by_blank) > MOST_PAID:
        run = next(shut_runs(first, by_blank), None) if first.solution.feasible is False else None
        if first.solution.feasible is False and least.is_shut:
            return _as_proven(first, math.inf)
        if run is not None and is_shut_on_all(first, by_blank, run, most=1):
            return _as_proven(first, math.inf)
        if math.isinf(below_s):
            tried += _alone_in_turn(first, everything, least, by_blank)
        if run is not None and not tried[-1].solution.feasible and is_shut_on_all(first, by_blank, run):
            return _as_proven(first, math.inf)
    # Where there is none on any of them, what is in the way is told of the first.
    best = tried[-1] if tried[-1].solution.feasible else first
    if best.solution.feasible and best.watch.any_plan:
        return _not_proven(best, 0.0)
    below_s = min(below_s, best.weight)
    bound, searched, over = min(each.solution.open_bound for each in tried), 0, first.watch.over
    while True:
        least, by_blank, floor = _narrowed(first, least, by_blank, below_s)
        boxes, had_none = Boxes(first, by_blank, least, below_s=below_s), math.isinf(below_s)
        boxes.passed_over(tuple(a[0].name for a in each.ordered.offered.values()) for each in tried if each.ordered)
        for known, box in boxes.rising(floor):
            # Where "impossible" can not be proven any more, a plan is looked for on few.
            most = MOST_BLANKS if math.isfinite(below_s) or math.isinf(bound) else FEW_BLANKS
            most = min(most, MOST_GRIPPED) if first.handler.gripper is not None else most
            if box is None or searched == most or best.watch.over():
                return _as_proven(best, min(bound, known, below_s))
            searched += 1
            bound_s = max(known - best.solution.broken_s, 0.0)
            best.watch.tell(blank=searched + 1, best_s=best.solution.cost, bound_s=bound_s)
            try:
                other = _ordered(best, [alike for (alike,) in of_box(by_blank, box)], below_s=below_s)
            except NoBlank:
                continue
            tried.append(other)
            has_none = len(tried) == FEW_TRIED and all(each.solution.feasible is False for each in tried)
            if has_none and shut is not None and shut.is_all:
                return _as_proven(first, math.inf)
            if other.solution.feasible is not False:
                bound = min(bound, other.solution.least_weight or math.inf)
            if other.solution.feasible and other.weight < below_s - SAME_COST:
                best, below_s, boxes.below_s = other, other.weight, other.weight
                if over() or best.watch.any_plan:
                    return _not_proven(best, min(bound, known))
                if had_none:
                    # The fewer there are below a plan, the less their blanks differ.
                    break
        else:
            return _as_proven(best, min(bound, below_s))


def _narrowed(
    job: Job, least: LeastWeight, by_blank: Sequence[Sequence[Alike]], below_s: float
) -> tuple[LeastWeight, tuple[tuple[Alike, ...], ...], float]:
    """The blanks that a plan below a weight could take, the question with them, and what no plan weighs less than.

    The fewer they are, the less they differ and the more they shut: so they are held against the least until they stay.
    What a pair costs more than the cheapest is added to a least that takes the cheapest for each bend. One that holds
    each pair against its own shapes does not where those are struck: there the least with nothing in the way is taken.
    """
    left, floor, is_shut = tuple(map(tuple, by_blank)), least.of(below_s=below_s), least.is_each_apart
    while floor < below_s and any(len(each) > 1 for each in left):
        some = still_of_use(least.problem, left, below_s - floor)
        if some != left:
            own = options_of(left, tuple(tuple(map(all_of.index, few)) for all_of, few in zip(left, some, strict=True)))
            least = LeastWeight(on_all_blanks(job, some), each_held=True, within=least, options=own)
            left = some
            if all(len(each) == 1 for each in left):
                break
        elif is_shut:
            break
        floor, is_shut = max(floor, least.of(bodies=not least.is_each_apart, below_s=below_s)), True
    return least, left, floor


def _as_proven(best: Job, bound: float) -> Job:
    """The best job where no plan that was not found weighs less than a bound."""
    if best.solution.feasible or math.isfinite(bound):
        return best if bound >= best.weight - SAME_COST else _not_proven(best, bound)
    return best.with_solution(replace(best.solution, feasible=False, lower_bound=None, least_weight=None))


def _alone_in_turn(
    job: Job, everything: SectionProblem, least: LeastWeight, by_blank: Sequence[Sequence[Alike]]
) -> Iterator[Job]:
    """A job without a plan on the blanks that one pair makes for all bends, up to the first on which there is one.

    It leaves few others to be searched. Those that all tools together shut are passed over.
    """
    for _, box in alone(everything, by_blank)[:MOST_ALONE]:
        if job.watch.over():
            return
        if math.isinf(least.of(options_of(by_blank, box), bodies=True)):
            continue
        with suppress(NoBlank):
            other = _ordered(job, [alike for (alike,) in of_box(by_blank, box)], below_s=math.inf)
            yield other
            if other.solution.feasible:
                return


def _ordered(
    job: Job, alike: Sequence[Alike], *, below_s: float, tells_why: bool = False, shapes: Shapes | None = None
) -> Job:
    """The least plan with pairs that make one blank, on it, if it weighs less than that. Raises NoBlank.

    `tells_why`: what is in the way is told where there is none. `shapes`: what was found of them on this blank before.
    """
    offered = dict(zip(job.offers, alike, strict=True))
    own = on_blank(job, [(each,) for each in alike])
    problem = problem_of(own, offered)
    problem = problem if tells_why else replace(problem, tell_blockers=False)
    shapes = shapes or shapes_of(problem)
    found = Ordered(problem, solve(problem, shapes, below_s=below_s), offered, shapes)
    ordered = held_by_gripper(own, as_they_stand(own, found, below_s=below_s), below_s=below_s)
    taken = {bend: each.pair for bend, each in ordered.taken.items()}
    return replace(own, ordered=ordered, pairs=dict(own.pairs) | taken)


def _not_proven(job: Job, bound: float) -> Job:
    """The answer without a proof; `bound` is what any plan weighs at least."""
    own = job.solution
    known_s = math.inf if own.lower_bound is None else own.lower_bound
    bound_s = bound - own.broken_s
    if job.handler.gripper is not None and bound_s < 0:
        # Whatever its grips, no plan takes fewer seconds than its order does.
        bound_s = bound
    least_s = max(0.0, min(known_s, bound_s))
    known = replace(own, feasible=own.feasible or None, proven_least=False, lower_bound=least_s, least_weight=bound)
    return job.with_solution(known)
