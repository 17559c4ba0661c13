"""Tool choices as numbers, and what it costs to go from one to another."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from flangewise.clearance import ToolStack
from flangewise.sequence.moves import tool_price
from flangewise.sequence.problem import SectionProblem, ToolOption
from flangewise.sequence.state import Way

Floats = NDArray[np.float64]


def _key(stack: ToolStack) -> tuple[str, str, bool]:
    return stack.punch, stack.die, stack.turned


def _parts(stack: ToolStack) -> tuple[object, object, object]:
    """What tells two stacks apart: the punch with its way round, the die, and both."""
    punch = (stack.punch, stack.turned)
    return punch, stack.die, (punch, stack.die)


class Stations:
    """Distinct tool choices (stack at the beginning, stack at the end) over all operations."""

    def __init__(self, problem: SectionProblem) -> None:
        """Numbers the choices and prices the changes."""
        self._options = [option for operation in problem.operations for option in operation.options]
        keys = {(_key(option.entry), _key(option.exit)): option for option in self._options}
        self._numbers = {key: number for number, key in enumerate(keys)}
        self._problem = problem
        self._coming = [_parts(option.entry) for option in keys.values()] or [((), (), ())]
        self._leaving = [_parts(option.exit) for option in keys.values()] or [((), (), ())]
        self.count = max(1, len(keys))
        ends = list(keys.values())
        self.change = np.zeros((self.count, self.count))
        for before, first in enumerate(ends):
            for after, second in enumerate(ends):
                self.change[before, after] = tool_price(problem.costs, first.exit, second.entry)

    def number(self, option: ToolOption) -> int:
        """Number of a tool option's choice."""
        return self._numbers[_key(option.entry), _key(option.exit)]

    def of(self, way: Way) -> int:
        """Number of the choice of a way."""
        return self.number(self._problem.operations[way.operation].options[way.option])

    def onward(self, finish: Floats) -> Floats:
        """Least over next tool choices of cost to finish plus change; (sets, poses, choices).

        A change costs once for the punch and once for the die, so it is enough to know the least over
        all choices, over those with the same punch, with the same die, and with both.
        """
        price = self._problem.costs.tool_change
        least = finish.min(axis=2) + 2 * price
        by_punch = {key: finish[:, :, rows].min(axis=2) + price for key, rows in self._same(0).items()}
        by_die = {key: finish[:, :, rows].min(axis=2) + price for key, rows in self._same(1).items()}
        by_both = {key: finish[:, :, rows].min(axis=2) for key, rows in self._same(2).items()}
        best = np.repeat(least[:, :, None], finish.shape[2], axis=2)
        for number, keys in enumerate(self._leaving):
            for table, key in zip((by_punch, by_die, by_both), keys, strict=True):
                if key in table:
                    np.minimum(best[:, :, number], table[key], out=best[:, :, number])
        return best

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
