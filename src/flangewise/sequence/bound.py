"""A price that reaching a set of done operations cannot fall below (admissible, so pruning by it is exact)."""

from __future__ import annotations

import numpy as np

from flangewise.sequence.arrays import Floats, Ints
from flangewise.sequence.feasibility import FeasibilityTable
from flangewise.sequence.moves import POSES, least_time, least_turn_over, own_price, pose_parts
from flangewise.sequence.stations import Stations


class Bound:
    """Every operation at its cheapest, one turn-over if a side of the part is still due, one tool change
    if no single choice could have done all."""

    def __init__(self, feasibility: FeasibilityTable, stations: Stations) -> None:
        """Reads what each operation costs at least and which sides and tools it can use."""
        operations, costs = feasibility.problem.operations, feasibility.problem.costs
        self._stations = stations
        self._turn_over = least_turn_over(costs)
        self._least = [
            min(own_price(costs, option) + least_time(costs, option) for option in op.options) for op in operations
        ]
        self._sides = [{way.marked_up for way in candidates} for candidates in feasibility.candidates]
        self._tools = [sum({1 << stations.of(way) for way in candidates}) for candidates in feasibility.candidates]

    def reach(self, sets: Ints) -> Floats:
        """Lower bound for each set, pose and tool choice of the next operation: (sets, 8, choices)."""
        least, only_up, only_down = np.zeros(len(sets)), np.zeros(len(sets), bool), np.zeros(len(sets), bool)
        tools = np.full(
            len(sets), (1 << self._stations.count) - 1, dtype=object if self._stations.count > 62 else np.int64
        )
        for index, price in enumerate(self._least):
            done = (sets >> index) & 1 == 1
            least += price * done
            only_up |= done & (self._sides[index] == {True})
            only_down |= done & (self._sides[index] == {False})
            tools[done] &= self._tools[index]
        return self._assembled(least, only_up, only_down=only_down, tools=tools)

    def _assembled(self, least: Floats, only_up: Floats, *, only_down: Floats, tools: Ints) -> Floats:
        bound = np.zeros((len(least), POSES, self._stations.count)) + least[:, None, None]
        for pose in range(POSES):
            other = only_down if pose_parts(pose)[0] else only_up
            bound[:, pose] += self._turn_over * other[:, None]
        change = self._stations.least_change
        if change:
            for tool in range(self._stations.count):
                bound[:, :, tool] += change * ((tools >> tool) & 1 == 0)[:, None]
        return bound
