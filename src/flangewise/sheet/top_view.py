"""A part on the die seen from above, as the operator sees it: which edges show, where bend lines and holes lie.

The part is a section drawn out along the bed, so seen from above it is a set of lines parallel to the bed.
"""

from dataclasses import dataclass
from typing import Literal

from flangewise.clearance import Outline
from flangewise.pattern import BendZone, FlatHole, FlatPattern
from flangewise.sheet.data import Flat, Point, Profile, SheetStep

BendState = Literal["active", "later", "formed"]

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
    (x0, y0), (x1, y1) = flat.start_mm, flat.end_mm
    return (x0 + share * (x1 - x0), y0 + share * (y1 - y0))


def hole_place(hole: FlatHole, pattern: FlatPattern, step: SheetStep) -> Point:
    """Where a hole lies as the blank is laid for the step: from the operator's left, and from the edge at the back."""
    along_mm, developed_mm = hole.centre_mm
    left_mm = pattern.along_bends_mm - along_mm if flipped(step) else along_mm
    return left_mm, pattern.developed_mm - developed_mm if step.start_at == "operator" else developed_mm


def start_across(profile: Profile) -> float:
    """Where across the section's start edge is."""
    return profile.flats[0].start_mm[0]
