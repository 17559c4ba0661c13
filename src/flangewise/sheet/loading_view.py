"""How a part is laid on paper for its loading picture: one scale, broken along or across where it is long and bare."""

from dataclasses import dataclass

from flangewise.drawing import SCALES as ROUND_SCALES, Box, Piece, Ruler, arc_points, ruler, scale_for
from flangewise.pattern import FlatHole, FlatPattern
from flangewise.sheet.data import Point, SheetStep
from flangewise.sheet.top_view import edges_seen, flipped, hole_seen, lines_seen, reach

BAND_MM = 6.0
"""Height of the strips for the words BACKGAUGE and OPERATOR."""
FINGER_MM = (6.0, 7.0)
"""A stop finger on paper: width, depth."""
BROAD_MM = 15.0
"""A part drawn less broad or deep than this is drawn larger and broken where it is long instead."""


@dataclass(frozen=True)
class LoadingView:
    """The part laid on paper: a ruler along the bed, one across it from the rearmost place, and where they begin."""

    along: Ruler
    across: Ruler
    left_mm: float
    top_mm: float
    back_mm: float
    length_mm: float
    mirrored: bool

    def spot(self, along_mm: float, across_mm: float) -> Point:
        """Paper of a place on the part: along from the part's own left, across toward the operator."""
        return self.x(along_mm), self.y(across_mm)

    def y(self, across_mm: float) -> float:
        """Paper of a place across, the die's centre being 0."""
        return self.top_mm + self.across.paper_mm(across_mm - self.back_mm)

    def x(self, along_mm: float) -> float:
        """Paper of a place along the part, from the part's own left."""
        return self.bed_x(self.length_mm - along_mm if self.mirrored else along_mm)

    def bed_x(self, from_left_mm: float) -> float:
        """Paper of a place along the bed, from the part's left end as it lies."""
        return self.left_mm + self.along.paper_mm(from_left_mm)


def loading_view(pattern: FlatPattern, step: SheetStep, room: Box, *, growth_mm: float, sized: bool) -> LoadingView:
    """Scale and place: the whole part if that leaves it broad and deep enough to read, else broken where it is long."""
    first, last = reach(step.before.outline_mm)
    first = min(first, step.rear_mm)
    high_mm = room.height_mm - 2 * BAND_MM - FINGER_MM[1] - (15.0 if sized else 9.0) + growth_mm / 2
    along, across = _rulers(pattern, step, (first, last), room=(room.width_mm, high_mm))
    top_mm = BAND_MM + FINGER_MM[1] + 4.0 + growth_mm / 4 + max(0.0, high_mm - across.length_mm) / 2
    left_mm = room.left_mm + (room.width_mm - along.length_mm) / 2
    return LoadingView(along, across, left_mm, top_mm, first, pattern.along_bends_mm, flipped(step))


def _rulers(
    pattern: FlatPattern, step: SheetStep, ends: tuple[float, float], *, room: tuple[float, float]
) -> tuple[Ruler, Ruler]:
    """Both rulers at one scale: the largest at which the short side is broad enough and what stands on it is whole."""
    deep_mm = max(ends[1] - ends[0], 1.0)
    whole = min(scale_for(deep_mm, room[1]), scale_for(pattern.along_bends_mm, room[0]))
    short_mm = min(deep_mm, pattern.along_bends_mm)
    wanted = [scale for scale in ROUND_SCALES if whole < scale and scale * short_mm <= BROAD_MM * 1.3]
    if short_mm * whole < BROAD_MM:
        for scale in reversed(wanted):
            along = ruler(pattern.along_bends_mm, room[0], scale=scale, keep=_kept_along(pattern, step))
            across = ruler(deep_mm, room[1], scale=scale, keep=_kept_across(pattern, step, ends))
            if along is not None and across is not None:
                return along, across
    return Ruler(whole, (Piece(0.0, pattern.along_bends_mm, 0.0),)), Ruler(whole, (Piece(0.0, deep_mm, 0.0),))


def _kept_along(pattern: FlatPattern, step: SheetStep) -> list[tuple[float, float]]:
    """What stands along the bed: holes and stop fingers."""
    from_mm = step.keyed.part_from_mm
    keep = [(z - from_mm - 6, z - from_mm + 6) for z in step.keyed.stops.z_mm]
    for hole in pattern.holes:
        half_mm = hole.half_size_mm[0]
        at_mm = pattern.along_bends_mm - hole.centre_mm[0] if flipped(step) else hole.centre_mm[0]
        keep.append((at_mm - half_mm - 2, at_mm + half_mm + 2))
    return keep


def _kept_across(pattern: FlatPattern, step: SheetStep, ends: tuple[float, float]) -> list[tuple[float, float]]:
    """What stands across the bed, from the rearmost place: bend lines, edges that show, the stop, holes."""
    places = [line.across_mm for line in lines_seen(pattern, step)] + [
        *edges_seen(step.before.outline_mm),
        step.rear_mm,
    ]
    keep = [(place - 3, place + 3) for place in places]
    for hole in pattern.holes:
        rim = hole_seen(hole, step, points=rim_of(hole), thickness_mm=0.0)
        keep += [(min(y for _, y in rim) - 2, max(y for _, y in rim) + 2)] if rim else []
    return [(start - ends[0], end - ends[0]) for start, end in keep]


def rim_of(hole: FlatHole) -> tuple[Point, ...]:
    """Points round a hole on the blank, (along, developed)."""
    along, developed = hole.centre_mm
    if hole.size_mm is not None:
        half = hole.half_size_mm
        signs = ((-1, -1), (1, -1), (1, 1), (-1, 1))
        return tuple((along + a * half[0], developed + d * half[1]) for a, d in signs)
    return arc_points(hole.centre_mm, hole.half_size_mm[0], from_deg=0, to_deg=360, chord_mm=0.05)[:-1]


def stretches(along: Ruler, start_mm: float) -> list[tuple[float, float]]:
    """The pieces of a ruler on paper, from and to."""
    return [
        (start_mm + piece.paper_mm, start_mm + piece.paper_mm + (piece.to_mm - piece.from_mm) * along.scale)
        for piece in along.pieces
    ]
