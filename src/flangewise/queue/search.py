"""The order of kinds of set-up with the least seconds of changing, by the least that is still to come.

State: which kinds are done, and what stands. Every tool that a kind still to be done needs, and that does not stand in
a row that does for it, is put in once more at least: with that the state is taken whose way is the least it could be
(A*), until one has all kinds done. No order and no keeping of tools takes less then. Where that takes too many states,
the least of those still open bounds every order from below, and an order is made by going on from the best few, and
bettered by moving a few at a time.

Due days: what is due earlier comes first, free within a day; what has no date may stand anywhere. With `ends_s` no kind
ends later than that. Seconds of all changes so far are the least for a state, and so is the clock.
"""

import heapq
import itertools
import math
import random
from collections.abc import Collection, Iterator, Sequence

from flangewise.punch_die import SegmentUse
from flangewise.queue.changing import Change, Changing, Kind, Stations
from flangewise.queue.on_bed import Tool
from flangewise.records import dataclass

# States looked at where there are more kinds than are promised to be exact, and how many are gone on with of a length.
MOST_STATES, ABREAST = 8_000, 60
# Moves that are tried to better such an order, by how many kinds there are; how many kinds are moved together; the beds
# that are gone on with then; from how many seconds more an order is gone on from as a rule, at first and at last.
MOST_MOVES, TOGETHER, FEW, HOT_S, COLD_S = 50_000, (1, 1, 1, 2, 3), 8, 60.0, 8.0
EXACT = 14
SAME_S = 1e-6


@dataclass(frozen=True)
class Clock:
    """The seconds of each kind besides its changes, and when it must have ended at the latest."""

    runs_s: tuple[float, ...]
    ends_s: tuple[float, ...]


@dataclass(frozen=True)
class FoundOrder:
    """An order of kinds with the change before each; no order takes less than `least_s`."""

    order: tuple[int, ...]
    changes: tuple[Change, ...]
    least_s: float

    @property
    def seconds_s(self) -> float:
        """All changes."""
        return math.fsum(change.seconds_s for change in self.changes)

    @property
    def proven(self) -> bool:
        """Whether no order takes less."""
        return self.seconds_s <= self.least_s + SAME_S


@dataclass(frozen=True)
class ChangesMade:
    """The way to a state, last step first."""

    before: "ChangesMade | None"
    kind: int
    change: Change
    seconds_s: float
    carried_mm: float = 0.0

    @property
    def weight(self) -> tuple[float, float]:
        """Seconds first, then how much is carried to the machine."""
        return round(self.seconds_s, 6), round(self.carried_mm, 6)

    def back(self) -> Iterator["ChangesMade"]:
        """From its last step to its first."""
        way: ChangesMade | None = self
        while way is not None:
            yield way
            way = way.before


class QueueSearch:
    """The question: kinds, changes between them, due days and clock."""

    def __init__(self, changing: Changing, clock: Clock | None = None, *, only: Collection[int] | None = None) -> None:
        """Without a clock only the order of the due days is kept. `only`: these kinds and no others."""
        self._changing, self._clock = changing, clock
        kinds = changing.kinds
        self._wanted = tuple(range(len(kinds))) if only is None else tuple(sorted(only))
        self._all = sum(1 << kind for kind in self._wanted)
        self._before = tuple(_earlier(kinds, kind) for kind in kinds)
        self._asking = [(need, row) for kind in kinds for need in kind.needs for row in need.own.rows]
        self._rows = [(row.key, row.segments if need.least_mm is None else None) for need, row in self._asking]
        places = itertools.count()
        self._own_asked = [sum(1 << next(places) for need in kind.needs for _ in need.own.rows) for kind in kinds]
        self._met: dict[int, int] = {}
        self._least_s: dict[tuple[int, int], float] = {}
        self._cheapest: dict[tuple[Tool, tuple[SegmentUse, ...] | None], float] = {}
        for row in (row for kind in kinds for own in kind.own for row in own.rows):
            for key in ((row.key, row.segments), (row.key, None)):
                self._cheapest[key] = min(row.put_in_s, self._cheapest.get(key, row.put_in_s))

    def least(self, most_states: int | None = None) -> tuple[FoundOrder | None, float]:
        """The order that takes least, None where it was not found in so many states, and what none takes less than.

        Also None, with infinity, where no order keeps the clock.
        """
        opened: list[tuple[float, int, int, int, Stations, ChangesMade | None]] = [
            (self._at_least(0, ()), 0, 0, 0, (), None)
        ]
        reached: dict[tuple[int, Stations], float] = {(0, ()): 0.0}
        looked_at, ties = 0, 0
        while opened:
            least_s, _, _, done, standing, way = heapq.heappop(opened)
            spent_s = 0.0 if way is None else way.seconds_s
            if done == self._all:
                return self._found(way, least_s), least_s
            if spent_s > reached[done, standing] + SAME_S:
                continue
            looked_at += 1
            if most_states is not None and looked_at > most_states:
                return None, least_s
            for after, then in self._onward(done, standing, way):
                key = (after, then.change.after)
                if then.seconds_s < reached.get(key, math.inf) - SAME_S:
                    reached[key] = then.seconds_s
                    ties += 1
                    bound_s = then.seconds_s + self._at_least(after, then.change.after)
                    # Of those alike the longest first, and then as they came.
                    entry = (round(bound_s, 6), -after.bit_count(), ties, after, then.change.after, then)
                    heapq.heappush(opened, entry)
        return None, math.inf

    def abreast(self, least_s: float) -> FoundOrder | None:
        """A good order, by going on from the best few of each length; None where none of them keeps the clock."""
        front: list[tuple[float, int, int, Stations, ChangesMade | None]] = [(0.0, 0, 0, (), None)]
        for _ in self._wanted:
            reached: dict[tuple[int, Stations], tuple[float, int, int, Stations, ChangesMade | None]] = {}
            for _, _, done, standing, way in front:
                for after, then in self._onward(done, standing, way, free_alone=False):
                    key = (after, then.change.after)
                    bound_s = round(then.seconds_s + self._at_least(after, then.change.after), 6)
                    if key not in reached or bound_s < reached[key][0]:
                        reached[key] = (bound_s, len(reached), *key, then)
            front = sorted(reached.values(), key=lambda each: each[:2])[:ABREAST]
        ends = [way for *_, way in front if way is not None]
        return self._found(ends[0], least_s) if ends else None

    def in_order(self, order: Sequence[int], least_s: float = 0.0, *, few: bool = False) -> FoundOrder:
        """The changes of an order that is given, the least that keeping tools makes of them; the clock is not asked.

        Of those that take as little, those with the shortest rows to put in. `few`: only few beds are gone on with.
        """
        ways: dict[Stations, ChangesMade | None] = {(): None}
        for kind in order:
            then: dict[Stations, ChangesMade | None] = {}
            for standing, way in ways.items():
                spent_s, carried_mm = (0.0, 0.0) if way is None else (way.seconds_s, way.carried_mm)
                for change in self._changing.changes(standing, kind):
                    made = ChangesMade(way, kind, change, spent_s + change.seconds_s, carried_mm + change.carried_mm)
                    known = then.get(change.after)
                    if known is None or made.weight < known.weight:
                        then[change.after] = made
            ways = then
            if few and len(ways) > FEW:
                best_of = sorted(then.items(), key=lambda each: each[1].weight if each[1] is not None else (0.0, 0.0))
                ways = dict(best_of[:FEW])
        best = min((way for way in ways.values() if way is not None), key=lambda way: way.weight)
        return self._found(best, least_s)

    def bettered(self, found: FoundOrder) -> FoundOrder:
        """The same or a better order: a few kinds at a time, drawn by chance, are moved to another place.

        An order that takes more is gone on from as well, the less of it the longer it goes on (annealing). The draws
        are the same each time.
        """
        draw, count, now = random.Random(0), len(found.order), found
        moves = MOST_MOVES // count
        for nth in range(moves):
            if found.proven:
                break
            heat_s = HOT_S * (COLD_S / HOT_S) ** (nth / moves)
            size = draw.choice(TOGETHER)
            at, to, chance = draw.randrange(count), draw.randrange(count), draw.random()
            left = [*now.order[:at], *now.order[at + size :]]
            order = [*left[:to], *now.order[at : at + size], *left[to:]]
            if at == to or not self._is_by_due_days(order):
                continue
            tried = self.in_order(order, found.least_s, few=True)
            if chance < math.exp(min(0.0, (now.seconds_s - tried.seconds_s) / heat_s)):
                now = tried
                if tried.seconds_s < found.seconds_s - SAME_S and self.keeps(order, tried.changes):
                    found = tried
        return found

    def _is_by_due_days(self, order: Sequence[int]) -> bool:
        done = itertools.accumulate((1 << kind for kind in order), initial=0)
        return not any(self._before[kind] & ~before for kind, before in zip(order, done, strict=False))

    def keeps(self, order: Sequence[int], changes: Sequence[Change]) -> bool:
        """Whether an order goes by the due days, and ends no kind later than it must."""
        done, now_s = 0, 0.0
        if not self._is_by_due_days(order):
            return False
        for kind, change in zip(order, changes, strict=True):
            done |= 1 << kind
            now_s += change.seconds_s
            if not self._in_time(kind, done, now_s):
                return False
        return True

    def _found(self, way: ChangesMade | None, least_s: float) -> FoundOrder:
        steps = [] if way is None else list(way.back())[::-1]
        order, changes = tuple(each.kind for each in steps), tuple(each.change for each in steps)
        return FoundOrder(order, changes, least_s)

    def _onward(
        self, done: int, standing: Stations, way: ChangesMade | None, *, free_alone: bool = True
    ) -> Iterator[tuple[int, ChangesMade]]:
        """Every kind that may come next, with each way to set up for it.

        What takes no change and leaves all standing comes at once: later it would save nothing. Not so before a date
        that the clock knows, for what has none.
        """
        kinds = self._changing.kinds
        spent_s, found = 0.0 if way is None else way.seconds_s, []
        for kind in self.open_kinds(done):
            after = done | 1 << kind
            for change in self._changing.changes(standing, kind):
                then = ChangesMade(way, kind, change, spent_s + change.seconds_s)
                if not self._in_time(kind, after, then.seconds_s):
                    continue
                free = change.after == standing and not change.seconds_s
                if free and free_alone and (self._clock is None or kinds[kind].due is not None):
                    yield after, then
                    return
                found.append((after, then))
        yield from found

    def open_kinds(self, done: int) -> list[int]:
        """The kinds that may come next."""
        return [kind for kind in self._wanted if not done >> kind & 1 and not self._before[kind] & self._all & ~done]

    def _in_time(self, kind: int, done: int, changes_s: float) -> bool:
        if self._clock is None:
            return True
        runs_s = sum(each for place, each in enumerate(self._clock.runs_s) if done >> place & 1)
        return runs_s + changes_s <= self._clock.ends_s[kind] + SAME_S

    def _at_least(self, done: int, standing: Stations) -> float:
        """What the kinds that are not done take at least: rows that must be put in once more, and their own changes."""
        met = 0
        for number in standing:
            met |= self._met_by(number)
        key = (done, self._asked(done) & ~met)
        if key not in self._least_s:
            self._least_s[key] = self._missing(*key)
        return self._least_s[key]

    def _asked(self, done: int) -> int:
        return sum(self._own_asked[kind] for kind in self._wanted if not done >> kind & 1)

    def _met_by(self, number: int) -> int:
        """The rows asked for that a station's rows do for, as bits."""
        if number not in self._met:
            rows = self._changing.standing[number].rows
            does = (any(need.row_does(row) for row in rows) for need, _ in self._asking)
            self._met[number] = sum(1 << place for place, each in enumerate(does) if each)
        return self._met[number]

    def _missing(self, done: int, asked: int) -> float:
        """Seconds to put in the rows asked for: of a tool one row, of one that is asked for in exact rows each of them.

        What a kind that has the bed alone leaves standing may do for others, whoever they are.
        """
        kinds = self._changing.kinds
        inside_s, left = 0.0, set()
        for kind in self._wanted:
            leaves = kinds[kind].leaves
            if leaves is not None and not done >> kind & 1:
                inside_s += kinds[kind].inside_s
                left |= {row.key for row in leaves.own.rows}
        each_s: dict[tuple[Tool, tuple[SegmentUse, ...] | None], float] = {}
        while asked:
            place = (asked & -asked).bit_length() - 1
            asked &= asked - 1
            each_s[self._rows[place]] = self._cheapest[self._rows[place]]
        exact = {tool for tool, segments in each_s if segments is not None}
        return inside_s + math.fsum(
            seconds_s
            for (tool, segments), seconds_s in each_s.items()
            if tool not in left and (segments is not None or tool not in exact)
        )


def _earlier(kinds: Sequence[Kind], kind: Kind) -> int:
    """The kinds that are due before it, as bits."""
    if kind.due is None:
        return 0
    return sum(1 << place for place, other in enumerate(kinds) if other.due is not None and other.due < kind.due)
