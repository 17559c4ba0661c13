"""How far the part reaches out from the jaw that holds it: distances are measured from there, not from the arm.

Arm joints and the arm's own reach are not computed. Source: geometry.
"""

import math
from collections.abc import Iterable, Sequence

Ring = Sequence[tuple[float, float]]


def out_of_jaw_mm(outlines_mm: Iterable[Ring], *, along_mm: float, at_front: bool = True) -> float:
    """The farthest corner of a part from the jaw, over all shapes that it takes on the way.

    `along_mm` is what reaches farthest beside the jaw along the bends. The jaw holds the edge in front; not `at_front`,
    anywhere on the section, so that no corner is farther than the section is wide.

    >>> out_of_jaw_mm([[(0.0, 0.0), (-300.0, 0.0)]], along_mm=400.0)
    500.0
    """
    found = []
    for outline in outlines_mm:
        held = [max(outline)] if at_front else outline
        found.append(max(math.dist(place, point) for place in held for point in outline))
    return math.hypot(max(found), along_mm)
