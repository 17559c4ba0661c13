"""A side stop in front of the die: a plate whose face stands square to the bed, on which a side of the part lies.

With one finger on the edge behind it holds the part square, where what touches it spans its least length. It touches
what of the part reaches furthest to its side, between its ends front to back and at its heights. Nothing of the part
may come into the plate through the stroke, and no tool, as if these stood along the whole bed. Derived here.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Literal

import numpy as np

from flangewise.clearance import bodies_met
from flangewise.geometry import Points, SpacePoints
from flangewise.panel_order.footprints import SAME_MM, crossings, footprint
from flangewise.records import dataclass

if TYPE_CHECKING:
    from flangewise.panel_order.hit import SpaceHit

# An edge shorter than this holds nothing square.
LEAST_EDGE_MM = 5.0
MOMENTS = 121

Side = Literal["left", "right"]


@dataclass(frozen=True)
class SidePlate:
    """A machine's side stop: from where to where it reaches, from the die's centre plane toward the operator and over
    the die's top; how thick it is along the bed, which sides it can stand on, the least that it must be touched over.

    `wish_s`: a wish against a finger and this plate where two fingers would do without, in seconds.
    """

    front_mm: tuple[float, float]
    up_mm: tuple[float, float]
    wide_mm: float
    sides: tuple[Side, ...]
    least_mm: float
    wish_s: float


@dataclass(frozen=True)
class SideTouch:
    """What lies at the side stop: on which side it stands as the operator sees it, where its face is along the bed from
    the left end of the bend line, the face whose edge touches it, and from where to where in front of the die."""

    side: Side
    at_mm: float
    face: int
    face_name: str
    touched_mm: tuple[float, float]


def side_touch(hit: SpaceHit, done: frozenset[int]) -> SideTouch | None:
    """Where the part lies on the side stop before a hit, on the side that is touched over most; None for nowhere."""
    plate = None if hit.fingers is None else hit.fingers.side
    if plate is None or _meets_tools(hit, plate):
        return None
    pieces = list(_lying(hit, done))
    found = [
        touch for side in plate.sides if (touch := _touched(hit, plate, side, pieces)) and _is_clear(hit, touch, done)
    ]
    return max(found, key=lambda touch: touch.touched_mm[1] - touch.touched_mm[0], default=None)


def _lying(hit: SpaceHit, done: frozenset[int]) -> Iterator[tuple[int, bool, SpacePoints]]:
    """Every solid of the part on the die with its face, and whether it is of a plate: along the bed from the line's
    left end, toward the operator, over the die's top."""
    half_mm = hit.shapes.blank.thickness_mm / 2
    for wing, way in ((hit.front, 1.0), (hit.behind, -1.0)):
        for face, state in wing.nodes(done):
            for is_plate, solids in ((True, wing.plates), (False, wing.bend)):
                for solid in solids(face, state, half_mm):
                    x, out, up = solid.corners_mm.T
                    yield (
                        face,
                        is_plate,
                        np.column_stack([hit.shift_mm - way * x, way * (out + wing.half_zone_mm), up + half_mm]),
                    )


def _within(corners_mm: SpacePoints, plate: SidePlate) -> Points | None:
    """What of a solid lies at the plate's heights and between its ends, seen from above; None for nothing."""
    cut = footprint(corners_mm, *plate.up_mm)
    if cut is None:
        return None
    points, (low, high) = cut.points_mm, plate.front_mm
    if points[:, 1].max() <= low or points[:, 1].min() >= high:
        return None
    inside = [points[(points[:, 1] >= low) & (points[:, 1] <= high)]]
    return np.concatenate([*inside, *(crossings(points, points[:, 1] - at) for at in plate.front_mm)])


def _touched(
    hit: SpaceHit, plate: SidePlate, side: Side, pieces: list[tuple[int, bool, SpacePoints]]
) -> SideTouch | None:
    """What reaches furthest to a side of the plate, where that is edge enough to lie square."""
    sign = 1.0 if side == "right" else -1.0
    seen = [(face, is_plate, cut) for face, is_plate, solid in pieces if (cut := _within(solid, plate)) is not None]
    if not seen:
        return None
    far_mm = max(float((sign * cut[:, 0]).max()) for _, _, cut in seen)
    edges = []
    for face, is_plate, cut in seen:
        at = cut[sign * cut[:, 0] > far_mm - SAME_MM, 1]
        if is_plate and len(at) and at.max() - at.min() >= LEAST_EDGE_MM:
            edges.append((float(at.min()), float(at.max()), face))
    if not edges:
        return None
    touched = min(low for low, _, _ in edges), max(high for _, high, _ in edges)
    if touched[1] - touched[0] < plate.least_mm:
        return None
    face = max(edges, key=lambda edge: edge[1] - edge[0])[2]
    return SideTouch(side, sign * far_mm, face, hit.shapes.names[face], touched)


def _meets_tools(hit: SpaceHit, plate: SidePlate) -> bool:
    """Whether tools or machine come into the plate, with the punch on the sheet or at the bottom of its stroke."""
    (low, high), (under, over) = plate.front_mm, plate.up_mm
    outline = np.array([(low, under), (high, under), (high, over), (low, over)])
    noses_mm = hit.shapes.blank.thickness_mm, hit.lowest_mm
    return any(bodies_met(outline, hit.tools.stack.bodies, nose_mm=nose_mm) for nose_mm in noses_mm)


def _is_clear(hit: SpaceHit, touch: SideTouch, done: frozenset[int]) -> bool:
    """Whether what reaches beyond the plate's face, outside of it, stays so through the stroke: by the boxes about it,
    each as much larger as it moves to the next moment."""
    assert hit.fingers is not None and hit.fingers.side is not None
    plate, sign, half_mm = hit.fingers.side, 1.0 if touch.side == "right" else -1.0, hit.shapes.blank.thickness_mm / 2
    (low, high), (under, over) = plate.front_mm, plate.up_mm
    face_mm = sign * touch.at_mm
    for wing, way in ((hit.front, 1.0), (hit.behind, -1.0)):
        for node in wing.nodes(done):
            for solid in wing.solids(*node, half_mm):
                reach = sign * (hit.shift_mm - way * solid.corners_mm[:, 0])
                if reach.max() <= face_mm + SAME_MM or reach.min() >= face_mm + plate.wide_mm:
                    continue
                laid = hit.through_mm(solid.corners_mm[:, 1:], MOMENTS, behind=wing is hit.behind)
                far_mm = float(np.abs(np.diff(laid, axis=0)).max())
                least, most = laid.min(axis=1) - far_mm, laid.max(axis=1) + far_mm
                met = (most[:, 0] > low) & (least[:, 0] < high) & (most[:, 1] > under) & (least[:, 1] < over)
                if met.any():
                    return False
    return True
