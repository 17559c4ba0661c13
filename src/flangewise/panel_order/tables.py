"""What each way of making an operation costs and forbids, for all sets of operations at once.

Prices are the least that is known of a step; a closer look only adds to them, for all sets that agree on the bends it
hangs on.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from flangewise.clearance import Stretches
from flangewise.panel_order.layers import on_the_way
from flangewise.panel_order.pair_table import PairTable, Placed
from flangewise.panel_order.places import BedLine
from flangewise.panel_order.problem import HitAnswers, PanelProblem, PanelWay
from flangewise.panel_order.way_prices import WayPrices

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]


@dataclass(frozen=True)
class Patterns:
    """Of a way: which of its patterns each set has (-1: none, as the operation is made, or ram or bed are met), and of
    each pattern the bends that are bent in one of its sets."""

    hit: HitAnswers
    of_set: NDArray[np.int32]
    bent: tuple[frozenset[int], ...]

    @cached_property
    def _known(self) -> dict[int, Stretches]:
        return {}

    def stretches(self, pattern: int) -> Stretches:
        """What is forbidden in a pattern."""
        if pattern not in self._known:
            self._known[pattern] = self.hit.forbidden(self.bent[pattern])
        return self._known[pattern]


@dataclass(frozen=True)
class Shorts:
    """Of a way: what each pair of rows leaves uncovered at least, and its place, for each pattern; infinities end the
    patterns."""

    short_mm: Floats
    from_mm: Floats


class PanelTables(WayPrices):
    """Prices and patterns of a problem; prices rise as steps are looked at. Not to be shared between threads."""

    def __init__(self, problem: PanelProblem) -> None:
        """Prices before any look."""
        super().__init__(problem)
        self.rows = problem.rows
        self.pairs = tuple(PairTable(each.pairs) for each in self.rows)
        self.patterns = tuple(self._patterns(way) for way in problem.ways)
        self._kept: dict[object, Placed | None] = {}
        self.shorts: tuple[Shorts, ...] = ()
        self.used: tuple[list[int], ...] = ()
        self.on_way: Bools = np.zeros(len(self.sets), dtype=bool)
        self.price_s: Floats = np.empty((len(problem.ways), len(self.sets)))
        # Where no ram or bed is met; then where rows can stand at all: what lies on no way to the finished part is told
        # from that alone, not priced.
        self._place(on_the_way(self._not_met()))
        if not self.on_way.any():
            # What is in the way is told of all sets.
            self._place(np.ones(len(self.sets), dtype=bool))
        for index in range(len(problem.ways)):
            self.price_s[index, self.known] += self.bare_s(index)

    def keep(self, chosen: Sequence[Sequence[int]]) -> None:
        """From now on knows of each set of tools only some of its pairs of rows, by their numbers: they count anew."""
        self.rows = tuple(
            replace(own, pairs=tuple(own.pairs[at] for at in some)) for own, some in zip(self.rows, chosen, strict=True)
        )
        self.pairs = tuple(PairTable(each.pairs) for each in self.rows)
        own = (chosen[way.mounting] for way in self.problem.ways)
        self.shorts = tuple(
            Shorts(each.short_mm[:, some], each.from_mm[:, some]) for each, some in zip(self.shorts, own, strict=True)
        )
        self._kept.clear()

    def _not_met(self) -> Bools:
        """Of each operation, the sets that it can come next to, rows left aside."""
        found = np.zeros((len(self.problem.operations), len(self.sets)), dtype=bool)
        for way, patterns in zip(self.problem.ways, self.patterns, strict=True):
            found[way.operation] |= patterns.of_set >= 0
        return found

    def _place(self, among: Bools) -> None:
        """Places rows in the patterns that some sets have: those with gaps where the others do not stand, to know which
        sets lie on a way, and then in what these have."""
        ways = range(len(self.problem.ways))
        self.shorts = tuple(self._nowhere(index) for index in ways)
        for index in ways:
            for pattern in self._patterns_of(index, among):
                self._fill(index, pattern, apart=False)
                if not np.isfinite(self.shorts[index].short_mm[pattern]).any():
                    self._fill(index, pattern, apart=True)
        for index in ways:
            self.price_s[index] = self._standing(index)
        self.on_way = on_the_way(self.can_come())
        self.limit(np.flatnonzero(self.on_way))
        self.used = tuple(self._patterns_of(index, self.on_way & np.isfinite(self.price_s[index])) for index in ways)
        for index in ways:
            for pattern in self.used[index]:
                self._fill(index, pattern, apart=True)

    def used_mm(self, index: int) -> Floats:
        """What each pair of rows leaves uncovered of a way at least [pattern, pair], of those patterns that sets on a
        way to the finished part have."""
        return self.shorts[index].short_mm[self.used[index]]

    def line(self, way: PanelWay) -> BedLine:
        """The line of a way along the bed, as far as it must be covered."""
        runs, rules = way.hit.runs_mm, self.problem.rules
        short_mm = rules.free_short_mm, rules.beside_short_mm
        return BedLine(runs[0][0], runs[-1][1], *short_mm, rules.near_mm, runs, rules.most_gap_mm)

    def _patterns(self, way: PanelWay) -> Patterns:
        """The sets parted by what the faces of the wings forbid, face by face."""
        problem = self.problem
        sets = self.sets[self.open_sets(way)]
        code = np.zeros(len(sets), dtype=np.int64)
        fatal = np.zeros(len(sets), dtype=bool)
        for face in way.hit.faces:
            path = [problem.mask_of((bend,)).bit_length() - 1 for bend in way.hit.depends(face)]
            nodes = way.hit.answers(face)
            kinds = {node: kind for kind, node in enumerate(dict.fromkeys(nodes))}
            if len(kinds) == 1 and not nodes[0].fatal:
                continue
            state = np.zeros(len(sets), dtype=np.int64)
            for at, place in enumerate(path):
                state |= (sets >> place & 1) << at
            fatal |= np.array([node.fatal for node in nodes], dtype=bool)[state]
            code = _renumbered(code * len(kinds) + np.array([kinds[node] for node in nodes])[state])
        of_set = np.full(len(self.sets), -1, dtype=np.int32)
        own, kind = sets[~fatal], _renumbered(code[~fatal])
        of_set[own] = kind
        firsts = np.zeros(int(kind.max(initial=-1)) + 1, dtype=np.int64)
        firsts[kind[::-1]] = own[::-1]
        return Patterns(way.hit, of_set, tuple(problem.bends_of(int(done)) for done in firsts))

    def _patterns_of(self, index: int, among: Bools) -> list[int]:
        """The patterns that some sets have for a way."""
        of_set = self.patterns[index].of_set
        found = np.zeros(len(self.patterns[index].bent) + 1, dtype=bool)
        found[of_set[among]] = True
        return np.flatnonzero(found[:-1]).tolist()

    def _nowhere(self, index: int) -> Shorts:
        """As long as nothing is placed."""
        size = len(self.patterns[index].bent) + 1, len(self.rows[self.problem.ways[index].mounting].pairs)
        return Shorts(np.full(size, np.inf), np.zeros(size))

    def _fill(self, index: int, pattern: int, *, apart: bool) -> None:
        """Places the rows without gaps, or those with, for one pattern of a way."""
        way, line = self.problem.ways[index], self.line(self.problem.ways[index])
        each, clear_mm = self.patterns[index].stretches(pattern), self.problem.rules.clear_mm
        key = way.mounting, line, each, apart
        if key not in self._kept:
            table = self.pairs[way.mounting]
            may = table.may_stand(line, each, clear_mm=clear_mm)
            self._kept[key] = table.places(line, each, clear_mm=clear_mm, apart=apart) if may else None
        placed = self._kept[key]
        if placed is not None:
            at, short_mm, from_mm = placed
            self.shorts[index].short_mm[pattern, at], self.shorts[index].from_mm[pattern, at] = short_mm, from_mm

    def _standing(self, index: int) -> Floats:
        """Nothing where rows of a way can stand and it comes next, infinite elsewhere."""
        stands: Bools = np.isfinite(self.shorts[index].short_mm.min(axis=1))
        can = stands[self.patterns[index].of_set] & self.open_sets(self.problem.ways[index])
        return np.where(can, 0.0, np.inf)

    def can_come(self) -> Bools:
        """Of each operation, the sets that it can come next to with some way, at today's prices; a hem's two hits."""
        problem, finite = self.problem, np.isfinite(self.price_s)
        found = np.zeros((2, len(problem.operations), len(self.sets)), dtype=bool)
        for index, way in enumerate(problem.ways):
            found[int(way.is_second), way.operation] |= finite[index]
        for operation in range(len(problem.operations)):
            if operation not in problem.flattened:
                found[1, operation] = True
        both: Bools = found[0] & found[1]
        return both

    def agreeing(self, done: int, mask: int) -> Bools:
        """The sets that have of `mask` what `done` has."""
        agree: Bools = (self.sets & mask) == (done & mask)
        return agree

    def add(self, way: int, where: Bools, seconds: float) -> None:
        """Seconds more for a way at some sets, infinite where it cannot be."""
        self.price_s[way, where] += seconds


def _renumbered(codes: Ints) -> Ints:
    """Whole numbers as their places among those that occur, rising."""
    occurs = np.zeros(int(codes.max(initial=0)) + 1, dtype=np.int64)
    occurs[codes] = 1
    places: Ints = (np.cumsum(occurs) - 1)[codes]
    return places
