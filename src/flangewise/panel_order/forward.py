"""The cheapest plan forward from the table of what is left, with what only two steps together say: the stops' travel.

A plan is taken by the least it can cost; what the table says of the rest is never more than the truth.
"""

from __future__ import annotations

import heapq
import itertools
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from flangewise.panel_order.layers import Graph, Taken
from flangewise.records import dataclass

Floats = NDArray[np.float64]
# Of plans that cost the same, by more than rounding, the one further on is looked at first.
SAME_S = 1e-7


# What two steps that follow each other cost besides the moves between them, which take so many seconds.
Between = Callable[[Taken, Taken, float], float]


@dataclass(frozen=True)
class PlanPath:
    """A plan and what it costs; `by_hand`: how many of its steps no grip holds, where that was asked."""

    steps: tuple[Taken, ...]
    cost_s: float
    by_hand: int = 0


def cheapest(graph: Graph, left: Floats, between: Between, *, below_s: float, most: int = 200_000) -> PlanPath | None:
    """The plan that costs least, if any costs less than `below_s`; after `most` beginnings the best by the table."""
    count = itertools.count()
    waiting: list[tuple[float, int, int, float, Taken | None, tuple[Taken, ...]]] = [
        (0.0, 0, next(count), 0.0, None, ())
    ]
    known: dict[object, float] = {}
    position = graph.layers.position
    for _ in range(most):
        if not waiting:
            return None
        least_s, _, _, spent_s, last, steps = heapq.heappop(waiting)
        if least_s >= below_s:
            return None
        done = 0 if last is None else last.done | 1 << graph.operations[last.way]
        if done == graph.whole:
            return PlanPath(steps, spent_s)
        at_done = int(position[done])
        for station, ways in enumerate(graph.ways):
            for own, (way, end) in enumerate(zip(ways, graph.ends[station], strict=True)):
                operation = graph.operations[way]
                if done >> operation & 1:
                    continue
                price = float(graph.prices_s[station][own, at_done])
                rest = float(left[position[done | 1 << operation], graph.place(end, graph.classes[way])])
                if price == np.inf or rest == np.inf:
                    continue
                taken = Taken(way, station, done, end)
                cost = spent_s + price
                if last is not None:
                    moved = graph.moved_s(last, taken)
                    cost = spent_s + moved + between(last, taken, moved) + price
                total = cost + rest
                if total >= below_s:
                    continue
                key = (taken.done, way, station, end)
                if known.get(key, np.inf) <= cost + SAME_S / 10:
                    continue
                known[key] = cost
                rank = round(total / SAME_S) * SAME_S
                heapq.heappush(waiting, (rank, -len(steps), next(count), cost, taken, (*steps, taken)))
    return None
