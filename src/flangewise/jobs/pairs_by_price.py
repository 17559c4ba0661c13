"""Which pairs a plan under a weight could take, told by what each costs by itself, before anything is folded.

A bend costs its pair's price and what the strokes take with the sheet alone, at least; what else a plan is made of
(moves, stops, how the part lies) only adds. So most pairs of a shop are never asked how they bend the part.
"""

import math
from collections.abc import Mapping, Sequence

from flangewise.jobs.blanks import Alike
from flangewise.jobs.job import Job
from flangewise.jobs.problem import option_price, problem_of
from flangewise.jobs.tool_changes import least_change_s
from flangewise.punch_die import Mounting
from flangewise.sequence import SAME_COST, SectionProblem, cheapest_of_each, each_by_itself


def cheapest_weight(job: Job, by_blank: Sequence[Sequence[Alike]]) -> float:
    """Every bend with its cheapest pair, nothing in the way and nothing moved: no plan weighs less.

    Of each bend only those pairs are reckoned whose price alone is less than that of the lowest in price with its
    strokes: with any other a bend costs at least as much.
    """
    return cheapest_of_each(_lowest(job, _mountings(job, by_blank)))


def near_enough(job: Job, by_blank: Sequence[Sequence[Alike]], below_s: float) -> tuple[tuple[Alike, ...], ...]:
    """The blanks of each bend with a pair a plan could take that weighs less than that, and the first in any case.

    With such a pair the bend costs so much more than with its cheapest, and no other bend less than with its own; and
    a change of tools is paid for, or all bends are made with that pair. A hem's own change is told by its plan: there
    all pairs are taken.
    """
    every = _mountings(job, by_blank)
    if any(len(one.numbered) > 1 for each in every.values() for one in each):
        return tuple(tuple(each) for each in by_blank)
    lowest = _lowest(job, every)
    change, at_least = least_change_s(lowest.costs), cheapest_of_each(lowest)
    leasts = [float(each.min()) for each in each_by_itself(lowest)]
    # By price alone first, then with the strokes of those that are left.
    hit_s, kept = lowest.costs.hit, dict(every)
    for whole in (False, True):
        if whole:
            problem = problem_of(job, kept)
            prices = [each.tolist() for each in each_by_itself(problem)]
        else:
            prices = [[hit_s + option_price(one) for one in each] for each in kept.values()]
        extras = [
            {one.name: price - least for one, price in zip(each, own, strict=True)}
            for each, own, least in zip(kept.values(), prices, leasts, strict=True)
        ]
        room_s = below_s - at_least - SAME_COST
        alone = {name: sum(each.get(name, math.inf) for each in extras) for name in extras[0]}
        near = [
            {name for name, more in each.items() if min(more + change, alone.get(name, math.inf)) < room_s}
            for each in extras
        ]
        kept = {
            bend: tuple(one for one in each if one.name in names) or each[:1]
            for (bend, each), names in zip(kept.items(), near, strict=True)
        }
    return tuple(
        tuple(alike for nth, alike in enumerate(each) if not nth or any(one.name in names for one in alike))
        for each, names in zip(by_blank, near, strict=True)
    )


def _mountings(job: Job, by_blank: Sequence[Sequence[Alike]]) -> dict[int, tuple[Mounting, ...]]:
    return {
        bend: tuple(one for alike in each for one in alike) for bend, each in zip(job.offers, by_blank, strict=True)
    }


def _lowest(job: Job, every: Mapping[int, Sequence[Mounting]]) -> SectionProblem:
    """The question with those pairs of each bend among which the cheapest is, strokes with the sheet alone included."""
    first = {bend: (min(each, key=option_price),) for bend, each in every.items()}
    problem = problem_of(job, first)
    leasts = [float(each.min()) for each in each_by_itself(problem)]
    some = {
        bend: first[bend]
        + tuple(
            one
            for one in each
            if one is not first[bend][0] and option_price(one) + problem.costs.hit * len(one.numbered) < least
        )
        for (bend, each), least in zip(every.items(), leasts, strict=True)
    }
    return problem_of(job, some)
