"""The order of least cost with its proof: stations by rising price outside, exact layers of sets inside.

What a set of stations costs at least is known at first by its price and the handling with any rows; layers make it the
least by the tables, looks at the steps of its plan the truth. The set whose bound is least is always made truer next,
until it is true: no other can then cost less.
"""

from __future__ import annotations

import heapq
import itertools
import math
from collections.abc import Sequence
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from flangewise.panel_order.forward import PlanPath, cheapest
from flangewise.panel_order.fresh_sets import FreshSets
from flangewise.panel_order.holding import Holding
from flangewise.panel_order.layers import Graph, Layers, Taken, on_the_way
from flangewise.panel_order.looks import Looks
from flangewise.panel_order.problem import PanelProblem
from flangewise.panel_order.stations import PanelStations, RowPair, least_stations_s
from flangewise.panel_order.tables import PanelTables
from flangewise.panel_order.way_prices import graph_of
from flangewise.records import dataclass, replace

Floats = NDArray[np.float64]
SAME_S = 1e-6
# Of the time, what is used to prove; in the rest a plan is made sure of where none is known by then.
SEARCH_SHARE = 0.7
# So often a plan is given up because no way out was found, before the search says that it does not know.
MOST_WITHOUT_WAY_OUT = 400


@dataclass(frozen=True)
class FoundPanelPlan:
    """What the search knows in the end: the plan with its stations, what it costs, and what no plan costs less than.

    `feasible` as in `PanelSolution`. `bound_s` is infinite where there is no plan at all.
    """

    feasible: bool | None
    path: PlanPath | None
    pairs: tuple[RowPair, ...]
    cost_s: float
    bound_s: float
    looked_at: int

    @property
    def proven_least(self) -> bool:
        """Whether no plan with the tools offered costs less."""
        return self.path is not None and self.cost_s <= self.bound_s + SAME_S


class PanelSearch:
    """The search of one problem. Not to be shared between threads."""

    def __init__(self, problem: PanelProblem) -> None:
        """Tables are made at once; nothing is searched yet."""
        self.problem = problem
        self.tables = PanelTables(problem)
        self.looks = Looks(self.tables)
        # Prices only rise: what no beginning comes to now, or what leads nowhere, is in no plan later either.
        self._layers = Layers(len(problem.operations), on_the_way(self.tables.can_come()))
        self._can = self.tables.can[:, self._layers.sets]
        self._moved = self.tables.attitudes.between(self._layers, self._can, change_s=problem.rules.change_s)
        self._of_set = [patterns.of_set[self._layers.sets] for patterns in self.tables.patterns]
        self._unknown_s = math.inf
        self._looked_at = 0
        self._least: dict[tuple[int, tuple[tuple[int, int, int], ...]], float] = {}
        self._holding: Holding | None = None
        self._below_s = math.inf

    @cached_property
    def stations(self) -> PanelStations:
        """The stations worth a try: what no plan is looked for with needs none."""
        self.tables.put_together()
        return PanelStations(self.tables, self._layers)

    def solve(self, *, below_s: float = math.inf) -> FoundPanelPlan:
        """The least, or that there is none, or as far as the time reached; None where there is none below `below_s`."""
        self._below_s = below_s
        bare_s = self._bare_s()
        if bare_s == math.inf:
            return FoundPanelPlan(False, None, (), math.inf, math.inf, self._looked_at)
        least_s = bare_s + least_stations_s(self.problem)
        if least_s >= below_s - SAME_S:
            return FoundPanelPlan(None, None, (), math.inf, least_s, self._looked_at)
        any_s = self._with_any_rows()
        if self._holding is not None:
            bare_s = max(bare_s, self._bare_s())
        waiting: list[tuple[float, int, int, tuple[int, ...]]] = []
        fresh = FreshSets(self.problem, self.stations, bare_s, any_s)
        count = itertools.count()
        best: FoundPanelPlan | None = None
        true: dict[tuple[int, ...], tuple[PlanPath, float]] = {}
        over, looks_before = False, -1
        watch = self.problem.limits.watch.share(SEARCH_SHARE)
        while True:
            bound_s = min(waiting[0][0] if waiting else math.inf, fresh.next_s)
            if bound_s == math.inf or (best is not None and best.cost_s <= bound_s + SAME_S):
                break
            if bound_s >= below_s - SAME_S:
                return FoundPanelPlan(None, None, (), math.inf, min(bound_s, self._unknown_s), self._looked_at)
            over = watch.over() or self.looks.no_way_out > MOST_WITHOUT_WAY_OUT or self._asked_enough
            if over:
                break
            if not waiting or waiting[0][0] > fresh.next_s:
                for cost_s, some in fresh.take():
                    heapq.heappush(waiting, (cost_s, 1, next(count), some))
                continue
            _, _, _, some = heapq.heappop(waiting)
            if some in true:
                path, cost_s = true[some]
                best = FoundPanelPlan(
                    True, path, tuple(self.stations.pairs[at] for at in some), cost_s, bound_s, self._looked_at
                )
                break
            next_s = min(waiting[0][0] if waiting else math.inf, fresh.next_s, below_s)
            cost_s, path_or_none = self._truer(some, next_s)
            if path_or_none is not None:
                true[some] = path_or_none, cost_s
                if best is None or cost_s < best.cost_s:
                    pairs = tuple(self.stations.pairs[at] for at in some)
                    best = FoundPanelPlan(True, path_or_none, pairs, cost_s, bound_s, self._looked_at)
            if cost_s < math.inf:
                heapq.heappush(waiting, (cost_s, 0, next(count), some))
            elif looks_before != self._looked_at:
                # Perhaps no rows at all help any more.
                looks_before = self._looked_at
                if self._with_any_rows() == math.inf:
                    waiting, fresh = [], FreshSets.nothing()
        least_s = min(waiting[0][0] if waiting else math.inf, fresh.bound_s, self._unknown_s)
        if best is None and over and self._holding is None:
            best = self._any_plan([some for _, new, _, some in sorted(waiting) if not new])
        if best is not None:
            return FoundPanelPlan(True, best.path, best.pairs, best.cost_s, min(least_s, best.cost_s), self._looked_at)
        known = not over and self._unknown_s == math.inf and fresh.complete
        return FoundPanelPlan(False if known else None, None, (), math.inf, max(least_s, any_s), self._looked_at)

    def held(self, found: FoundPanelPlan, holding: Holding, *, below_s: float, only_this: bool) -> FoundPanelPlan:
        """The least with what holding the part takes, from the least without it, which is under every plan.

        `only_this`: no other plan is looked for.
        """
        assert found.path is not None
        graph = self._graph_of(tuple(self.stations.pairs.index(pair) for pair in found.pairs))
        path = holding.held(found.path, graph, found.pairs, self.looks.between_s)
        cost_s = found.cost_s - found.path.cost_s + path.cost_s
        known = replace(found, path=path, cost_s=cost_s, bound_s=min(found.bound_s, cost_s))
        if cost_s <= found.cost_s + SAME_S or only_this:
            return known
        self._holding = holding
        other = self.solve(below_s=min(cost_s, below_s))
        bound_s = max(known.bound_s, other.bound_s)
        if other.path is None or other.cost_s >= cost_s:
            return replace(known, bound_s=min(bound_s, cost_s))
        return replace(other, bound_s=min(bound_s, other.cost_s))

    def open_held_s(self, found: FoundPanelPlan, holding: Holding, *, below_s: float) -> float:
        """What a plan that was not found takes at least with its grips, looked for no further than asked."""
        self._holding, self._below_s = holding, below_s
        return max(found.bound_s, self._with_any_rows())

    @property
    def _asked_enough(self) -> bool:
        return self._holding is not None and self._holding.over

    def _any_plan(self, every: Sequence[tuple[int, ...]]) -> FoundPanelPlan | None:
        """The first plan that holds with stations whose layers were looked at, the cheapest first, in the time left."""
        for some in every:
            cost_s, path = self._truer(some, math.inf)
            if path is not None:
                pairs = tuple(self.stations.pairs[at] for at in some)
                return FoundPanelPlan(True, path, pairs, cost_s, 0.0, self._looked_at)
            if self.problem.limits.watch.over():
                return None
        return None

    def _bare_s(self) -> float:
        """What no plan costs less than by handling alone, wherever rows stand: no station and no change paid for."""
        moved = self.tables.attitudes.between(self._layers, self._can, change_s=0.0)
        mountings = sorted({way.mounting for way in self.problem.ways})
        sets = self._layers.sets
        graph = graph_of(
            self.problem,
            self.tables,
            self._layers,
            mountings,
            lambda way, station: self.tables.price_s(way, sets),
            moved=moved,
            change_s=0.0,
        )
        self._looked_at += self.problem.sets
        left, begun = graph.least_s()
        if self._holding is not None and math.isfinite(begun):
            # As far as it was asked what holding takes.
            path = self._cheapest(graph, left, None, self._below_s - self.problem.costs.base)
            return self._below_s if path is None else self.problem.costs.base + path.cost_s
        return self.problem.costs.base + begun

    def _with_any_rows(self) -> float:
        """What no plan costs less than, whatever stands: stations at their least, each step with its best row."""
        problem, rules = self.problem, self.problem.rules
        mountings = sorted({pair.mounting for pair in self.stations.pairs})
        if not mountings:
            return math.inf

        def priced(way: int, station: int) -> Floats:
            wish = self.tables.least_mm(way) * rules.short_wish_s_per_mm
            own: Floats = self.tables.price_s(way, self._layers.sets) + wish[self._of_set[way]]
            return own

        # Of sets of stations the changes between are reckoned with by their number.
        fixed_s = problem.costs.base + self.stations.least_price_s
        while True:
            self._looked_at += problem.sets
            graph = graph_of(
                problem, self.tables, self._layers, mountings, priced, moved=self._moved, change_s=rules.change_s
            )
            left, begun = graph.least_s()
            if self._holding is None or begun == math.inf:
                return fixed_s + begun
            path = self._cheapest(graph, left, None, self._below_s - fixed_s)
            if path is None:
                return self._below_s
            # What hangs on no rows is looked at, so that it is in the bound of all of them.
            hits = [(step.way, step.done) for step in path.steps]
            if self.looks.look_whatever_rows(hits) and (self._holding.over or self._holding.is_known(path, None)):
                return fixed_s + path.cost_s

    def _graph_of(self, some: tuple[int, ...]) -> Graph:
        """What is left to find with these stations, at today's prices."""
        pairs = [self.stations.pairs[at] for at in some]
        return graph_of(
            self.problem,
            self.tables,
            self._layers,
            [pair.mounting for pair in pairs],
            lambda way, station: self._priced(way, pairs[station]),
            moved=self._moved,
            change_s=self.problem.rules.change_s,
        )

    def _priced(self, way: int, pair: RowPair) -> Floats:
        wish = self.tables.short_mm(way, pair.pair) * self.problem.rules.short_wish_s_per_mm
        sets = self._layers.sets
        price: Floats = self.tables.price_s(way, sets) + wish[self._of_set[way]]
        exits = self.looks.exits_s.get((way, pair.pair))
        return price if exits is None else price + exits[self.tables.at[sets]]

    def own_s(self, way: int, done: int, pair: RowPair) -> float:
        """What a hit costs by itself, as far as it was looked at."""
        return float(self._priced(way, pair)[self._layers.position[done]])

    def hits_of(self, step: Taken) -> tuple[tuple[int, int], ...]:
        """The ways of the hits of a step, each with the station in the graph: of a hem two."""
        then = self.problem.ways[step.way].then
        return ((step.way, step.station),) if then is None else ((step.way, step.station), (then, step.end))

    def _truer(self, some: tuple[int, ...], next_s: float) -> tuple[float, PlanPath | None]:
        """What a set of stations costs at least, and its plan once that is true; given up where another is less."""
        rules_s = self.problem.costs.base + float(self.stations.prices_s[list(some)].sum())
        pairs = [self.stations.pairs[at] for at in some]
        while True:
            begun = self._least_s(some)
            cost_s = rules_s + begun
            if cost_s == math.inf or cost_s > next_s + SAME_S or self.problem.limits.watch.over():
                return cost_s, None
            graph = self._graph_of(some)
            left, begun = graph.least_s()
            self._looked_at += self.problem.sets

            path = self._cheapest(graph, left, pairs, self._below_s - rules_s)
            if path is None and self._holding is not None:
                # Nothing less than what is known already.
                return math.inf, None
            if path is None:
                self._unknown_s = min(self._unknown_s, cost_s)
                return math.inf, None
            cost_s = rules_s + path.cost_s
            if cost_s > next_s + SAME_S:
                return cost_s, None
            without = self.looks.no_way_out
            hits = [(way, at, step.done) for step in path.steps for way, at in self.hits_of(step)]
            sound = self.looks.look([(way, done, self.stations.pairs[some[at]]) for way, at, done in hits])
            if sound and (self._holding is None or self._holding.is_known(path, pairs)):
                return cost_s, path
            if self._asked_enough:
                return cost_s, None
            if self.looks.no_way_out > without:
                self._unknown_s = min(self._unknown_s, cost_s)
                if self.looks.no_way_out > MOST_WITHOUT_WAY_OUT:
                    return cost_s, None

    def _cheapest(self, graph: Graph, left: Floats, pairs: Sequence[RowPair] | None, below_s: float) -> PlanPath | None:
        if self._holding is None:
            return cheapest(graph, left, self.looks.between_s, below_s=math.inf)
        return self._holding.cheapest(graph, left, pairs, self.looks.between_s, below_s=below_s)

    def _least_s(self, some: tuple[int, ...]) -> float:
        """Least price from the beginning with these stations at today's prices, kept for all that do alike.

        Stations of one kind leave the same uncovered in every state; what was seen of ways out is of each alone.
        """
        kinds = sorted(self._kind(at) for at in some)
        key = (self.looks.changes, tuple(kinds))
        if key not in self._least:
            self._least[key] = self._graph_of(some).least_s()[1]
            self._looked_at += self.problem.sets
        return self._least[key]

    def _kind(self, at: int) -> tuple[int, int, int]:
        pair = self.stations.pairs[at]
        own = any(
            seen == pair.pair and self.problem.ways[way].mounting == pair.mounting for way, seen in self.looks.exits_s
        )
        return pair.mounting, self.stations.kinds[at], at if own else -1
