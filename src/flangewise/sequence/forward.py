"""Forward from the flat blank along a table of least costs: plans in the order of their cost.

The table is a lower bound of what is still to come, so the cheapest open beginning is always the right one. A step is
looked at closely only when its beginning is the cheapest left; what the look adds only adds, so the first whole plan
that comes out is the least of all.
"""

import heapq
import itertools
from collections.abc import Callable, Iterable, Iterator, Sequence

import numpy as np

from flangewise.records import dataclass
from flangewise.sequence.candidates import Candidate
from flangewise.sequence.moves import POSES, pose_number
from flangewise.sequence.search import EPS, Search, Unfolded

# Costs that agree to so many digits are one: of such plans the first that is come to is taken.
SAME_DIGITS = 7


@dataclass(frozen=True)
class Choice:
    """One step of a plan as the search sees it: `cost` with the moves before it."""

    way: Candidate
    datum: int
    done: int
    cost: float

    @property
    def pose(self) -> int:
        """Pose number."""
        return pose_number(marked_up=self.way.marked_up, behind=self.way.behind, datum=self.datum)


@dataclass(frozen=True)
class Beginning:
    """A plan as far as its last step; `spent_s` for all of it, what looking added included; `looked`: how often."""

    last: Choice
    before: "Beginning | None"
    spent_s: float
    looked: int = 0

    def steps(self) -> tuple[Choice, ...]:
        """The steps from the first."""
        return (*(self.before.steps() if self.before is not None else ()), self.last)


# What a step costs beyond the table, by itself (infinite: it cannot be made) and after the one before it.
Look = Callable[[Choice | None, Choice], tuple[float, float]]


def plans_by_cost(
    search: Search,
    table: Unfolded,
    *,
    looks: Sequence[Look] = (),
    merge: bool = False,
    upper: float = np.inf,
    most: int | None = None,
    enough: Callable[[], bool] | None = None,
) -> Iterator[tuple[float, tuple[Choice, ...] | None]]:
    """Plans of a table that cost at most `upper`, the cheapest first.

    `looks`: taken one after the other, each when a beginning is the cheapest left with what those before it added.
    `merge`: of beginnings that end alike only the cheapest is followed. After `most` beginnings, or
    when `enough` says so, it ends with the cost reached and no plan.
    """
    ticket = itertools.count()
    opened: list[tuple[float, int, int, Beginning]] = []
    settled: set[tuple[int, Candidate, int]] = set()

    def push(found: Iterable[tuple[float, Beginning]], steps: int) -> None:
        for cost, each in found:
            if cost <= upper + EPS:
                heapq.heappush(opened, (round(cost, SAME_DIGITS), -steps, next(ticket), each))

    if not search.count:
        yield 0.0, ()
        return
    push(_continued(search, table, None), 1)
    for followed in itertools.count():
        if not opened:
            return
        cost, steps, _, plan = heapq.heappop(opened)
        if (most is not None and followed >= most) or (enough is not None and enough()):
            yield cost, None
            return
        last = plan.last
        if (again := _looked_at(plan, looks)) is not plan:
            if again is not None:
                push([(cost + again.spent_s - plan.spent_s, again)], -steps)
            continue
        if merge:
            key = (last.done, last.way, last.datum)
            if key in settled:
                continue
            settled.add(key)
        if -steps == search.count:
            yield plan.spent_s, plan.steps()
        else:
            push(_continued(search, table, plan), 1 - steps)


def _looked_at(plan: Beginning, looks: Sequence[Look]) -> Beginning | None:
    """The same beginning if no look that is left adds anything; else dearer by the first that does, or None."""
    last = plan.last
    for number in range(plan.looked, len(looks)):
        own_s, wait_s = looks[number](plan.before.last if plan.before is not None else None, last)
        more = own_s + wait_s
        if not np.isfinite(more):
            return None
        if more > EPS:
            dearer = Choice(last.way, last.datum, last.done, last.cost + own_s)
            return Beginning(dearer, plan.before, plan.spent_s + more, looked=number + 1)
    return plan


def _continued(search: Search, table: Unfolded, plan: Beginning | None) -> list[tuple[float, Beginning]]:
    """Every next step of a beginning, with the least cost of a plan that begins so; by pose, station, operation."""
    found: list[tuple[tuple[int, int, int], float, Beginning]] = []
    done, spent_s, enter = 0, 0.0, np.zeros((POSES, search.stations.count))
    if plan is not None:
        last, spent_s = plan.last, plan.spent_s
        done = last.done | 1 << last.way.operation
        enter = search.stations.entering(last.pose, search.station_of(last.way))
    depth = done.bit_count()
    after = table.layers[depth + 1]
    for edges in table.layers[depth].edges:
        place = int(np.searchsorted(edges.before, done))
        if place == len(edges.before) or edges.before[place] != done:
            continue
        stations = search.places[edges.made]
        prices = edges.prices[:, place]
        onward = after.onward[edges.after[place]]
        for row, datum in zip(*np.nonzero(np.isfinite(prices)), strict=True):
            pose, station = edges.made.poses[datum], stations[row]
            step = float(enter[pose, station]) + float(prices[row, datum])
            total = spent_s + step + float(onward[pose, station])
            if np.isfinite(total):
                choice = Choice(edges.made.candidate(int(row)), int(datum), done, step)
                key = (pose, int(station), choice.way.operation)
                found.append((key, total, Beginning(choice, plan, spent_s + step)))
    return [(total, each) for _, total, each in sorted(found, key=lambda each: each[0])]
