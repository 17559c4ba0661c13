"""What each way of making an operation costs and forbids, for all sets of operations at once.

Prices are the least that is known of a step; a closer look only adds to them, for all sets that agree on the bends it
hangs on.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from flangewise.clearance import Stretches
from flangewise.panel_order.layers import on_the_way
from flangewise.panel_order.pair_table import PairTable
from flangewise.panel_order.places import BedLine
from flangewise.panel_order.problem import HitAnswers, PanelProblem, PanelWay
from flangewise.panel_order.way_prices import WayPrices
from flangewise.records import dataclass, replace

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]
Numbers = NDArray[np.int16] | NDArray[np.int32]
# Set of tools, line, what is forbidden, rows with gaps or without.
Kind = tuple[int, BedLine, Stretches, bool]


@dataclass(frozen=True)
class Patterns:
    """Of a way: which of its patterns each set has (-1: none, as the operation is made, or ram or bed are met), and of
    each pattern the bends that are bent in one of its sets."""

    hit: HitAnswers
    of_set: Numbers
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
class Stood:
    """What each pair of rows of a set of tools leaves uncovered at least, and its place, as far as it was asked: one
    line a kind of forbidden stretches. At the last, infinite, none stands."""

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
        self._kept: dict[Kind, tuple[Floats, Floats]] = {}
        self.stood: tuple[Stood, ...] = ()
        # Of each way where its patterns stand in these; at their end nowhere.
        self._at_kind: tuple[Ints, ...] = ()
        self.used: tuple[list[int], ...] = ()
        self.on_way: Bools = np.zeros(len(self.sets), dtype=bool)
        # Whether a way can come next to each set; what it takes by known set.
        self.can: Bools = np.zeros((len(problem.ways), len(self.sets)), dtype=bool)
        # Where no ram or bed is met; then where rows can stand at all: what lies on no way to the finished part is told
        # from that alone, not priced.
        self._place(on_the_way(self._not_met()))
        if not self.on_way.any():
            # What is in the way is told of all sets.
            self._place(np.ones(len(self.sets), dtype=bool))
        # What is not known stands at the end: never.
        self._price_s: Floats = np.full((len(problem.ways), len(self.known) + 1), np.inf)
        for index in range(len(problem.ways)):
            self._price_s[index, :-1] = np.where(self.can[index, self.known], self.bare_s(index), np.inf)
            self.can[index, self.known] = np.isfinite(self._price_s[index, :-1])

    def keep(self, chosen: Sequence[Sequence[int]]) -> None:
        """From now on knows of each set of tools only some of its pairs of rows, by their numbers: they count anew."""
        self.rows = tuple(
            replace(own, pairs=tuple(own.pairs[at] for at in some)) for own, some in zip(self.rows, chosen, strict=True)
        )
        self.pairs = tuple(PairTable(each.pairs) for each in self.rows)
        self.stood = tuple(
            Stood(each.short_mm[:, some], each.from_mm[:, some]) for each, some in zip(self.stood, chosen, strict=True)
        )

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
        for index in ways:
            stands = np.zeros(len(self.patterns[index].bent) + 1, dtype=bool)
            for pattern in self._patterns_of(index, among):
                kinds = (self._kind(index, pattern, apart=apart) for apart in (False, True))
                stands[pattern] = any(np.isfinite(self._placed(kind)[0]).any() for kind in kinds)
            self.can[index] = stands[self.patterns[index].of_set] & self.open_sets(self.problem.ways[index])
        self.on_way = on_the_way(self.can_come())
        self.limit(np.flatnonzero(self.on_way))
        self.used = tuple(self._patterns_of(index, self.on_way & self.can[index]) for index in ways)

    def put_together(self) -> None:
        """Places all rows in the patterns that are used; what was placed in others is let go. From here on it is known
        what each pair of rows leaves uncovered."""
        numbers: list[dict[tuple[Kind, Kind], int]] = [{} for _ in self.rows]
        at_kind = []
        for index, way in enumerate(self.problem.ways):
            at = np.full(len(self.patterns[index].bent) + 1, -1, dtype=np.int64)
            for pattern in self.used[index]:
                both = self._kind(index, pattern, apart=False), self._kind(index, pattern, apart=True)
                at[pattern] = numbers[way.mounting].setdefault(both, len(numbers[way.mounting]))
            at_kind.append(at)
        self._at_kind = tuple(at_kind)
        for kind in self._kept.keys() - {kind for own in numbers for both in own for kind in both}:
            del self._kept[kind]
        stood = []
        for mounting, own in enumerate(numbers):
            size = len(own) + 1, len(self.rows[mounting].pairs)
            each = Stood(np.full(size, np.inf), np.zeros(size))
            for both, number in own.items():
                for kind in both:
                    columns = self.pairs[mounting].numbers(apart=kind[-1])
                    each.short_mm[number, columns], each.from_mm[number, columns] = self._placed(kind)
                    del self._kept[kind]
            stood.append(each)
        self.stood = tuple(stood)

    def used_kinds_mm(self, mounting: int) -> Floats:
        """What each pair of rows of a set of tools leaves uncovered at least, once a kind of forbidden stretches."""
        return self.stood[mounting].short_mm[:-1]

    def used_mm(self, index: int) -> Floats:
        """What each pair of rows leaves uncovered of a way at least [pattern, pair], of those patterns that sets on a
        way to the finished part have."""
        own = self.problem.ways[index].mounting
        found: Floats = self.stood[own].short_mm[np.unique(self._at_kind[index][self.used[index]])]
        return found

    def short_mm(self, index: int, pair: int) -> Floats:
        """What a pair of rows leaves uncovered of a way by pattern; infinite at their end and where it is not used."""
        by_pattern: Floats = self.stood[self.problem.ways[index].mounting].short_mm[self._at_kind[index], pair]
        return by_pattern

    def least_mm(self, index: int) -> Floats:
        """The least that any pair of rows leaves uncovered, by pattern."""
        least = self.stood[self.problem.ways[index].mounting].short_mm.min(axis=1, initial=np.inf)
        by_pattern: Floats = least[self._at_kind[index]]
        return by_pattern

    def stands_mm(self, index: int, done: int, pair: int) -> tuple[float, float]:
        """Where the punch row of a pair begins for a step, and what the pair leaves uncovered."""
        from_mm, short_mm = self.all_stand_mm(index, done)
        return float(from_mm[pair]), float(short_mm[pair])

    def all_stand_mm(self, index: int, done: int) -> tuple[Floats, Floats]:
        """The same of all pairs of rows; infinite where one does not stand."""
        own = self.stood[self.problem.ways[index].mounting]
        kind = self._at_kind[index][self.patterns[index].of_set[done]]
        return own.from_mm[kind], own.short_mm[kind]

    def price_s(self, index: int, sets: Ints) -> Floats:
        """What a way costs by itself at some known sets; infinite where it cannot be next."""
        price: Floats = self._price_s[index, self.at[sets]]
        return price

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
        own, kind = sets[~fatal], _renumbered(code[~fatal])
        few = kind.max(initial=0) < np.iinfo(np.int16).max
        of_set: Numbers = np.full(len(self.sets), -1, dtype=np.int16) if few else np.full(len(self.sets), -1, np.int32)
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

    def _kind(self, index: int, pattern: int, *, apart: bool) -> Kind:
        """All that the places of rows hang on."""
        way = self.problem.ways[index]
        return way.mounting, self.line(way), self.patterns[index].stretches(pattern), apart

    def _placed(self, kind: Kind) -> tuple[Floats, Floats]:
        """What the rows leave uncovered, and where they stand."""
        if kind not in self._kept:
            mounting, line, each, apart = kind
            clear_mm = self.problem.rules.clear_mm
            self._kept[kind] = self.pairs[mounting].places(line, each, clear_mm=clear_mm, apart=apart)
        return self._kept[kind]

    def can_come(self) -> Bools:
        """Of each operation, the sets that it can come next to with some way, at today's prices; a hem's two hits."""
        problem = self.problem
        found = np.zeros((2, len(problem.operations), len(self.sets)), dtype=bool)
        for index, way in enumerate(problem.ways):
            found[int(way.is_second), way.operation] |= self.can[index]
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
        self._price_s[way, :-1][where[self.known]] += seconds
        if seconds == np.inf:
            self.can[way, where] = False


def _renumbered(codes: Ints) -> Ints:
    """Whole numbers as their places among those that occur, rising."""
    occurs = np.zeros(int(codes.max(initial=0)) + 1, dtype=np.int64)
    occurs[codes] = 1
    places: Ints = (np.cumsum(occurs) - 1)[codes]
    return places
