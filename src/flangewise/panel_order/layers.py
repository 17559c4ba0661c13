"""From every set of operations the least to the finished part, for stations that stay mounted: layer by layer."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


@dataclass(frozen=True)
class Layers:
    """The sets of so many operations by how many are done, and of each those that lack an operation."""

    count: int

    @cached_property
    def by_done(self) -> tuple[Ints, ...]:
        """Sets with none, one, ... of the operations."""
        sets = np.arange(1 << self.count, dtype=np.int64)
        done = sum(((sets >> place & 1) for place in range(self.count)), np.zeros(len(sets), dtype=np.int64))
        return tuple(sets[done == size] for size in range(self.count + 1))

    @cached_property
    def lacking(self) -> tuple[tuple[Ints, ...], ...]:
        """Of each layer and operation: where in the layer the sets stand that lack it."""
        return tuple(
            tuple(np.flatnonzero((layer >> place & 1) == 0) for place in range(self.count)) for layer in self.by_done
        )


@dataclass(frozen=True)
class Graph:
    """What the least is taken over: the ways at each station, their prices there, and the moves between.

    `operations` and `classes` of each way; `ways` that each station has; `prices_s` of each station, its ways in that
    order, by set; `moves_s` [station and class before, station and class after], classes of one station together.
    """

    layers: Layers
    operations: Sequence[int]
    classes: Sequence[int]
    class_count: int
    ways: Sequence[Sequence[int]]
    prices_s: Sequence[Floats]
    moves_s: Floats

    @property
    def whole(self) -> int:
        """The set of all operations."""
        return (1 << self.layers.count) - 1

    def place(self, station: int, class_number: int) -> int:
        """Where a class at a station stands in the tables."""
        return station * self.class_count + class_number

    def least_s(self) -> tuple[Floats, float]:
        """Least price of what is left, by set and by where the part was last: and from the beginning."""
        places = len(self.ways) * self.class_count
        left = np.full((1 << self.layers.count, places), np.inf)
        left[self.whole] = 0.0
        begun = np.inf
        for size in range(self.layers.count - 1, -1, -1):
            layer = self.layers.by_done[size]
            next_s = np.full((len(layer), places), np.inf)
            for station, (ways, prices) in enumerate(zip(self.ways, self.prices_s, strict=True)):
                for own, way in enumerate(ways):
                    operation = self.operations[way]
                    here = self.layers.lacking[size][operation]
                    at = self.place(station, self.classes[way])
                    sets = layer[here]
                    next_s[here, at] = np.minimum(next_s[here, at], prices[own, sets] + left[sets | 1 << operation, at])
            if size == 0:
                begun = float(next_s.min())
            best = np.full((len(layer), places), np.inf)
            for after in range(places):
                np.minimum(best, next_s[:, after, None] + self.moves_s[None, :, after], out=best)
            left[layer] = best
        return left, begun


def station_moves(alone: Floats, changed: Floats, stations: int) -> Floats:
    """The moves between classes at one station, and besides going to another, as one table for all stations."""
    classes = len(alone)
    table = np.empty((stations * classes, stations * classes))
    for before, after in itertools.product(range(stations), repeat=2):
        rows, columns = slice(before * classes, (before + 1) * classes), slice(after * classes, (after + 1) * classes)
        table[rows, columns] = alone if before == after else changed
    return table
