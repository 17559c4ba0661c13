"""Whether outlines that lie in each other share any room: a count of a stack is told only after it was looked at so.

Source: areas of polygons cut with each other.
"""

from collections.abc import Iterable, Sequence

from shapely import Polygon, intersection
from shapely.affinity import rotate, translate

from flangewise.clearance.bodies import Outline

# Outlines that touch along their length overlap by rounding, times their length.
TOUCHING_MM = 0.01
# Without a grid what two that touch share has come out as the whole of one.
GRID_MM = 1e-4


def shared_mm2(outlines_mm: Sequence[Outline]) -> float:
    """The room that two of the outlines, or more, share, in mm²."""
    shapes = [Polygon(each) for each in outlines_mm]
    pairs = ((one, other) for place, one in enumerate(shapes) for other in shapes[place + 1 :])
    return float(sum(intersection(one, other, grid_size=GRID_MM).area for one, other in pairs))


def is_clear(outlines_mm: Sequence[Outline]) -> bool:
    """Whether outlines that may touch share no room, but for what rounding makes of touching."""
    around_mm = max(Polygon(each).length for each in outlines_mm)
    return shared_mm2(outlines_mm) <= TOUCHING_MM * float(around_mm)


def moved(outline_mm: Outline, by_mm: Iterable[tuple[float, float]], *, half_turn: bool = False) -> list[Outline]:
    """Copies of an outline at places; `half_turn`: turned upside down about their own middle first."""
    shape = Polygon(outline_mm)
    shape = rotate(shape, 180.0, origin="center") if half_turn else shape
    return [tuple(translate(shape, across, up).exterior.coords)[:-1] for across, up in by_mm]
