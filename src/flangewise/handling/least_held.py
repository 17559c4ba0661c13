"""What no plan of a section weighs less than with its grips: order, poses, tools and grips in one table.

Each step costs at least what the order's search says of it with its tools, and what holding it takes with a grip that
comes and one that leaves; between two steps the order's moves, and what the grips take more. Nothing else of a plan
takes anything less. Grips are asked of a step only where the cheapest way through the table goes over it: as long as a
choice of tools was not asked, each grip is taken to hold with it.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from flangewise.handling.moves import Floats, Moves, Pose
from flangewise.handling.way import NO_GRIP_S
from flangewise.sequence import PoseSteps

Bools = NDArray[np.bool_]
# Beyond so many operations the sets of them, and the poses, are too many to be gone over again and again.
MOST_OPERATIONS = 6
# So many questions are asked; then no more is known than what is found by then.
MOST_ASKED = 600
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


@dataclass
class _Cell:
    """One step in one pose from one set: what it takes with each pair of grips, by hand last, as far as it was asked.

    `left`: choices of tools that were not asked, the cheapest last; `hopeful`: what a step may take then, beside them.
    """

    pose: Pose
    known: Floats
    hopeful: Floats
    left: list[tuple[float, int]]
    table: Floats = field(init=False)

    def __post_init__(self) -> None:
        self.told()

    def told(self) -> None:
        """Set what the step takes at least, from what is known."""
        self.table = np.minimum(self.known, self.left[-1][0] + self.hopeful) if self.left else self.known


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
        self, steps: Sequence[PoseSteps], moves_s: Floats, gripping: Gripping, *, always_by_hand: int = 0
    ) -> None:
        """`steps`: what the order's own steps take at least; `moves_s` between the poses by number.

        `always_by_hand`: steps that no plan has held by a grip; what is told leaves them out.
        """
        self._by_hand_s = NO_GRIP_S * always_by_hand
        self._steps, self._moves_s, self._asked = tuple(steps), moves_s, gripping
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
        found = LeastHeld(steps, np.zeros_like(self._moves_s), self._asked)
        found._by_hand_s = self._by_hand_s
        return found

    def hoped(self) -> float:
        """What every plan takes at least as long as no choice of tools is asked how it holds."""
        return self._gone_over()[0] - self._by_hand_s

    def least(self, enough: float = math.inf) -> float:
        """What every plan takes at least, `NO_GRIP_S` for each step by hand more than any has; looked for no further than `enough`."""
        while True:
            total, way = self._gone_over()
            total -= self._by_hand_s
            unsure = [cell for cell, passed in way if _is_hoped(cell, passed)]
            if total >= enough or not unsure or self.questions > MOST_ASKED:
                return total
            for cell, passed in ((self._cell(each.number, each.done), each) for _, each in way):
                if _is_hoped(cell, passed):
                    self._ask(cell, passed)

    def _ask(self, cell: _Cell, passed: _Passed) -> None:
        """The cheapest choice of tools of a step that was not asked yet."""
        price, option = cell.left.pop()
        operation = self._steps[passed.number].operation
        own = self._asked.within(operation, option, cell.pose, passed.done)
        hand = self._hand
        cell.known[:hand, :hand] = np.minimum(cell.known[:hand, :hand], price + self._asked.share * own)
        cell.told()
        self.questions += 1

    def _cell(self, number: int, done: int) -> _Cell:
        if (number, done) not in self._cells:
            steps, hand, row = self._steps[number], self._hand, self._asked.moves.row
            pose = Pose(steps.marked_up, steps.start_behind)
            prices = steps.made_s[:, self._rows[number][done]]
            ranked = sorted(zip(prices.tolist(), steps.options.tolist(), strict=True), reverse=True)
            known = np.full((hand + 1, hand + 1), np.inf)
            known[hand, hand] = ranked[-1][0] + NO_GRIP_S
            may = np.append(self._asked.may_hold(steps.operation, pose, done), False)
            hopeful = np.full((hand + 1, hand + 1), np.inf)
            if row.regrip_in_tools_s is not None:
                hopeful[np.outer(may, may)] = self._asked.share * row.regrip_in_tools_s
            np.fill_diagonal(hopeful, np.where(may, 0.0, np.inf))
            self._cells[number, done] = _Cell(pose, known, hopeful, ranked)
        return self._cells[number, done]

    def _table(self, before: Pose, after: Pose, done: int) -> Floats:
        """Seconds that grips take between two steps, by hand last: whoever takes the part lays it into any grip."""
        if (before, after, done) not in self._between:
            table, _ = self._asked.moves.table(before, after, self._asked.room(done))
            whole = np.zeros((self._hand + 1, self._hand + 1))
            whole[: self._hand, : self._hand] = self._asked.share * table
            self._between[before, after, done] = whole
        return self._between[before, after, done]

    def _gone_over(self) -> tuple[float, list[tuple[_Cell, _Passed]]]:
        """The least over all plans as far as is known, and a way that takes it."""
        made: dict[tuple[int, int], Floats] = {}
        ready: dict[tuple[int, int], Floats] = {}
        for done in range(1 << self._count):
            for pose, own in self._poses.items():
                arrived = self._arriving(made, done, pose, own)
                if arrived is not None:
                    ready[done, pose] = arrived
            for number, steps in enumerate(self._steps):
                if done >> steps.operation & 1:
                    continue
                handled, after = steps.handled_s[self._rows[number][done]], done | 1 << steps.operation
                for pose, handled_s in zip(steps.poses, handled.tolist(), strict=True):
                    if (done, pose) not in ready or math.isinf(handled_s):
                        continue
                    table = self._cell(number, done).table
                    left = (ready[done, pose][:, None] + table).min(axis=0) + handled_s
                    made[after, pose] = np.minimum(made[after, pose], left) if (after, pose) in made else left
        whole = (1 << self._count) - 1
        ends = [(float(each.min()), pose) for (done, pose), each in made.items() if done == whole]
        total, last = min(ends, default=(math.inf, 0))
        return total, [] if math.isinf(total) else self._way(made, ready, last)

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
        self, made: dict[tuple[int, int], Floats], ready: dict[tuple[int, int], Floats], pose: int
    ) -> list[tuple[_Cell, _Passed]]:
        """The way behind the least, from its end."""
        done, found = (1 << self._count) - 1, list[tuple[_Cell, _Passed]]()
        grip_out = int(made[done, pose].argmin())
        while done:
            number, before, grip = self._came_by(made, ready, done, pose, grip_out)
            found.append((self._cell(number, before), _Passed(number, before, grip, grip_out)))
            if not before:
                break
            costs = {
                its: made[before, its] + self._table(own, self._poses[pose], before)[:, grip] + self._moves_s[its, pose]
                for its, own in self._poses.items()
                if (before, its) in made
            }
            pose = min(costs, key=lambda its: float(costs[its].min()))
            grip_out, done = int(costs[pose].argmin()), before
        return found

    def _came_by(
        self, made: dict[tuple[int, int], Floats], ready: dict[tuple[int, int], Floats], done: int, pose: int, out: int
    ) -> tuple[int, int, int]:
        """By which step a set was made in a pose with a grip, from which set, and with which grip it came."""
        best, found = math.inf, (0, 0, 0)
        for number, steps in enumerate(self._steps):
            before = done & ~(1 << steps.operation)
            if before == done or pose not in steps.poses or (before, pose) not in ready:
                continue
            handled_s = float(steps.handled_s[self._rows[number][before], steps.poses.index(pose)])
            came = ready[before, pose] + self._cell(number, before).table[:, out] + handled_s
            if float(came.min()) < best:
                best, found = float(came.min()), (number, before, int(came.argmin()))
        assert best <= made[done, pose][out] + SAME_S
        return found


def _is_hoped(cell: _Cell, passed: _Passed) -> bool:
    """Whether what a step takes on the way is no more than hoped: choices of tools are left that could take as much."""
    at = passed.grip, passed.grip_out
    return bool(cell.left) and bool(cell.known[at] > cell.table[at] + SAME_S)
