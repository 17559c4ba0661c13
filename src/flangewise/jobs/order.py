"""The least plan of a part over all its tools, each plan on the blank that its own tools make.

All pairs of the shop are judged for every bend. Those of a bend that form one radius make one blank with any others, so
the search is asked blank by blank: that of the best pairs first, then those of the others while a plan on them could
still weigh less than the best so far. What no plan weighs less than on any of the blanks is reckoned on the first, with
all that lies beyond a bend taken to be anywhere that another blank could put it.
"""

import heapq
import itertools
import math
from collections.abc import Callable, Iterator, Sequence
from contextlib import suppress
from dataclasses import replace

from flangewise.jobs.blanks import (
    Alike,
    blank_of,
    blanks_of,
    least_change_s,
    on_all_blanks,
    options_of,
    other_blanks,
    still_of_use,
)
from flangewise.jobs.job import Job, Ordered
from flangewise.jobs.problem import problem_of
from flangewise.jobs.standing import as_they_stand
from flangewise.pattern import NoBlank
from flangewise.sequence import SAME_COST, LeastWeight, SearchLimits, SectionProblem, cheapest_of_each, solve

# So many blanks are searched; where more could still come in below the best plan, it is not proven.
MOST_BLANKS = 24
# So many choices of blanks are counted out; then no more is known than of the least that is left.
MOST_COUNTED = 20_000
# So many of the next blanks are tried where the first allows no plan, before all are asked together.
FEW_BLANKS = 6
# Of the time left, what the blank of the best pairs may take before the others are looked at.
FIRST_SHARE = 0.5


def floor_weight(job: Job, than_s: float) -> float:
    """What no plan of a laid-out job weighs less than, whatever usable pairs it takes, on its blank or another.

    Looked for no further than to see that it is more than `than_s`.
    """
    by_blank = blanks_of(job)
    offered = {bend: tuple(itertools.chain(*each)) for bend, each in zip(job.offers, by_blank, strict=True)}
    cheapest = cheapest_of_each(problem_of(job, offered))
    if cheapest >= than_s:
        return cheapest
    least = LeastWeight(on_all_blanks(job, by_blank))
    bare = least.of()
    return bare if bare >= than_s else max(bare, min(than_s, least.of(bodies=True, below_s=than_s)))


def find_order(job: Job) -> Job:
    """A laid-out job with the least plan, its tools and their blank, or the proof that there is none, or neither.

    Raises ValueError where a bend has no usable pair.
    """
    by_blank = blanks_of(job)
    if not all(by_blank):
        raise ValueError("a bend has no usable pair")
    only, first = all(len(each) == 1 for each in by_blank), tuple(each[0] for each in by_blank)
    own = job if only or job.watch.quick else replace(job, watch=job.watch.share(FIRST_SHARE))
    best = _ordered(own, first, below_s=math.inf)
    assert best.ordered is not None
    problem = replace(best.ordered.problem, limits=SearchLimits(watch=job.watch))
    best = replace(best, watch=job.watch, ordered=replace(best.ordered, problem=problem))
    enough = only or job.watch.quick or (job.watch.any_plan and best.solution.feasible)
    return best if enough else _least_of_all(best, by_blank)


def _least_of_all(first: Job, by_blank: Sequence[Sequence[Alike]]) -> Job:
    """The best job after the other blanks; proven as far as no plan on any of them weighs less than a bound."""
    everything = on_all_blanks(first, by_blank)
    if first.solution.feasible is False and math.isinf(LeastWeight(everything).of(bodies=True)):
        return _as_proven(first, math.inf)
    best = _first_that_can(first, everything, by_blank)
    if best.solution.feasible and best.watch.any_plan:
        return _not_proven(best, 0.0)
    bare = LeastWeight(everything).of(below_s=best.weight)
    left = still_of_use(everything, by_blank, best.weight - bare)
    bound, searched, over = min(first.solution.open_bound, best.solution.open_bound), 0, first.watch.over
    if all(len(each) == 1 for each in left):
        return _as_proven(best, bound)
    everything = on_all_blanks(first, left)
    least = LeastWeight(everything)
    shut = least.of(bodies=True, below_s=best.weight)
    if math.isinf(shut):
        return _as_proven(best, bound)
    others = other_blanks(everything, left, mixed=shut + least_change_s(everything) < best.weight - SAME_COST)
    for known, chosen in _rising(others, least, left, floors=(bare, shut), below_s=best.weight, over=over):
        if known >= best.weight - SAME_COST:
            break
        # Where "impossible" can not be proven any more, a plan is looked for on few.
        most = MOST_BLANKS if best.solution.feasible or math.isinf(bound) else FEW_BLANKS
        if chosen is None or searched == most or best.watch.over():
            bound = min(bound, known)
            break
        searched += 1
        bound_s = max(known - best.solution.broken_s, 0.0)
        best.watch.tell(blank=searched + 1, best_s=best.solution.cost, bound_s=bound_s)
        try:
            other = _ordered(best, [each[nth] for each, nth in zip(left, chosen, strict=True)], below_s=best.weight)
        except NoBlank:
            continue
        solution = other.solution
        if solution.feasible and other.weight < best.weight - SAME_COST:
            best = other
            if over() or best.watch.any_plan:
                return _not_proven(best, min(bound, known))
        if solution.feasible is not False:
            bound = min(bound, solution.least_weight or math.inf)
    return _as_proven(best, bound)


def _as_proven(best: Job, bound: float) -> Job:
    """The best job where no plan that was not found weighs less than a bound."""
    if best.solution.feasible or math.isfinite(bound):
        return best if bound >= best.weight - SAME_COST else _not_proven(best, bound)
    return best.with_solution(replace(best.solution, feasible=False, lower_bound=None, least_weight=None))


def _first_that_can(job: Job, everything: SectionProblem, by_blank: Sequence[Sequence[Alike]]) -> Job:
    """The job, or where it has no plan, the first of the next blanks with one: it leaves few others to be searched."""
    if job.solution.feasible:
        return job
    alone = (chosen for _, _, chosen in other_blanks(everything, by_blank, mixed=False))
    for chosen in itertools.islice(alone, FEW_BLANKS):
        if job.watch.over():
            break
        with suppress(NoBlank):
            other = _ordered(job, [each[nth] for each, nth in zip(by_blank, chosen, strict=True)], below_s=math.inf)
            if other.solution.feasible:
                return other
    return job


def _rising(
    others: Iterator[tuple[float, float, tuple[int, ...]]],
    least: LeastWeight,
    by_blank: Sequence[Sequence[Alike]],
    *,
    floors: tuple[float, float],
    below_s: float,
    over: Callable[[], bool],
) -> Iterator[tuple[float, tuple[int, ...] | None]]:
    """Choices of blanks with what no plan on them weighs less than, the least first; None for all that are left.

    `floors`: what no plan weighs less than, as if nothing were in the way, and with what all tools shut. What the pairs
    cost more than the cheapest is known at once; what they shut by themselves is asked when it comes to that.
    """
    opened: list[tuple[float, bool, float, tuple[int, ...]]] = []
    bare, shut = floors
    coming, counted = next(others, None), 0
    while opened or coming is not None:
        if coming is not None:
            extra, change, chosen = coming
            counted += 1
            if counted > MOST_COUNTED or over():
                least_known = min([max(bare + extra, shut) + change, *(each[0] for each in opened[:1])])
                yield least_known, None
                return
            if not opened or bare + extra + change <= opened[0][0]:
                known = max(bare + extra, shut) + change
                if known < below_s:
                    heapq.heappush(opened, (known, False, change, chosen))
                coming = next(others, None) if bare + extra + change < below_s else None
                continue
        known, asked, change, chosen = heapq.heappop(opened)
        if asked or over():
            yield known, chosen
            continue
        shut_own = least.of(options_of(by_blank, chosen), bodies=True, below_s=below_s) + change
        if math.isfinite(shut_own):
            heapq.heappush(opened, (max(known, shut_own), True, change, chosen))


def _ordered(job: Job, alike: Sequence[Alike], *, below_s: float) -> Job:
    """The least plan with pairs that make one blank, on it, if it weighs less than that. Raises NoBlank."""
    offered = dict(zip(job.offers, alike, strict=True))
    pairs = dict(job.pairs) | {bend: each[0].pair for bend, each in offered.items()}
    own = replace(job, pairs=pairs, pattern=blank_of(job, pairs))
    problem = problem_of(own, offered)
    problem = problem if below_s == math.inf else replace(problem, tell_blockers=False)
    ordered = as_they_stand(own, Ordered(problem, solve(problem, below_s=below_s), offered), below_s=below_s)
    return replace(own, ordered=ordered, pairs=pairs | {bend: each.pair for bend, each in ordered.taken.items()})


def _not_proven(job: Job, bound: float) -> Job:
    """The answer without a proof; `bound` is what any plan weighs at least."""
    own = job.solution
    known_s = math.inf if own.lower_bound is None else own.lower_bound
    least_s = max(0.0, min(known_s, bound - own.broken_s))
    return job.with_solution(replace(own, feasible=own.feasible or None, proven_least=False, lower_bound=least_s))
