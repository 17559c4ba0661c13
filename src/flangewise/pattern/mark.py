"""Where the load mark and the name find room on a panel's base, clear of its edges and holes."""

from __future__ import annotations

from itertools import product

from flangewise.geometry import Point
from flangewise.pattern.flat_pattern import Blank, FlatHole, FlatPattern, PanelBlank

# The mark alone needs this much; with the name beside it so much is looked for.
MARK_MM = (12.0, 12.0)
NEEDED_MM = (60.0, 20.0)
# The room is looked for from so many places along and across the base, and shrunk so often where none has it.
PLACES = 9
SHRINKS = 6

# The load mark stands in the datum corner: at most this large, and within the first face.
LARGEST_MARK_MM = 8.0
MARK_SHARE = 0.4


def load_mark_mm(blank: Blank) -> tuple[Point, Point, Point]:
    """The triangle that marks the datum corner and the marked face: its right angle toward the near left corner."""
    (x_mm, y_mm), length_mm, deep_mm = room_for_mark(blank)
    size_mm = min(LARGEST_MARK_MM, MARK_SHARE * length_mm, MARK_SHARE * deep_mm)
    x_mm, y_mm = x_mm + size_mm / 4, y_mm + size_mm / 4
    return (x_mm, y_mm), (x_mm + size_mm, y_mm), (x_mm, y_mm + size_mm)


def room_for_mark(blank: Blank) -> tuple[Point, float, float]:
    """Where the mark stands: the near left corner of a rectangle, along and across, that lies in the first face."""
    if isinstance(blank, PanelBlank):
        return room_in(blank)
    assert isinstance(blank, FlatPattern)
    return (0.0, 0.0), blank.along_bends_mm, blank.faces[0].outline_mm[2][1] or blank.developed_mm


def room_in(blank: PanelBlank) -> tuple[Point, float, float]:
    """The near left corner of a level rectangle within the base and clear of its holes, its length and its depth.

    A rectangular base without a hole where the mark stands gives itself whole, as the first leg of a section does.
    Otherwise it is the nearest place to the near left corner that has the room; where none has, a smaller one; the
    middle of the base's first edge, next to nothing, at the last.
    """
    ring = blank.faces[0].outline_mm
    xs, ys = [x for x, _ in ring], [y for _, y in ring]
    low, high = (min(xs), min(ys)), (max(xs), max(ys))
    holes = [hole for hole in blank.holes if hole.face == blank.faces[0].number]
    if len(ring) == 4 and all(x in (low[0], high[0]) and y in (low[1], high[1]) for x, y in ring):
        first = (high[0] - low[0], high[1] - low[1])
        wanted = (min(MARK_MM[0], first[0]), min(MARK_MM[1], first[1]))
        if not any(_meets(hole, low, wanted) for hole in holes):
            return low, *first
    for shrink in range(SHRINKS):
        size = (NEEDED_MM[0] / 2**shrink, NEEDED_MM[1] / 2**shrink)
        steps = product(range(PLACES), range(PLACES))
        for across, along in sorted(steps, key=lambda step: (step[0] + step[1], step)):
            at = (
                low[0] + (high[0] - low[0]) * along / PLACES,
                low[1] + (high[1] - low[1]) * across / PLACES,
            )
            if _is_within(ring, at, size) and not any(_meets(hole, at, size) for hole in holes):
                return at, *size
    (x, y), (to_x, to_y) = ring[0], ring[1]
    return ((x + to_x) / 2, (y + to_y) / 2), 1.0, 1.0


def _meets(hole: FlatHole, at: Point, size: tuple[float, float]) -> bool:
    """Whether a hole's box meets a rectangle."""
    xs, ys = zip(*hole.corners_mm, strict=True)
    return bool(max(xs) > at[0] and min(xs) < at[0] + size[0] and max(ys) > at[1] and min(ys) < at[1] + size[1])


def _is_within(ring: tuple[Point, ...], at: Point, size: tuple[float, float]) -> bool:
    """Whether a level rectangle lies within a ring: its corners inside, and no edge of the ring through it."""
    corners = [(at[0] + i * size[0], at[1] + j * size[1]) for i, j in product((0, 1), repeat=2)]
    edges = list(zip(ring, (*ring[1:], ring[0]), strict=True))
    return all(_is_inside(edges, corner) for corner in corners) and not any(
        _cuts(one, other, at, size) for one, other in edges
    )


def _is_inside(edges: list[tuple[Point, Point]], point: Point) -> bool:
    x, y = point
    crossed = 0
    for (ax, ay), (bx, by) in edges:
        if (ay > y) != (by > y) and x < ax + (y - ay) / (by - ay) * (bx - ax):
            crossed += 1
    return crossed % 2 == 1


def _cuts(one: Point, other: Point, at: Point, size: tuple[float, float]) -> bool:
    """Whether an edge runs through the inside of a level rectangle: what is left of it between its four sides."""
    begin, end = 0.0, 1.0
    for axis in (0, 1):
        step = other[axis] - one[axis]
        low, high = at[axis] - one[axis], at[axis] + size[axis] - one[axis]
        if step == 0:
            if low >= 0 or high <= 0:
                return False
            continue
        first, last = sorted((low / step, high / step))
        begin, end = max(begin, first), min(end, last)
    return begin < end
