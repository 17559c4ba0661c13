"""Where the load mark and the name find room on a panel's base, clear of its edges and holes."""

from __future__ import annotations

from itertools import product

import shapely

from flangewise.geometry import Point
from flangewise.pattern.flat_pattern import Blank, FlatPattern, PanelBlank

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
    base = shapely.Polygon(ring)
    low, high = base.bounds[:2], base.bounds[2:]
    own = [hole for hole in blank.holes if hole.face == blank.faces[0].number]
    holes = shapely.union_all([shapely.MultiPoint(hole.corners_mm).envelope for hole in own])
    if len(ring) == 4 and all(x in (low[0], high[0]) and y in (low[1], high[1]) for x, y in ring):
        first = (high[0] - low[0], high[1] - low[1])
        wanted = (min(MARK_MM[0], first[0]), min(MARK_MM[1], first[1]))
        if not _box(low, wanted).intersection(holes).area:
            return low, *first
    for shrink in range(SHRINKS):
        size = (NEEDED_MM[0] / 2**shrink, NEEDED_MM[1] / 2**shrink)
        steps = product(range(PLACES), range(PLACES))
        for across, along in sorted(steps, key=lambda step: (step[0] + step[1], step)):
            at = (
                low[0] + (high[0] - low[0]) * along / PLACES,
                low[1] + (high[1] - low[1]) * across / PLACES,
            )
            if base.covers(_box(at, size)) and not _box(at, size).intersection(holes).area:
                return at, *size
    (x, y), (to_x, to_y) = ring[0], ring[1]
    return ((x + to_x) / 2, (y + to_y) / 2), 1.0, 1.0


def _box(at: Point, size: tuple[float, float]) -> shapely.Polygon:
    return shapely.box(*at, at[0] + size[0], at[1] + size[1])
