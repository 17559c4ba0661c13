"""A part as a tree of plane faces joined by bend zones, folded and unfolded in space.

The blank lies in the plane up = 0 of (along, developed, up): that plane is the middle of the sheet, the marked face
is half the thickness above it. A hinge is one bend zone: a strip between the edge of one face and the edge of the
next. A section is a chain of faces; a panel with a flange on each edge is a tree, folded by the same code.

Through the bend the neutral line keeps its length, which is the width of the strip: at a turn between flat and done
the arc's inside radius is width / turn - (distance of the neutral line from the inside).
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import numpy as np

from flangewise.geometry.frame import Frame, SpacePoints, shift, turn_about_along, turn_about_up
from flangewise.geometry.outline import Point, Points
from flangewise.records import dataclass

# A turn below this is flat: the arc's radius would only be a large number of no use.
FLAT_DEG = 1e-7


@dataclass(frozen=True)
class Hinge:
    """A bend zone: which faces it joins, where its strip lies on the blank, and what it is bent to.

    `edge_mm` is a point where the strip begins on `face_from`. The bend's axis runs from there in the direction
    `axis_deg` (counterclockwise from along); the strip and `face_to` lie to the left of the axis. `turn_deg` is
    positive toward the marked face; `radius_mm` is the inside radius when done.
    """

    face_from: int
    face_to: int
    edge_mm: Point
    axis_deg: float
    width_mm: float
    turn_deg: float
    radius_mm: float

    @property
    def neutral_mm(self) -> float:
        """How far the line that keeps its length lies from the inside of the bend."""
        return self.width_mm / math.radians(abs(self.turn_deg)) - self.radius_mm

    def radius_at_mm(self, turn_deg: float) -> float:
        """The inside radius at a turn on the way, from the length that is kept; infinite when flat."""
        if abs(turn_deg) < FLAT_DEG:
            return math.inf
        return self.width_mm / math.radians(abs(turn_deg)) - self.neutral_mm


@dataclass(frozen=True)
class Fold:
    """A tree of faces at given turns: the frame of every face, and points of the bent zones between them."""

    thickness_mm: float
    root: int
    hinges: tuple[Hinge, ...]
    turns_deg: tuple[float, ...]
    frames: Mapping[int, Frame]

    def folded_mm(self, face: int, points_mm: Sequence[Point] | Points, *, up_mm: float = 0.0) -> SpacePoints:
        """Points of a face of the blank in space, `up_mm` above the middle of the sheet (+ toward the marked face)."""
        flat = np.asarray(points_mm, dtype=np.float64).reshape(-1, 2)
        return self.frames[face].place(np.column_stack([flat, np.full(len(flat), up_mm)]))

    def arc_mm(self, hinge: int, axis_mm: float, *, up_mm: float = 0.0, chords: int = 8) -> SpacePoints:
        """The curve that a line square to the bend takes through the zone at `axis_mm` along the axis from its edge
        point, `up_mm` above the middle of the sheet, from `face_from` to `face_to`."""
        joint = self.hinges[hinge]
        across, up = _strip_mm(joint, self.turns_deg[hinge], up_mm, chords, thickness_mm=self.thickness_mm)
        base = self.frames[joint.face_from].after(_axis_frame(joint))
        return base.place(np.column_stack([np.full(chords + 1, axis_mm), across, up]))


def fold_tree(
    hinges: Sequence[Hinge],
    turns_deg: Sequence[float],
    *,
    thickness_mm: float,
    root: int = 1,
    stand: Frame | None = None,
) -> Fold:
    """Fold a tree of faces: hinge i turned by `turns_deg[i]` (+ toward the marked face, 0 flat, its own turn: done).

    `root` is the face that stays where `stand` puts it (as it lies on the blank, if left out). Hinges may come in any
    order and reach the root from either side. Raises ValueError where they make no tree or do not reach the root.
    """
    if len(turns_deg) != len(hinges):
        raise ValueError("one turn for each hinge")
    frames = {root: stand or Frame()}
    waiting = list(range(len(hinges)))
    while waiting:
        ready = [index for index in waiting if _reached(hinges[index], frames)]
        if not ready:
            raise ValueError("the hinges do not join every face to the root")
        for index in ready:
            _add_face(frames, hinges[index], turns_deg[index], thickness_mm)
            waiting.remove(index)
    return Fold(thickness_mm, root, tuple(hinges), tuple(turns_deg), frames)


def _reached(hinge: Hinge, frames: Mapping[int, Frame]) -> bool:
    return hinge.face_from in frames or hinge.face_to in frames


def _add_face(frames: dict[int, Frame], hinge: Hinge, turn_deg: float, thickness_mm: float) -> None:
    if hinge.face_from in frames and hinge.face_to in frames:
        raise ValueError(f"faces {hinge.face_from} and {hinge.face_to} are joined twice")
    motion = hinge_motion(hinge, turn_deg, thickness_mm=thickness_mm)
    if hinge.face_from in frames:
        frames[hinge.face_to] = frames[hinge.face_from].after(motion)
    else:
        frames[hinge.face_from] = frames[hinge.face_to].after(motion.inverse())


def hinge_motion(hinge: Hinge, turn_deg: float, *, thickness_mm: float) -> Frame:
    """How a bend turned by `turn_deg` moves the points of `face_to` from where they lie on the flat blank."""
    axis = _axis_frame(hinge)
    past_strip = axis.after(shift(0.0, hinge.width_mm, 0.0))
    return axis.after(_through(hinge, turn_deg, thickness_mm=thickness_mm)).after(past_strip.inverse())


def _axis_frame(hinge: Hinge) -> Frame:
    """From the axis's own coordinates (along it, across into the strip, up) to the blank's."""
    return shift(hinge.edge_mm[0], hinge.edge_mm[1], 0.0).after(turn_about_up(hinge.axis_deg))


def _through(hinge: Hinge, turn_deg: float, *, thickness_mm: float) -> Frame:
    """The frame of the sheet's middle at the end of the strip, in the axis's coordinates."""
    across, up = _strip_mm(hinge, turn_deg, 0.0, 1, thickness_mm=thickness_mm)
    return shift(0.0, float(across[-1]), float(up[-1])).after(turn_about_along(turn_deg))


def _strip_mm(
    hinge: Hinge, turn_deg: float, up_mm: float, chords: int, *, thickness_mm: float
) -> tuple[Points, Points]:
    """Points (across, up) through the strip, `up_mm` above the sheet's middle, in the axis's coordinates."""
    shares = np.linspace(0.0, 1.0, chords + 1)
    if abs(turn_deg) < FLAT_DEG:
        return shares * hinge.width_mm, np.full(chords + 1, up_mm)
    # The circle's centre lies toward the side that is bent to; the point's own radius shrinks by what it is nearer.
    side = math.copysign(1.0, turn_deg)
    middle_mm = hinge.radius_at_mm(turn_deg) + thickness_mm / 2
    turned = shares * math.radians(abs(turn_deg))
    own_mm = middle_mm - side * up_mm
    return own_mm * np.sin(turned), side * (middle_mm - own_mm * np.cos(turned))
