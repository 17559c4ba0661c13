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
