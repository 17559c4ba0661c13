"""Why a panel is bent in this order, with these tools, in these rows: what each costs, and what others cost more."""

from __future__ import annotations

import itertools
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Any

from flangewise.jobs.panel_plan import PanelPlan, planned_panel
from flangewise.jobs.panel_replay import with_tools
from flangewise.jobs.why import where_dearer
from flangewise.panel_order import PanelProblem, PanelSolution, find_panel_order, row_price_s
from flangewise.sequence import SAME_COST, UNLIMITED, Watch
from flangewise.setup import panel_step
from flangewise.shop import Shop

# So many of the next best orders are told, of so many that were made at most.
MOST_TOLD, MOST_MADE = 3, 24
# Of the time left, what other orders may take; the rest goes to other tools.
ORDERS_SHARE = 0.6


def panel_why(plan: PanelPlan, shop: Shop, watch: Watch = UNLIMITED) -> dict[str, Any]:
    """What a plan's cost is made of, the next best orders, and the other tools that were looked at.

    `prices`: seconds a part by what they are for. `orders`: those near the plan's own, two steps exchanged or a run of
    them moved; `made` of them were planned, `cannot` of these cannot be bent. `tools`: the plan with each other pair
    alone, or that there is none. `freed`: the cost in the order liked best, where one was asked for.
    """
    empty: dict[str, Any] = {"prices": [], "orders": [], "made": 0, "cannot": 0, "tools": [], "freed": None}
    solution, problem = plan.solution, plan.problem
    if not plan.feasible or solution is None or solution.cost is None or problem is None:
        return empty
    # Other orders are priced without their grips, so beside the plan's own.
    orders, made, cannot = _orders(
        problem, replace(solution, cost=solution.cost - plan.grips_s), watch.share(ORDERS_SHARE)
    )
    freed = None
    if plan.part.order is not None:
        free = planned_panel(replace(plan.part, order=None), shop, watch)
        freed = None if free.solution is None else free.solution.cost
    return {
        "prices": list(_prices(plan, problem, solution)),
        "orders": orders,
        "made": made,
        "cannot": cannot,
        "tools": list(_other_tools(plan, shop, solution.cost, watch)),
        "freed": freed,
    }


def _prices(plan: PanelPlan, problem: PanelProblem, solution: PanelSolution) -> Iterator[dict[str, Any]]:
    """What each part of the cost is for: steps with the wishes in them, rows, and what no plan is without."""
    told_s = 0.0
    for number, step in enumerate(solution.steps, start=1):
        told_s += step.cost
        yield {"what": "step", "step": number, "cost_s": step.cost, "wishes_s": dict(step.wishes_s)}
    hits = {hit.station: hit for step in solution.steps for hit in step.hits}
    for station, step in hits.items():
        rows_s = sum(row_price_s(each.row, problem.rules) for each in (step.punch, step.die))
        told_s += rows_s
        rows = f"{step.punch.row.text} / {step.die.row.text}"
        yield {"what": "rows", "station": station + 1, "rows": rows, "cost_s": rows_s, "wishes_s": {}}
    if plan.grips_s > SAME_COST:
        told_s += plan.grips_s
        yield {"what": "grips", "cost_s": plan.grips_s, "wishes_s": {}}
    rest_s = (solution.cost or 0.0) - told_s
    if abs(rest_s) > SAME_COST:
        yield {"what": "rest", "cost_s": rest_s, "wishes_s": {}}


def _orders(problem: PanelProblem, best: PanelSolution, watch: Watch) -> tuple[list[dict[str, Any]], int, int]:
    """The cheapest of the orders near the best, how many were made, and how many of these cannot be bent."""
    places = [each.bends for each in problem.operations]
    own = tuple(places.index(step.operation.bends) for step in best.steps)
    found: list[tuple[float, tuple[int, ...], PanelSolution]] = []
    made = cannot = 0
    for order in _near(own):
        if watch.over() or made - cannot >= MOST_MADE:
            break
        other = find_panel_order(replace(problem, order=order, limits=replace(problem.limits, watch=watch)))
        made += 1
        cannot += other.feasible is False
        if other.cost is not None:
            found.append((other.cost, order, other))
    found.sort(key=lambda each: each[:2])
    rows = [
        {
            "order": [bend for place in order for bend in places[place]],
            "cost": cost,
            "more": cost - (best.cost or 0.0),
            "where": where_dearer(best.cost or 0.0, other.cost or 0.0, _counts(other) - _counts(best)),
        }
        for cost, order, other in found[:MOST_TOLD]
    ]
    return rows, made, cannot


def _near(own: Sequence[int]) -> Iterator[tuple[int, ...]]:
    """Orders near one: two steps exchanged, then two runs of steps beside each other exchanged; each once."""
    known = {tuple(own)}
    count = len(own)
    for one, other in itertools.combinations(range(count), 2):
        order = list(own)
        order[one], order[other] = order[other], order[one]
        if tuple(order) not in known:
            known.add(tuple(order))
            yield tuple(order)
    for first, middle, last in itertools.combinations(range(count + 1), 3):
        moved = (*own[:first], *own[middle:last], *own[first:middle], *own[last:])
        if moved not in known:
            known.add(moved)
            yield moved


def _counts(solution: PanelSolution) -> Counter[str]:
    counts: Counter[str] = Counter(move.move for step in solution.steps for move in step.moves)
    counts["station"] = len({hit.station for step in solution.steps for hit in step.hits})
    counts["side-exit"] = sum(step.side_exit for step in solution.steps)
    return counts


def _other_tools(plan: PanelPlan, shop: Shop, cost: float, watch: Watch) -> Iterator[dict[str, Any]]:
    """The plan with each other pair that was looked at, alone for all bends; offsets have tools of their own."""
    bent = {bend.number for bend in plan.part.panel.bends if bend.kind != "offset"}
    made = [panel_step(step.planned) for step in (plan.setup.steps if plan.setup else ())]
    used = {step.mounting.pair.tools.name for step in made if bent.intersection(step.bends)}
    offers = {pair.tools.name: pair.tools for bend, each in plan.job.offers.items() if bend in bent for pair in each}
    for name in plan.looked_at:
        if watch.over() or name not in offers or used == {name}:
            continue
        punch, die = offers[name].punch_name or "", offers[name].die_name or ""
        pinned = dict.fromkeys(bent, (punch, die))
        other = planned_panel(
            replace(plan.part, machine=plan.machine.name, panel=with_tools(plan.part.panel, pinned)), shop, watch
        )
        found = other.solution.cost if other.feasible and other.solution is not None else None
        yield {"tools": name, "cost": found, "more": None if found is None else found - cost}
