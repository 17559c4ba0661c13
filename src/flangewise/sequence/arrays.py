"""Arrays by what they hold: one entry for each set of done operations, pose or tool choice."""

from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
Number = TypeVar("Number", np.int64, np.float64)


def distinct(numbers: NDArray[Number]) -> NDArray[Number]:
    """Numbers sorted, each once. `np.unique` does the same for all kinds of arrays, and is slow for small ones."""
    ranked = np.sort(numbers)
    return ranked[np.concatenate([[True], ranked[1:] != ranked[:-1]])] if len(ranked) else ranked


def alike_in(*each: Floats | Ints) -> tuple[Ints, Ints]:
    """Of columns that are alike in all numbers, the first of each kind as they come, and of which kind each is."""
    code = np.zeros(len(each[0]), dtype=np.int64)
    for numbers in each:
        values, which = np.unique(numbers, return_inverse=True)
        code = code * len(values) + which
    _, first, kind = np.unique(code, return_index=True, return_inverse=True)
    ranked = np.argsort(first)
    place = np.empty_like(ranked)
    place[ranked] = np.arange(len(ranked))
    return first[ranked], place[kind]
