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


class Stations:
    """Distinct tool choices (stack at the beginning, stack at the end) over all operations."""

    def __init__(self, problem: SectionProblem) -> None:
        """Numbers the choices and prices the changes."""
        self._options = [option for operation in problem.operations for option in operation.options]
        keys = {(_key(option.entry), _key(option.exit)): option for option in self._options}
        self._numbers = {key: number for number, key in enumerate(keys)}
        self._problem = problem
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
        """Least over next tool choices of cost to finish plus change; (sets, poses, choices)."""
        if self.count == 1:
            same: Floats = finish + self.change[0, 0]
            return same
        best = np.full_like(finish, np.inf)
        for before in range(self.count):
            for after in range(self.count):
                np.minimum(best[:, :, before], finish[:, :, after] + self.change[before, after], out=best[:, :, before])
        return best

    @property
    def least_change(self) -> float:
        """Cheapest change there is between two different choices, 0 if some differ in nothing."""
        if self.count < 2:
            return 0.0
        return float(self.change[~np.eye(self.count, dtype=bool)].min())
