"""How a panel stands when one of its faces lies on the die, whatever is bent, and what is done to come from there to
the next: flat, faces lie alike; once the bends between two of them are bent the part is tilted from one to the other.
"""

from __future__ import annotations

import itertools
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from flangewise.panel_order.layers import Alike, Layers, Moved
from flangewise.panel_order.moves import SAME_HEADING_DEG, Lie, Rotation, moves_for, priced, stood
from flangewise.panel_order.problem import PanelProblem, PanelWay
from flangewise.panel_order.solution import PanelMove
from flangewise.pattern import base_turned
from flangewise.records import dataclass
from flangewise.sequence import Costs

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]
SAME = float(np.radians(SAME_HEADING_DEG))


@dataclass(frozen=True)
class Rest:
    """A class of ways: how the part lies, on which face, and the bends between that face and the base."""

    lie: Lie
    face: int
    path: tuple[int, ...]

    def same_as(self, other: Rest) -> bool:
        """Whether the part lies alike whatever is bent."""
        return self.path == other.path and self.lie.same_as(other.lie)


class Attitudes:
    """The classes of a problem's ways, and the moves between. Not to be shared between threads."""

    def __init__(self, problem: PanelProblem) -> None:
        """Nothing is folded yet."""
        self._problem = problem
        self.rests, self.classes = _rests_of(problem)
        # The operations that matter: those whose bends part a face that lies on the die from the base.
        places = sorted({problem.place_of(bend) for rest in self.rests for bend in rest.path})
        self._hinging = tuple(places)
        self._stood: dict[tuple[int, frozenset[int]], Rotation] = {}

    def moves(self, before: int, after: int, done: int) -> tuple[PanelMove, ...]:
        """The moves from one way's hit to another's, with the operations `done` made before the second."""
        bends = self._problem.bends_of(done)
        one, other = (
            self._attitude(number, bends.intersection(self.rests[number].path))
            for number in (self.classes[before], self.classes[after])
        )
        return moves_for(self._problem.costs, other @ one.T)

    def between(self, layers: Layers, can: Bools, *, change_s: float) -> Moved:
        """What moves take between the classes for the sets of some layers; `can`: ways by the sets that they come next
        to, by the sets' places.

        As on the flat, but in sets in which a class that a step before may have and one that a step after may have are
        parted by what is bent.
        """
        bent = self._bent(layers.sets)
        patterns, of_pattern = np.unique(bent, return_inverse=True)
        kinds, at = self._kinds(patterns)
        alone, changed = _prices(self._problem.costs, kinds, change_s)
        before, after = self._active(layers, can)
        flat_s = alone[at[0][:, None], at[0]]
        groups, of_set = [_alike(at[0], alone, changed)], np.zeros(len(bent), dtype=np.int64)
        for pattern in range(1, len(patterns)):
            rows = np.flatnonzero(of_pattern == pattern)
            other = (alone[at[pattern][:, None], at[pattern]] != flat_s).astype(np.float64)
            odd = ((before[rows] @ other > 0) & after[rows]).any(axis=1)
            if odd.any():
                of_set[rows[odd]] = len(groups)
                groups.append(_alike(at[pattern], alone, changed))
        by_done = tuple(_parted(of_set[layers.position[layer]]) for layer in layers.by_done)
        return Moved(by_done, of_set, tuple(groups))

    def at_least(self, layers: Layers, *, change_s: float) -> Moved:
        """The same, no more than it is in any state: one table for all sets, between ways of lying alone."""
        kinds, at = self._kinds(np.arange(1 << len(self._hinging)))
        alone, changed = _prices(self._problem.costs, kinds, change_s)
        # At the first state, on the flat, classes that lie alike are one.
        of_lie, number = np.unique(at[0], return_inverse=True)
        own = [np.unique(at[:, number == lie]) for lie in range(len(of_lie))]
        least = [
            np.array([[table[np.ix_(one, other)].min() for other in own] for one in own]) for table in (alone, changed)
        ]
        by_done = tuple(((slice(None), 0),) for _ in layers.by_done)
        whole = Alike(number, *least)
        return Moved(by_done, np.zeros(len(layers.sets), dtype=np.int64), (whole,))

    def _active(self, layers: Layers, can: Bools) -> tuple[Floats, Bools]:
        """The classes that the step before a set may have, and the one after it, by the set's place."""
        before = np.zeros((len(layers.sets), len(self.rests)))
        after = np.zeros((len(layers.sets), len(self.rests)), dtype=bool)
        for way, number, own in zip(self._problem.ways, self.classes, can, strict=True):
            places = np.flatnonzero(own)
            after[places, number] = True
            then = layers.position[layers.sets[places] | 1 << way.operation]
            before[then[then < len(before)], number] = 1.0
        return before, after

    def _bent(self, sets: Ints) -> Ints:
        """Of each set, which of the operations that matter are made."""
        bent = np.zeros(len(sets), dtype=np.int64)
        for at, place in enumerate(self._hinging):
            bent |= (sets >> place & 1) << at
        return bent

    def _kinds(self, patterns: Ints) -> tuple[tuple[bytes, ...], Ints]:
        """How the base may stand, and how it does for each class in states of the operations that matter."""
        kinds: list[Rotation] = []
        at = np.zeros((len(patterns), len(self.rests)), dtype=np.int64)
        for column, rest in enumerate(self.rests):
            state = np.zeros(len(patterns), dtype=np.int64)
            for bit, bend in enumerate(rest.path):
                state |= (patterns >> self._hinging.index(self._problem.place_of(bend)) & 1) << bit
            for each in np.unique(state).tolist():
                bends = frozenset(bend for bit, bend in enumerate(rest.path) if each >> bit & 1)
                at[state == each, column] = _kind(kinds, self._attitude(column, bends))
        return tuple(each.tobytes() for each in kinds), at

    def _attitude(self, number: int, bent: frozenset[int]) -> Rotation:
        """The rotation of the base from the blank to the bed: to the right, to the back, up."""
        rest = self.rests[number]
        if not bent:
            return stood(rest.lie)
        if (number, bent) not in self._stood:
            turned = base_turned(self._problem.blank, rest.face, done=bent)
            self._stood[number, bent] = stood(rest.lie) @ np.array(turned)
        return self._stood[number, bent]


def _rests_of(problem: PanelProblem) -> tuple[tuple[Rest, ...], tuple[int, ...]]:
    """The classes among the ways of a problem, and the class of each."""
    over = {zone.face_to: zone for zone in problem.blank.zones}
    found: list[Rest] = []
    numbers = []
    for way in problem.ways:
        rest = _rest_of(problem, way, {face: (zone.bend, zone.face_from) for face, zone in over.items()})
        number = next((index for index, other in enumerate(found) if rest.same_as(other)), len(found))
        if number == len(found):
            found.append(rest)
        numbers.append(number)
    return tuple(found), tuple(numbers)


def _rest_of(problem: PanelProblem, way: PanelWay, hung: dict[int, tuple[int, int]]) -> Rest:
    face = at = problem.operations[way.operation].parents[0]
    path = []
    while at in hung:
        bend, at = hung[at]
        path.append(bend)
    return Rest(way.lie, face, tuple(path))


def _alike(at: Ints, alone_s: Floats, changed_s: Floats) -> Alike:
    """The classes by how the base stands, with what moves between these take."""
    own, number = np.unique(at, return_inverse=True)
    return Alike(number, alone_s[np.ix_(own, own)], changed_s[np.ix_(own, own)])


def _parted(groups: Ints) -> tuple[tuple[Ints | slice, int], ...]:
    """The places of each group of a layer, and its number."""
    every = np.unique(groups).tolist()
    if len(every) == 1:
        return ((slice(None), every[0]),)
    return tuple((np.flatnonzero(groups == group), group) for group in every)


def _kind(kinds: list[Rotation], attitude: Rotation) -> int:
    """Its place among those found so far, as one more where it is none of them."""
    alike = (at for at, each in enumerate(kinds) if np.abs(each - attitude).max() < SAME)
    number = next(alike, len(kinds))
    if number == len(kinds):
        kinds.append(attitude)
    return number


@lru_cache(maxsize=64)
def _prices(costs: Costs, kinds: tuple[bytes, ...], change_s: float) -> tuple[Floats, Floats]:
    """Tables [before, after] of what going from one attitude to another costs, at one station and going to another, for
    which the part is taken out whatever is done with it."""
    stands = [np.frombuffer(each).reshape(3, 3) for each in kinds]
    alone, changed = np.zeros((len(stands), len(stands))), np.zeros((len(stands), len(stands)))
    for (row, before), (column, after) in itertools.product(enumerate(stands), repeat=2):
        moves = moves_for(costs, after @ before.T)
        alone[row, column] = priced(moves) + (costs.rehandle if moves else 0.0)
        changed[row, column] = priced(moves) + costs.rehandle + change_s
    alone.flags.writeable = changed.flags.writeable = False
    return alone, changed
