"""From every set of operations the least to the finished part, for stations that stay mounted: layer by layer."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from flangewise.records import dataclass

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class Layers:
    """The sets of so many operations by how many are done: all, or those `among` some, the empty and the whole set
    besides."""

    count: int
    among: Bools | None = None

    @cached_property
    def sets(self) -> Ints:
        """These sets, rising."""
        sets = np.arange(1 << self.count, dtype=np.int64)
        if self.among is None:
            return sets
        own = self.among.copy()
        own[[0, -1]] = True
        return sets[own]

    @cached_property
    def position(self) -> Ints:
        """Where each of all sets stands among these: one beyond their end if it is not of them."""
        found = np.full(1 << self.count, len(self.sets), dtype=np.int64)
        found[self.sets] = np.arange(len(self.sets))
        return found

    @cached_property
    def by_done(self) -> tuple[Ints, ...]:
        """Sets with none, one, ... of the operations."""
        sets = self.sets
        done = sum(((sets >> place & 1) for place in range(self.count)), np.zeros(len(sets), dtype=np.int64))
        return tuple(sets[done == size] for size in range(self.count + 1))


def on_the_way(can: Bools) -> Bools:
    """The sets that lie on some way from the empty set to the whole one; `can`: operations by the sets that they can
    come next to."""
    count = len(can)
    every = Layers(count).by_done
    come, leads = np.zeros(1 << count, dtype=bool), np.zeros(1 << count, dtype=bool)
    come[0] = leads[-1] = True
    for layer in every[:-1]:
        for operation in range(count):
            lacking = layer[(layer >> operation & 1) == 0]
            come[lacking | 1 << operation] |= come[lacking] & can[operation][lacking]
    for layer in reversed(every[:-1]):
        for operation in range(count):
            lacking = layer[(layer >> operation & 1) == 0]
            leads[lacking] |= leads[lacking | 1 << operation] & can[operation][lacking]
    return come & leads


@dataclass(frozen=True, eq=False)
class Alike:
    """What moves between classes take in some states: `number` of each class that of those that lie alike then, and
    between these `alone_s` [before, after] at one station, `changed_s` besides going to another."""

    number: Ints
    alone_s: Floats
    changed_s: Floats

    @cached_property
    def parted(self) -> tuple[Ints, Ints]:
        """The classes, those that lie alike together, and where each of these begin."""
        order = np.argsort(self.number, kind="stable")
        return order, np.flatnonzero(np.diff(self.number[order], prepend=-1))

    def before_s(self, next_s: Floats) -> Floats:
        """The least of what is next [set, station, class] with the moves to it, by where the part was before."""
        order, firsts = self.parted
        after = np.minimum.reduceat(next_s[:, :, order], firsts, axis=2)
        found = (after[:, :, None, :] + self.alone_s).min(axis=3)
        if next_s.shape[1] > 1:
            # Going to another station is never less than staying: it may be to the same one here.
            found = np.minimum(found, (after.min(axis=1)[:, None, :] + self.changed_s).min(axis=2)[:, None, :])
        by_class: Floats = found[:, :, self.number]
        return by_class


@dataclass(frozen=True, eq=False)
class Moved:
    """What moves between classes take, by groups of sets.

    `by_done`: of the sets with none, one, ... of the operations the places of each group in their layer, its number;
    `of_set`: the group of each set by its place among the layers'.
    """

    by_done: tuple[tuple[tuple[Ints | slice, int], ...], ...]
    of_set: Ints
    groups: tuple[Alike, ...]

    def between_s(self, before: int, after: int, at: int, *, changed: bool) -> float:
        """What it takes from class to class, at a set by its place."""
        group = self.groups[self.of_set[at]]
        table = group.changed_s if changed else group.alone_s
        return float(table[group.number[before], group.number[after]])


@dataclass(frozen=True)
class Taken:
    """One step of a plan: the way, the station by its place in the graph, the set done before it, and the station where
    it ends: that where a hem is flattened."""

    way: int
    station: int
    done: int
    end: int


@dataclass(frozen=True)
class Graph:
    """What the least is taken over: the ways at each station, their prices there, and the moves between.

    `operations` and `classes` of each way; `ways` that are begun at each station, and in that order the stations
    they end at, `ends` (a hem is flattened at another), and their `prices_s` by the places of the layers' sets.
    """

    layers: Layers
    operations: Sequence[int]
    classes: Sequence[int]
    class_count: int
    ways: Sequence[Sequence[int]]
    ends: Sequence[Sequence[int]]
    prices_s: Sequence[Floats]
    moved: Moved

    @property
    def whole(self) -> int:
        """The set of all operations."""
        return (1 << self.layers.count) - 1

    def place(self, station: int, class_number: int) -> int:
        """Where a class at a station stands in the tables."""
        return station * self.class_count + class_number

    def moved_s(self, before: Taken, after: Taken) -> float:
        """What the moves take from a step to the next."""
        one, other = self.classes[before.way], self.classes[after.way]
        at = int(self.layers.position[after.done])
        return self.moved.between_s(one, other, at, changed=before.end != after.station)

    def least_s(self) -> tuple[Floats, float]:
        """Least price of what is left, by the set's place and by where the part was last: and from the beginning.

        Prices are infinite for ways whose operation is done. What is left of sets that are not looked at is infinite.
        """
        places = len(self.ways) * self.class_count
        position = self.layers.position
        left = np.full((len(self.layers.sets) + 1, places), np.inf)
        left[position[self.whole]] = 0.0
        begun = np.inf
        stations = [self._by_class(station) for station in range(len(self.ways))]
        for size in range(self.layers.count - 1, -1, -1):
            layer = self.layers.by_done[size]
            own = position[layer]
            next_s = np.full((len(layer), places), np.inf)
            for prices, bits, ends, at, firsts in stations:
                if not len(at):
                    continue
                each = prices[:, own] + left[position[layer | bits[:, None]], ends[:, None]]
                next_s[:, at[firsts]] = np.minimum.reduceat(each, firsts, axis=0).T
            if size == 0:
                begun = float(next_s.min())
            by_station = next_s.reshape(len(layer), len(self.ways), self.class_count)
            for rows, group in self.moved.by_done[size]:
                found = self.moved.groups[group].before_s(by_station[rows])
                left[own[rows]] = found.reshape(len(found), places)
        return left, begun

    def _by_class(self, station: int) -> tuple[Floats, Ints, Ints, Ints, Ints]:
        """The ways of a station, those of one class together: prices, what each adds to a set, where it leads and
        where it begins, and where each class begins."""
        ways = self.ways[station]
        order = sorted(range(len(ways)), key=lambda own: self.classes[ways[own]])
        at = np.array([self.place(station, self.classes[ways[own]]) for own in order], dtype=np.int64)
        ends = np.array([self.place(self.ends[station][own], self.classes[ways[own]]) for own in order], dtype=np.int64)
        bits = np.array([1 << self.operations[ways[own]] for own in order], dtype=np.int64)
        return self.prices_s[station][order], bits, ends, at, np.flatnonzero(np.diff(at, prepend=-1))
