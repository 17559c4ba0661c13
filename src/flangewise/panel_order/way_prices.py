"""What each way of making an operation costs by itself, for all sets of operations at once, whatever is in the way."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray

from flangewise.panel_order.attitudes import Attitudes
from flangewise.panel_order.layers import Graph, Layers, Moved
from flangewise.panel_order.problem import PanelProblem, PanelWay
from flangewise.panel_order.wing_sums import WingSums, lying, straight_pulls_mm, wing_sums
from flangewise.panel_order.wings import Wing
from flangewise.sequence import HitTime, Hold, HoldRule, Lying, breaches, held, weights_s, wishes_s

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]


class WayPrices:
    """Prices of the ways of a problem. Not to be shared between threads."""

    def __init__(self, problem: PanelProblem) -> None:
        """What is asked for is kept."""
        self.problem = problem
        self.sets: Ints = np.arange(problem.sets, dtype=np.int64)
        # The sets of which something is reckoned, rising, the empty one first; and the place of each among them.
        self.known = self.sets
        self.at = self.sets
        self.attitudes = Attitudes(problem)
        self._bends = tuple(operation.bends for operation in problem.operations)
        self._known: bytes | None = None

    def limit(self, sets: Ints) -> None:
        """From now on reckons with these sets and the empty one alone; what is known of others is let go."""
        self.known = np.union1d([0], sets)
        self._known = self.known.tobytes()
        self.at = np.full(len(self.sets), -1, dtype=np.int64)
        self.at[self.known] = np.arange(len(self.known))

    def front_and_behind(self, way: PanelWay) -> tuple[WingSums, WingSums]:
        """The wing in front and the wing behind."""
        front, behind = way.hit.front, way.hit.behind
        return self._sums(way, front), self._sums(way, behind)

    def _sums(self, way: PanelWay, wing: Wing) -> WingSums:
        half_deg, strip_mm = way.tools.loaded_turn_deg / 2, sum(high - low for low, high in way.hit.runs_mm)
        key = half_deg, strip_mm, self._bends, self._known
        if key not in wing.sums:
            wing.sums[key] = wing_sums(self.problem, wing, self.known, half_turn_deg=half_deg, strip_mm=strip_mm)
        return wing.sums[key]

    def open_sets(self, way: PanelWay) -> Bools:
        """Sets in which the operation is not made, and which a wanted order leads to."""
        free: Bools = (self.sets >> way.operation & 1) == 0
        if self.problem.order is not None:
            before = self.problem.order[: self.problem.order.index(way.operation)]
            free &= self.sets == sum(1 << place for place in before)
        return free

    def bare_s(self, index: int) -> Floats:
        """Hit, strokes, holding and the wish of the tools of a way, by known set; infinite where it cannot be next."""
        way, problem = self.problem.ways[index], self.problem
        price = np.full(len(self.known), problem.costs.hit + way.wish_s)
        if way.tools.time is not None:
            front, behind = self.front_and_behind(way)
            reach = np.maximum(front.reach_mm, behind.reach_mm)
            opened_s = self._least_opened_s(way, way.tools.time, slice(None))
            price = price + opened_s + problem.costs.share * way.tools.time.bent_s(reach)
        if problem.hold is not None and not way.is_second:
            price = price + weights_s(problem.hold, self._lying(way, problem.hold, slice(None)))
        return np.where(self.open_sets(way)[self.known], price, np.inf)

    def _least_opened_s(self, way: PanelWay, time: HitTime, at: slice) -> Floats:
        """Seconds of the ways down and back for a straight pull, or less where sliding the part off takes less.

        A hem that is flattened needs two layers at least.
        """
        front, behind = self.front_and_behind(way)
        thickness_mm = self.problem.blank.thickness_mm
        if way.is_second:
            layers_mm = np.full(len(self.known[at]), 2 * thickness_mm)
            return self.problem.costs.share * time.opened_s(layers_mm, front.far_mm[at])
        pulls = straight_pulls_mm(behind, way.tools, thickness_mm=thickness_mm)[at]
        pulled, slid = (
            self.problem.costs.share * time.opened_s(openings, front.far_mm[at])
            for openings in (pulls, np.full(len(pulls), thickness_mm))
        )
        least: Floats = np.minimum(pulled, self.problem.costs.side_exit + slid)
        return least

    def least_opened_s(self, way: PanelWay, done: int) -> float:
        """The same for one step; 0 where no time is reckoned."""
        time = way.tools.time
        return 0.0 if time is None else float(self._least_opened_s(way, time, self._one(done))[0])

    def _one(self, done: int) -> slice:
        """The place of one set among those known."""
        at = int(self.at[done])
        return slice(at, at + 1)

    def opened_s(self, way: PanelWay, done: int, opening_mm: float) -> float:
        """Seconds of the ways down and back for an opening; 0 where no time is reckoned."""
        time = way.tools.time
        if time is None:
            return 0.0
        front, _ = self.front_and_behind(way)
        fronts = front.far_mm[self._one(done)]
        return float(self.problem.costs.share * time.opened_s(np.array([opening_mm]), fronts)[0])

    def opening_mm(self, way: PanelWay, done: int) -> float:
        """What must pass between nose and die top for a straight pull: what stands up behind over what hangs there.

        For a hem that is flattened, as its hit knows it.
        """
        if way.is_second:
            return way.hit.opening_mm(self.problem.bends_of(done))
        _, behind = self.front_and_behind(way)
        return float(straight_pulls_mm(behind, way.tools, thickness_mm=self.problem.blank.thickness_mm)[self.at[done]])

    def _lying(self, way: PanelWay, rule: HoldRule, at: slice) -> Lying:
        """How the part lies on the die."""
        return lying(*self.front_and_behind(way), way.tools, rule, at)

    def hold(self, way: PanelWay, done: int) -> Hold | None:
        """How the part is held at one step; a hem is looked at before its first hit."""
        rule = None if way.is_second else self.problem.hold
        return None if rule is None else held(rule, self._lying(way, rule, self._one(done)))

    def holding_s(self, way: PanelWay, done: int) -> float:
        """What of a step's price are wishes for how the part lies."""
        rule = None if way.is_second else self.problem.hold
        return 0.0 if rule is None else float(np.ravel(wishes_s(rule, self._lying(way, rule, self._one(done))))[0])

    def broken(self, way: PanelWay, done: int) -> float:
        """How many conditions of the hold rule a step breaks."""
        rule = None if way.is_second else self.problem.hold
        return 0.0 if rule is None else float(np.ravel(breaches(rule, self._lying(way, rule, self._one(done))))[0])


def graph_of(
    problem: PanelProblem,
    prices: WayPrices,
    layers: Layers,
    mountings: Sequence[int],
    priced: Callable[[int, int], Floats],
    *,
    moved: Moved,
    change_s: float,
) -> Graph:
    """What the least is taken over with stations of these sets of tools; `priced`: a way at a station, by the places of
    the layers' sets."""
    ways, ends, costs = [], [], []
    for station, mounting in enumerate(mountings):
        begun = [at for at, way in enumerate(problem.ways) if way.mounting == mounting and not way.is_second]
        arcs, own = [], []
        for at in begun:
            then = problem.ways[at].then
            if then is None:
                arcs.append((at, station))
                own.append(priced(at, station))
                continue
            for other, its in enumerate(mountings):
                if its == problem.ways[then].mounting:
                    arcs.append((at, other))
                    own.append(priced(at, station) + priced(then, other) + problem.costs.rehandle + change_s)
        ways.append([at for at, _ in arcs])
        ends.append([end for _, end in arcs])
        costs.append(np.stack(own) if own else np.zeros((0, len(layers.sets))))
    return Graph(
        layers,
        [way.operation for way in problem.ways],
        prices.attitudes.classes,
        len(prices.attitudes.rests),
        ways,
        ends,
        costs,
        moved,
    )
