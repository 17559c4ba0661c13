"""Which tools are put before the search, and what its answer then proves.

All pairs of the shop are judged for every bend, and most of them only cost more. The search is first given the
best pair of each bend. Its answer is the least of all as soon as no pair left out, at the price of using it, could
still come in below it; else those pairs are added, or where nothing was found those with the same die and then all,
and the search is asked again.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache, partial

from flangewise.jobs.problem import Choice, choices, least_cost_of, pair_price, problem_of
from flangewise.part import Part
from flangewise.pattern import FlatPattern
from flangewise.punch_die import PunchDie, usable
from flangewise.sequence import SectionProblem, Solution, ToolOption, solve
from flangewise.shop import Handler, Machine

Offers = Mapping[int, Sequence[PunchDie]]
Offered = dict[int, tuple[Choice, ...]]

# Prices closer than this are the same.
SAME_COST = 1e-9
# More choices than this for one bend are not searched together; the answer then is good but not proven least.
MOST_CHOICES = 24


@dataclass(frozen=True)
class Ordered:
    """The search's answer, with what its tool options stand for: (bend, index of the option) -> choice."""

    problem: SectionProblem
    solution: Solution
    offered: Mapping[int, tuple[Choice, ...]]


@dataclass(frozen=True)
class _Asked:
    """What stays the same from search to search."""

    part: Part
    pattern: FlatPattern
    machine: Machine
    handler: Handler
    least_cost: Mapping[int, float]


def find_order(
    part: Part,
    pattern: FlatPattern,
    offers: Offers,
    *,
    machine: Machine,
    handler: Handler,
    narrow: bool = False,
    only: Mapping[int, Collection[str]] | None = None,
) -> Ordered:
    """Tools and bend order with the least handling, from all usable pairs.

    `narrow` stops at the best die of each bend: quick, and what it does not find is not proven to be impossible.
    `only` names the pairs that may be used, by bend; they keep the price they have among all.
    Raises ValueError where a bend has no usable pair.
    """
    pairs = {bend: usable(each) for bend, each in offers.items()}
    ways = {bend.number: bend.punch_turned for bend in part.section.bends}
    every = {
        bend: choices([p for p in each if only is None or p.name in only[bend]], ways[bend])
        for bend, each in pairs.items()
    }
    if not all(every.values()):
        raise ValueError("a bend has no usable pair")
    best = {bend: options[:1] for bend, options in every.items()}
    asked = _Asked(part, pattern, machine, handler, {bend: least_cost_of(each) for bend, each in pairs.items()})
    found = _search(asked, best, tell_blockers=not narrow)
    if found.solution.feasible is False and _never(found.problem):
        return found
    # Whatever its tools, the bare handling costs the same: the same first pairs without their bodies.
    floor = cache(partial(_floor_cost, found.problem, every))
    for widen in (_same_die,) if narrow else (_same_die, _all):
        wider = _worth_trying(every, found, floor)
        if wider == found.offered:
            return found
        if not found.solution.feasible:
            wider = widen(every)
        wide = _search(asked, _capped(wider, found), tell_blockers=False)
        found = _better(wide, found, floor)
    return found if _worth_trying(every, found, floor) == found.offered else _not_proven(found, floor())


def _search(asked: _Asked, offered: Offered, *, tell_blockers: bool) -> Ordered:
    problem = problem_of(
        asked.part,
        asked.pattern,
        offered,
        machine=asked.machine,
        handler=asked.handler,
        least_cost=asked.least_cost,
    )
    problem = replace(problem, tell_blockers=tell_blockers)
    return Ordered(problem, solve(problem), offered)


def _never(problem: SectionProblem) -> bool:
    """Whether it cannot be bent even where no tool is in the way: no other pair needs to be tried."""
    return solve(_bare(problem)).feasible is False


def _same_die(every: Offered) -> Offered:
    """The choices with the die of the best pair: they form the same radius, so the blank stays."""
    return {
        bend: tuple(choice for choice in options if choice.pair.die_name == options[0].pair.die_name)
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

    def fetched(choice: Choice) -> bool:
        return (choice.pair.punch_name, choice.pair.die_name) not in standing

    kept = {bend: {id(choice) for choice in sorted(each, key=fetched)[:MOST_CHOICES]} for bend, each in wider.items()}
    return {bend: tuple(choice for choice in each if id(choice) in kept[bend]) for bend, each in wider.items()}


def _better(wide: Ordered, narrow: Ordered, floor: Callable[[], float]) -> Ordered:
    """The answer among more choices, unless the time it had did not bring it as far as the one among fewer.

    Where neither finds an order the reasons are those of the best pairs: they are the ones a setter would take.
    """
    one, other = wide.solution, narrow.solution
    if other.feasible and (not one.feasible or (one.cost or 0.0) > (other.cost or 0.0) + SAME_COST):
        return _not_proven(narrow, floor())
    return wide if one.feasible else replace(wide, solution=replace(one, blockers=other.blockers))


def _worth_trying(every: Offered, found: Ordered, floor: Callable[[], float]) -> Offered:
    """The choices searched, and those whose use could still come in below the answer found; all where there is none."""
    cost = found.solution.cost if found.solution.feasible else None
    if cost is None or every == found.offered:
        return every
    least = floor()
    extra = _extras(every, found.problem.costs.tool_change)
    return {
        bend: tuple(
            choice
            for choice in options
            if choice in found.offered[bend] or least + extra[bend, choice.pair.name] < cost - SAME_COST
        )
        for bend, options in every.items()
    }


def _extras(every: Offered, tool_change_price: float) -> dict[tuple[int, str], float]:
    """What taking a pair for a bend adds at least, by bend and pair.

    Either all bends take it, and pay for it each, or tools are changed between it and another.
    """
    own = {
        (bend, choice.pair.name): pair_price(choice.pair) - min(pair_price(other.pair) for other in options)
        for bend, options in every.items()
        for choice in options
    }
    return {
        (bend, name): min(price + tool_change_price, sum(own.get((each, name), math.inf) for each in every))
        for (bend, name), price in own.items()
    }


def _floor_cost(problem: SectionProblem, every: Offered) -> float:
    """What every order costs at least, whatever its tools: the handling that is left when no tool is in the way.

    Nothing is paid for changing tools from bend to bend, since some pair might serve them all; between the hits of one
    bend, as little as any of its pairs needs.
    """
    within = sum(min(_inner_changes(choice.pair) for choice in options) for options in every.values())
    handled = solve(replace(_bare(problem), check_self=False)).lower_bound or 0.0
    return handled + problem.costs.tool_change * within


def _inner_changes(pair: PunchDie) -> int:
    """How many of punch and die are changed between the hits of one bend."""
    if pair.then is None:
        return 0
    return int(pair.punch_name != pair.then.punch_name) + int(pair.die_name != pair.then.die_name)


def _bare(problem: SectionProblem) -> SectionProblem:
    """The problem without tools or machine in the way."""
    bare = tuple(
        replace(operation, options=(_without_bodies(operation.options[0]),)) for operation in problem.operations
    )
    return replace(problem, operations=bare, check_exits=False, tell_blockers=False)


def _without_bodies(option: ToolOption) -> ToolOption:
    """The option without its bodies, and without names: among such there is no change of tools to be paid for."""
    hits = (replace(hit, stack=replace(hit.stack, name="", punch="", die="", bodies=())) for hit in option.hits)
    return ToolOption(tuple(hits))


def _not_proven(found: Ordered, least: float) -> Ordered:
    """The answer stripped of a proof that was only among some of the pairs; `least` is what any pair costs at least."""
    solution = found.solution
    feasible = None if solution.feasible is False else solution.feasible
    bound = None if solution.lower_bound is None else min(solution.lower_bound, least)
    return replace(found, solution=replace(solution, feasible=feasible, proven_least=False, lower_bound=bound))
