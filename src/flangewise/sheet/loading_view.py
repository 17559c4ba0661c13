"""A part on the die seen from above, as the operator sees it, and how it is laid on paper for its loading picture.

The part is a section drawn out along the bed, so seen from above it is a set of lines parallel to the bed. On paper it
has one scale, and is broken along or across where it is long and bare.
"""

from typing import Literal

from flangewise.clearance import Outline
from flangewise.drawing import SCALES as ROUND_SCALES, Box, Ruler, arc_points, between, ruler, unbroken
from flangewise.pattern import BendZone, FlatHole, FlatPattern
from flangewise.records import dataclass
from flangewise.sheet.data import Flat, Point, SheetStep

BendState = Literal["active", "later", "formed"]

BAND_MM = 4.6
"""Height of the strips for the words BACKGAUGE and OPERATOR."""
FINGER_MM = (5.0, 4.6)
"""A stop finger on paper: width, depth."""
BROAD_MM = 22.0
"""A part drawn less broad or deep than this is drawn larger and broken where it is long instead."""
LEAST_HIGH_MM = 2.0
STEEP = 0.35
"""A leg that shows less than this share of its length from above counts as standing: no lines are drawn on it."""


@dataclass(frozen=True)
class LineSeen:
    """A bend line on the part as it lies: across in mm, and whether it is the one to bend, still to come, or formed."""

    label: str
    across_mm: float
    state: BendState
    upward: bool


def flipped(step: SheetStep) -> bool:
    """Whether the part's left lies to the operator's right. Face up and start edge to the operator is not flipped;
    each turn over about the bed keeps left and right, each turn in the plane swaps them."""
    return (step.keyed.marked_face == "up") != (step.start_at == "operator")


def reach(outline: Outline) -> tuple[float, float]:
    """Least and most across of a section."""
    across = [point[0] for point in outline]
    return min(across), max(across)


def edges_seen(outline: Outline) -> tuple[float, ...]:
    """Where across an edge shows from above, between the two ends: the top of the part jumps there.

    The top at a place is the highest point of the outline there; a jump of more than a fifth of a mm counts.
    """
    first, last = reach(outline)
    places = sorted({round(across, 3) for across, _ in outline})
    found: list[float] = []
    for place in places:
        if first + 0.05 < place < last - 0.05 and (not found or place - found[-1] > 0.3):
            tops = [top_at(outline, place + side * 0.01) for side in (-1, 1)]
            if abs(tops[0] - tops[1]) > 0.2:
                found.append(place)
    return tuple(found)


def top_at(outline: Outline, across_mm: float) -> float:
    """Highest point of a section at a place across; minus infinity beside it."""
    best = float("-inf")
    for (x0, y0), (x1, y1) in zip(outline, (*outline[1:], outline[0]), strict=True):
        if min(x0, x1) <= across_mm <= max(x0, x1):
            best = max(best, max(y0, y1) if x0 == x1 else y0 + (across_mm - x0) * (y1 - y0) / (x1 - x0))
    return best


def lying(flat: Flat) -> bool:
    """Whether a leg lies flat enough for lines and holes on it to be seen from above."""
    length_mm = flat.face.to_mm - flat.face.from_mm
    return length_mm > 0 and abs(flat.end_mm[0] - flat.start_mm[0]) >= STEEP * length_mm


def lines_seen(pattern: FlatPattern, step: SheetStep) -> tuple[LineSeen, ...]:
    """Every bend line that shows, in the order of the section; those on or between standing legs do not."""
    flats = step.before.flats
    found = []
    for zone, before, behind in zip(pattern.zones, flats, flats[1:], strict=False):
        state: BendState = "later"
        if zone.label in step.labels:
            state = "active"
        elif zone.label in step.done:
            state = "formed"
        elif not (lying(before) and lying(behind)):
            continue
        across_mm = (before.end_mm[0] + behind.start_mm[0]) / 2
        found.append(LineSeen(zone.label, across_mm, state, upward(zone, step)))
    return tuple(found)


def upward(zone: BendZone, step: SheetStep) -> bool:
    """Whether a bend goes up as the part lies: toward the marked face with that face up, or away with it down."""
    return zone.toward == (step.keyed.marked_face == "up")


def hole_seen(hole: FlatHole, step: SheetStep, *, points: Outline, thickness_mm: float) -> Outline | None:
    """A hole's rim as (along from the part's left, across) on the part as it lies; None where it does not show."""
    flat = next((each for each in step.before.flats if each.face.number == hole.face), None)
    if flat is None or not lying(flat):
        return None
    centre = on_leg(flat, hole.centre_mm[1])
    if top_at(step.before.outline_mm, centre[0]) > centre[1] + thickness_mm:
        return None
    return tuple((along, on_leg(flat, developed)[0]) for along, developed in points)


def on_leg(flat: Flat, developed_mm: float) -> Point:
    """The place on a leg's middle surface of a place of the blank."""
    share = (developed_mm - flat.face.from_mm) / (flat.face.to_mm - flat.face.from_mm)
    return between(flat.start_mm, flat.end_mm, share)


def hole_place(hole: FlatHole, pattern: FlatPattern, step: SheetStep) -> Point:
    """Where a hole lies as the blank is laid for the step: from the operator's left, and from the edge at the back."""
    along_mm, developed_mm = hole.centre_mm
    left_mm = pattern.along_bends_mm - along_mm if flipped(step) else along_mm
    return left_mm, pattern.developed_mm - developed_mm if step.start_at == "operator" else developed_mm


@dataclass(frozen=True)
class LoadingView:
    """The part of a step laid on paper: a ruler along the bed, and one across it from the rearmost place."""

    step: SheetStep
    pattern: FlatPattern
    along: Ruler
    across: Ruler

    @property
    def box(self) -> Box:
        """The whole part on paper."""
        first, last = reach(self.step.before.outline_mm)
        return Box(self.bed_x(0.0), self.y(first), self.bed_x(self.pattern.along_bends_mm), self.y(last))

    def spot(self, along_mm: float, across_mm: float) -> Point:
        """Paper of a place on the part: along from the part's own left, across toward the operator."""
        from_left_mm = self.pattern.along_bends_mm - along_mm if flipped(self.step) else along_mm
        return self.bed_x(from_left_mm), self.y(across_mm)

    def y(self, across_mm: float) -> float:
        """Paper of a place across, the die's centre being 0."""
        return self.across.paper_mm(across_mm - rearmost_mm(self.step))

    def bed_x(self, from_left_mm: float) -> float:
        """Paper of a place along the bed, from the part's left end as it lies."""
        return self.along.paper_mm(from_left_mm)


def rearmost_mm(step: SheetStep) -> float:
    """The rearmost place across that is drawn: of the part or of its stop."""
    return min(reach(step.before.outline_mm)[0], step.rear_mm)


def loading_view(pattern: FlatPattern, step: SheetStep, room: Box, *, growth_mm: float, sized: bool) -> LoadingView:
    """Scale and place: the whole part if that leaves it broad and deep enough to read, else broken where it is long."""
    # In a very low room the part is drawn all the same, and runs into its sizes' room.
    high_mm = room.height_mm - 2 * BAND_MM - FINGER_MM[1] - (8.5 if sized else 6.0) + growth_mm / 2
    high_mm = max(high_mm, LEAST_HIGH_MM)
    along, across = _rulers(pattern, step, wide_mm=room.width_mm, high_mm=high_mm)
    top_mm = BAND_MM + FINGER_MM[1] + 1.0 + growth_mm / 4 + max(0.0, high_mm - across.length_mm) / 2
    left_mm = room.left_mm + (room.width_mm - along.length_mm) / 2
    return LoadingView(step, pattern, along.begun_at(left_mm), across.begun_at(top_mm))


def _rulers(pattern: FlatPattern, step: SheetStep, *, wide_mm: float, high_mm: float) -> tuple[Ruler, Ruler]:
    """Both rulers at one scale: the largest at which the short side is broad enough and what stands on it is whole."""
    back_mm, long_mm = rearmost_mm(step), pattern.along_bends_mm
    deep_mm = max(reach(step.before.outline_mm)[1] - back_mm, 1.0)
    whole = min(high_mm / deep_mm, wide_mm / long_mm, ROUND_SCALES[-1])
    short_mm = min(deep_mm, long_mm)
    wanted = [scale for scale in ROUND_SCALES if whole < scale and scale * short_mm <= BROAD_MM * 1.3]
    if short_mm * whole < BROAD_MM:
        for scale in reversed(wanted):
            along = ruler(long_mm, wide_mm, scale=scale, keep=_kept_along(pattern, step))
            across = ruler(deep_mm, high_mm, scale=scale, keep=_kept_across(pattern, step, back_mm))
            if along is not None and across is not None:
                return along, across
    return unbroken(long_mm, whole), unbroken(deep_mm, whole)


def _kept_along(pattern: FlatPattern, step: SheetStep) -> list[tuple[float, float]]:
    """What stands along the bed: holes and stop fingers."""
    from_mm = step.keyed.part_from_mm
    keep = [(z - from_mm - 6, z - from_mm + 6) for z in step.keyed.stops.z_mm]
    for hole in pattern.holes:
        at_mm, half_mm = hole_place(hole, pattern, step)[0], hole.half_size_mm[0]
        keep.append((at_mm - half_mm - 2, at_mm + half_mm + 2))
    return keep


def _kept_across(pattern: FlatPattern, step: SheetStep, back_mm: float) -> list[tuple[float, float]]:
    """What stands across the bed, from the rearmost place: bend lines, edges that show, the stop, holes."""
    lines = (line.across_mm for line in lines_seen(pattern, step))
    places = (*lines, *edges_seen(step.before.outline_mm), step.rear_mm)
    keep = [(place - 3, place + 3) for place in places]
    for hole in pattern.holes:
        rim = hole_seen(hole, step, points=rim_of(hole), thickness_mm=pattern.thickness_mm)
        keep += [(min(y for _, y in rim) - 2, max(y for _, y in rim) + 2)] if rim else []
    return [(start - back_mm, end - back_mm) for start, end in keep]


def rim_of(hole: FlatHole) -> tuple[Point, ...]:
    """Points round a hole on the blank, (along, developed)."""
    along, developed = hole.centre_mm
    if hole.size_mm is not None:
        half = hole.half_size_mm
        signs = ((-1, -1), (1, -1), (1, 1), (-1, 1))
        return tuple((along + a * half[0], developed + d * half[1]) for a, d in signs)
    return arc_points(hole.centre_mm, hole.half_size_mm[0], from_deg=0, to_deg=360, chord_mm=0.05)[:-1]
