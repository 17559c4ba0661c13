"""How near a solid of a wing comes in space to tools that stand along stretches of the bed, through a stroke.

Two convex bodies that do not meet are nearest between an edge of the one and an edge of the other, or between a corner
and the side it lies over. Seen from the wing the tool turns; between two moments no point of it moves further than one
of its corners does, so neither does the distance change by more. Source: textbook geometry (from memory); the bound is
the triangle inequality, as in `apart`.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from flangewise.clearance.bodies import Body
from flangewise.clearance.exits import convex_parts
from flangewise.clearance.solids import Solid
from flangewise.clearance.stroke import Stroke
from flangewise.geometry import Points, SpacePoints
from flangewise.records import dataclass

Floats = NDArray[np.float64]

# Moments at first; between two, others are looked at until nothing nearer by as much can lie there.
MOMENTS, NEARER_MM, MOST_ROUNDS = 17, 0.05, 8
ENDLESS_MM, NOTHING = 1e4, 1e-12


@dataclass(frozen=True, eq=False)
class Prism:
    """A convex piece of a tool along a stretch of the bed: its outline as the front wing has it, from where to where on
    that wing's first axis."""

    ring_mm: Points
    along_mm: tuple[float, float]
    with_ram: bool

    @cached_property
    def edges(self) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
        """The two ends of each edge, by the numbers of its corners."""
        return _edges(len(self.ring_mm))


def prisms(body: Body, along_mm: tuple[float, float] | None) -> tuple[Prism, ...]:
    """A body along a stretch, or all along the bed."""
    run = (-ENDLESS_MM, ENDLESS_MM) if along_mm is None else along_mm
    return tuple(Prism(part, run, body.with_ram) for part in convex_parts(body.points_mm))


def least_apart_mm(
    solids: Sequence[Solid], tools: Sequence[Prism], stroke: Stroke, *, below_mm: float = math.inf
) -> float:
    """The least distance of solids of the front wing from tools through the stroke; `below_mm` where none is nearer.

    It may be told more than it is by no more than `NEARER_MM`; 0 where two meet.
    """
    halves = np.linspace(0.0, stroke.half_turn_deg, MOMENTS)
    asked: list[tuple[float, int, int]] = []
    places = [_seen(tool, stroke, halves) for tool in tools]
    ways = [_way_mm(place) for place in places]
    boxes = [(solid.corners_mm.min(axis=0), solid.corners_mm.max(axis=0)) for solid in solids]
    for at, (place, way_mm) in enumerate(zip(places, ways, strict=True)):
        least, most = place.min(axis=1), place.max(axis=1)
        for number, (low, high) in enumerate(boxes):
            gaps = np.maximum(np.maximum(least - high, low - most), 0.0)
            asked.append((float(np.linalg.norm(gaps, axis=1).min()) - way_mm.max() / 2, number, at))
    found = below_mm
    for bound_mm, number, at in sorted(asked):
        if bound_mm >= found:
            break
        found = min(found, _through_mm(solids[number], tools[at], stroke, halves, places[at], found))
    return found


def _through_mm(solid: Solid, tool: Prism, stroke: Stroke, halves: Points, places: Floats, below_mm: float) -> float:
    apart, least = _apart_mm(solid, tool, stroke, halves, places), below_mm
    for _ in range(MOST_ROUNDS):
        least = min(least, float(apart.min()))
        near = np.flatnonzero((apart[:-1] + apart[1:] - _way_mm(places)) / 2 < least - NEARER_MM)
        if not len(near):
            break
        between = (halves[near] + halves[near + 1]) / 2
        more = _seen(tool, stroke, between)
        apart = np.insert(apart, near + 1, _apart_mm(solid, tool, stroke, between, more))
        halves, places = np.insert(halves, near + 1, between), np.insert(places, near + 1, more, axis=0)
    return min(least, float(apart.min()))


def _seen(tool: Prism, stroke: Stroke, halves: Points) -> Floats:
    """The corners of a tool as the wing sees them, (moments, corners, 3)."""
    seen = stroke.seen_mm(tool.ring_mm, halves, with_ram=tool.with_ram)
    ends = [np.concatenate([np.full((*seen.shape[:2], 1), end), seen], axis=2) for end in tool.along_mm]
    return np.concatenate(ends, axis=1)


def _way_mm(places: Floats) -> Floats:
    """How far any corner goes from each moment to the next."""
    found: Floats = np.linalg.norm(np.diff(places, axis=0), axis=2).max(axis=1)
    return found


def _edges(corners: int) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Of two rings one after the other: round the one, round the other, and from each corner to its fellow."""
    ring, following = np.arange(corners), np.roll(np.arange(corners), -1)
    firsts = np.concatenate([ring, ring + corners, ring])
    return firsts, np.concatenate([following, following + corners, ring + corners])


def _apart_mm(solid: Solid, tool: Prism, stroke: Stroke, halves: Points, places: Floats) -> Floats:
    """Their distance at each moment; 0 where a corner of one lies in the other, or edges cross."""
    firsts, lasts = _edges(len(solid.under_mm))
    corners = solid.corners_mm
    found = _segments_mm(corners[firsts], corners[lasts], places[:, tool.edges[0]], places[:, tool.edges[1]])
    found = np.minimum(found, _over_sides_mm(solid, places))
    return np.minimum(found, _over_tool_mm(solid, tool, stroke, halves))


def _segments_mm(one: SpacePoints, its_end: SpacePoints, other: Floats, other_end: Floats) -> Floats:
    """The least distance between any of some lines (lines, 3) and any of others at moments (moments, others, 3)."""
    along, its = (its_end - one)[None, :, None], (other_end - other)[:, None]
    apart = one[None, :, None] - other[:, None]
    own_2, its_2 = (along**2).sum(axis=-1), (its**2).sum(axis=-1)
    cross, lead, its_lead = (along * its).sum(axis=-1), (along * apart).sum(axis=-1), (its * apart).sum(axis=-1)
    wide = own_2 * its_2 - cross**2
    share = np.clip((cross * its_lead - its_2 * lead) / np.where(wide > NOTHING, wide, np.inf), 0.0, 1.0)
    its_share = np.clip((cross * share + its_lead) / np.maximum(its_2, NOTHING), 0.0, 1.0)
    share = np.clip((cross * its_share - lead) / np.maximum(own_2, NOTHING), 0.0, 1.0)
    between = apart + share[..., None] * along - its_share[..., None] * its
    found: Floats = np.sqrt((between**2).sum(axis=-1).min(axis=(1, 2)))
    return found


def _over_sides_mm(solid: Solid, places: Floats) -> Floats:
    """The least distance of a tool's corners from sides of the solid that they lie over; infinite for none."""
    normals, points = solid.facets
    offsets = np.einsum("ij,ij->i", normals, points)
    over = places @ normals.T - offsets
    # What is moved down to a side lies in it if it lies behind all others.
    foot = over[:, :, None, :] - over[..., None] * (normals @ normals.T)
    inside = (foot <= 1e-9).all(axis=-1)
    found: Floats = np.where(inside & (over >= 0), over, np.inf).min(axis=(1, 2))
    return np.where((over <= 0).all(axis=-1).any(axis=-1), 0.0, found)


def _over_tool_mm(solid: Solid, tool: Prism, stroke: Stroke, halves: Points) -> Floats:
    """The least distance of the solid's corners from the tool: from a stretch, and from a convex outline across it."""
    corners = solid.corners_mm
    laid = stroke.laid_mm(corners[:, 1:], halves, from_nose=tool.with_ram)
    low, high = tool.along_mm
    beside = np.maximum(np.maximum(low - corners[:, 0], corners[:, 0] - high), 0.0)
    start, end = tool.ring_mm, np.roll(tool.ring_mm, -1, axis=0)
    edge = end - start
    to = laid[:, :, None] - start
    share = np.clip((to * edge).sum(axis=-1) / np.maximum((edge**2).sum(axis=-1), NOTHING), 0.0, 1.0)
    off = np.linalg.norm(to - share[..., None] * edge, axis=-1).min(axis=-1)
    turned = edge[:, 0] * to[..., 1] - edge[:, 1] * to[..., 0]
    inside = (turned >= 0).all(axis=-1) | (turned <= 0).all(axis=-1)
    found: Floats = np.hypot(beside, np.where(inside, 0.0, off)).min(axis=1)
    return found
