"""Sets of stations that a search has not looked at yet, by their least bound."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from flangewise.panel_order.problem import PanelProblem
from flangewise.panel_order.stations import PanelStations


class FreshSets:
    """Sets of stations that were not looked at yet, by their least bound: one, then two, then more together."""

    def __init__(self, problem: PanelProblem, stations: PanelStations, bare_s: float, any_s: float) -> None:
        """`bare_s`, `any_s`: what no plan costs less than without its stations, and with the least of them."""
        operations, count = len(problem.operations), stations.count
        tasks = operations + len(problem.flattened)
        # The plates that flatten a hem are one more, and so are the tools that press an offset.
        own = bool(problem.flattened) + any(operation.is_offset for operation in problem.operations)
        most = min(problem.most_stations + own, tasks, count)
        self._streams: list[Iterator[tuple[float, tuple[int, ...]]]] = [
            stations.sets_of(size, bare_s) for size in range(1, most + 1)
        ]
        # Until a stream is begun it is known by what so many stations cost at least.
        cheapest, change_s = np.sort(stations.prices_s[:count]), problem.rules.change_s
        least_s = [
            max(any_s, bare_s + float(cheapest[:size].sum()) + (size - 1) * change_s)
            for size in range(1, min(tasks, count) + 1)
        ]
        self._heads: list[tuple[float, tuple[int, ...] | None]] = [(least_s[size], None) for size in range(most)]
        # Of larger sets not all are looked at where they are many, and none of those beyond the most.
        sizes = range(1, min(tasks, count) + 1)
        left = (least_s[size - 1] for size in sizes if size > most or not stations.all_of(size))
        self._rest_s = next(left, math.inf)
        self._stations: PanelStations | None = stations

    @classmethod
    def nothing(cls) -> FreshSets:
        """No set is left, as none would help."""
        made = cls.__new__(cls)
        made._streams, made._heads, made._rest_s, made._stations = [], [], math.inf, None
        return made

    @property
    def bound_s(self) -> float:
        """No set that was not taken costs less, looked at ever or not."""
        return min(self.next_s, self._not_looked_at_s)

    @property
    def complete(self) -> bool:
        """Whether every set is looked at in the end."""
        return self._not_looked_at_s == math.inf

    @property
    def _not_looked_at_s(self) -> float:
        return self._rest_s if self._stations is None else min(self._rest_s, self._stations.open_s)

    @property
    def next_s(self) -> float:
        """No set that is still to be taken costs less."""
        return min((head[0] for head in self._heads), default=math.inf)

    def take(self) -> list[tuple[float, tuple[int, ...]]]:
        """The next set of the stream that begins least, if it is begun and not at its end."""
        at = min(range(len(self._heads)), key=lambda number: self._heads[number][0])
        bound, some = self._heads[at]
        following = next(self._streams[at], None)
        self._heads[at] = (math.inf, None) if following is None else (max(bound, following[0]), following[1])
        return [] if some is None else [(bound, some)]
