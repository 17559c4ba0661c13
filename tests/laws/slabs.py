"""Faces in space against tools that reach along the bed from one place to another.

A tool segment is a profile stretched from x0 to x1 along the bed. A point lies in it when x is between
and (across, up) is in the profile, so a face meets it when the part of the face between x0 and x1, seen
along the bed, meets the profile; with a swept region in place of the profile the whole stroke is one
still question, as for a section, which is one slab as long as the part. Asked the other way round: along
which stretches of the bed must no tool stand because of a face. All in the wing's frame, x along the bed.
Source: derived here.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from flangewise.clearance import Region
from flangewise.geometry import SpacePoints

Stretch = tuple[float, float]

PARALLEL = 1e-9
JOIN_MM = 1e-6
ROUND_SEGMENTS = 16


@dataclass(frozen=True)
class SpaceFace:
    """A plane face of a part: its middle surface as a ring of points (along, across, up), and its holes."""

    ring_mm: SpacePoints
    holes_mm: tuple[SpacePoints, ...] = ()

    def normal(self) -> SpacePoints:
        """Unit normal. Raises ValueError for a ring without area."""
        first = self.ring_mm - self.ring_mm[0]
        normal = np.cross(first[:-1], first[1:]).sum(axis=0)
        size = float(np.linalg.norm(normal))
        if size < PARALLEL:
            raise ValueError("a face needs an area")
        unit: SpacePoints = normal / size
        return unit


def forbidden_stretches(faces: Sequence[SpaceFace], region: Region, *, thickness_mm: float) -> tuple[Stretch, ...]:
    """Stretches along the bed where no tool of the region may stand because of these faces, joined and sorted.

    A face along the bed is met in the region grown by half the sheet, exactly. For a face across the bed
    the bare region counts, and half the sheet is added at both ends of its stretch.
    """
    found: list[Stretch] = []
    bare = shapely.union_all(region.pieces)
    grown = shapely.buffer(bare, region.grow_mm, quad_segs=ROUND_SEGMENTS)
    for face in faces:
        normal = face.normal()
        if abs(normal[0]) < PARALLEL:
            found.extend(_along_bed(face, grown))
        else:
            half = thickness_mm / 2 * abs(float(normal[0]))
            found.extend((low - half, high + half) for low, high in _across_bed(face, bare, normal))
    return joined(found)


def _along_bed(face: SpaceFace, region: shapely.Geometry) -> Iterator[Stretch]:
    """Seen along the bed the face is a line; the region cuts strips from it, and strips cut the face."""
    origin = face.ring_mm[0]
    direction = np.array([0.0, *_direction(face.ring_mm[:, 1:])])
    flat = shapely.Polygon(*_rings(face, origin, direction))
    reach = shapely.get_coordinates(flat)[:, 1]
    ends = [origin[1:] + direction[1:] * value for value in (reach.min(), reach.max())]
    cut = shapely.intersection(shapely.LineString(ends), region)
    for strip in shapely.get_parts(cut):
        if strip.is_empty:
            continue
        values = (shapely.get_coordinates(strip) - origin[1:]) @ direction[1:]
        band = shapely.box(flat.bounds[0] - 1, values.min() - JOIN_MM, flat.bounds[2] + 1, values.max() + JOIN_MM)
        yield from _extents(shapely.intersection(flat, band), origin[0])


def _rings(face: SpaceFace, origin: SpacePoints, direction: SpacePoints) -> tuple[SpacePoints, list[SpacePoints]]:
    def seen(ring: SpacePoints) -> SpacePoints:
        return np.column_stack([ring[:, 0] - origin[0], (ring - origin) @ direction])

    return seen(face.ring_mm), [seen(hole) for hole in face.holes_mm]


def _direction(points: SpacePoints) -> SpacePoints:
    """Direction of points that lie on one line."""
    spread = points - points[0]
    longest = spread[int(np.argmax(np.linalg.norm(spread, axis=1)))]
    unit: SpacePoints = longest / np.linalg.norm(longest)
    return unit


def _across_bed(face: SpaceFace, region: shapely.Geometry, normal: SpacePoints) -> Iterator[Stretch]:
    """Seen along the bed the face is an area, one-to-one: what the region cuts from it, read back to x."""
    seen = shapely.Polygon(face.ring_mm[:, 1:], [hole[:, 1:] for hole in face.holes_mm])
    origin = face.ring_mm[0]
    for part in shapely.get_parts(shapely.intersection(shapely.make_valid(seen), region)):
        points = shapely.get_coordinates(part)
        if len(points):
            along = origin[0] - (points - origin[1:]) @ normal[1:] / normal[0]
            yield float(along.min()), float(along.max())


def _extents(geometry: shapely.Geometry, start_mm: float) -> Iterator[Stretch]:
    for part in shapely.get_parts(geometry):
        if not part.is_empty:
            yield float(part.bounds[0] + start_mm), float(part.bounds[2] + start_mm)


def joined(stretches: Sequence[Stretch]) -> tuple[Stretch, ...]:
    """Overlapping and touching stretches made one, sorted."""
    merged: list[Stretch] = []
    for low, high in sorted(stretches):
        if merged and low <= merged[-1][1] + JOIN_MM:
            merged[-1] = (merged[-1][0], max(merged[-1][1], high))
        else:
            merged.append((low, high))
    return tuple(merged)


def free_stretches(from_mm: float, to_mm: float, forbidden: Sequence[Stretch]) -> tuple[Stretch, ...]:
    """What of a bend line is left for tools."""
    free, at = [], from_mm
    for low, high in joined(forbidden):
        if low > at:
            free.append((at, min(low, to_mm)))
        at = max(at, high)
    if at < to_mm:
        free.append((at, to_mm))
    return tuple((low, high) for low, high in free if high - low > JOIN_MM)


def fits(lengths_mm: Sequence[float], bend_mm: Stretch, forbidden: Sequence[Stretch], *, shortfall_mm: float) -> bool:
    """Whether a row of segments, set side by side, can stand on a bend line clear of what is forbidden.

    The row must leave no more than `shortfall_mm` of the line uncovered at each end.
    """
    total = sum(lengths_mm)
    for low, high in free_stretches(bend_mm[0], bend_mm[1], forbidden):
        latest = min(high - total, bend_mm[0] + shortfall_mm)
        earliest = max(low, bend_mm[1] - shortfall_mm - total)
        if earliest <= latest + JOIN_MM:
            return True
    return False
