"""Arrays by what they hold: one entry for each set of done operations, pose or tool choice."""

from collections.abc import Sequence
from functools import lru_cache
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
# A number for each kind of column goes no further than this.
MOST_CODED = 1 << 62
Number = TypeVar("Number", np.int64, np.float64)


def distinct(numbers: NDArray[Number]) -> NDArray[Number]:
    """Numbers sorted, each once. `np.unique` does the same for all kinds of arrays, and is slow for small ones."""
    ranked = np.sort(numbers)
    return ranked[np.concatenate([[True], ranked[1:] != ranked[:-1]])] if len(ranked) else ranked


def alike_in(*each: Floats | Ints) -> tuple[Ints, Ints]:
    """Of columns that are alike in all numbers, the first of each kind as they come, and of which kind each is.

    Whole numbers are taken as they are: not negative, and few of them in a row.
    """
    code, most = np.zeros(len(each[0]), dtype=np.int64), 1
    for numbers in each:
        is_whole = numbers.dtype == np.int64
        which = numbers.astype(np.int64) if is_whole else np.unique(numbers, return_inverse=True)[1]
        kinds = int(which.max(initial=0)) + 1
        if most * kinds > MOST_CODED:
            code = np.unique(code, return_inverse=True)[1]
            most = len(code)
        code, most = code * kinds + which, most * kinds
    _, first, kind = np.unique(code, return_index=True, return_inverse=True)
    ranked = np.argsort(first)
    place = np.empty_like(ranked)
    place[ranked] = np.arange(len(ranked))
    return first[ranked], place[kind]


class SumsByState:
    """Sums of numbers by state, in which bit i stands for the i-th of them; of many bits kept in two halves."""

    def __init__(self, numbers: Sequence[float] | Floats) -> None:
        self._half = (len(numbers) + 1) // 2
        self._low, self._high = _sums(numbers[: self._half]), _sums(numbers[self._half :])

    def of(self, states: Ints) -> Floats:
        """The sum of what is set in each state."""
        found: Floats = self._low[states & ((1 << self._half) - 1)] + self._high[states >> self._half]
        return found


def _sums(numbers: Sequence[float] | Floats) -> Floats:
    total = np.zeros(1)
    for number in numbers:
        total = np.concatenate([total, total + number])
    return total


def sets_without(operation: int, count: int) -> Ints:
    """All sets of done operations without one of them, in the order of `without`."""
    rest = np.arange(1 << (count - 1))
    low = (1 << operation) - 1
    found: Ints = (rest & low) | ((rest & ~low) << 1)
    return found


def without(operation: int, sets: Ints) -> Ints:
    """Sets numbered as if an operation were not there."""
    low = (1 << operation) - 1
    found: Ints = (sets & low) | ((sets >> 1) & ~low)
    return found


@lru_cache(maxsize=4)
def made_last(count: int) -> tuple[tuple[Ints, Ints, Ints, Ints], ...]:
    """All sets but the empty one, those of one size together, the small ones first.

    With each set the operations that may have been made last, the set before that, and its number without them.
    """
    every, bits = np.arange(1 << count), np.arange(count)
    holds = (every[:, None] >> bits & 1).astype(bool)
    sizes, found = holds.sum(axis=1), []
    for size in range(1, count + 1):
        sets = every[sizes == size]
        last = np.nonzero(holds[sets])[1].reshape(len(sets), size)
        before = sets[:, None] & ~(1 << last)
        low = (1 << last) - 1
        found.append((sets, last, before, before & low | before >> 1 & ~low))
    return tuple(found)
