"""The least-time way of holding a part through a whole plan: which grip at each step, turned, put down or changed.

One table of least seconds, step after step: exact.
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from flangewise.handling.moves import Between, Floats, Moves, StepHolds, Turn, Within
from flangewise.records import dataclass
from flangewise.sequence import BREACH_S

# A plan with fewer steps that no grip holds always comes first: it weighs like a broken rule of how the part lies.
NO_GRIP_S = BREACH_S


@dataclass(frozen=True)
class HeldStep:
    """How one step is held: the grip the part comes with and the one it leaves with (numbers; None: by hand).

    `between`: what is done before it, with its turns; `within`: what the gripper does while the flange rises. `more_s`:
    seconds beyond the order's own moves and stroke.
    """

    grip: int | None
    grip_out: int | None
    between: Between
    turns: tuple[Turn, ...]
    within: Within
    between_s: float
    within_s: float

    @property
    def more_s(self) -> float:
        """Seconds beyond the order's own."""
        return self.between_s + self.within_s


@dataclass(frozen=True)
class HeldWay:
    """A whole plan held: its steps, the seconds beyond the order's own, how often put down or changed in the tools."""

    steps: tuple[HeldStep, ...]
    more_s: float

    def count(self, kind: str) -> int:
        """How often something is done."""
        return sum((step.between == kind) + (step.within == kind) for step in self.steps)

    @property
    def regrips(self) -> int:
        """How often the part is gripped anew, on the station or in the tools; let go and taken at one place is none."""
        return self.count("station") + self.count("regrip-in-tools")

    @property
    def by_hand(self) -> int:
        """Steps that no grip holds."""
        return sum(step.grip is None for step in self.steps)


def least_way(steps: Sequence[StepHolds], moves: Moves, may_turn: Sequence[NDArray[np.bool_]]) -> HeldWay:
    """The least of all ways to hold the steps of a plan; a step that no grip holds is done by hand, at `NO_GRIP_S`.

    `may_turn`: for each step, which grips have room to turn the part in hand before it. An exact dynamic program: the
    least seconds to leave a step with a grip are the least over the grip it came with and the one before. Whoever takes
    the part by hand lays it into any grip again.
    """
    count = len(moves.grips)
    if not steps:
        return HeldWay((), 0.0)
    hand, back = count, list[tuple[NDArray[np.int64], NDArray[np.int64]]]()
    cost = np.full(count + 1, np.inf)
    for number, step in enumerate(steps):
        into = _into(steps, number, moves, may_turn, hand)
        through = np.full((count + 1, count + 1), np.inf)
        through[:count, :count] = moves.within(step)
        through[hand, hand] = NO_GRIP_S
        # Least to come to the step with a grip, then least to leave it with one.
        arriving = into if number == 0 else cost[:, None] + into
        came = arriving.argmin(axis=0) if number else np.zeros(count + 1, dtype=np.int64)
        arrived = arriving[came, np.arange(count + 1)] if number else into
        leaving = arrived[:, None] + through
        kept = leaving.argmin(axis=0)
        cost = leaving[kept, np.arange(count + 1)]
        back.append((came, kept))
    last, found = int(cost.argmin()), list[HeldStep]()
    total, grip_out = float(cost[last]), last
    for number in range(len(steps) - 1, -1, -1):
        came, kept = back[number]
        grip = int(kept[grip_out])
        before = int(came[grip]) if number else None
        found.append(_told(steps, number, moves, may_turn, before, grip, grip_out))
        grip_out = before if before is not None else 0
    return HeldWay(tuple(reversed(found)), total)


def _into(
    steps: Sequence[StepHolds], number: int, moves: Moves, may_turn: Sequence[NDArray[np.bool_]], hand: int
) -> Floats:
    """Seconds more to come to a step with each grip: of the first from the stack, of others [from which grip]."""
    step = steps[number]
    if number == 0:
        return np.append(np.where(moves.picked_at(step), 0.0, np.inf), 0.0)
    own = moves.between(steps[number - 1], step, may_turn[number])
    table = np.full((hand + 1, hand + 1), 0.0)
    table[:hand, :hand] = own
    return table


def _told(
    steps: Sequence[StepHolds],
    number: int,
    moves: Moves,
    may_turn: Sequence[NDArray[np.bool_]],
    before: int | None,
    grip: int,
    grip_out: int,
) -> HeldStep:
    hand = len(moves.grips)
    step = steps[number]
    if grip == hand:
        return HeldStep(None, None, "by-hand", (), "by-hand", 0.0, NO_GRIP_S)
    between: Between = "pick"
    turns: tuple[Turn, ...] = ()
    between_s = 0.0
    if before == hand:
        between = "by-hand"
    elif before is not None:
        between, turns = moves.how(steps[number - 1], step, may_turn[number], before, grip)
        between_s = float(moves.between(steps[number - 1], step, may_turn[number])[before, grip])
    return HeldStep(
        grip,
        grip_out,
        between,
        turns,
        moves.doing(step, grip, grip_out),
        between_s,
        float(moves.within(step)[grip, grip_out]),
    )
