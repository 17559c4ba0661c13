"""Does anything strike anything: the stroke is stopped at many moments and distances are taken.

A gap is the distance between the sheet's middle and a body, less half the sheet: 0 is touch, below 0 the sheet lies in
the body. Contact of so little is no strike; a gap near that limit is told as near: either may then be said.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import lru_cache
from typing import Any

import numpy as np
import shapely

from .fold import Line, Wing, mirrored, plane
from .rack import Blank, Choice, Swing, Tools

# Less of the sheet than this in a body is contact (the shop's rule for what is a strike).
CONTACT_MM = 0.05
# Moments and arcs of one who draws coarser than here may be off by this much, on either side.
NEAR_MM = 0.05
# True contact at nose and shoulders comes out this near to 0.
TOUCH_MM = 0.008
# Two wings may be told to meet so much early, and their limit is twice the contact.
FOLD_EARLY_MM = 0.1
MOMENTS, FINER = 21, 12
ABOVE_MM = 1000.0

FREE, NEAR, STRUCK = 0, 1, 2


def verdict(gap_mm: float) -> int:
    """What a gap to a tool means."""
    if gap_mm < -CONTACT_MM - NEAR_MM:
        return STRUCK
    return NEAR if gap_mm < -TOUCH_MM else FREE


def self_verdict(gap_mm: float) -> int:
    """What a gap between two wings means."""
    if gap_mm < -2 * CONTACT_MM - NEAR_MM:
        return STRUCK
    return NEAR if gap_mm < -2 * CONTACT_MM + FOLD_EARLY_MM - TOUCH_MM else FREE


def _strings(points: Any) -> Any:
    """Points (moments, points) complex as one line a moment."""
    return shapely.linestrings(np.stack([points.real, points.imag], axis=-1))


def least_over(gap: Callable[[Any], Any], *, count: int = MOMENTS) -> float:
    """The least of a function of the stroke's share 0 to 1: at many moments, and closer about the least of them."""
    shares = np.linspace(0.0, 1.0, count)
    found = gap(shares)
    at = int(np.argmin(found))
    if found[at] < -CONTACT_MM - 2 * NEAR_MM:
        return float(found[at])
    low, high = shares[max(at - 1, 0)], shares[min(at + 1, count - 1)]
    return float(min(found[at], gap(np.linspace(low, high, FINER)).min()))


def swing_of(blank: Blank, bend: int, choice: Choice) -> Swing:
    """The air bend of a choice's first stroke."""
    pair, vee = choice.pair, choice.pair.tools
    zone = blank.zones_of[bend][0]
    radius = pair.air.effective_radius_mm if pair.air is not None else pair.formed_radius_mm or 0.0
    return Swing(
        vee.opening_mm or 0.0,
        vee.shoulder_radius_mm or 0.0,
        blank.thickness_mm,
        radius,
        blank.zones_mm[zone],
        (pair.loaded_turn_deg or 0.0) / 2,
    )


@lru_cache(maxsize=4096)
def _frames(swing: Swing, shares: tuple[float, ...]) -> tuple[Line, Line, Line]:
    halves = [share * swing.half_deg for share in shares]
    turned = np.exp(1j * np.radians(np.array(halves)))
    return (
        turned,
        np.array([swing.edge(half) for half in halves]),
        np.array([1j * swing.nose_mm(half) for half in halves]),
    )


def swung(swing: Swing, line: Line, shares: Any) -> Any:
    """A wing's line as it lies in front at moments of the stroke: (moments, points)."""
    turned, edge, _ = _frames(swing, tuple(shares))
    return turned[:, None] * line[None, :] + edge[:, None]


def swing_gap_mm(tools: Tools, swing: Swing, line: Line, *, behind: bool) -> float:
    """The least gap of a piece of a wing to the tools, while it swings up."""
    standing, coming = tools.seen_from_behind if behind else tools.seen_from_front

    def gap(shares: Any) -> Any:
        placed = swung(swing, line, shares)
        nose = _frames(swing, tuple(shares))[2]
        near = np.minimum(
            shapely.distance(_strings(placed), standing), shapely.distance(_strings(placed - nose[:, None]), coming)
        )
        return near - swing.thickness_mm / 2

    return least_over(gap)


def swing_self_gap_mm(swing: Swing, front: Wing, back: Wing) -> float:
    """The least gap between two wings while they fold toward each other; not between the two flats beside the bend."""
    roots = front.lines[0], back.lines[0]
    beyond = front.beyond, back.beyond

    def gap(shares: Any) -> Any:
        found = np.full(len(shares), math.inf)
        for one, other in ((beyond[0], beyond[1]), (beyond[0], roots[1]), (roots[0], beyond[1])):
            if one is not None and other is not None:
                placed = swung(swing, one, shares), mirrored(swung(swing, other, shares))
                found = np.minimum(found, shapely.distance(_strings(placed[0]), _strings(placed[1])))
        return found - swing.thickness_mm

    return least_over(gap, count=2 * MOMENTS)


def still_self_gap_mm(thickness_mm: float, front: Wing, back: Wing, place: Callable[[Line, bool], Line]) -> float:
    """The same for two wings at rest, where `place` puts a line of the wing in front (False) or behind (True)."""
    roots = front.lines[0], back.lines[0]
    beyond = front.beyond, back.beyond
    found = math.inf
    for one, other in ((beyond[0], beyond[1]), (beyond[0], roots[1]), (roots[0], beyond[1])):
        if one is not None and other is not None:
            placed = shapely.LineString(plane(place(one, False))), shapely.LineString(plane(place(other, True)))
            found = min(found, float(shapely.distance(*placed)))
    return found - thickness_mm


# --- strokes in which nothing swings


def offset_span_mm(blank: Blank, bend: int, *, formed: bool) -> float:
    """Across an offset's zones, from wing to wing."""
    if not formed:
        return 2 * blank.half_span_mm(bend)
    first, last = blank.zones_of[bend][0], blank.zones_of[bend][-1]
    turn = math.radians(abs(blank.turns_deg[first]))
    middles = [blank.radii_mm[zone] + blank.thickness_mm / 2 for zone in (first, last)]
    return sum(middles) * math.sin(turn) + blank.flats_mm[last] * math.cos(turn)


def offset_gap_mm(blank: Blank, bend: int, tools: Tools, line: Line, *, behind: bool) -> float:
    """The least gap of a piece of a wing that goes level from the upper land to its own."""
    standing, coming = tools.seen_from_behind if behind else tools.seen_from_front
    levels, half = tools.levels_mm, blank.thickness_mm / 2
    own, high, low = levels[0 if behind else 1], max(levels), min(levels)
    start = complex(offset_span_mm(blank, bend, formed=False) / 2, high + half)
    end = complex(offset_span_mm(blank, bend, formed=True) / 2, own + half)
    nose = (1j * (high + 2 * half), 1j * (low + 2 * half))

    def gap(shares: Any) -> Any:
        placed = line[None, :] + (start + shares * (end - start))[:, None]
        lifted = placed - (nose[0] + shares * (nose[1] - nose[0]))[:, None]
        near = np.minimum(shapely.distance(_strings(placed), standing), shapely.distance(_strings(lifted), coming))
        return near - half

    return least_over(gap, count=9)


@lru_cache(maxsize=256)
def _from_above(body: shapely.Geometry) -> shapely.Geometry:
    """All that a body sweeps on its way down from far above."""
    points, up = np.array(body.exterior.coords), np.array([0, ABOVE_MM])
    corners = np.stack([points[:-1], points[1:], points[1:] + up, points[:-1] + up], axis=1)
    return shapely.union_all([body, *shapely.convex_hull(shapely.linestrings(corners))])


def leg_is_at_end(blank: Blank, bend: int) -> bool:
    """A hem's leg is the side with less sheet."""
    zone = blank.zones_of[bend][0]
    line = sum(blank.flats_mm[: zone + 1]) + sum(blank.zones_mm[:zone]) + blank.zones_mm[zone] / 2
    return blank.developed_mm - line < line


def hem_height_mm(blank: Blank, bend: int) -> float:
    """From the middle of the body's sheet to that of the leg folded over it."""
    return 2 * (blank.radii_mm[blank.zones_of[bend][0]] + blank.thickness_mm / 2)


def hem_place(blank: Blank, bend: int, line: Line, *, is_leg: bool) -> Line:
    """A line of a wing where it lies while a hem is flattened, the body outward along the real axis."""
    zone = blank.zones_of[bend][0]
    leg = blank.flats_mm[zone + 1 if leg_is_at_end(blank, bend) else zone]
    half = blank.thickness_mm / 2
    if not is_leg:
        return line + complex(-leg / 2, half)
    return line.conj() + complex(-leg / 2, half + hem_height_mm(blank, bend))


def press_gap_mm(blank: Blank, bend: int, tools: Tools, line: Line, *, is_leg: bool, body_behind: bool) -> float:
    """The least gap of a piece of the part that lies on the lower plate while the upper one comes down."""
    standing, coming = tools.seen_from_behind if body_behind else tools.seen_from_front
    placed = hem_place(blank, bend, line, is_leg=is_leg)
    top = 1j * (hem_height_mm(blank, bend) + blank.thickness_mm)
    lowered = shapely.LineString(plane(placed - top))
    bodies = coming if is_leg else shapely.union_all([_from_above(each) for each in _polygons(coming)])
    near = min(
        float(shapely.distance(shapely.LineString(plane(placed)), standing)), float(shapely.distance(lowered, bodies))
    )
    return near - blank.thickness_mm / 2


def _polygons(shape: shapely.Geometry) -> list[shapely.Polygon]:
    return [part for part in shapely.get_parts(shape) if part.geom_type == "Polygon"]
