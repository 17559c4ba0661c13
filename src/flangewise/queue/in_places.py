"""The least order where each station keeps its place: what is beside what, left or right, and how far apart at least.

Asked where the least order leaves no places for all that it keeps standing. A place is not chosen: of all that stands
it is known by how much at least the middle of each lies to the right of that of each other, and of the bed's left end,
from all that was ever beside it. What is taken out leaves behind what it asked of the others. Such least differences
can be kept exactly when no sum of them leads back to where it began with more than nothing: then there are places. A
station that stands may be put in anew, at another place, and less may be kept than there is room for.

States are taken by the least they lead to (A*); of one state only those changes are made that lead to no more than it.
"""

import heapq
import itertools
import math
from collections.abc import Iterator, Mapping, Sequence

from flangewise.queue.changing import Change, Changing, Kind, Stations
from flangewise.queue.on_bed import SAME_MM, Need
from flangewise.queue.search import SAME_S, ChangesMade, Clock, FoundOrder, QueueSearch
from flangewise.records import dataclass

Apart = tuple[tuple[float, ...], ...]
"""By how much at least the second lies to the right of the first, the bed's left end before all stations."""
EMPTY: Apart = ((0.0,),)
# States looked at before it is given up.
MOST_PLACED = 20_000


@dataclass(frozen=True)
class Where:
    """The stations that stand, left to right, and how far apart; no `apart`: only as their own set-up has them."""

    order: tuple[int, ...] = ()
    apart: Apart | None = EMPTY


@dataclass(frozen=True)
class _Step:
    """A change that may come next, what is done then, and what it and all after it take at least."""

    least_s: float
    kind: int
    done: int
    change: Change


class PlacedSearch(QueueSearch):
    """The question with places; `order`: the kinds in the order given, each as often as it comes in it."""

    def __init__(self, changing: Changing, clock: Clock | None = None, *, order: Sequence[int] | None = None) -> None:
        super().__init__(changing, clock)
        self._order = order
        self._every: dict[tuple[Stations, int], tuple[Change, ...]] = {}
        self._steps: dict[tuple[int, Stations], tuple[_Step, ...]] = {}

    def least_placed(self, most_states: int) -> tuple[FoundOrder | None, float]:
        """The order that takes least, None where it was not found in so many states, and what none takes less than.

        Also None, with infinity, where no order keeps the clock.
        """
        end = self._all if self._order is None else len(self._order)
        # What a state leads to at least, how far it is, its number; what is done, stands; the way; steps made, or -1.
        opened: list[tuple[float, int, int, int, Where, ChangesMade | None, int]] = [(0.0, 0, 0, 0, Where(), None, -1)]
        reached: dict[tuple[int, tuple[int, ...]], list[tuple[float, Apart | None]]] = {}
        looked_at, ties = 0, 0
        while opened:
            least_s, far, _, done, where, way, made = heapq.heappop(opened)
            if done == end:
                return self._found(way, least_s), least_s
            spent_s = 0.0 if way is None else way.seconds_s
            if made < 0 and _is_covered(reached.setdefault((done, where.order), []), spent_s, where.apart):
                continue
            looked_at += 1
            if looked_at > most_states:
                return None, least_s
            steps = self._steps_from(done, where)
            made = max(made, 0)
            for step in steps[made:]:
                bound_s = max(round(spent_s + step.least_s, 6), least_s)
                if bound_s > least_s + SAME_S:
                    ties += 1
                    heapq.heappush(opened, (bound_s, far, ties, done, where, way, made))
                    break
                made += 1
                then = ChangesMade(way, step.kind, step.change, spent_s + step.change.seconds_s)
                kind, free = self._changing.kinds[step.kind], False
                if self._order is None and not self._in_time(step.kind, step.done, then.seconds_s):
                    continue
                for after in self._after(where, step.change, kind):
                    ties += 1
                    heapq.heappush(opened, (bound_s, far - 1, ties, step.done, after, then, -1))
                    # What would be put in anew here can be when it is needed next.
                    free = free or (not step.change.seconds_s and after == where)
                if free and (self._clock is None or kind.due is not None):
                    break
        return None, math.inf

    def _steps_from(self, done: int, where: Where) -> tuple[_Step, ...]:
        """The changes of every kind that may come next, those that lead to the least first."""
        standing = tuple(sorted(where.order))
        if (done, standing) not in self._steps:
            steps = [
                _Step(change.seconds_s + self._at_least(bits, change.after), kind, after, change)
                for kind, after, bits in self._next(done)
                for change in self._changes(standing, kind)
            ]
            ranked = sorted(steps, key=lambda each: (round(each.least_s, 6), each.change.seconds_s))
            self._steps[done, standing] = tuple(ranked)
        return self._steps[done, standing]

    def _next(self, done: int) -> Iterator[tuple[int, int, int]]:
        """Kinds that may come next, what is done then, and the same as bits of kinds."""
        if self._order is not None:
            left = set(self._order[done + 1 :])
            yield self._order[done], done + 1, sum(1 << kind for kind in self._wanted if kind not in left)
            return
        for kind in self.open_kinds(done):
            yield kind, done | 1 << kind, done | 1 << kind

    def _changes(self, standing: Stations, kind: int) -> tuple[Change, ...]:
        if (standing, kind) not in self._every:
            least: dict[tuple[Stations, tuple[tuple[int, int], ...]], Change] = {}
            for change in self._changing.every_change(standing, kind):
                key = (change.stations, tuple(sorted(change.stayed)))
                known = least.get(key)
                if known is None or (change.seconds_s, change.carried_mm) < (known.seconds_s, known.carried_mm):
                    least[key] = change
            self._every[standing, kind] = tuple(least.values())
        return self._every[standing, kind]

    def _after(self, before: Where, change: Change, kind: Kind) -> Iterator[Where]:
        """How all may stand for a change, and then what the kind leaves."""
        found = self._standing(before, change.stations, {now: was for was, now in change.stayed}, kind.needs)
        if kind.leaves is None:
            yield from found
        elif any(True for _ in found):
            yield from self._standing(Where(), tuple(change.after), {}, (kind.leaves,))

    def _standing(
        self, before: Where, stations: Stations, was: Mapping[int, int], needs: Sequence[Need]
    ) -> Iterator[Where]:
        """`was`: what stays, by the station it is now."""
        if before.apart is None and was:
            return
        stays = sorted(was, key=lambda now: before.order.index(was[now]))
        new = [each for each in stations if each not in was]
        uses = {need: self._changing.serving(need, stations) for need in needs}
        # As a set-up's own sheet has them from left to right, so that its words of moves hold.
        along = [uses[need] for need in sorted(needs, key=lambda need: need.middle_mm)]
        has_room = False
        for order in _orders(stays, new):
            if all(order.index(one) < order.index(other) for one, other in itertools.pairwise(along)):
                apart = self._apart(before, order, was, uses)
                if apart is not None:
                    has_room = True
                    yield Where(tuple(order), apart)
        if not has_room and not was and {self._changing.standing[each] for each in new} == {each.own for each in needs}:
            yield Where(tuple(dict.fromkeys(along)), None)

    def _apart(
        self, before: Where, order: Sequence[int], was: Mapping[int, int], uses: Mapping[Need, int]
    ) -> Apart | None:
        """How far apart stations are that stand in an order; None where there is no room for it."""
        places = {each: place for place, each in enumerate(before.order, start=1)}
        kept = [0, *(places.get(was.get(each, -1), -1) for each in order)]
        known = before.apart or EMPTY
        least = [[known[one][other] if min(one, other) >= 0 else -math.inf for other in kept] for one in kept]
        stands, bed = [self._changing.standing[each] for each in order], self._changing.bed
        windows = [(place, bed.ends_mm(station)) for place, station in enumerate(stands, start=1)]
        windows += [
            (order.index(number) + 1, (need.middle_mm + need.play_mm[0], need.middle_mm + need.play_mm[1]))
            for need, number in uses.items()
        ]
        for place, (low_mm, high_mm) in windows:
            least[place][place] = 0.0
            least[0][place] = max(least[0][place], low_mm)
            least[place][0] = max(least[place][0], -high_mm)
        for place, (left, right) in enumerate(itertools.pairwise(stands), start=1):
            least[place][place + 1] = max(least[place][place + 1], bed.apart_mm(left, right))
        for by, row in itertools.product(range(len(kept)), least):
            through_mm = row[by]
            for other, beyond_mm in enumerate(least[by]):
                if through_mm + beyond_mm > row[other]:
                    row[other] = through_mm + beyond_mm
        if any(least[place][place] > SAME_MM for place in range(len(kept))):
            return None
        return tuple(tuple(round(each, 6) for each in row) for row in least)


def _is_covered(known: list[tuple[float, Apart | None]], seconds_s: float, apart: Apart | None) -> bool:
    """Whether the same was reached in no more seconds with as much room; else it is added to what is known."""
    for spent_s, other in known:
        if spent_s <= seconds_s + SAME_S and (other == apart or _has_room(other, apart)):
            return True
    known.append((seconds_s, apart))
    return False


def _has_room(one: Apart | None, other: Apart | None) -> bool:
    """Whether stations may stand by the first wherever they may by the second."""
    if one is None or other is None:
        return other is None
    return all(
        mine <= its + SAME_MM for row, at in zip(one, other, strict=True) for mine, its in zip(row, at, strict=True)
    )


def _orders(stays: Sequence[int], new: Sequence[int]) -> Iterator[list[int]]:
    """What stays as it stands, with the new ones anywhere between."""
    if not new:
        yield list(stays)
        return
    for order in _orders(stays, new[1:]):
        for at in range(len(order) + 1):
            yield [*order[:at], new[0], *order[at:]]
