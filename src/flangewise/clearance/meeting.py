"""Does a part meet itself in space while two of its wings are folded together.

Two convex solids are apart by no less than the widest gap between their shadows on the normals of their sides and the
normals of pairs of their edges. No point of one comes nearer to the other faster than it is far from the bend, so
between two moments h apart nothing meets where the two gaps together are more than the speed times h; where that is
not certain the time between is halved. Boxes about the solids are asked first, in the same way. Source: separating
axes and conservative advancement, textbook (from memory).
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from flangewise.clearance.solids import Solid
from flangewise.clearance.stroke import Stroke
from flangewise.geometry import Points, SpacePoints, Vector
from flangewise.records import dataclass

# Moments looked at first, and how near two may come; a pair of edges that are parallel to this has no normal.
MOMENTS, LEAST_STEP_DEG, PARALLEL = 9, 0.02, 1e-6
# What of the bed two solids must share to meet.
SHARED_MM = 1e-9


@dataclass(frozen=True)
class SpaceMeeting:
    """Two solids of the two wings that meet, by their numbers.

    `turn_deg`: of the bend, where they meet first, as far as was looked at; `overlap_mm`: the most they overlap by.
    """

    front: int
    behind: int
    turn_deg: float
    overlap_mm: float


def solids_meet(front: Sequence[Solid], behind: Sequence[Solid], stroke: Stroke) -> SpaceMeeting | None:
    """The deepest meeting of solids of the front wing with solids of the wing behind, each in its own wing's frame.

    The wings' first axes run against each other along the bed, their origins over one point of it.
    """
    if not front or not behind:
        return None
    found = None
    for one, other in zip(*np.nonzero(_near(front, behind, stroke)), strict=True):
        met = _meet(front[one], behind[other], stroke)
        if met is not None and (found is None or met[1] > found.overlap_mm):
            found = SpaceMeeting(int(one), int(other), *met)
    return found


def _speed_mm(solid: Solid, stroke: Stroke) -> float:
    """No corner of a solid moves faster, seen from the bend's centre, for each radian of half turn.

    As fast as it is far from its wing's edge, and that edge itself: m about the centre, and the zone that is used up.
    What the centre itself does both wings do.
    """
    middle_mm, half_rad = stroke.radius_mm + stroke.thickness_mm / 2, math.radians(stroke.half_turn_deg)
    edge_mm = middle_mm + stroke.zone_mm / 2 * (1 + 1 / half_rad)
    return float(np.linalg.norm(solid.corners_mm[:, 1:], axis=1).max()) + edge_mm


def _near(front: Sequence[Solid], behind: Sequence[Solid], stroke: Stroke) -> NDArray[np.bool_]:
    """Which pairs may meet, by the boxes about them at a few moments."""
    halves = np.linspace(0.0, stroke.half_turn_deg, MOMENTS)
    lows, highs = zip(
        *(_boxes(solids, stroke, halves, behind=at) for solids, at in ((front, False), (behind, True))), strict=True
    )
    apart = np.maximum(lows[1][:, None, :] - highs[0][:, :, None], lows[0][:, :, None] - highs[1][:, None, :])
    speeds = [np.array([_speed_mm(solid, stroke) for solid in solids]) for solids in (front, behind)]
    gaps = apart[..., 1:].max(axis=-1)
    step = math.radians(halves[1])
    may = gaps[:-1] + gaps[1:] <= (speeds[0][:, None] + speeds[1][None, :]) * step
    on_one_stretch: NDArray[np.bool_] = apart[0, ..., 0] < -SHARED_MM
    near: NDArray[np.bool_] = on_one_stretch & may.any(axis=0)
    return near


def _boxes(
    solids: Sequence[Solid], stroke: Stroke, halves: Points, *, behind: bool
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Least and greatest coordinates of solids at moments of the stroke, (moments, solids, 3)."""
    counts = [len(solid.corners_mm) for solid in solids]
    laid = _laid(np.concatenate([solid.corners_mm for solid in solids]), stroke, halves, behind=behind)
    starts = np.concatenate([[0], np.cumsum(counts)[:-1]])
    return np.minimum.reduceat(laid, starts, axis=1), np.maximum.reduceat(laid, starts, axis=1)


def _laid(corners: SpacePoints, stroke: Stroke, halves: Points, *, behind: bool) -> NDArray[np.float64]:
    """Corners of a wing in the machine, (moments, corners, 3): as the front wing sees the bed."""
    placed = stroke.laid_mm(corners[:, 1:], halves)
    side = -1.0 if behind else 1.0
    along = np.broadcast_to(side * corners[:, 0], placed.shape[:2])
    found: NDArray[np.float64] = np.stack([along, side * placed[..., 0], placed[..., 1]], axis=-1)
    return found


def _turned(vectors: SpacePoints, halves: Points, *, behind: bool) -> NDArray[np.float64]:
    """Directions of a wing in the machine, (moments, vectors, 3)."""
    angles = np.radians(halves)
    cos, sin = np.cos(angles)[:, None], np.sin(angles)[:, None]
    side = -1.0 if behind else 1.0
    along = np.broadcast_to(side * vectors[:, 0], (len(halves), len(vectors)))
    out, up = vectors[:, 1] * cos - vectors[:, 2] * sin, vectors[:, 1] * sin + vectors[:, 2] * cos
    found: NDArray[np.float64] = np.stack([along, side * out, up], axis=-1)
    return found


def _meet(one: Solid, other: Solid, stroke: Stroke) -> tuple[float, float] | None:
    """At which turn two solids meet, and how deep at most; None where it is certain that they do not."""
    speed_mm = _speed_mm(one, stroke) + _speed_mm(other, stroke)
    at = asked = np.linspace(0.0, stroke.half_turn_deg, MOMENTS)
    gaps = _gaps(one, other, stroke, asked)
    while not (gaps <= 0).any():
        steps = np.diff(at)
        near = (gaps[:-1] + gaps[1:] <= speed_mm * np.radians(steps)) & (steps > LEAST_STEP_DEG / 2)
        if not near.any():
            return None
        asked = ((at[:-1] + at[1:]) / 2)[near]
        order = np.argsort(np.concatenate([at, asked]))
        gaps = np.concatenate([gaps, _gaps(one, other, stroke, asked)])[order]
        at = np.concatenate([at, asked])[order]
    return float(2 * at[np.argmax(gaps <= 0)]), float(-gaps.min())


def at_rest(one: Solid, other: Solid) -> float:
    """By how much two solids that stand in one frame overlap at least; 0 where they are apart or only touch."""
    axes, unreal = _axes(*(tuple(each[None] for each in solid.axes) for solid in (one, other)))
    first, last = (solid.corners_mm[None] @ axes for solid in (one, other))
    return max(0.0, -float(np.where(unreal, -np.inf, _widest(first, last)).max()))


def slid_into(one: Solid, other: Solid, way_mm: Vector) -> float:
    """By how much at least what a solid sweeps on a straight way overlaps another; 0 where they stay apart or touch.

    What it sweeps is convex: its sides are the solid's own and those that its edges sweep.
    """
    way = np.array(way_mm)
    along = way / max(float(np.linalg.norm(way)), PARALLEL)
    normals, edges = zip(one.axes, other.axes, strict=True)
    axes, unreal = _axes(
        *((own[None], np.vstack([edge, along])[None]) for own, edge in zip(normals, edges, strict=True))
    )
    first, last = (solid.corners_mm[None] @ axes for solid in (one, other))
    swept = np.concatenate([first, first + way @ axes], axis=1)
    return max(0.0, -float(np.where(unreal, -np.inf, _widest(swept, last)).max()))


def _gaps(one: Solid, other: Solid, stroke: Stroke, halves: Points) -> NDArray[np.float64]:
    """The widest gap of two solids at each moment; negative: by how much they overlap at least."""
    both = ((one, False), (other, True))
    turned = (tuple(_turned(each, halves, behind=behind) for each in solid.axes) for solid, behind in both)
    axes, unreal = _axes(*turned)
    first, last = (_laid(solid.corners_mm, stroke, halves, behind=behind) @ axes for solid, behind in both)
    found: NDArray[np.float64] = np.where(unreal, -np.inf, _widest(first, last)).max(axis=1)
    return found


def _axes(
    one: tuple[NDArray[np.float64], ...], other: tuple[NDArray[np.float64], ...]
) -> tuple[NDArray[np.float64], NDArray[np.bool_]]:
    """Directions to look along, (moments, 3, directions), and which of them are none: of edges that are parallel."""
    crossed = np.cross(one[1][:, :, None], other[1][:, None]).reshape(len(one[1]), -1, 3)
    lengths = np.linalg.norm(crossed, axis=-1)
    axes = np.concatenate([one[0], other[0], crossed / np.maximum(lengths, PARALLEL)[..., None]], axis=1)
    plain = np.zeros((len(axes), one[0].shape[1] + other[0].shape[1]), dtype=bool)
    return axes.transpose(0, 2, 1), np.concatenate([plain, lengths <= PARALLEL], axis=1)


def _widest(first: NDArray[np.float64], last: NDArray[np.float64]) -> NDArray[np.float64]:
    """The gap along each direction of corners seen along them."""
    gaps: NDArray[np.float64] = np.maximum(last.min(axis=1) - first.max(axis=1), first.min(axis=1) - last.max(axis=1))
    return gaps
