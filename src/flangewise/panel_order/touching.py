"""What stop fingers may touch of a panel that lies on the die, and what stands further out, at one height of theirs.

The furthest that anything reaches in a finger's width is what it touches, so what stands further out takes its stretch
of the bed away. An edge that does not run along the bed is no place to touch. Fingers are held clear of the tools as if
these stood along the whole bed, and holes in a flange take their stretch away: both on the careful side.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from flangewise.clearance import Runs, Solid, bodies_met, joined
from flangewise.geometry import Points, SpacePoints
from flangewise.panel_order.footprints import SAME_MM, footprint
from flangewise.panel_order.gauging import On
from flangewise.panel_order.side import SideTouch, side_touch
from flangewise.panel_order.wings import Wing

if TYPE_CHECKING:
    from flangewise.panel_order.hit import Hit

LEVEL_DEG = 0.01
# A standing face is touched where it stands over so much of a finger's height; a slice of it is so high.
CONTACT_MM, SLICE_MM = 4.0, 1e-3
# The bed's direction and a face's normal are square to each other to within this.
SQUARE = 1e-6


@dataclass(frozen=True)
class Touchable:
    """A plate that stops may touch: its face, how, from which to which height above the die's top, past which bends."""

    face: int
    state: int
    at: int
    on: On
    low_mm: float
    high_mm: float
    far_mm: float
    slope_deg: float


@dataclass(frozen=True)
class Contact:
    """Places of one line along the bed that a finger of one height touches, and those of one plate among them."""

    plate: Touchable
    out_mm: float
    own_mm: tuple[float, float]
    edges_mm: Runs
    banned_mm: Runs


class AtHeight:
    """The part on the die, asked at one height of the fingers after the other."""

    def __init__(self, hit: Hit, done: frozenset[int]) -> None:
        self.hit, self.done = hit, done
        self.half_mm = hit.shapes.blank.thickness_mm / 2
        self._kept: dict[tuple[Touchable, float], tuple[float, tuple[float, float]] | None] = {}

    @cached_property
    def plates(self) -> tuple[Touchable, ...]:
        """The plates of the wing behind that stops may touch, if nothing stands further out."""
        return tuple(
            plate
            for face, state in self.hit.behind.nodes(self.done)
            for at, solid in enumerate(self.hit.behind.plates(face, state, self.half_mm))
            if (plate := touchable_of(self.hit, face, state, at, solid)) is not None
        )

    @cached_property
    def side(self) -> SideTouch | None:
        """What lies at the side stop."""
        return side_touch(self.hit, self.done)

    def contact(self, plate: Touchable, r_mm: float) -> Contact | None:
        """Where fingers so high may touch a plate and what goes on in line with it; None for nowhere."""
        fingers, own = self.hit.fingers, self._faced(plate, r_mm)
        if fingers is None or own is None:
            return None
        out_mm, edge = own
        if not self._is_reached(out_mm + self.hit.behind.half_zone_mm, r_mm):
            return None
        alike = [other for other in self.plates if _alike(other, plate) and other.far_mm > out_mm - SAME_MM]
        faced = [(other, found) for other in alike if (found := self._faced(other, r_mm)) is not None]
        line = [(other, own_edge) for other, (far_mm, own_edge) in faced if abs(far_mm - out_mm) < SAME_MM]
        edges = joined(own_edge for _, own_edge in line)
        low_mm = r_mm - self.half_mm
        banned = self._beyond(edges, out_mm + SAME_MM, (low_mm, low_mm + fingers.high_mm), fingers.width_mm)
        if banned is None:
            return None
        if plate.on == "flange":
            banned += [run for other, _ in line for run in self._holes(other)]
        return Contact(plate, out_mm, edge, edges, joined(banned))

    def _faced(self, plate: Touchable, r_mm: float) -> tuple[float, tuple[float, float]] | None:
        """How far out a plate stands before the face of fingers so high, and along which stretch of the bed."""
        key = plate, r_mm
        if key not in self._kept:
            self._kept[key] = self._looked_at(plate, r_mm)
        return self._kept[key]

    def _looked_at(self, plate: Touchable, r_mm: float) -> tuple[float, tuple[float, float]] | None:
        fingers, low_mm = self.hit.fingers, r_mm - self.half_mm
        assert fingers is not None
        solid = self.hit.behind.solids(plate.face, plate.state, self.half_mm)[plate.at]
        faced = footprint(solid.corners_mm, low_mm, low_mm + fingers.face_mm)
        # What slopes is touched on its edge, or not at all.
        if faced is None or (plate.on == "edge" and faced.far_mm < plate.far_mm - SAME_MM):
            return None
        edge = faced.far_edge_mm
        if plate.on == "flange":
            edge = _standing_mm(solid, plate, self.half_mm, (r_mm, r_mm + fingers.face_mm))
        return (faced.far_mm, edge) if edge[1] - edge[0] > SAME_MM else None

    def _beyond(
        self, edges_mm: Runs, out_mm: float, heights_mm: tuple[float, float], wide_mm: float
    ) -> list[tuple[float, float]] | None:
        """The stretches of the bed in which something stands further out in a band of heights, near some edges.

        None where one stretch holds them all. Most solids are told by the boxes about them.
        """
        corners, low, high = self._solids
        near = (high[:, 1] > out_mm) & (high[:, 2] > heights_mm[0]) & (low[:, 2] < heights_mm[1])
        near &= (low[:, 0] < edges_mm[-1][1] + wide_mm) & (high[:, 0] > edges_mm[0][0] - wide_mm)
        whole = near & (low[:, 1] > out_mm) & (low[:, 2] >= heights_mm[0]) & (high[:, 2] <= heights_mm[1])
        found = [(float(low[at, 0]), float(high[at, 0])) for at in np.flatnonzero(whole)]
        if any(run[0] <= edges_mm[0][0] and run[1] >= edges_mm[-1][1] for run in joined(found)):
            return None
        for at in np.flatnonzero(near & ~whole):
            cut = footprint(corners[at], *heights_mm)
            run = None if cut is None else cut.beyond_mm(out_mm)
            if run is not None:
                found.append(run)
        return found

    def _is_reached(self, x_mm: float, r_mm: float) -> bool:
        """Whether a finger may stand there: within its travel, clear of the tools with the punch on the sheet."""
        fingers = self.hit.fingers
        assert fingers is not None
        gauge = fingers.gauge
        if not (gauge.x_min_mm <= x_mm <= gauge.x_max_mm and gauge.r_min_mm <= r_mm <= gauge.r_max_mm):
            return False
        # Behind all of them there is nothing to meet.
        if x_mm >= -min(across for body in self.hit.tools.stack.bodies for across, _ in body.points_mm):
            return True
        key = round(x_mm, 3), round(r_mm, 3)
        if key not in self.hit.clear_of_tools:
            outline = np.array(gauge.finger_mm) + np.array([-x_mm, r_mm])
            met = bodies_met(outline, self.hit.tools.stack.bodies, nose_mm=2 * self.half_mm)
            self.hit.clear_of_tools[key] = not met
        return self.hit.clear_of_tools[key]

    @cached_property
    def _solids(self) -> tuple[list[SpacePoints], Points, Points]:
        """Corners of all solids as the wing behind sees them, and the boxes about them: least, greatest.

        Of the wing in front those that reach back beside its own bend.
        """
        hit, over_mm = self.hit, np.array([0.0, -2 * self.hit.behind.half_zone_mm, 0.0])
        corners = [solid.corners_mm for solid in solids_of(hit.behind, self.done, self.half_mm)]
        corners += [
            solid.corners_mm * np.array([-1.0, -1.0, 1.0]) + over_mm
            for solid in solids_of(hit.front, self.done, self.half_mm)
            if solid.corners_mm[:, 1].min() < over_mm[1]
        ]
        starts = np.cumsum([0, *(len(each) for each in corners[:-1])])
        every = np.concatenate(corners)
        return corners, np.minimum.reduceat(every, starts), np.maximum.reduceat(every, starts)

    def _holes(self, plate: Touchable) -> Iterator[tuple[float, float]]:
        """The stretches of the bed that holes of a face take up."""
        frame = self.hit.behind.frame(plate.face, plate.state)
        for hole in self.hit.shapes.blank.holes:
            if hole.face == plate.face:
                (x, y), (half, deep), (dx, dy) = hole.centre_mm, hole.half_size_mm, hole.along
                corners = [
                    (x + i * half * dx - j * deep * dy, y + i * half * dy + j * deep * dx, 0.0)
                    for i in (-1, 1)
                    for j in (-1, 1)
                ]
                along = frame.place(corners)[:, 0]
                yield float(along.min()), float(along.max())


def _standing_mm(solid: Solid, plate: Touchable, half_mm: float, face_mm: tuple[float, float]) -> tuple[float, float]:
    """Where along the bed a standing plate is there over the least height that is touched, on a finger's face.

    What of a convex plate is there at the lower and the upper end of a height is there between.
    """
    low, high = max(face_mm[0], plate.low_mm), min(face_mm[1], plate.high_mm)
    least_mm = min(CONTACT_MM, high - low) / 2
    slices = [
        footprint(solid.corners_mm, at - SLICE_MM, at + SLICE_MM)
        for at in ((low + high) / 2 - half_mm - least_mm, (low + high) / 2 - half_mm + least_mm)
    ]
    edges = [each.far_edge_mm for each in slices if each is not None]
    if len(edges) < len(slices):
        return 0.0, 0.0
    return max(edge[0] for edge in edges), min(edge[1] for edge in edges)


def solids_of(wing: Wing, done: frozenset[int], half_mm: float) -> Iterator[Solid]:
    """All solids of a wing with some bends bent."""
    for node in wing.nodes(done):
        yield from wing.solids(*node, half_mm)


def _alike(one: Touchable, other: Touchable) -> bool:
    return one.on == other.on and bool(one.state) == bool(other.state)


def touchable_of(hit: Hit, face: int, state: int, at: int, solid: Solid) -> Touchable | None:
    """A plate as a place to touch, by how it stands; None for one that neither lies, slopes a little, nor stands."""
    assert hit.fingers is not None
    gauge, half_mm = hit.fingers.gauge, hit.shapes.blank.thickness_mm / 2
    along, out, up = (abs(float(value)) for value in hit.behind.frame(face, state).normal)
    corners = solid.corners_mm
    far_mm = float(corners[:, 1].max())
    heights = corners[:, 2] + half_mm
    # Seen along the bed; a face that is turned to the bed has no edge along it.
    slope_deg = math.degrees(math.atan2(out, up)) if along < SQUARE else 90.0
    if 90.0 - slope_deg <= gauge.square_deg and along < SQUARE:
        low_mm, high_mm = float(heights.min()), float(heights.max())
        if high_mm - low_mm < gauge.contact_mm:
            return None
        return Touchable(face, state, at, "flange", low_mm, high_mm, far_mm, 0.0)
    tilt_deg = math.degrees(math.acos(min(up, 1.0)))
    if tilt_deg > gauge.level_deg:
        return None
    # Both skins at the edge: of a slope the one reaches less far.
    edge = heights[corners[:, 1] > far_mm - 2 * half_mm * math.sin(math.radians(slope_deg)) - SAME_MM]
    middle_mm = float(edge.min() + edge.max()) / 2
    return Touchable(face, state, at, "edge", middle_mm, middle_mm, far_mm, tilt_deg if tilt_deg > LEVEL_DEG else 0.0)
