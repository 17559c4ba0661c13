"""Backward search over sets of done operations, layer by layer, by dynamic programming.

The finished part is the most constrained, so the search unfolds: from the set of all operations it takes
one away at a time, keeping only sets from which the finished part can be reached. For each set, pose and station
of the next operation it holds the least cost to finish. With an upper bound, entries that cannot beat it
are dropped (cost to finish + admissible cost to get there) before any shape is asked; with a cap on the sets in a
layer it becomes a beam, which may find plans but proves nothing.
"""

import itertools
from collections.abc import Callable, Collection, Sequence
from functools import cached_property
from itertools import pairwise

import numpy as np

from flangewise.records import dataclass
from flangewise.sequence.arrays import Bools, Floats, Ints, SumsByState, distinct
from flangewise.sequence.arrivals import Arrivals
from flangewise.sequence.candidates import Candidate, Lot, Presentation, made_alike
from flangewise.sequence.feasibility import FeasibilityTable
from flangewise.sequence.moves import POSES, least_turn_over
from flangewise.sequence.stations import SomeChanges, Stations
from flangewise.sequence.watch import never

EPS = 1e-9
# Out of time, layers are cut to a beam as narrow as that; of more operations it would last too long.
LATE, MOST_LATE = 64, 12
# From so many sets steps are taken back between two looks at the clock.
AT_ONCE = 2_000
# From so many operations on it is worth going forward over all sets first.
LEAST_ARRIVALS = 6
# So many sets are told that nothing can be taken from.
MOST_STUCK = 64
NONE: Ints = np.zeros(0, dtype=np.int64)


@dataclass(frozen=True)
class Edges:
    """Steps from sets of a layer to the next with one presentation: `prices` by choice of tools, set and datum.

    `before` are sets, sorted, `after` rows of the layer after.
    """

    made: Presentation
    before: Ints
    after: Ints
    prices: Floats


@dataclass(frozen=True)
class Layer:
    """Sets with the same number of done operations, sorted, and their least cost to finish.

    `finish[s, pose, station]`: cost from set s when its next operation is done in that pose at that station, that
    operation included; `onward` the same after an operation was done there, moves included.
    """

    sets: Ints
    finish: Floats
    onward: Floats
    edges: tuple[Edges, ...] = ()


@dataclass(frozen=True)
class Unfolded:
    """All layers, from the finished part (index n) to the flat blank (index 0), and what is known.

    `dropped`: least bound among sets given up for the cap or the clock (infinite: none, the search was exact).
    `stuck`: sets from which nothing could be taken away.
    """

    layers: tuple[Layer, ...]
    dropped: float
    stuck: tuple[int, ...]
    visited: int

    @property
    def cost(self) -> float:
        """Least cost of a plan found, infinite if none."""
        return float(self.layers[0].finish.min(initial=np.inf))


# A layer in the making: steps, and what it costs to finish with them.
_Found = list[tuple[Edges, Floats]]


class Search:
    """The search over one problem, with all its tools or with some; what is feasible is kept between runs."""

    def __init__(self, feasibility: FeasibilityTable, options: Sequence[Collection[int]] | None = None) -> None:
        """Prepares the price tables; `options`: for each operation the choices of tools that may be used."""
        self.feasibility = feasibility
        self.count = len(feasibility.problem.operations)
        self.full = (1 << self.count) - 1
        self.late_width = LATE if self.count <= MOST_LATE else 0
        self.presentations = tuple(
            feasibility.presentations(index, None if options is None else options[index]) for index in range(self.count)
        )
        self.stations = self._stations()
        self.places = {made: self._places(made) for each in self.presentations for made in each}
        self._posed = {made: (np.array(made.poses)[:, None], places) for made, places in self.places.items()}
        self._alike = made_alike(self.places, self.places)
        # What an operation costs at least, its strokes with the sheet alone and no reach.
        sheet_mm, share = feasibility.problem.chain.thickness_mm, feasibility.problem.costs.share
        totals = ([made.own_s + share * made.strokes.least_s(sheet_mm) for made in each] for each in self.presentations)
        self._least = np.array([min((float(total.min()) for total in each), default=0.0) for each in totals])
        self._turn_over = least_turn_over(feasibility.problem.costs)
        sides = [{made.marked_up for made in each} for each in self.presentations]
        self._only = [sum(1 << index for index, each in enumerate(sides) if each == {up}) for up in (False, True)]
        self._at_least = SumsByState(self._least)

    def _stations(self) -> Stations:
        problem, every = self.feasibility.problem, itertools.chain(*self.presentations)
        used = sorted({(made.operation, int(number)) for made in every for number in made.options})
        return Stations(problem.costs, [problem.operations[index].options[number] for index, number in used])

    def _places(self, made: Presentation) -> Ints:
        """The stations of the choices of a presentation."""
        options = self.feasibility.problem.operations[made.operation].options
        return np.array([self.stations.number(options[number]) for number in made.options])

    def station_of(self, way: Candidate) -> int:
        """The station a way needs when it begins and leaves when it ends."""
        return self.stations.number(self.feasibility.option(way))

    def reach(self, sets: Ints) -> Floats:
        """What reaching sets costs at least, by the pose of the next operation: (sets, poses).

        Nothing in the way, and no change of tools. Of very few operations: every one at its cheapest, and a turn-over
        where one was made that wants the other face up.
        """
        if (reached := self.reached()) is not None:
            return reached.of(sets)
        least = self._at_least.of(sets)
        downs, ups = ((sets & only != 0) * self._turn_over for only in self._only)
        return np.repeat(np.stack([least + ups, least + downs], axis=1), POSES // 2, axis=1)

    def reached(self) -> Arrivals | None:
        """The same, kept by the ways that may be taken; None of very few operations."""
        if self.feasibility.reached is not None or self.count < LEAST_ARRIVALS:
            return self.feasibility.reached
        return self._own_arrivals

    @cached_property
    def _own_arrivals(self) -> Arrivals:
        kept, key = self.feasibility.arrivals, tuple(made.options.tobytes() for e in self.presentations for made in e)
        if key not in kept:
            kept[key] = Arrivals(self.feasibility, self.presentations)
        return kept[key]

    def unfold(self, *, upper: float = np.inf, width: int | None = None, over: Callable[[], bool] = never) -> Unfolded:
        """Run backward from the finished part; see the module's head for `upper` and `width`.

        An order that is asked for is kept. `over`: whether the time is; from then on layers are cut to a narrow beam.
        """
        order, start = self.feasibility.problem.order, self._finished()
        layer = Layer(np.array([self.full]), start, start)
        stuck: list[int] = []
        layers, dropped = [layer], np.inf
        for left in range(self.count, 0, -1):
            indices = range(self.count) if order is None else (order[left - 1],)
            stepped = self._all_steps_back(layer, indices, upper, over)
            if stepped is None:
                layer, lost = self._cut(layer, self.late_width)
                layers[-1], dropped = layer, min(dropped, lost)
                stepped = self._all_steps_back(layer, indices, upper, never)
            assert stepped is not None
            found, moved = stepped
            stuck.extend(int(done) for done in layer.sets[~moved][:MOST_STUCK])
            layer = self._joined(found)
            layer, lost = self._cut(layer, width or len(layer.sets))
            dropped = min(dropped, lost)
            layers.append(layer)
        visited = sum(len(each.sets) for each in layers)
        return Unfolded(tuple(layers[::-1]), dropped, tuple(stuck[:MOST_STUCK]), visited)

    def _finished(self) -> Floats:
        """What it costs to finish the finished part: (one set, poses, stations)."""
        return np.zeros((1, POSES, self.stations.count))

    def _all_steps_back(
        self, layer: Layer, indices: Sequence[int], upper: float, over: Callable[[], bool]
    ) -> tuple[_Found, Bools] | None:
        """The sets from which a step leads to a layer, and from which of its sets one could; None when time ran out."""
        found, moved, every = _Found(), np.zeros(len(layer.sets), dtype=bool), np.array(indices)
        onward = layer.onward.min(axis=(1, 2))
        for first in range(0, len(layer.sets), AT_ONCE):
            if len(layer.sets) > self.late_width and over():
                return None
            nth, rows = np.nonzero(layer.sets[first : first + AT_ONCE] >> every[:, None] & 1)
            rows += first
            before = layer.sets[rows] & ~(1 << every[nth])
            # Nothing is too dear where any cost is looked for.
            reach = self.reach(before) if upper < np.inf else np.zeros((len(before), POSES))
            is_near = onward[rows] + reach.min(axis=1) + self._least[every[nth]] <= upper + EPS
            moved[rows[~is_near]] = True
            near = np.flatnonzero(is_near)
            before, after, room, starts = before[near], rows[near], upper + EPS - reach[near], nth[near]
            ends = np.searchsorted(starts, np.arange(len(every) + 1)).tolist()
            rows_of = {index: np.arange(*own) for index, own in zip(indices, pairwise(ends), strict=True)}
            for alike in self._alike:
                own = [rows_of.get(made.operation, NONE) for made in alike]
                some = np.concatenate(own)
                if len(some):
                    lot = Lot(alike, np.array([len(each) for each in own]), before[some])
                    possible = self._step_back(lot, layer, after[some], room[some], found)
                    moved[after[some[possible]]] = True
        return found, moved

    def _joined(self, found: _Found) -> Layer:
        sets = distinct(np.concatenate([np.zeros(0, dtype=np.int64), *(edges.before for edges, _ in found)]))
        finish = np.full((len(sets), POSES, self.stations.count), np.inf)
        for edges, total in found:
            at = np.searchsorted(sets, edges.before)[:, None, None], *self._posed[edges.made]
            finish[at] = np.minimum(finish[at], total.transpose(1, 2, 0))
        return Layer(sets, finish, self.stations.onward(finish), tuple(edges for edges, _ in found))

    def _step_back(self, lot: Lot, layer: Layer, after: Ints, room: Floats, found: _Found) -> Bools:
        """Add sets from which steps lead to rows of a layer; from which they can, or cost too much."""
        poses = np.repeat([made.poses for made in lot.made], lot.counts, axis=0)
        onward = layer.onward[after[:, None, None], poses[:, :, None], self.places[lot.tools]]
        own_room = np.take_along_axis(room, poses, axis=1)
        handled = self.feasibility.all_handled(lot)
        some, possible = self._affordable(lot, handled, onward, own_room)
        if not len(some):
            return possible
        lot, after = lot.picked(some), after[some]
        prices, total, dear = self._steps(lot, handled[some], onward[some], own_room[some])
        is_alive: Bools = np.any(np.isfinite(total), axis=(0, 2))
        possible[some] |= dear | is_alive
        for made, own in lot.each():
            alive = own.start + np.flatnonzero(is_alive[own])
            if len(alive):
                edges = Edges(made, lot.sets[alive], after[alive], prices[:, alive])
                found.append((edges, total[:, alive]))
        return possible

    def _affordable(self, lot: Lot, handled: Floats, onward: Floats, room: Floats) -> tuple[Ints, Bools]:
        """The sets whose step may be spent, its strokes taken at their least, and those where it surely is too dear.

        So what the strokes take is asked of few sets.
        """
        least_s = np.repeat([self.feasibility.least_alone_s(made) for made in lot.made], lot.counts)
        total = handled + least_s[:, None] + onward.min(axis=2)
        is_open, is_dear = np.isfinite(total), total > room
        some: Ints = np.flatnonzero(np.any(is_open & ~is_dear, axis=1))
        dear: Bools = np.any(is_open & is_dear, axis=1)
        return some, dear

    def _steps(self, lot: Lot, handled: Floats, onward: Floats, room: Floats) -> tuple[Floats, Floats, Bools]:
        """Prices of the steps, what it costs to finish with them, (choices of tools, sets, datums) both; what is dear.

        Tools are asked only for what may be spent at most.
        """
        prices = self._unstruck(lot, handled)
        total = prices + onward.transpose(2, 0, 1)
        dear: Bools = np.any(np.isfinite(total) & (total > room), axis=(0, 2))
        total[total > room] = np.inf
        for made, own in lot.each():
            self._shut(made, lot.sets[own], total[:, own])
        prices[np.isinf(total)] = np.inf
        return prices, total, dear

    def _unstruck(self, lot: Lot, handled: Floats) -> Floats:
        """Prices of the steps as if no tool were in the way."""
        return self.feasibility.unstruck(lot, handled)

    def _shut(self, made: Presentation, before: Ints, total: Floats) -> None:
        """Make infinite what it costs to finish with a step that a tool is in the way of."""
        hopeful: Bools = np.any(np.isfinite(total), axis=2)
        for row in np.flatnonzero(hopeful.any(axis=1)):
            asked = np.flatnonzero(hopeful[row])
            total[row, asked[self.feasibility.strikes(made.candidate(int(row)), before[asked])]] = np.inf

    def _cut(self, layer: Layer, width: int) -> tuple[Layer, float]:
        """The `width` most promising sets of a layer, and the least bound of those given up."""
        if len(layer.sets) <= width:
            return layer, np.inf
        promise = (layer.finish.min(axis=2) + self.reach(layer.sets)).min(axis=1)
        ranked = np.argsort(promise, kind="stable")
        kept = np.sort(ranked[:width])
        some = Layer(layer.sets[kept], layer.finish[kept], layer.onward[kept], layer.edges)
        return some, float(promise[ranked[width]])


class Floor(Search):
    """What no plan can come below with any of the tools: each step with the best of them, no change paid for.

    What tools cost by themselves and what the strokes take with them are each the least of any, so that dearer tools
    for a bend cost at least so much more. `bodies` False: as if no tool were in the way; else a step is shut where it
    is shut with every one of them, or where that is asked of each choice by itself, a step costs what the cheapest does
    that is not shut. Out of time, what the sets reached are worth is all that is known.
    """

    def __init__(
        self,
        feasibility: FeasibilityTable,
        options: Sequence[Collection[int]] | None = None,
        *,
        bodies: bool,
        changes: int = 0,
        change_s: float = np.inf,
    ) -> None:
        """`change_s`: what a change of tools costs at least, where plans with so many are told apart."""
        self._bodies, self._changes, self._change_s = bodies, changes, change_s
        super().__init__(feasibility, options)
        self.late_width = 0

    def least(self, upper: float) -> float:
        """The least cost, or what is known of it; infinite where that is over `upper`.

        With nothing in the way it is what is reached forward: the same steps and moves, summed from the other end; of
        many operations no more than that.
        """
        problem = self.feasibility.problem
        reached = self.reached() if not self._bodies and problem.order is None else None
        if reached is not None:
            least = float(reached.of(np.array([self.full])).min())
            return least if least <= upper + EPS else np.inf
        return self.leasts(upper)[SomeChanges.NEVER]

    def leasts(self, upper: float) -> tuple[float, ...]:
        """The same with no change of tools paid for, with one at least, with two, to as many as are told apart."""
        limits = self.feasibility.problem.limits
        table = self.unfold(upper=upper, width=limits.sets_per_layer, over=limits.watch.over)
        found = (min(float(each), table.dropped) for each in table.layers[0].finish.min(axis=(0, 1), initial=np.inf))
        told = [each if each <= upper + EPS else np.inf for each in found]
        return (*told, *[np.inf] * (self._changes + 1 - len(told)))

    def _stations(self) -> Stations:
        costs = self.feasibility.problem.costs
        return SomeChanges(costs, self._change_s, self._changes) if np.isfinite(self._change_s) else Stations(costs, ())

    def _places(self, made: Presentation) -> Ints:
        return np.arange(self.stations.count)

    def _finished(self) -> Floats:
        start = super()._finished()
        start[:, :, SomeChanges.NEVER + 1 :] = np.inf
        return start

    def _unstruck(self, lot: Lot, handled: Floats) -> Floats:
        return np.repeat(self.feasibility.least_steps(lot, handled)[None], self.stations.count, axis=0)

    def _shut(self, made: Presentation, before: Ints, total: Floats) -> None:
        if not self._bodies:
            return
        hopeful = np.flatnonzero(np.isfinite(total).any(axis=(0, 2)))
        total[:, hopeful] += self.feasibility.more_for_tools(made, before[hopeful])[:, None]
