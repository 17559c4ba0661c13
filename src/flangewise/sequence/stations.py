"""Tool choices as numbers, and what it costs to go from one to another."""

from collections.abc import Sequence
from functools import cached_property

import numpy as np

from flangewise.clearance import ToolStack
from flangewise.sequence.arrays import Floats
from flangewise.sequence.moves import POSES, pose_prices, tool_price
from flangewise.sequence.problem import Costs, ToolOption


def _parts(stack: ToolStack) -> tuple[object, object, object]:
    """What tells two stacks apart: the punch with its way round, the die, and both."""
    punch = (stack.punch, stack.turned)
    return punch, stack.die, (punch, stack.die)


def _ends(option: ToolOption) -> tuple[object, object]:
    """What tells two choices apart: the stack at the beginning, and the one at the end."""
    return _parts(option.entry)[2], _parts(option.exit)[2]


def posed(finish: Floats, prices: Floats) -> Floats:
    """Least cost to finish from each pose, going to any other."""
    best = np.full_like(finish, np.inf)
    for after in range(POSES):
        np.minimum(best, finish[:, after, None] + prices[:, after, None], out=best)
    return best


class Stations:
    """Distinct tool choices (stack at the beginning, stack at the end) over all operations; one without any option."""

    def __init__(self, costs: Costs, options: Sequence[ToolOption]) -> None:
        ends = list({_ends(option): option for option in options}.values())
        self._numbers = {_ends(option): number for number, option in enumerate(ends)}
        self._costs = costs
        self._leaving = [_parts(option.exit) for option in ends]
        self.count = max(1, len(ends))
        # Choices by what must stand in the machine when they begin: the punch, the die, both.
        self._same: tuple[dict[object, list[int]], ...] = ({}, {}, {})
        for number, option in enumerate(ends):
            for groups, part in zip(self._same, _parts(option.entry), strict=True):
                groups.setdefault(part, []).append(number)
        self._poses, self._elsewhere = pose_prices(costs), pose_prices(costs, elsewhere=True)
        self._ends = ends

    @cached_property
    def change(self) -> Floats:
        """What going from each choice to each costs."""
        prices = [tool_price(self._costs, first.exit, second.entry) for first in self._ends for second in self._ends]
        return np.array(prices or [0.0]).reshape(self.count, self.count)

    def number(self, option: ToolOption) -> int:
        """Number of a tool option's choice."""
        return self._numbers[_ends(option)]

    def onward(self, finish: Floats) -> Floats:
        """Least over next poses and tool choices of cost to finish plus moves and change; (sets, poses, choices).

        A change costs once for the punch and once for the die, so it is enough to know the least over
        all choices, over those with the same punch, with the same die, and with both.
        """
        price, shift = self._costs.tool_change, self._costs.station_change
        here = posed(finish, self._poses)
        if not self._numbers:
            return here
        there = posed(finish, self._elsewhere)
        least = there.min(axis=2) + 2 * price + shift
        *one, both = self._same
        tables = [{key: there[:, :, rows].min(axis=2) + price + shift for key, rows in each.items()} for each in one]
        tables.append({key: here[:, :, rows].min(axis=2) for key, rows in both.items()})
        best = np.repeat(least[:, :, None], finish.shape[2], axis=2)
        for number, keys in enumerate(self._leaving):
            for table, key in zip(tables, keys, strict=True):
                if key in table:
                    np.minimum(best[:, :, number], table[key], out=best[:, :, number])
        return best

    def entering(self, pose: int, tool: int) -> Floats:
        """What it costs to come into each pose and tool choice from one of them: (poses, choices)."""
        change = self.change[tool][None, :]
        cost: Floats = np.where(change > 0, self._elsewhere[pose][:, None] + change, self._poses[pose][:, None])
        return cost

    @property
    def least_change(self) -> float:
        """Cheapest change there is between two different choices, 0 if some differ in nothing."""
        return float(self.change[~np.eye(self.count, dtype=bool)].min()) if self.count > 1 else 0.0


class SomeChanges(Stations):
    """Places that stand for all tools: from the first on they may never be changed, from each other that often or more.

    A change to any tools leads on from where one less is still to come: what is left costs no less.
    """

    NEVER = 0

    def __init__(self, costs: Costs, change_s: float, most: int) -> None:
        """`change_s`: what a change costs at least; `most`: so many are told apart."""
        super().__init__(costs, ())
        self.count, self._change_s = most + 1, change_s

    def onward(self, finish: Floats) -> Floats:
        """Least cost to finish: without a change, and with so many, now or later."""
        here = posed(finish, self._poses)
        there = posed(finish, self._elsewhere) + self._change_s
        np.minimum(here[:, :, 1:], there[:, :, :-1], out=here[:, :, 1:])
        return here
