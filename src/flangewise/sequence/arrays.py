"""Arrays by what they hold: one entry for each set of done operations, pose or tool choice."""

import numpy as np
from numpy.typing import NDArray

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
