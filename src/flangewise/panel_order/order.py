"""The order of a panel's operations as an answer: each step with its rows, moves and price, or what is in the way."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import replace

from flangewise.panel_order.blocked import blockers
from flangewise.panel_order.forward import PlanPath
from flangewise.panel_order.holding import Holding
from flangewise.panel_order.layers import Taken
from flangewise.panel_order.moves import priced
from flangewise.panel_order.problem import PanelProblem
from flangewise.panel_order.search import FoundPanelPlan, PanelSearch
from flangewise.panel_order.solution import PanelSolution, PanelStep
from flangewise.panel_order.stations import RowPair
from flangewise.punch_die import Placed
from flangewise.sequence import BREACH_S

# Who holds the part, for a search that is begun.
HoldingOf = Callable[[PanelSearch], Holding]


def find_panel_order(
    problem: PanelProblem, *, below_s: float = math.inf, holding_of: HoldingOf | None = None
) -> PanelSolution:
    """The order of least cost with what is proven of it; without one, what is in the way of each operation.

    None is told where none weighs less than `below_s`. `holding_of`: then what holding the part takes counts too.
    """
    search = PanelSearch(problem)
    found = search.solve(below_s=below_s)
    quick = problem.limits.watch.quick or problem.limits.watch.any_plan
    if holding_of is not None and found.path is not None:
        found = search.held(found, holding_of(search), below_s=below_s, only_this=quick)
    elif holding_of is not None and found.feasible is None and found.bound_s < below_s and not quick:
        found = replace(found, bound_s=search.open_held_s(found, holding_of(search), below_s=below_s))
    if found.path is None:
        told = tuple(blockers(search)) if problem.order is None or found.feasible is False else ()
        return PanelSolution(found.feasible, False, None, found.bound_s, (), told, least_known_s=found.bound_s)
    steps = tuple(_steps(search, found, found.path))
    breach = sum(search.tables.broken(problem.ways[each.way], each.done) for each in found.path.steps)
    breach = found.path.by_hand + (breach if problem.hold is not None else 0.0)
    cost, least = found.cost_s - BREACH_S * breach, min(found.bound_s, found.cost_s)
    solution = PanelSolution(True, found.proven_least, cost, cost, steps, (), breach, least)
    return replace(solution, lower_bound=solution.seconds_of(least))


def _steps(search: PanelSearch, found: FoundPanelPlan, path: PlanPath) -> Iterator[PanelStep]:
    """Each step with what it costs by itself and between it and the one before."""
    before: Taken | None = None
    for taken in path.steps:
        yield _step(search, found, before, taken)
        before = taken


def _step(search: PanelSearch, found: FoundPanelPlan, before: Taken | None, taken: Taken) -> PanelStep:
    problem, looks = search.problem, search.looks
    moves = () if before is None else search.tables.attitudes.moves(before.way, taken.way, taken.done)
    shifted = before is not None and before.end != taken.station
    moved_s = priced(moves) + (problem.costs.rehandle if moves or shifted else 0.0)
    moved_s += problem.rules.change_s if shifted else 0.0
    more_s = 0.0 if before is None else looks.between_s(before, taken, moved_s)
    first, *more = (_told_hit(search, index, taken.done, station, found) for index, station in search.hits_of(taken))
    inner_s = sum(each.cost + problem.costs.rehandle + problem.rules.change_s for each in more)
    wishes: dict[str, float] = {}
    for name, seconds in (wish for each in (first, *more) for wish in each.wishes_s):
        wishes[name] = wishes.get(name, 0.0) + seconds
    return replace(
        first,
        cost=moved_s + more_s + first.cost + inner_s,
        wishes_s=tuple(wishes.items()),
        moves=moves,
        then=next(iter(more), None),
    )


def _told_hit(search: PanelSearch, index: int, done: int, station: int, found: FoundPanelPlan) -> PanelStep:
    """One hit of a plan, with what only is told of it."""
    way, pair = search.problem.ways[index], found.pairs[station]
    hit, bent = hit_at(search, index, done, pair), search.problem.bends_of(done)
    gauged = hit.gauged
    if gauged is not None:
        gauged = replace(gauged, retract_mm=way.hit.retract_mm(bent, gauged))
    clearance_mm = way.hit.clearance_mm(bent, *search.looks.rows(index, done, pair))
    return replace(hit, station=station, gauged=gauged, clearance_mm=clearance_mm)


def hit_at(search: PanelSearch, index: int, done: int, pair: RowPair) -> PanelStep:
    """One hit with the rows of a station as far as it was looked at, as if nothing came before it."""
    problem, tables, looks = search.problem, search.tables, search.looks
    way = problem.ways[index]
    standing = looks.standing(index, done, pair)
    punch, die = tables.rows[way.mounting].pairs[pair.pair]
    gauged, leaving, bent = looks.gauging(index, done), looks.leaving(index, done, pair), problem.bends_of(done)
    wishes = {
        "tools": way.wish_s,
        "gauging": 0.0 if gauged is None else gauged.wish_s,
        "holding": tables.holding_s(way, done),
        "corners": standing.uncovered_mm * problem.rules.short_wish_s_per_mm,
    }
    opening_mm = tables.opening_mm(way, done) if leaving is None else looks.opening_mm(way, done, leaving)
    (front, behind), at = tables.front_and_behind(way), tables.at[done]
    broken = tables.broken(way, done)
    return PanelStep(
        marked_up=way.lie.marked_up,
        cost=search.own_s(index, done, pair) - BREACH_S * broken,
        clearance_mm=None,
        open_height_mm=None,
        opening_reason="stands-behind"
        if behind.top_mm[at] > 0
        else "hangs-below"
        if behind.low_mm[at] < 0
        else "this-bend",
        side_exit=leaving is not None and leaving.along_bed,
        least_opening_mm=opening_mm,
        reach_mm=float(max(front.reach_mm[at], behind.reach_mm[at])),
        hold=tables.hold(way, done),
        wishes_s=tuple((name, seconds) for name, seconds in wishes.items() if seconds),
        operation=problem.operations[way.operation],
        mounting=way.made,
        parent_behind=way.parent_behind,
        done=bent,
        station=0,
        punch=Placed(punch, standing.punch_from_mm),
        die=Placed(die, standing.die_from_mm),
        short_mm=standing.short_mm,
        gap_mm=standing.gap_mm,
        gauged=gauged,
        moves=(),
        leaving=leaving,
    )
