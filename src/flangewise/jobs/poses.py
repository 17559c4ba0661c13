"""Where each leg of a part stands in the machine: for the pictures, which name and measure legs one by one."""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from typing import Literal

import numpy as np

from flangewise.geometry import Chain, Path, Points, done_angles, section_path
from flangewise.sheet import FlatPose, Pose

End = Literal["start", "end"]
Outline = Sequence[tuple[float, float]]


def pose_of(chain: Chain, done: Collection[int], outline: Outline, *, marked_up: bool, behind: End) -> Pose:
    """The legs of a part of which the outline in the machine is known, with the zones of `done` formed.

    The section folded on its own is turned and moved so that its rearmost leg comes to lie where the outline has it:
    an outline goes over the upper face from behind to the front and back along the lower, so the middle of its first
    and last points is the middle surface.
    """
    path = _oriented(section_path(chain, done_angles(chain, set(done))), marked_up=marked_up, behind=behind)
    middle = _middle(outline)
    ends = _flat_ends(path, 0 if behind == "start" else chain.bends)
    have, want = ends[1] - ends[0], middle[1] - middle[0]
    placed = _moved(path, math.atan2(want[1], want[0]) - math.atan2(have[1], have[0]), ends[0], middle[0])
    return Pose(tuple(outline), _flats(chain, placed, behind=behind))


def _oriented(path: Path, *, marked_up: bool, behind: End) -> Path:
    """The section as seen from the left end of the machine, its order from behind to the front."""
    flip = np.array([1.0 if behind == "start" else -1.0, 1.0 if marked_up else -1.0])
    seen = Path(path.points_mm * flip, path.normals * flip * (1.0 if marked_up else -1.0), path.spans)
    return seen if behind == "start" else seen.backward()


def _middle(outline: Outline) -> Points:
    points = np.asarray(outline, dtype=float)
    return np.asarray((points + points[::-1])[: len(points) // 2] / 2)


def _flat_ends(path: Path, face: int) -> Points:
    rows = np.flatnonzero(path.spans == 2 * face)
    return path.points_mm[[rows[0], rows[-1]]]


def _moved(path: Path, turn_rad: float, about: Points, onto: Points) -> Path:
    cosine, sine = math.cos(turn_rad), math.sin(turn_rad)
    turn = np.array([[cosine, -sine], [sine, cosine]])
    return Path((path.points_mm - about) @ turn.T + onto, path.normals @ turn.T, path.spans)


def _flats(chain: Chain, path: Path, *, behind: End) -> tuple[FlatPose, ...]:
    flats, from_mm = [], 0.0
    for face, length_mm in enumerate(chain.flats_mm):
        ends = _flat_ends(path, face)
        start, end = ends if behind == "start" else ends[::-1]
        flats.append(FlatPose(face + 1, from_mm, from_mm + length_mm, _point(start), _point(end)))
        from_mm += length_mm + (chain.zones_mm[face] if face < chain.bends else 0.0)
    return tuple(flats)


def _point(point: Points) -> tuple[float, float]:
    return float(point[0]), float(point[1])


def finished_pose(chain: Chain) -> Pose:
    """The finished section, its longest leg level and the rest above it, seen from the left end of the blank.

    The blank lies with its marked face up and its start edge to the operator, so the section runs from right to left.
    """
    path = _oriented(section_path(chain, chain.turns_deg), marked_up=True, behind="end")
    base = max(range(chain.bends + 1), key=lambda face: (round(chain.flats_mm[face], 3), -face))
    ends = _flat_ends(path, base)
    heading = math.atan2(ends[1][1] - ends[0][1], ends[1][0] - ends[0][0])
    level = _moved(path, -heading, ends[0], np.zeros(2))
    if level.points_mm[:, 1].mean() < -1e-9:
        level = _moved(level, math.pi, np.zeros(2), np.zeros(2))
    outline = tuple(_point(point) for point in level.outline_mm(chain.thickness_mm))
    return Pose(outline, _flats(chain, level, behind="end"))


def pre_bent(chain: Chain, done: Collection[int], zone: int, turn_deg: float, *, marked_up: bool, behind: End) -> Path:
    """The section with a hem's zone part of the way, seen from the left end, from behind to the front; not yet placed.

    The turn is a magnitude; the rest of the zone stays flat on both sides of it.
    """
    angles = list(done_angles(chain, set(done) - {zone}))
    angles[zone] = math.copysign(turn_deg, chain.turns_deg[zone])
    return _oriented(section_path(chain, angles), marked_up=marked_up, behind=behind)


def on_die(path: Path, zone: int, *, depth_mm: float, thickness_mm: float) -> Outline:
    """A part-bent section with the bend over the die's centre, its legs rising alike, the nose so deep."""
    rows = np.flatnonzero(path.spans == 2 * zone + 1)
    chord = path.points_mm[rows[-1]] - path.points_mm[rows[0]]
    level = _moved(path, -math.atan2(chord[1], chord[0]), path.points_mm[rows[0]], np.zeros(2))
    bend = level.points_mm[rows]
    middle = (bend[0] + bend[-1]) / 2
    lowest = bend[:, 1].min() - thickness_mm / 2
    placed = _moved(level, 0.0, np.array([middle[0], lowest + thickness_mm + depth_mm]), np.zeros(2))
    return tuple(_point(point) for point in placed.outline_mm(thickness_mm))


def on_plate(path: Path, zone: int, *, leg_last: bool, thickness_mm: float) -> Outline:
    """A pre-bent section lying with its body level on the flattener's lower plate, the bend at the middle."""
    rows = np.flatnonzero(path.spans == 2 * zone + 1)
    inner = rows[0] if leg_last else rows[-1]
    face = np.flatnonzero(path.spans == path.spans[inner - 1 if leg_last else inner + 1])
    along = path.points_mm[face[-1]] - path.points_mm[face[0]]
    level = _moved(path, -math.atan2(along[1], along[0]), path.points_mm[inner], np.zeros(2))
    placed = _moved(level, 0.0, np.array([0.0, -thickness_mm / 2]), np.zeros(2))
    return tuple(_point(point) for point in placed.outline_mm(thickness_mm))
