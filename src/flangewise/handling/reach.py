"""How far the part reaches out from the jaw that holds it, and both from the arm's flange: distances are measured from
what is swept so, not from the arm.

Arm joints and the arm's own reach are not computed. Source: geometry.
"""

import math
from collections.abc import Iterable, Sequence

import numpy as np

from flangewise.geometry import Path
from flangewise.handling.gripper import Grip, GripperShape, HeldPart, frame_of
from flangewise.records import dataclass

Ring = Sequence[tuple[float, float]]


@dataclass(frozen=True)
class Reach:
    """The farthest point of the part from the pads' middle, and of part and gripper from the arm's flange.

    The second is None where the shop does not say how far the pads are from the flange.
    """

    part_mm: float
    arm_mm: float | None


def reach_of(part: HeldPart, shape: GripperShape, grip: Grip, path: Path) -> Reach:
    """How far a part of a shape reaches from a grip: its outline, over its whole length along the bends.

    The flange lies behind the pads along the arm: in the held flat over an edge, off the sheet on a face, along the
    bends beyond the part's end.
    """
    chain = part.chain
    ends = path.ends_mm(2 * grip.flat)
    flat_mm, sheet_mm = chain.flats_mm[grip.flat], chain.thickness_mm
    frame = frame_of(grip, ends, flat_mm, toward_end=True, marked_up=True, thickness_mm=sheet_mm)
    section = path.outline_mm(sheet_mm)
    beside = [side * part.length_mm / 2 - grip.beside_mm for side in (-1, 1)]
    corners = np.array([[*point, along] for point in section for along in beside])
    at = np.array([*frame.at_mm, 0.0])
    part_mm = float(np.linalg.norm(corners - at, axis=1).max())
    if shape.row.flange_mm is None:
        return Reach(part_mm, None)
    ways = {"edge": [*frame.along, 0.0], "face": [*frame.away, 0.0], "end": [0.0, 0.0, 1.0]}
    flange = at + shape.row.flange_mm * np.array(ways[grip.kind])
    half_mm = shape.wide_mm / 2
    body = frame.body_mm(shape.body_mm(grip.kind))
    pads = np.array([[*point, along] for point in body for along in (-half_mm, half_mm)])
    return Reach(part_mm, float(np.linalg.norm(np.vstack([corners, pads]) - flange, axis=1).max()))


def out_of_jaw_mm(outlines_mm: Iterable[Ring], *, along_mm: float) -> float:
    """The farthest corner of a part from a jaw that holds it anywhere, over all shapes that it takes on the way.

    `along_mm` is what reaches farthest beside the jaw along the bends. No corner is farther than the section is wide.

    >>> out_of_jaw_mm([[(0.0, 0.0), (-300.0, 0.0)]], along_mm=400.0)
    500.0
    """
    found = [math.dist(place, point) for outline in outlines_mm for place in outline for point in outline]
    return math.hypot(max(found), along_mm)
