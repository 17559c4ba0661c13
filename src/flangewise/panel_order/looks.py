"""Closer looks at the steps of a plan: whether the part meets itself, what the stops touch, how it comes out.

A look is kept, and what it finds is added to the prices of all sets that agree on the bends it hangs on.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from flangewise.panel_order.gauging import PanelGauging
from flangewise.panel_order.hit import SelfMeeting
from flangewise.panel_order.layers import Taken
from flangewise.panel_order.leaving import Leaving, StandingRow
from flangewise.panel_order.problem import PanelWay
from flangewise.panel_order.stations import RowPair
from flangewise.panel_order.tables import PanelTables
from flangewise.records import dataclass
from flangewise.sequence import travel_s

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]


@dataclass(frozen=True)
class StandingRows:
    """The rows of a step where they stand, from the left end of the line, and what of it they leave uncovered: at the
    worse end, by the widest gap within a bend, and what is wished less of, both and other gaps together."""

    punch_from_mm: float
    die_from_mm: float
    short_mm: float
    gap_mm: float
    uncovered_mm: float


class Looks:
    """What was seen of steps so far. Not to be shared between threads."""

    def __init__(self, tables: PanelTables) -> None:
        """Nothing yet."""
        self.tables, self._problem = tables, tables.problem
        self._gauged: dict[tuple[int, int], PanelGauging | None] = {}
        self._free: set[tuple[int, int]] = set()
        self._turned: set[tuple[int, int, int]] = set()
        self._left: dict[tuple[int, int, int], Leaving | None] = {}
        self.exits_s: dict[tuple[int, int], Floats] = {}
        self.meetings: dict[int, SelfMeeting] = {}
        self.no_stops: set[int] = set()
        self.no_way_out = 0
        self.changes = 0

    def standing(self, way: int, done: int, pair: RowPair) -> StandingRows:
        """Where the rows of a station stand for a step."""
        (from_mm, short_mm), table = self.tables.stands_mm(way, done, pair.pair), self.tables.pairs[pair.mounting]
        line = self.tables.line(self._problem.ways[way])
        return StandingRows(
            from_mm,
            from_mm + float(table.die_on_mm[pair.pair]),
            *table.left_open(pair.pair, line, from_mm),
            short_mm,
        )

    def gauging(self, way: int, done: int) -> PanelGauging | None:
        """What the stops touch at a step, as far as it was looked at."""
        narrow, wide = self._stop_keys(way, done)
        return self._gauged.get(narrow, self._gauged.get(wide))

    def _stop_keys(self, way: int, done: int) -> tuple[tuple[int, int], tuple[int, int]]:
        """By what what two fingers find is kept, and by what is what one finds with a side stop, or would."""
        own = self._problem.ways[way]
        narrow, wide = (self._problem.mask_of(bends) for bends in (own.behind, own.behind | own.beside))
        return (way, done & narrow), (-1 - way, done & wide)

    def leaving(self, way: int, done: int, pair: RowPair) -> Leaving | None:
        """How the part leaves at a step, as far as it was looked at."""
        return self._left.get((way, done, pair.pair))

    def between_s(self, before: Taken, after: Taken, moved_s: float) -> float:
        """Seconds that the stops travel longer than the part is handled, from a step to the next, where both are known.

        `moved_s`: what is reckoned for handling between the two as they stand.
        """
        travel = self._problem.stop_travel
        one, other = self.gauging(before.way, before.done), self.gauging(after.way, after.done)
        if travel is None or one is None or other is None or self._problem.ways[before.way].then is not None:
            # While a hem is flattened the stops have gone on already.
            return 0.0
        costs = self._problem.costs
        way_s = travel_s(abs(other.x_mm - one.x_mm), travel.speed_mm_per_s, travel.acceleration_mm_per_s2)
        return max(costs.share * (way_s - travel.next_stop_s) - moved_s, 0.0)

    def look(self, hits: Sequence[tuple[int, int, RowPair]]) -> bool:
        """Whether the hits of a plan are what the tables say, as far as it was known before; else they say it from now
        on. Each is a way, the set done before it, and its rows.

        Ways out take longest to find: they are looked at where all else holds, what is bent most first, until one does
        not hold.
        """
        sound = self.look_whatever_rows([(index, done) for index, done, _ in hits])
        return sound and all(self._look_at_exit(*each) for each in reversed(hits))

    def look_whatever_rows(self, hits: Sequence[tuple[int, int]]) -> bool:
        """The same of what no rows change: the part against itself, and the stops."""
        sound = [self._look_at_self(index, done) for index, done in hits]
        sound += [self._look_at_stops(index, done) for index, done in hits if not self._problem.ways[index].is_second]
        return all(sound)

    def _look_at_self(self, index: int, done: int) -> bool:
        key, way = (index, done), self._problem.ways[index]
        if key in self._free:
            return True
        meeting = way.hit.meets_itself(self._problem.bends_of(done))
        if meeting is None:
            self._free.add(key)
            return True
        mask = self._problem.mask_of(meeting.bends)
        # Tools change nothing of it but by the turn under load: other mountings are looked at by themselves.
        self._add(index, self.tables.agreeing(done, mask), np.inf)
        self.meetings.setdefault(way.operation, meeting)
        return False

    def _add(self, way: int, where: Bools, seconds: float) -> None:
        """Puts what was seen into the tables; `changes` counts how often they changed."""
        self.changes += bool(seconds)
        self.tables.add(way, where, seconds)

    def _look_at_stops(self, index: int, done: int) -> bool:
        (narrow, wide), way = self._stop_keys(index, done), self._problem.ways[index]
        if narrow in self._gauged or wide in self._gauged:
            return True
        found = way.hit.stops(self._problem.bends_of(done))
        best = min(found, key=lambda each: each.wish_s) if found else None
        # What takes less than any side stop would is found whatever lies beside.
        is_wide = best is not None and best.wish_s >= way.side_wish_s
        self._gauged[wide if is_wide else narrow] = best
        bends = way.behind | way.beside if is_wide else way.behind
        agree = self.tables.agreeing(done, self._problem.mask_of(bends))
        if best is None:
            self.no_stops.add(way.operation)
        self._add(index, agree, np.inf if best is None else best.wish_s)
        # From now on the way of the stops is known as well, which may cost more than was reckoned.
        return False

    def _look_at_exit(self, index: int, done: int, pair: RowPair) -> bool:
        key, way = (index, done, pair.pair), self._problem.ways[index]
        if not self._problem.ways_out or key in self._left:
            return True
        exits = self.exits_s.setdefault((index, pair.pair), np.zeros(len(self.tables.known)))
        bends, at, rows = self._problem.bends_of(done), self.tables.at[done], self.rows(index, done, pair)
        if key not in self._turned:
            found = way.hit.leaves(bends, *rows, turned=False)
            if found is None:
                # Ways turned in the plane take long to find: first only what they cost at least is reckoned with.
                self._turned.add(key)
                exits[at] = self._dearer_s(way, done, Leaving("turned", self._problem.blank.thickness_mm))
                self.changes += 1
                return False
        else:
            found = way.hit.leaves_turned(bends, rows[0])
        self._left[key] = found
        self.no_way_out += found is None
        more = np.inf if found is None else self._dearer_s(way, done, found)
        self.changes += 1
        known, exits[at] = float(exits[at]), more
        return more <= known

    def opening_mm(self, way: PanelWay, done: int, found: Leaving) -> float:
        """The opening for a way out: to the front at least what a straight pull needs."""
        sideways = found.way == "turned" or found.along_bed
        return found.opening_mm if sideways else max(found.opening_mm, self.tables.opening_mm(way, done))

    def rows(self, way: int, done: int, pair: RowPair) -> tuple[StandingRow, StandingRow]:
        """Punch row and die row of a hit where they stand."""
        punch, die = self.tables.rows[pair.mounting].pairs[pair.pair]
        standing = self.standing(way, done, pair)
        return StandingRow.of(punch, standing.punch_from_mm), StandingRow.of(die, standing.die_from_mm)

    def _dearer_s(self, way: PanelWay, done: int, found: Leaving) -> float:
        """What a way out takes beyond what the tables reckon with."""
        slid_s = self._problem.costs.side_exit if found.way == "turned" or found.along_bed else 0.0
        if way.tools.time is None:
            return slid_s
        opened_s = self.tables.opened_s(way, done, self.opening_mm(way, done, found))
        return max(slid_s + opened_s - self.tables.least_opened_s(way, done), 0.0)
