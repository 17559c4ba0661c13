"""Tool choices as numbers, and what it costs to go from one to another."""

from collections.abc import Sequence

import numpy as np

from flangewise.clearance import ToolStack
from flangewise.sequence.arrays import Floats
from flangewise.sequence.moves import POSES, pose_prices, pose_prices_elsewhere, tool_price
from flangewise.sequence.problem import Costs, ToolOption


def _key(stack: ToolStack) -> tuple[str, str, bool]:
    return stack.punch, stack.die, stack.turned


def _parts(stack: ToolStack) -> tuple[object, object, object]:
    """What tells two stacks apart: the punch with its way round, the die, and both."""
    punch = (stack.punch, stack.turned)
    return punch, stack.die, (punch, stack.die)


def posed(finish: Floats, prices: Floats) -> Floats:
    """Least cost to finish from each pose, going to any other."""
    best = np.full_like(finish, np.inf)
    for before in range(POSES):
        for after in range(POSES):
            np.minimum(best[:, before], finish[:, after] + prices[before, after], out=best[:, before])
    return best


class Stations:
    """Distinct tool choices (stack at the beginning, stack at the end) over all operations."""

    def __init__(self, costs: Costs, options: Sequence[ToolOption]) -> None:
        """Numbers the choices and prices the changes."""
        keys = {(_key(option.entry), _key(option.exit)): option for option in options}
        self._numbers = {key: number for number, key in enumerate(keys)}
        self._costs = costs
        self._coming = [_parts(option.entry) for option in keys.values()] or [((), (), ())]
        self._leaving = [_parts(option.exit) for option in keys.values()] or [((), (), ())]
        self.count = max(1, len(keys))
        self._poses, self._elsewhere = pose_prices(costs), pose_prices_elsewhere(costs)
        ends = list(keys.values())
        self.change = np.zeros((self.count, self.count))
        for before, first in enumerate(ends):
            for after, second in enumerate(ends):
                self.change[before, after] = tool_price(costs, first.exit, second.entry)

    def number(self, option: ToolOption) -> int:
        """Number of a tool option's choice."""
        return self._numbers[_key(option.entry), _key(option.exit)]

    def onward(self, finish: Floats) -> Floats:
        """Least over next poses and tool choices of cost to finish plus moves and change; (sets, poses, choices).

        A change costs once for the punch and once for the die, so it is enough to know the least over
        all choices, over those with the same punch, with the same die, and with both.
        """
        price, shift = self._costs.tool_change, self._costs.station_change
        here, there = (posed(finish, table) for table in (self._poses, self._elsewhere))
        least = there.min(axis=2) + 2 * price + shift
        by_punch = {key: there[:, :, rows].min(axis=2) + price + shift for key, rows in self._same(0).items()}
        by_die = {key: there[:, :, rows].min(axis=2) + price + shift for key, rows in self._same(1).items()}
        by_both = {key: here[:, :, rows].min(axis=2) for key, rows in self._same(2).items()}
        best = np.repeat(least[:, :, None], finish.shape[2], axis=2)
        for number, keys in enumerate(self._leaving):
            for table, key in zip((by_punch, by_die, by_both), keys, strict=True):
                if key in table:
                    np.minimum(best[:, :, number], table[key], out=best[:, :, number])
        return best

    def entering(self, pose: int, tool: int) -> Floats:
        """What it costs to come into each pose and tool choice from one of them: (poses, choices)."""
        change = self.change[tool][None, :]
        cost: Floats = np.where(change > 0, self._elsewhere[pose][:, None] + change, self._poses[pose][:, None])
        return cost

    def _same(self, kind: int) -> dict[object, list[int]]:
        """Choices by what must stand in the machine when they begin: punch (0), die (1), both (2)."""
        groups: dict[object, list[int]] = {}
        for number, keys in enumerate(self._coming):
            groups.setdefault(keys[kind], []).append(number)
        return groups

    @property
    def least_change(self) -> float:
        """Cheapest change there is between two different choices, 0 if some differ in nothing."""
        if self.count < 2:
            return 0.0
        return float(self.change[~np.eye(self.count, dtype=bool)].min())
