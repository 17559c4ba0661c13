"""How far the two wings of a hit reach, how high they stand and what they weigh, for all sets of operations at once.

Removing the bends of an operation parts the panel in what hangs on the face before it and what hangs beyond it. A face
of a wing lies where the bends between it and the bend line put it: kept by these few, read for every set. Sheet flat
on the die, middle surfaces; the mass goes with the blank's area, so a formed piece weighs what it weighed flat.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flangewise.geometry import Frame, SpacePoints, area_mm2, hinge_motion
from flangewise.panel_order.operations import PanelOperation
from flangewise.pattern import BendZone, PanelBlank, hinge_of

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


@dataclass(frozen=True)
class Wing:
    """One wing by set: how far it reaches from the bend line, its top and its low over the middle of the flat sheet,
    the distance of its farthest point, and the sum of mass times distance from the line; `kg` is its mass."""

    far_mm: Floats
    top_mm: Floats
    low_mm: Floats
    reach_mm: Floats
    moment_kg_mm: Floats
    kg: float

    def turned_over(self) -> Wing:
        """The same with its other face up."""
        return Wing(self.far_mm, -self.low_mm, -self.top_mm, self.reach_mm, self.moment_kg_mm, self.kg)


@dataclass(frozen=True)
class Wings:
    """The wing with the face before an operation, and what hangs beyond it; the face it is bent toward is up."""

    parent: Wing
    beyond: Wing


@dataclass(frozen=True)
class _Piece:
    """A face of a wing, or a zone between two: the operations on its way, its places by their state, its mass."""

    path: tuple[int, ...]
    points_mm: tuple[SpacePoints, ...]
    centres_mm: tuple[SpacePoints, ...]
    kg: float


def wings_of(blank: PanelBlank, operations: Sequence[PanelOperation], index: int, sets: Ints) -> Wings:
    """Both wings of an operation for sets of operations done, bit i for operation i."""
    operation = operations[index]
    kg_per_mm2 = blank.mass_kg / blank.area_mm2
    stand = _laid_on_line(operation, blank.thickness_mm)
    both = []
    for roots, outward in ((operation.parents, -1.0), (operation.faces, 1.0)):
        pieces = _pieces(blank, operations, index, roots, stand, kg_per_mm2)
        own_kg = kg_per_mm2 * operation.half_zone_mm * sum(math.dist(*zone.line_mm) for zone in operation.zones)
        wing = _summed(pieces, sets, outward, operation.half_zone_mm, own_kg)
        both.append(wing if operation.marked_up else wing.turned_over())
    return Wings(*both)


def _laid_on_line(operation: PanelOperation, thickness_mm: float) -> Frame:
    """The blank with the bend line along the first axis, what is bent at positive second, the middle of it at 0."""
    (x, y), (dx, dy) = operation.zones[0].line_mm[0], operation.along
    return Frame(((dx, dy, 0.0), (-dy, dx, 0.0), (0.0, 0.0, 1.0)), (-dx * x - dy * y, dy * x - dx * y, 0.0))


def _pieces(
    blank: PanelBlank,
    operations: Sequence[PanelOperation],
    index: int,
    roots: Sequence[int],
    stand: Frame,
    kg_per_mm2: float,
) -> list[_Piece]:
    """The faces and inner zones of a wing, from the faces beside the bend outward."""
    made_by = {bend: place for place, operation in enumerate(operations) for bend in operation.bends}
    joints: dict[int, list[tuple[BendZone, int]]] = {}
    for zone in blank.zones:
        if zone.bend not in operations[index].bends:
            joints.setdefault(zone.face_from, []).append((zone, zone.face_to))
            joints.setdefault(zone.face_to, []).append((zone, zone.face_from))
    rings = {face.number: face.outline_mm for face in blank.faces}
    found: list[_Piece] = []
    waiting: list[tuple[int, tuple[int, ...], tuple[Frame, ...]]] = [(root, (), (stand,)) for root in dict.fromkeys(roots)]
    seen = set(roots)
    while waiting:
        face, path, frames = waiting.pop()
        ring = np.array([(x, y, 0.0) for x, y in rings[face]])
        centre = np.array([[*_centroid(rings[face]), 0.0]])
        found.append(
            _Piece(
                path,
                tuple(frame.place(ring) for frame in frames),
                tuple(frame.place(centre) for frame in frames),
                kg_per_mm2 * abs(area_mm2(rings[face])),
            )
        )
        for zone, other in joints.get(face, ()):
            if other in seen:
                continue
            seen.add(other)
            hinge, operation = hinge_of(zone), made_by[zone.bend]
            ways = [
                motion if other == zone.face_to else motion.inverse()
                for motion in (
                    hinge_motion(hinge, turn_deg, thickness_mm=blank.thickness_mm)
                    for turn_deg in (0.0, zone.signed_turn_deg)
                )
            ]
            if operation in path:
                # Bends of one operation on one way are all made or all not.
                place = path.index(operation)
                beyond, way = path, [frame.after(ways[state >> place & 1]) for state, frame in enumerate(frames)]
            else:
                beyond = (*path, operation)
                way = [frame.after(motion) for motion, frame in itertools.product(ways, frames)]
            waiting.append((other, beyond, tuple(way)))
            found.append(_strip(zone, face == zone.face_from, frames, beyond, way, kg_per_mm2))
    return found


def _strip(
    zone: BendZone,
    outward: bool,
    frames: Sequence[Frame],
    beyond: tuple[int, ...],
    way: Sequence[Frame],
    kg_per_mm2: float,
) -> _Piece:
    """An inner zone, met from the face it hangs on (`outward`) or from the other: its mass lies between its edges."""
    (x, y), (to_x, to_y) = zone.line_mm
    middle = np.array([[(x + to_x) / 2, (y + to_y) / 2, 0.0]])
    length_mm, half_mm = math.dist(*zone.line_mm), zone.allowance.allowance_mm / 2
    left = np.array([[-(to_y - y) / length_mm * half_mm, (to_x - x) / length_mm * half_mm, 0.0]])
    ends = (middle - left, middle + left) if outward else (middle + left, middle - left)
    centres = tuple(
        (frames[state % len(frames)].place(ends[0]) + frame.place(ends[1])) / 2 for state, frame in enumerate(way)
    )
    return _Piece(beyond, centres, centres, kg_per_mm2 * 2 * half_mm * length_mm)


def _centroid(ring: Sequence[tuple[float, float]]) -> tuple[float, float]:
    """The centre of area of a ring (textbook)."""
    total = across = up = 0.0
    for (x, y), (to_x, to_y) in zip(ring, (*ring[1:], ring[0]), strict=True):
        cross = x * to_y - to_x * y
        total, across, up = total + cross, across + (x + to_x) * cross, up + (y + to_y) * cross
    return across / (3 * total), up / (3 * total)


def _summed(pieces: Sequence[_Piece], sets: Ints, outward: float, half_mm: float, own_kg: float) -> Wing:
    """All pieces together, set by set, with its half of the bend's own strip."""
    far, reach = np.full(len(sets), half_mm), np.full(len(sets), half_mm)
    top, low = np.zeros(len(sets)), np.zeros(len(sets))
    moment = np.full(len(sets), own_kg * half_mm / 2)
    for piece in pieces:
        state = np.zeros(len(sets), dtype=np.int64)
        for place, operation in enumerate(piece.path):
            state |= (sets >> operation & 1) << place
        ends = np.array(
            [
                (
                    (outward * points[:, 1]).max(),
                    points[:, 2].max(),
                    points[:, 2].min(),
                    np.hypot(points[:, 1], points[:, 2]).max(),
                    outward * centre[0, 1] * piece.kg,
                )
                for points, centre in zip(piece.points_mm, piece.centres_mm, strict=True)
            ]
        )[state]
        far, top = np.maximum(far, ends[:, 0]), np.maximum(top, ends[:, 1])
        low, reach = np.minimum(low, ends[:, 2]), np.maximum(reach, ends[:, 3])
        moment += ends[:, 4]
    return Wing(far, top, low, reach, moment, own_kg + sum(piece.kg for piece in pieces))
