"""Stations, each a punch row over a die row, and sets of them by the least that a plan with them can cost."""

from __future__ import annotations

import heapq
import itertools
import math
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from flangewise.panel_order.layers import Layers
from flangewise.panel_order.problem import PanelProblem, PanelWay, RowRules
from flangewise.panel_order.tables import PanelTables
from flangewise.punch_die import Row, SegmentUse
from flangewise.records import dataclass

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]
Some = tuple[int, ...]
# Prices and shortfalls nearer to each other than this are alike.
ALIKE = 1e-9


@dataclass(frozen=True)
class RowPair:
    """A punch row over a die row of one set of tools, by its place among the pairs of these; a part's share of them."""

    mounting: int
    pair: int
    price_s: float


def row_price_s(row: Row, rules: RowRules) -> float:
    """A part's share of putting a row in: the tool, its segments, its ears."""
    return rules.tool_s + rules.segment_s * len(row.segments) + rules.ear_s * sum(row.ears)


def least_stations_s(problem: PanelProblem) -> float:
    """What the stations of any plan cost at least: a segment in either row, and where hems are flattened as much."""
    return (2 if problem.flattened else 1) * 2 * (problem.rules.tool_s + problem.rules.segment_s)


class PanelStations:
    """The stations worth a try, and for each operation the least wish that the rows of each leave for it.

    Pairs of rows that another outdoes are left out as long as what stands beside each other holds enough segments and
    fits on the bed: in place of stations that do not stand together those are taken that they outdo. `count` are worth
    a try by themselves, those outdone come after them. `open_s`: no set that was not looked at for all that costs less.
    """

    def __init__(self, tables: PanelTables, layers: Layers) -> None:
        """Pairs that another does no worse, is no longer and no dearer than, are left out."""
        self._tables, self._problem, self._layers = tables, tables.problem, layers
        outdone = [self._outdone(mounting) for mounting in range(len(tables.rows))]
        beside = math.isfinite(self._problem.rules.bed_mm)
        # Where each station is put in by itself nothing stands in its way.
        chosen = [[at for at, by in own.items() if beside or at == by] for own in outdone]
        tables.keep(chosen)
        places = [
            (own[at] != at, mounting, column)
            for mounting, (own, some) in enumerate(zip(outdone, chosen, strict=True))
            for column, at in enumerate(some)
        ]
        places.sort()
        self.pairs = tuple(
            RowPair(mounting, column, self._price_s(tables.rows[mounting].pairs[column]))
            for _, mounting, column in places
        )
        self.count = sum(not is_outdone for is_outdone, _, _ in places)
        self.prices_s: Floats = np.array([pair.price_s for pair in self.pairs])
        number = {(mounting, chosen[mounting][column]): at for at, (_, mounting, column) in enumerate(places)}
        self._instead: dict[int, list[int]] = {}
        for (mounting, at), own in number.items():
            self._instead.setdefault(number[mounting, outdone[mounting][at]], []).append(own)
        self.open_s = math.inf
        self._makes: dict[int, Bools] = {}

    def _price_s(self, pair: tuple[Row, Row]) -> float:
        return sum(row_price_s(row, self._problem.rules) for row in pair)

    def _outdone(self, mounting: int) -> dict[int, int]:
        """Of one set of tools the pairs that find a place at all, each with the one that outdoes it, or itself."""
        ways = [index for index, way in enumerate(self._problem.ways) if way.mounting == mounting]
        if not ways:
            return {}
        pairs = self._tables.rows[mounting].pairs
        prices = np.array([self._price_s(pair) for pair in pairs])
        does = np.unique(self._tables.used_kinds_mm(mounting), axis=0)
        # Of each punch row its dies first: of what is left every two are compared.
        over: dict[Row, list[int]] = {}
        for at, (punch, _) in enumerate(pairs):
            over.setdefault(punch, []).append(at)
        by: dict[int, int] = {}
        for own in over.values():
            by |= _outdone_by(own, [pairs[at][0] for at in own], prices[own], does[:, own])
        left = [at for at, other in by.items() if at == other]
        by |= _outdone_by(left, [pairs[at][0] for at in left], prices[left], does[:, left])
        return {at: _last(by, at) for at in by}

    @cached_property
    def kinds(self) -> tuple[int, ...]:
        """The kind of each station: of one kind are those of one set of tools that leave the same uncovered."""
        known: dict[tuple[int, bytes], int] = {}
        found = []
        for pair in self.pairs:
            does = self._tables.used_kinds_mm(pair.mounting)[:, pair.pair]
            found.append(known.setdefault((pair.mounting, does.tobytes()), len(known)))
        return tuple(found)

    @property
    def least_price_s(self) -> float:
        """What the stations of a plan cost at least: one, and where hems are flattened one for that."""
        mountings = {way.mounting for way in self._problem.ways if way.is_second}
        second = np.array([pair.mounting in mountings for pair in self.pairs], dtype=bool)
        kinds = (self.prices_s[~second], self.prices_s[second]) if mountings else (self.prices_s,)
        return sum(float(each.min(initial=np.inf)) for each in kinds)

    def _task(self, way: PanelWay) -> int:
        """What a way does: its operation, or after all of these the flattening of one."""
        problem = self._problem
        return len(problem.operations) + problem.flattened.index(way.operation) if way.is_second else way.operation

    @property
    def _tasks(self) -> int:
        return len(self._problem.operations) + len(self._problem.flattened)

    @cached_property
    def least_short_s(self) -> Floats:
        """Of each station and task, the least wish against what its rows leave uncovered, infinite for never."""
        problem = self._problem
        found = np.full((len(self.pairs), self._tasks), np.inf)
        for index, way in enumerate(problem.ways):
            own = [number for number, pair in enumerate(self.pairs) if pair.mounting == way.mounting]
            if not own:
                continue
            shorts = self._tables.used_mm(index)[:, [self.pairs[number].pair for number in own]]
            least = shorts.min(axis=0, initial=np.inf) * problem.rules.short_wish_s_per_mm
            task = self._task(way)
            found[own, task] = np.minimum(found[own, task], least)
        return found

    def sets_of(self, size: int, least_s: float) -> Iterator[tuple[float, tuple[int, ...]]]:
        """Sets of so many stations by the least a plan can cost with them; `least_s` is that of handling by itself.

        Only sets that stand together and lead to the finished part, moves and all that is looked at later left aside.
        """
        kinds = {1: self._ones, 2: self._twos}
        least_s += (size - 1) * self._problem.rules.change_s
        stand = self._standing(kinds[size](least_s) if size in kinds else self._more(size, least_s), least_s)
        while chunk := list(itertools.islice(stand, CHUNK)):
            leads = self._leads([some for _, some in chunk])
            yield from (each for each, can in zip(chunk, leads, strict=True) if can)

    def _standing(self, found: Iterator[tuple[float, Some]], least_s: float) -> Iterator[tuple[float, Some]]:
        """Sets that stand together by their bound; in place of those that do not, what they outdo."""
        waiting: list[tuple[float, int, Some, Iterator[tuple[float, Some]]]] = []

        def put(count: int, others: Iterator[tuple[float, Some]]) -> None:
            following = next(others, None)
            if following is not None:
                heapq.heappush(waiting, (following[0], count, following[1], others))

        for count, (bound, some) in enumerate(itertools.chain(found, [(math.inf, ())])):
            while waiting and waiting[0][0] <= bound:
                own_s, number, own, others = heapq.heappop(waiting)
                put(number, others)
                if self.stand_together(own):
                    yield own_s, own
            if not some:
                return
            if self.stand_together(some):
                yield bound, some
            else:
                put(count, self._in_place_of(some, bound, least_s))

    def _in_place_of(self, some: Some, bound: float, least_s: float) -> Iterator[tuple[float, Some]]:
        """The sets of stations that some outdo, one for each, by their bound."""
        # Two for one of them, neither cheaper than that, are not looked at.
        more_s = float(self.prices_s[list(some)].min()) + self._problem.rules.change_s
        self.open_s = min(self.open_s, bound + more_s)
        groups = [self._instead[at] for at in some]
        if math.prod(map(len, groups)) > MOST_INSTEAD:
            self.open_s = min(self.open_s, bound)
            return
        sets = np.stack(np.meshgrid(*groups, indexing="ij"), axis=-1).reshape(-1, len(some))
        sets = np.concatenate([each[self._stand(each)] for each in np.array_split(sets, len(sets) // MANY_SETS + 1)])
        bounds = np.concatenate([self._bounds(each) for each in np.array_split(sets, len(sets) // MANY_SETS + 1)])
        for at in _rising(bounds):
            yield least_s + float(bounds[at]), tuple(map(int, sets[at]))

    def _bounds(self, sets: Ints) -> Floats:
        """What sets of stations cost at least by their prices and least wishes [set, station]."""
        found: Floats = self.least_short_s[sets].min(axis=1).sum(axis=1) + self.prices_s[sets].sum(axis=1)
        return found

    def _ones(self, least_s: float) -> Iterator[tuple[float, tuple[int, ...]]]:
        bounds = (self.prices_s + self.least_short_s.sum(axis=1))[: self.count]
        yield from ((least_s + float(bounds[at]), (int(at),)) for at in _rising(bounds))

    def _leads(self, every: Sequence[tuple[int, ...]]) -> Bools:
        """Of sets of stations, whether the finished part can be come to with them."""
        count, position = len(self._problem.operations), self._layers.position
        can = np.stack([np.any([self._can(at) for at in some], axis=0) for some in every])
        for number, operation in enumerate(self._problem.flattened):
            can[:, operation] &= can[:, count + number]
        # What is led to beyond the layers' sets is led to nowhere: it has a place of its own.
        come = np.zeros((len(every), len(self._layers.sets) + 1), dtype=bool)
        come[:, position[0]] = True
        for layer in self._layers.by_done[:-1]:
            for operation in range(count):
                lacking = layer[(layer >> operation & 1) == 0]
                at = position[lacking]
                come[:, position[lacking | 1 << operation]] |= come[:, at] & can[:, operation][:, at]
        whole: Bools = come[:, position[-1]]
        return whole

    def _can(self, at: int) -> Bools:
        """Of each task, in which of the layers' sets a station does it."""
        if at not in self._makes:
            pair, tables, sets = self.pairs[at], self._tables, self._layers.sets
            found = np.zeros((self._tasks, len(sets)), dtype=bool)
            for index, way in enumerate(self._problem.ways):
                if way.mounting == pair.mounting:
                    stands = np.isfinite(tables.short_mm(index, pair.pair))
                    of_set = tables.patterns[index].of_set[sets]
                    found[self._task(way)] |= stands[of_set] & tables.can[index, sets]
            self._makes[at] = found
        return self._makes[at]

    def stand_together(self, some: Sequence[int]) -> bool:
        """Whether stations fit on the bed with segments that the shop holds; on an endless bed each is put in alone."""
        return bool(self._stand(np.array([some], dtype=np.int64))[0])

    def _stand(self, sets: Ints) -> Bools:
        """The same of sets of stations [set, station]."""
        rules = self._problem.rules
        if math.isinf(rules.bed_mm):
            return np.ones(len(sets), dtype=bool)
        taken, held, wide_mm = self._takes
        fits = wide_mm[sets].sum(axis=1) + rules.gap_mm * (sets.shape[1] - 1) <= rules.bed_mm
        found: Bools = fits & (taken[sets].sum(axis=1) <= held).all(axis=1)
        return found

    @cached_property
    def _takes(self) -> tuple[Ints, Floats, Floats]:
        """Of each station how many segments of each kind it takes, how many of these are held, and how wide it is."""
        held, used, wide_mm = dict[tuple[int, str, SegmentUse], int](), [], []
        for pair in self.pairs:
            own, rows = self._tables.rows[pair.mounting], self._tables.rows[pair.mounting].pairs[pair.pair]
            wide_mm.append(max(self._problem.rules.part_mm, *(row.length_mm for row in rows)))
            taken: Counter[tuple[int, str, SegmentUse]] = Counter()
            for body, (row, name, has) in enumerate(zip(rows, own.names, own.held, strict=True)):
                taken.update((body, name, segment.kind) for segment in row.segments)
                held |= {(body, name, kind): count for kind, count in has.items()}
            used.append(taken)
        kinds = tuple(dict.fromkeys(kind for taken in used for kind in taken))
        table = np.array([[taken[kind] for kind in kinds] for taken in used], dtype=np.int64)
        return table, np.array([held.get(kind, math.inf) for kind in kinds]), np.array(wide_mm)

    def _twos(self, least_s: float) -> Iterator[tuple[float, tuple[int, ...]]]:
        count, short_s, prices_s = self.count, self.least_short_s[: self.count], self.prices_s[: self.count]
        bounds = np.full((count, count), np.inf)
        for at in range(count):
            wishes = np.minimum(short_s[at], short_s[at + 1 :]).sum(axis=1)
            bounds[at, at + 1 :] = wishes + prices_s[at] + prices_s[at + 1 :]
        flat = bounds.ravel()
        for at in _rising(flat):
            yield least_s + float(flat[at]), divmod(int(at), count)

    def _more(self, size: int, least_s: float) -> Iterator[tuple[float, tuple[int, ...]]]:
        """Larger sets: all of them where they are not too many, else of the stations cheapest for what they serve."""
        few = np.arange(self.count) if self.all_of(size) else np.array(self._narrow(), dtype=np.int64)
        sets = few[_chosen(len(few), size)]
        bounds = np.concatenate([self._bounds(some) for some in np.array_split(sets, len(sets) // MANY_SETS + 1)])
        for at in _rising(bounds):
            yield least_s + float(bounds[at]), tuple(map(int, sets[at]))

    def all_of(self, size: int) -> bool:
        """Whether all sets of so many stations are looked at."""
        return size < 3 or math.comb(self.count, size) <= MOST_SETS

    def _narrow(self) -> list[int]:
        """The stations looked at for larger sets: of those that serve the same tasks, the cheapest few."""
        kinds: dict[frozenset[int], list[int]] = {}
        for at in np.argsort(self.prices_s[: self.count], kind="stable"):
            kinds.setdefault(frozenset(map(int, np.flatnonzero(np.isfinite(self.least_short_s[at])))), []).append(
                int(at)
            )
        return [at for kind, each in kinds.items() if kind for at in each[:NARROW]]


# So many sets of stations are looked at at once.
CHUNK = 32
# Where there are more sets of three than this, only those of so many stations for each kind of task are looked at.
MOST_SETS, NARROW = 200_000, 6
# Bounds of sets are reckoned by so many at once.
MANY_SETS = 5_000
# In place of one set so many are looked at.
MOST_INSTEAD = 200_000


def _rising(bounds: Floats) -> Iterator[int]:
    order = np.argsort(bounds, kind="stable")
    return iter(order[: int(np.isfinite(bounds).sum())])


def _chosen(count: int, size: int) -> Ints:
    """All ways to take so many out of a number of things, by their places, rising [way, size]."""
    sets: Ints = np.arange(count)[:, None]
    for _ in range(size - 1):
        more = count - 1 - sets[:, -1]
        step = np.arange(more.sum()) - np.repeat(np.cumsum(more) - more, more)
        sets = np.column_stack([np.repeat(sets, more, axis=0), np.repeat(sets[:, -1] + 1, more) + step])
    return sets


def _outdone_by(numbers: Sequence[int], rows: Sequence[Row], prices: Floats, does: Floats) -> dict[int, int]:
    """Rows that find a place at all, each with one that outdoes it, or itself: no worse for any pattern of a set on a
    way to the finished part, no dearer, no longer, with its gaps or without them, without an ear more."""
    useful = [at for at in range(len(rows)) if np.isfinite(does[:, at]).any()]
    if not useful:
        return {}
    does = does[:, useful]
    # From end to end, and what stands of it.
    lengths = np.array([(rows[at].length_mm, sum(use.length_mm for use in rows[at].segments)) for at in useful])
    ears = np.array([rows[at].ears for at in useful])
    own, found = prices[useful], {}
    for at in range(len(useful)):
        better = (own <= own[at] + ALIKE) & (ears <= ears[at]).all(axis=1)
        better &= (lengths <= lengths[at] + ALIKE).all(axis=1)
        better &= (does <= does[:, at, None] + ALIKE).all(axis=0)
        better[at] = False
        # Of rows that are alike in all, the first is kept.
        alike = better & (own >= own[at] - ALIKE) & (lengths >= lengths[at] - ALIKE).all(axis=1)
        alike &= (ears == ears[at]).all(axis=1) & (does >= does[:, at, None] - ALIKE).all(axis=0)
        better &= ~alike | (np.arange(len(useful)) < at)
        found[numbers[useful[at]]] = numbers[useful[int(better.argmax()) if better.any() else at]]
    return found


def _last(by: Mapping[int, int], at: int) -> int:
    """The one that none outdoes, from one that may be."""
    while by[at] != at:
        at = by[at]
    return at
