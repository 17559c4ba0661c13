"""Backward search over sets of done operations, layer by layer, by dynamic programming.

The finished part is the most constrained, so the search unfolds: from the set of all operations it takes
one away at a time, keeping only sets from which the finished part can be reached. For each set and pose
of the next operation it holds the least cost to finish. With an upper bound, entries that cannot beat it
are dropped (cost to finish + admissible cost to get there); with a cap on the sets in a layer it becomes
a beam, which may find plans but proves nothing.
"""

from __future__ import annotations

import time
from dataclasses import dataclass

import numpy as np

from flangewise.sequence.arrays import Bools, Floats, Ints
from flangewise.sequence.bound import Bound
from flangewise.sequence.feasibility import Candidate, FeasibilityTable
from flangewise.sequence.moves import POSES, least_time, own_price, pose_number
from flangewise.sequence.stations import Stations

EPS = 1e-9


@dataclass(frozen=True)
class Layer:
    """Sets with the same number of done operations, sorted, and their least cost to finish.

    `finish[s, pose, tool]`: cost from set s when its next operation is done in that pose with that tool
    choice, that operation included.
    """

    sets: Ints
    finish: Floats

    def row(self, done: int) -> Floats | None:
        """Costs of one set, None when it was not reached."""
        place = int(np.searchsorted(self.sets, done))
        if place == len(self.sets) or self.sets[place] != done:
            return None
        row: Floats = self.finish[place]
        return row


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
        flat = self.layers[0]
        return float(flat.finish.min()) if len(flat.sets) else np.inf


class Search:
    """The search over one problem; what is feasible is kept between runs."""

    def __init__(self, feasibility: FeasibilityTable) -> None:
        """Prepares the price tables."""
        self.feasibility = feasibility
        self.count = len(feasibility.problem.operations)
        self.stations = Stations(feasibility.problem)
        self.bound = Bound(feasibility, self.stations)
        costs = feasibility.problem.costs
        self._own = [
            [own_price(costs, option) + least_time(costs, option) for option in op.options]
            for op in feasibility.problem.operations
        ]

    def unfold(
        self, *, upper: float = np.inf, width: int | None = None, until: float | None = None, choices: int | None = None
    ) -> Unfolded:
        """Run backward from the finished part; see the module's head for `upper` and `width`.

        `until`: a moment of `time.monotonic` after which layers are cut to a narrow beam. `choices`: try only so
        many of the cheapest tools of each operation, which finds plans quickly and proves nothing.
        """
        full = (1 << self.count) - 1
        layer = Layer(np.array([full]), np.zeros((1, POSES, self.stations.count)))
        layers, stuck, dropped, visited = [layer], [], np.inf, 1
        for _ in range(self.count):
            late = until is not None and time.monotonic() > until
            layer, blocked = self._before(layer, upper, choices, first=len(layers) == 1)
            stuck.extend(blocked)
            visited += len(layer.sets)
            layer, lost = self._cut(layer, min(width or len(layer.sets), 64 if late else len(layer.sets)))
            dropped = min(dropped, lost if choices is None else 0.0)
            layers.append(layer)
        return Unfolded(tuple(layers[::-1]), dropped, tuple(stuck[:64]), visited)

    def along(self, order: tuple[int, ...]) -> Unfolded:
        """The table of one given order: one set in each layer, as far back from the end as it is possible."""
        done = (1 << self.count) - 1
        layer = Layer(np.array([done]), np.zeros((1, POSES, self.stations.count)))
        layers, stuck = [layer], []
        for index in reversed(order):
            before = np.array([done & ~(1 << index)])
            finish = np.full((1, POSES, self.stations.count), np.inf)
            onward = layer.finish if len(layers) == 1 else self.onward(layer.finish)
            self._relax(self.feasibility.candidates[index], before, onward=onward, finish=finish, places=np.array([0]))
            if not np.isfinite(finish).any():
                stuck.append(done)
            layer, done = Layer(before, finish), int(before[0])
            layers.append(layer)
        return Unfolded(tuple(layers[::-1]), np.inf, tuple(stuck[:1]), len(layers))

    def onward(self, finish: Floats) -> Floats:
        """Least cost to finish after an operation was done in each pose with each tool choice, moves included."""
        return self.stations.onward(finish)

    def _before(self, layer: Layer, upper: float, choices: int | None, *, first: bool) -> tuple[Layer, list[int]]:
        """The layer with one operation less, and the sets nothing can be taken from."""
        if not len(layer.sets):
            return layer, []
        onward = layer.finish if first else self.onward(layer.finish)
        sets = np.unique(
            np.concatenate([(layer.sets & ~(1 << b))[(layer.sets >> b) & 1 == 1] for b in range(self.count)])
        )
        finish = np.full((len(sets), POSES, self.stations.count), np.inf)
        moved = np.zeros(len(layer.sets), dtype=bool)
        room = upper + EPS - self.bound.reach(sets) if np.isfinite(upper) else None
        for index in range(self.count):
            rows = np.flatnonzero((layer.sets >> index) & 1)
            if len(rows):
                before = layer.sets[rows] & ~(1 << index)
                places = np.searchsorted(sets, before)
                left = None if room is None else room[places]
                moved[rows] |= self._relax(
                    self._candidates(index, choices),
                    before,
                    onward=onward[rows],
                    finish=finish,
                    places=places,
                    room=left,
                )
        if room is not None:
            finish[finish > room] = np.inf
        kept = np.isfinite(finish).any(axis=(1, 2))
        return Layer(sets[kept], finish[kept]), [int(done) for done in layer.sets[~moved][:64]]

    def _candidates(self, index: int, choices: int | None) -> tuple[Candidate, ...]:
        """Ways of doing an operation, with the cheapest tools only if asked."""
        candidates, own = self.feasibility.candidates[index], self._own[index]
        if choices is None or choices >= len(own):
            return candidates
        cheapest = set(sorted(range(len(own)), key=own.__getitem__)[:choices])
        return tuple(way for way in candidates if way.option in cheapest)

    def _relax(
        self,
        candidates: tuple[Candidate, ...],
        before: Ints,
        *,
        onward: Floats,
        finish: Floats,
        places: Ints,
        room: Floats | None = None,
    ) -> Bools:
        """Lower `finish` by doing an operation from each set in each of the ways; for which sets one is possible.

        `room`: what may still be spent; ways that cost more at their cheapest everywhere are not looked at.
        """
        possible = np.zeros(len(before), dtype=bool)
        for way in candidates:
            poses, tool = [candidate_pose(way, datum) for datum in (0, 1)], self.stations.of(way)
            least = onward[:, poses, tool] + self._own[way.operation][way.option]
            if room is not None and not (least <= room[:, poses, tool]).any():
                possible[:] = True
                continue
            prices = self.feasibility.prices(way, before)
            possible |= np.isfinite(prices).any(axis=1)
            for datum, pose in enumerate(poses):
                total = prices[:, datum] + onward[:, pose, tool]
                finish[places, pose, tool] = np.minimum(finish[places, pose, tool], total)
        return possible

    def _cut(self, layer: Layer, width: int) -> tuple[Layer, float]:
        """The `width` most promising sets of a layer, and the least bound of those given up."""
        if len(layer.sets) <= width:
            return layer, np.inf
        promise = (layer.finish + self.bound.reach(layer.sets)).min(axis=(1, 2))
        ranked = np.argsort(promise, kind="stable")
        kept = np.sort(ranked[:width])
        return Layer(layer.sets[kept], layer.finish[kept]), float(promise[ranked[width]])


def candidate_pose(way: Candidate, datum: int) -> int:
    """Pose number of a way with a datum."""
    return pose_number(marked_up=way.marked_up, behind=way.behind, datum=datum)
