"""How far the part reaches out from the jaw that holds it: distances are measured from there, not from the arm.

The jaw holds the edge in front, at the middle of the part's length. Arm joints and the arm's own reach are not
computed.
"""

import math
from collections.abc import Iterable, Sequence

Ring = Sequence[tuple[float, float]]


def out_of_jaw_mm(outlines_mm: Iterable[Ring], length_mm: float) -> float:
    """The farthest corner of a part from the middle of its edge in front, over all shapes that it takes on the way.

    >>> out_of_jaw_mm([[(0.0, 0.0), (-300.0, 0.0)]], 800.0)
    500.0
    """
    found = []
    for outline in outlines_mm:
        front = max(outline)
        found.append(max(math.dist(front, point) for point in outline))
    return math.hypot(max(found), length_mm / 2)
