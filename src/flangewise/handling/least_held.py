"""What no plan of a section weighs less than with its grips: order, poses, tools and grips in one table.

Each step costs at least what the order's search says of it with its tools, and what holding it takes with a grip that
comes and one that leaves; between two steps the order's moves, and what the grips take more; and a change of tools,
where no station makes all bends. Nothing of a plan takes less. Grips are asked of a step only where the cheapest way
through the table goes over it: as long as a choice of tools was not asked, each grip is taken to hold with it.
"""

import math
from collections.abc import Callable, Hashable, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from flangewise.handling.moves import Floats, Moves, Pose
from flangewise.handling.way import NO_GRIP_S
from flangewise.records import dataclass, field, replace
from flangewise.sequence import PoseSteps

Bools = NDArray[np.bool_]
# Choices of tools that may be taken, or all of them; of all operations with the operation's number.
Options = frozenset[Any] | None
# Beyond so many operations the sets of them, and the poses, are too many to be gone over again and again.
MOST_OPERATIONS = 6
# So many questions are asked; then no more is known than what is found by then.
MOST_ASKED = 200
SAME_S = 1e-9

# Seconds of a step [grip with which it comes, grip with which it leaves], by operation, choice of tools, pose, set.
Asking = Callable[[int, int, Pose, int], Floats]
# Which grips may hold at all, by operation, pose and set.
MayHold = Callable[[int, Pose, int], Bools]


@dataclass(frozen=True)
class Gripping:
    """What is asked of a gripper: the moves of its grips, which may hold a step, what they take, room to turn.

    `share`: what the handler's allowance makes of a second.
    """

    moves: Moves
    may_hold: MayHold
    within: Asking
    room: Callable[[int], Bools]
    share: float


@dataclass(frozen=True)
class GripChanges:
    """What is asked of tools: does a step strike one, which station is each choice, what costs a change at least."""

    struck: Callable[[int, int, Pose, int], bool] = field(default=lambda *_: False)
    stations: Sequence[Sequence[Hashable]] = ()
    least_s: float = 0.0


@dataclass
class _Cell:
    """One step in one pose from one set, as far as it was asked: by choice of tools what it takes with each pair of
    grips, by hand last.

    `prices`: of the choices of tools, the least first; `hopeful`: what a step may take beside them.
    """

    pose: Pose
    prices: Sequence[tuple[float, int]]
    hopeful: Floats
    known: dict[int, Floats] = field(default_factory=dict)
    tables: dict[Options, Floats] = field(default_factory=dict)

    def table(self, options: Options) -> Floats:
        """What the step takes at least with some choices of tools, all of them for None."""
        if options not in self.tables:
            some = [self.known[nth] for _, nth in self.prices if nth in self.known and _is_among(nth, options)]
            left = self.next_of(options)
            hoped = [] if left is None else [left[0] + self.hopeful]
            self.tables[options] = np.minimum.reduce([*some, *hoped, np.full_like(self.hopeful, np.inf)])
        return self.tables[options]

    def next_of(self, options: Options) -> tuple[float, int] | None:
        """The cheapest choice of tools that was not asked, with its price."""
        return next((each for each in self.prices if each[1] not in self.known and _is_among(each[1], options)), None)

    def is_hoped(self, options: Options, at: tuple[int, int]) -> bool:
        """Whether what it takes with a pair of grips is no more than hoped."""
        told = (float(self.known[nth][at]) for _, nth in self.prices if nth in self.known and _is_among(nth, options))
        return self.next_of(options) is not None and min(told, default=math.inf) > self.table(options)[at] + SAME_S


def _is_among(number: int, options: Options) -> bool:
    return options is None or number in options


@dataclass(frozen=True)
class _Passed:
    """A step of the way found: which of the poses, its set, and its grips."""

    number: int
    done: int
    grip: int
    grip_out: int


class LeastHeld:
    """The bound of one problem; what was asked of its steps is kept between two uses."""

    def __init__(
        self,
        steps: Sequence[PoseSteps],
        moves_s: Floats,
        gripping: Gripping,
        changes: GripChanges,
        *,
        always_by_hand: int = 0,
    ) -> None:
        """`steps`: what the order's own steps take at least; `moves_s` between the poses by number.

        `always_by_hand`: steps that no plan has held by a grip; what is told leaves them out.
        """
        self._steps, self._moves_s, self._asked, self._changes = tuple(steps), moves_s, gripping, changes
        self._by_hand = always_by_hand
        self._count = 1 + max(each.operation for each in self._steps)
        self._hand = len(gripping.moves.grips)
        self._cells: dict[tuple[int, int], _Cell] = {}
        self._between: dict[tuple[Pose, Pose, int], Floats] = {}
        self._rows = [{int(done): row for row, done in enumerate(each.sets)} for each in self._steps]
        self._poses = {pose: Pose(each.marked_up, each.start_behind) for each in self._steps for pose in each.poses}
        self.questions = 0

    def of_grips_alone(self) -> "LeastHeld":
        """The same where an order takes nothing: what grips take at least beside it, whatever it is."""
        steps = [
            replace(
                each,
                handled_s=np.where(np.isfinite(each.handled_s), 0.0, np.inf),
                made_s=np.zeros_like(each.made_s),
            )
            for each in self._steps
        ]
        changes = replace(self._changes, least_s=0.0)
        return LeastHeld(steps, np.zeros_like(self._moves_s), self._asked, changes, always_by_hand=self._by_hand)

    def hoped(self) -> float:
        """What every plan takes at least as long as no choice of tools is asked how it holds."""
        return self._gone_over(None)[0] - NO_GRIP_S * self._by_hand

    def least(self, enough_s: float = math.inf) -> float:
        """What every plan takes at least, `NO_GRIP_S` for each step by hand more than any has; looked for no further
        than `enough_s`. A change of tools is paid for, or all bends are made with one station."""
        whatever = self._least_with(None, enough_s)
        if whatever >= enough_s or self._count == 1 or not self._changes.least_s:
            return whatever
        changed = whatever + self._changes.least_s
        for station in self._alone():
            changed = min(changed, self._least_with(station, min(enough_s, changed)))
        return changed

    def _alone(self) -> list[Options]:
        """Each station that can make all operations, as choices of tools of each: (operation, number)."""
        stations = self._changes.stations
        every = set(stations[0]).intersection(*stations[1:])
        return [
            frozenset(
                (operation, nth)
                for operation, own in enumerate(stations)
                for nth, each in enumerate(own)
                if each == one
            )
            for one in sorted(every, key=str)
        ]

    def _least_with(self, options: Options, enough_s: float) -> float:
        while True:
            total, way = self._gone_over(options)
            total -= NO_GRIP_S * self._by_hand
            unsure = [each for each in way if self._is_hoped(each, options)]
            if total >= enough_s or not unsure or self.questions > MOST_ASKED:
                return total
            for passed in unsure:
                self._ask(passed, options)

    def _own(self, passed: _Passed, options: Options) -> Options:
        """Of some choices of tools the numbers of those that make a step."""
        return self._own_of(passed.number, options)

    def _own_of(self, number: int, options: Options) -> Options:
        if options is None:
            return None
        operation = self._steps[number].operation
        return frozenset(nth for whose, nth in options if whose == operation)

    def _is_hoped(self, passed: _Passed, options: Options) -> bool:
        cell = self._cell(passed.number, passed.done)
        return cell.is_hoped(self._own(passed, options), (passed.grip, passed.grip_out))

    def _ask(self, passed: _Passed, options: Options) -> None:
        """The cheapest choice of tools of a step that was not asked yet."""
        cell, operation = self._cell(passed.number, passed.done), self._steps[passed.number].operation
        left = cell.next_of(self._own(passed, options))
        if left is None:
            return
        (price, nth), hand = left, self._hand
        found = np.full((hand + 1, hand + 1), np.inf)
        if not self._changes.struck(operation, nth, cell.pose, passed.done):
            own = self._asked.within(operation, nth, cell.pose, passed.done)
            found[:hand, :hand] = price + self._asked.share * own
            found[hand, hand] = price + NO_GRIP_S
        cell.known[nth] = found
        cell.tables.clear()
        self.questions += 1

    def _cell(self, number: int, done: int) -> _Cell:
        if (number, done) not in self._cells:
            steps, hand, row = self._steps[number], self._hand, self._asked.moves.row
            pose = Pose(steps.marked_up, steps.start_behind)
            prices = steps.made_s[:, self._rows[number][done]]
            may = self._asked.may_hold(steps.operation, pose, done)
            hopeful = np.full((hand + 1, hand + 1), np.inf)
            if row.regrip_in_tools_s is not None:
                hopeful[:hand, :hand][np.outer(may, may)] = self._asked.share * row.regrip_in_tools_s
            np.fill_diagonal(hopeful, np.append(np.where(may, 0.0, np.inf), NO_GRIP_S))
            ranked = sorted(zip(prices.tolist(), steps.options.tolist(), strict=True))
            self._cells[number, done] = _Cell(pose, ranked, hopeful)
        return self._cells[number, done]

    def _table(self, before: Pose, after: Pose, done: int) -> Floats:
        """Seconds that grips take between two steps, by hand last: whoever takes the part lays it into any grip."""
        if (before, after, done) not in self._between:
            table, _ = self._asked.moves.table(before, after, self._asked.room(done))
            whole = np.zeros((self._hand + 1, self._hand + 1))
            whole[: self._hand, : self._hand] = self._asked.share * table
            self._between[before, after, done] = whole
        return self._between[before, after, done]

    def _gone_over(self, options: Options) -> tuple[float, list[_Passed]]:
        """The least over all plans as far as is known, and a way that takes it."""
        made: dict[tuple[int, int], Floats] = {}
        ready: dict[tuple[int, int], Floats] = {}
        own = [self._own_of(number, options) for number in range(len(self._steps))]
        for done in range(1 << self._count):
            for pose, lies in self._poses.items():
                arrived = self._arriving(made, done, pose, lies)
                if arrived is not None:
                    ready[done, pose] = arrived
            for number, steps in enumerate(self._steps):
                if done >> steps.operation & 1:
                    continue
                handled, after = steps.handled_s[self._rows[number][done]], done | 1 << steps.operation
                for pose, handled_s in zip(steps.poses, handled.tolist(), strict=True):
                    if (done, pose) not in ready or math.isinf(handled_s):
                        continue
                    table = self._cell(number, done).table(own[number])
                    left = (ready[done, pose][:, None] + table).min(axis=0) + handled_s
                    made[after, pose] = np.minimum(made[after, pose], left) if (after, pose) in made else left
        whole = (1 << self._count) - 1
        ends = [(float(each.min()), pose) for (done, pose), each in made.items() if done == whole]
        total, last = min(ends, default=(math.inf, 0))
        return total, [] if math.isinf(total) else self._way(made, ready, last, own)

    def _arriving(self, made: dict[tuple[int, int], Floats], done: int, pose: int, own: Pose) -> Floats | None:
        """Least seconds to be ready for the next step in a pose with each grip, once a set is made."""
        if not done:
            return np.append(np.where(self._asked.moves.picked(own), 0.0, np.inf), 0.0)
        found: Floats | None = None
        for before, its in self._poses.items():
            if (done, before) in made:
                more = self._table(its, own, done) + self._moves_s[before, pose]
                came = (made[done, before][:, None] + more).min(axis=0)
                found = came if found is None else np.minimum(found, came)
        return found

    def _way(
        self,
        made: dict[tuple[int, int], Floats],
        ready: dict[tuple[int, int], Floats],
        pose: int,
        own: Sequence[Options],
    ) -> list[_Passed]:
        """The way behind the least, from its end."""
        done, found = (1 << self._count) - 1, list[_Passed]()
        grip_out = int(made[done, pose].argmin())
        while True:
            passed = self._came_by(ready, done, pose, grip_out, own)
            found.append(passed)
            if not passed.done:
                return found
            costs = {
                before: made[passed.done, before]
                + self._table(lies, self._poses[pose], passed.done)[:, passed.grip]
                + self._moves_s[before, pose]
                for before, lies in self._poses.items()
                if (passed.done, before) in made
            }
            pose = min(costs, key=lambda before: float(costs[before].min()))
            grip_out, done = int(costs[pose].argmin()), passed.done

    def _came_by(
        self, ready: dict[tuple[int, int], Floats], done: int, pose: int, grip_out: int, own: Sequence[Options]
    ) -> _Passed:
        """By which step a set was made in a pose with a grip, from which set, and with which grip it came."""
        ways: list[tuple[float, _Passed]] = []
        for number, steps in enumerate(self._steps):
            before = done & ~(1 << steps.operation)
            if before == done or pose not in steps.poses or (before, pose) not in ready:
                continue
            handled_s = float(steps.handled_s[self._rows[number][before], steps.poses.index(pose)])
            came = ready[before, pose] + self._cell(number, before).table(own[number])[:, grip_out] + handled_s
            grip = int(came.argmin())
            ways.append((float(came[grip]), _Passed(number, before, grip, grip_out)))
        return min(ways, key=lambda each: each[0])[1]
