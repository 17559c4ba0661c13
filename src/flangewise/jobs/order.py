"""Which tools are put before the search, and what its answer then proves.

All pairs of the shop are judged for every bend, and most of them only cost more. The search is first given the
best pair of each bend. Its answer is the least of all as soon as no pair left out, at the price of using it, could
still come in below it; else those pairs are added, or where nothing was found those with the same die and then all,
and the search is asked again.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import replace
from functools import cache, partial

from flangewise.jobs.job import Job, Ordered
from flangewise.jobs.problem import mountings, pair_price, problem_of
from flangewise.punch_die import Mounting, PunchDie, usable
from flangewise.sequence import (
    SAME_COST,
    Costs,
    Fastest,
    Hit,
    HitTime,
    PricedStep,
    SectionProblem,
    ShapeCache,
    ToolOption,
    least_priced,
    solve,
)
from flangewise.setup import WorkCentre

Offered = dict[int, tuple[Mounting, ...]]

# More choices than this for one bend are not searched together; the answer then is good but not proven least.
MOST_CHOICES = 24
# So many pairs are tried alone for all bends before they are searched together.
MOST_ALONE = 16


def find_order(
    job: Job,
    *,
    narrow: bool = False,
    only: Mapping[int, Collection[str]] | None = None,
    first: Mapping[int, Mounting] | None = None,
) -> Ordered:
    """Tools and bend order with the least handling, from all usable pairs.

    `narrow` stops at the best die of each bend: quick, and what it does not find is not proven to be impossible.
    `only` names the pairs that may be used, by bend; they keep the price they have among all. `first` names tools, by
    bend, that served elsewhere: they are searched first, which changes how soon the answer is known and not the answer.
    Raises ValueError where a bend has no usable pair.
    """
    pairs = {bend: usable(each) for bend, each in job.offers.items()}
    ways = {bend.number: bend.punch_turned for bend in job.part.section.bends}
    every = {
        bend: mountings([p for p in each if only is None or p.tools.name in only[bend]], ways[bend])
        for bend, each in pairs.items()
    }
    if not all(every.values()):
        raise ValueError("a bend has no usable pair")
    best = {bend: options[:1] for bend, options in every.items()}
    served = _served(every, first or {})
    found = _search(job, served, tell_blockers=False) if served else None
    if found is None or not found.solution.feasible:
        found = _search(job, best, tell_blockers=not narrow)
    if found.solution.feasible is False and _never(found.problem):
        return found
    # Whatever its tools, the bare handling costs the same: the same first pairs without their bodies.
    floor = cache(partial(_floor_weight, job, every))
    if not found.solution.feasible or found.solution.breach:
        found = _with_one_pair(job, _same_die(every) if narrow else every, found, floor)
    for widen in (_same_die,) if narrow else (_same_die, _all):
        wider = _worth_trying(every, found, floor)
        if wider == found.offered:
            return _with_returns(job, found, floor)
        if not found.solution.feasible:
            wider = widen(every)
        wide = _search(job, _capped(wider, found), tell_blockers=False)
        found = _better(wide, found, floor)
    found = _with_returns(job, found, floor)
    return found if _worth_trying(every, found, floor) == found.offered else _not_proven(found, floor())


def _served(every: Offered, first: Mapping[int, Mounting]) -> Offered | None:
    """The tools named, where every bend has its own among those offered."""
    names = {bend: mounting.name for bend, mounting in first.items()}
    taken = {bend: tuple(each for each in options if each.name == names.get(bend)) for bend, options in every.items()}
    return taken if all(taken.values()) else None


def _with_one_pair(job: Job, every: Offered, found: Ordered, floor: Callable[[], float]) -> Ordered:
    """The answer, or a better one with a pair that makes all bends alone: found quickly, it leaves few to be searched.

    The cheapest pairs first, until no further one could come in below the best so far.
    """
    alone = [
        {bend: choice for bend, options in every.items() for choice in options if choice.name == first.name}
        for first in next(iter(every.values()), ())
    ]
    prices = {bend: min(pair_price(choice.pair) for choice in options) for bend, options in every.items()}
    shared = [
        (sum(pair_price(each.pair) for each in taken.values()), taken) for taken in alone if len(taken) == len(every)
    ]
    least = floor() - sum(prices.values())
    best = found
    for price, taken in sorted(shared, key=lambda each: each[0])[:MOST_ALONE]:
        if best.solution.feasible and least + price >= best.solution.weight - SAME_COST:
            break
        if {bend: (choice,) for bend, choice in taken.items()} == best.offered:
            continue
        tried = _search(job, {bend: (choice,) for bend, choice in taken.items()}, tell_blockers=False)
        if tried.solution.feasible and (not best.solution.feasible or tried.solution.weight < best.solution.weight):
            best = tried
    return best


def _with_returns(job: Job, found: Ordered, floor: Callable[[], float]) -> Ordered:
    """The answer with plans looked at that come back to tools which still stand beside the others.

    The search pays for putting tools in at every change; such a plan pays for them once. So it is asked again with
    changes that cost the shift alone and one station put in: no plan with two or more stations takes less.
    """
    costs, centre, solution = found.problem.costs, job.centre, found.solution
    put_in = 2 * centre.mount_s
    if not solution.proven_least or costs.tool_change or not put_in:
        return found
    if floor() + 2 * centre.shift_s + put_in >= solution.weight - SAME_COST:
        return found
    cheap = replace(costs, station_change=centre.shift_s, base=costs.base + put_in)
    problem, kept = replace(found.problem, costs=cheap, tell_blockers=False), ShapeCache()
    bound = solve(problem, kept)

    def mounted(made: Iterable[PricedStep]) -> float:
        """Stations after the second are put in as well."""
        taken = (problem.operations[operation].options[option].hits for operation, option, _ in made)
        stations = {(hit.stack.punch, hit.stack.die, hit.stack.turned) for hits in taken for hit in hits}
        return put_in * max(len(stations) - 2, 0)

    if not bound.feasible or bound.cost is None:
        return found if bound.feasible is False else _not_proven(found, floor())
    true = replace(bound, cost=bound.cost + mounted((each.operation, each.option, each.gauged) for each in bound.steps))
    known = true if true.weight < solution.weight - SAME_COST else solution
    return replace(found, solution=least_priced(problem, kept, known, mounted, always_s=0.0, bound=bound))


def _search(job: Job, offered: Offered, *, tell_blockers: bool) -> Ordered:
    problem = problem_of(job, offered)
    problem = replace(problem, tell_blockers=tell_blockers)
    return Ordered(problem, solve(problem), offered)


def _never(problem: SectionProblem) -> bool:
    """Whether it cannot be bent even where no tool is in the way: no other pair needs to be tried."""
    return solve(_bare(problem)).feasible is False


def _same_die(every: Offered) -> Offered:
    """The choices with the die of the best pair: they form the same radius, so the blank stays."""
    return {
        bend: tuple(choice for choice in options if choice.pair.tools.die_name == options[0].pair.tools.die_name)
        for bend, options in every.items()
    }


def _all(every: Offered) -> Offered:
    return every


def _capped(wider: Offered, found: Ordered) -> Offered:
    """So many choices as can be searched together; all of them where it is to be proven that none will do.

    First those whose tools stand in the machine for another bend anyway, then the best.
    """
    if found.solution.feasible is False:
        return wider
    standing = {(hit.punch, hit.die) for step in found.solution.steps for hit in step.stacks}

    def fetched(choice: Mounting) -> bool:
        return (choice.pair.tools.punch_name, choice.pair.tools.die_name) not in standing

    kept = {bend: {id(choice) for choice in sorted(each, key=fetched)[:MOST_CHOICES]} for bend, each in wider.items()}
    return {bend: tuple(choice for choice in each if id(choice) in kept[bend]) for bend, each in wider.items()}


def _better(wide: Ordered, narrow: Ordered, floor: Callable[[], float]) -> Ordered:
    """The answer among more choices, unless the time it had did not bring it as far as the one among fewer.

    Where neither finds an order the reasons are those of the best pairs: they are the ones a setter would take.
    """
    one, other = wide.solution, narrow.solution
    if other.feasible and (not one.feasible or one.weight > other.weight + SAME_COST):
        return _not_proven(narrow, floor())
    return wide if one.feasible else replace(wide, solution=replace(one, blockers=other.blockers))


def _worth_trying(every: Offered, found: Ordered, floor: Callable[[], float]) -> Offered:
    """The choices searched, and those whose use could still come in below the answer found; all where there is none."""
    weight = found.solution.weight if found.solution.feasible else None
    if weight is None or every == found.offered:
        return every
    least = floor()
    costs = found.problem.costs
    extra = _extras(every, costs.station_change + costs.tool_change)
    return {
        bend: tuple(
            choice
            for choice in options
            if choice in found.offered[bend] or least + extra[bend, choice.pair.tools.name] < weight - SAME_COST
        )
        for bend, options in every.items()
    }


def _extras(every: Offered, change_price: float) -> dict[tuple[int, str], float]:
    """What taking a pair for a bend adds at least, by bend and pair.

    Either all bends take it, and pay for it each, or tools are changed between it and another.
    """
    own = {
        (bend, choice.pair.tools.name): pair_price(choice.pair) - min(pair_price(other.pair) for other in options)
        for bend, options in every.items()
        for choice in options
    }
    return {
        (bend, name): min(price + change_price, sum(own.get((each, name), math.inf) for each in every))
        for (bend, name), price in own.items()
    }


def least_weight(job: Job) -> float:
    """What no plan weighs less than, whatever usable pairs it takes: the bare handling and the quickest strokes."""
    return _floor_weight(job, {bend: mountings(usable(each)) for bend, each in job.offers.items()})


def _floor_weight(job: Job, every: Offered) -> float:
    """What every order weighs at least, whatever its tools: the handling that is left when no tool is in the way.

    Each stroke is as quick as the quickest of its pairs and each bend as well served as by the best. Nothing is paid
    for changing tools from bend to bend, since some pair might serve them all; between the hits of one bend, as little
    as any of its pairs needs.
    """
    problem = _bare(problem_of(job, every))
    changes = [min(_inner_changes(choice.pair) for choice in options) for options in every.values()]
    own = sum(min(pair_price(choice.pair) for choice in options) for options in every.values())
    least = solve(replace(problem, check_self=False)).least_weight
    if least is None:
        return math.inf
    return least + own + _between(job.centre, problem.costs, changes)


def _between(centre: WorkCentre, costs: Costs, changes: Sequence[int]) -> float:
    """What changes between the hits of single bends cost at least: where tools stay mounted, each is put in once."""
    changed = sum(change > 0 for change in changes)
    if not changed:
        return 0.0
    if costs.tool_change:
        return changed * (costs.rehandle + costs.station_change) + costs.tool_change * sum(changes)
    return changed * (costs.rehandle + centre.shift_s) + 2 * centre.mount_s


def _inner_changes(pair: PunchDie) -> int:
    """How many of punch and die are changed between the hits of one bend."""
    if pair.then is None:
        return 0
    return int(pair.tools.punch_name != pair.then.tools.punch_name) + int(
        pair.tools.die_name != pair.then.tools.die_name
    )


def _bare(problem: SectionProblem) -> SectionProblem:
    """The problem without tools or machine in the way, each stroke as quick as the quickest of those offered."""
    bare = tuple(replace(operation, options=(_without_bodies(operation.options),)) for operation in problem.operations)
    return replace(problem, operations=bare, check_exits=False, tell_blockers=False)


def _without_bodies(options: Sequence[ToolOption]) -> ToolOption:
    """The first option without its bodies and names: among such there is no change of tools to be paid for."""
    first = options[0].hits
    times = [[option.hits[nth].time for option in options if nth < len(option.hits)] for nth in range(len(first))]
    return ToolOption(tuple(_bodiless(hit, alike) for hit, alike in zip(first, times, strict=True)))


def _bodiless(hit: Hit, times: Sequence[HitTime | Fastest | None]) -> Hit:
    known = tuple(dict.fromkeys(time for time in times if isinstance(time, HitTime)))
    stack = replace(hit.stack, name="", punch="", die="", bodies=())
    return replace(hit, stack=stack, time=Fastest(known) if known else None)


def _not_proven(found: Ordered, least: float) -> Ordered:
    """The answer stripped of a proof that was only among some of the pairs; `least` is what any pair costs at least."""
    solution = found.solution
    feasible = None if solution.feasible is False else solution.feasible
    bound = None if solution.lower_bound is None else max(0.0, min(solution.lower_bound, least))
    return replace(found, solution=replace(solution, feasible=feasible, proven_least=False, lower_bound=bound))
