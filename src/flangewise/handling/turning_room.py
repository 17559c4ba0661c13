"""Whether a part can be turned in a gripper: what it sweeps must miss the gripper's own body and fit into its room."""

import math
from collections.abc import Sequence

import numpy as np
import shapely

from flangewise.geometry import Path, Points
from flangewise.handling.gripper import Grip, GripFrame, GripperShape, HeldPart, frame_of

Box = tuple[float, float, float, float]
# What stands over a held face by less lies in it.
SAME_HEIGHT_MM = 0.01


def may_turn(grips: Sequence[Grip], shape: GripperShape, part: HeldPart, path: Path) -> list[bool]:
    """For each grip, whether the part as `path` has it, in its section frame, turns in it without touching the body.

    A part longer than the body is wide sweeps all rings about the axis down to how near its section comes to it.
    """
    return [_turns(grip, shape, part, path) for grip in grips]


def _turns(grip: Grip, shape: GripperShape, part: HeldPart, path: Path) -> bool:
    chain = part.chain
    frame = frame_of(
        grip,
        path.ends_mm(2 * grip.flat),
        chain.flats_mm[grip.flat],
        toward_end=True,
        marked_up=True,
        thickness_mm=chain.thickness_mm,
    )
    body = shape.body_mm(grip.kind)
    rooms = [each.room_mm for each in shape.row.turning if each.room_mm is not None]
    if rooms and swept_radius_mm(grip, frame, part, path) > min(rooms):
        return False
    half_mm = chain.thickness_mm / 2
    keep = shape.row.clear_mm + half_mm
    other = _others(frame, path, grip.flat)
    return not any(shapely.intersects(shapely.box(*box), other) for box in _kept_free(grip, shape, body, keep, half_mm))


def _kept_free(grip: Grip, shape: GripperShape, body: Points, keep_mm: float, half_mm: float) -> list[Box]:
    """Where nothing of the section's middle may be, as the gripper sees it: what the body would be met in as the part
    turns. Over a face it stands on the skin, `half_mm` above the middle: what rises there at all is met."""
    wide_mm = shape.wide_mm / 2
    if grip.kind == "edge":
        radius = math.hypot(float(np.abs(body[:, 1]).max()), wide_mm) + keep_mm
        return [(shape.row.pad_across_mm / 2, -radius, float(body[:, 0].max()) + keep_mm, radius)]
    if grip.kind == "end":
        radius = float(np.hypot(*body.T).max()) + keep_mm
        return [(-radius, -radius, radius, radius)]
    radius = math.hypot(float(np.abs(body[:, 0]).max()), wide_mm) + keep_mm
    return [(-radius, SAME_HEIGHT_MM - half_mm, radius, float(body[:, 1].max()) + keep_mm)]


def swept_radius_mm(grip: Grip, frame: GripFrame, part: HeldPart, path: Path) -> float:
    """How far from the turning axis the part reaches: the sheet's normal of a face, the approach of a jaw."""
    seen = frame.seen_mm(path.points_mm)
    half_mm = part.length_mm / 2 + abs(grip.beside_mm)
    if grip.kind == "end":
        return float(np.hypot(*seen.T).max())
    beside = np.abs(seen[:, 0 if grip.kind == "face" else 1]).max()
    return math.hypot(half_mm, float(beside))


def _others(frame: GripFrame, path: Path, flat: int) -> shapely.Geometry:
    """The section without the held flat, as the gripper sees it."""
    points = frame.seen_mm(path.points_mm)
    pairs = np.stack([points[:-1], points[1:]], axis=1)
    keep = (path.spans[1:] != 2 * flat) | (path.spans[:-1] != 2 * flat)
    return shapely.multilinestrings(list(pairs[keep]))
