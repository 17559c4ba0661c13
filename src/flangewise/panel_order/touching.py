"""What stop fingers may touch of a panel that lies on the die, and what stands further out, at one height of theirs.

The furthest that anything reaches in a finger's width is what it touches, so what stands further out takes its stretch
of the bed away. An edge that does not run along the bed is no place to touch. Fingers are held clear of the tools as if
these stood along the whole bed, and holes in a flange take their stretch away: both on the careful side.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from flangewise.clearance import Runs, Solid, bodies_met, joined
from flangewise.geometry import Points, SpacePoints
from flangewise.panel_order.footprints import SAME_MM, Footprint, footprint
from flangewise.panel_order.gauging import On
from flangewise.panel_order.side import SideTouch, side_touch
from flangewise.panel_order.wings import Wing
from flangewise.records import dataclass

if TYPE_CHECKING:
    from flangewise.panel_order.hit import SpaceHit

LEVEL_DEG = 0.01
# A standing face is touched where it stands over so much of a finger's height; a slice of it is so high.
CONTACT_MM, SLICE_MM = 4.0, 1e-3
# Which wing, which face in which state, which of its solids.
Node = tuple[bool, int, int, int]
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


class Seen:
    """What stops saw of a hit, kept with it: what hangs on one face in one state is the same whatever else is bent.

    Whether a finger so deep and so high stands `clear` of the tools; the plates of a face that may be touched, and
    where they face a finger of a height; solids with the boxes about them, and cut to a band of heights.
    """

    def __init__(self) -> None:
        """Nothing yet."""
        self.clear: dict[tuple[float, float], bool] = {}
        self.touchable: dict[tuple[int, int], tuple[Touchable, ...]] = {}
        self.faced: dict[tuple[Touchable, float], tuple[float, tuple[float, float]] | None] = {}
        self.boxed: dict[tuple[bool, int, int], tuple[list[SpacePoints], Points, Points]] = {}
        self.cut: dict[tuple[Node, tuple[float, float]], Footprint | None] = {}


class AtHeight:
    """The part on the die, asked at one height of the fingers after the other."""

    def __init__(self, hit: SpaceHit, done: frozenset[int]) -> None:
        self.hit, self.done = hit, done
        self.half_mm = hit.shapes.blank.thickness_mm / 2

    @cached_property
    def plates(self) -> tuple[Touchable, ...]:
        """The plates of the wing behind that stops may touch, if nothing stands further out."""
        known, behind = self.hit.seen.touchable, self.hit.behind
        nodes = list(behind.nodes(self.done))
        for face, state in nodes:
            if (face, state) not in known:
                plates = enumerate(behind.plates(face, state, self.half_mm))
                found = (touchable_of(self.hit, face, state, at, solid) for at, solid in plates)
                known[face, state] = tuple(plate for plate in found if plate is not None)
        return tuple(plate for node in nodes for plate in known[node])

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
        if key not in self.hit.seen.faced:
            self.hit.seen.faced[key] = self._looked_at(plate, r_mm)
        return self.hit.seen.faced[key]

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
        nodes, low, high = self._solids
        near = (high[:, 1] > out_mm) & (high[:, 2] > heights_mm[0]) & (low[:, 2] < heights_mm[1])
        near &= (low[:, 0] < edges_mm[-1][1] + wide_mm) & (high[:, 0] > edges_mm[0][0] - wide_mm)
        whole = near & (low[:, 1] > out_mm) & (low[:, 2] >= heights_mm[0]) & (high[:, 2] <= heights_mm[1])
        found = [(float(low[at, 0]), float(high[at, 0])) for at in np.flatnonzero(whole)]
        if any(run[0] <= edges_mm[0][0] and run[1] >= edges_mm[-1][1] for run in joined(found)):
            return None
        for at in np.flatnonzero(near & ~whole):
            cut = self._cut(nodes[at], heights_mm)
            run = None if cut is None else cut.beyond_mm(out_mm)
            if run is not None:
                found.append(run)
        return found

    def _cut(self, node: Node, heights_mm: tuple[float, float]) -> Footprint | None:
        """One solid in a band of heights."""
        key = node, heights_mm
        if key not in self.hit.seen.cut:
            is_behind, face, state, at = node
            self.hit.seen.cut[key] = footprint(self._boxed(is_behind, face, state)[0][at], *heights_mm)
        return self.hit.seen.cut[key]

    def _boxed(self, is_behind: bool, face: int, state: int) -> tuple[list[SpacePoints], Points, Points]:
        """Corners of a face's solids as the wing behind sees them, and the boxes about them: least, greatest."""
        known = self.hit.seen.boxed
        if (is_behind, face, state) not in known:
            wing = self.hit.behind if is_behind else self.hit.front
            corners = [solid.corners_mm for solid in wing.solids(face, state, self.half_mm)]
            if not is_behind:
                turn, over_mm = np.array([-1.0, -1.0, 1.0]), np.array([0.0, -2 * self.hit.behind.half_zone_mm, 0.0])
                corners = [each * turn + over_mm for each in corners]
            boxes = [(each.min(axis=0), each.max(axis=0)) for each in corners]
            low, high = (np.array([box[end] for box in boxes]).reshape(-1, 3) for end in (0, 1))
            known[is_behind, face, state] = corners, low, high
        return known[is_behind, face, state]

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
        if key not in self.hit.seen.clear:
            outline = np.array(gauge.finger_mm) + np.array([-x_mm, r_mm])
            met = bodies_met(outline, self.hit.tools.stack.bodies, nose_mm=2 * self.half_mm)
            self.hit.seen.clear[key] = not met
        return self.hit.seen.clear[key]

    @cached_property
    def _solids(self) -> tuple[list[Node], Points, Points]:
        """All solids, and the boxes about them: of the wing in front those that reach back beside its own bend."""
        nodes: list[Node] = []
        lows, highs = [], []
        for is_behind, wing in ((True, self.hit.behind), (False, self.hit.front)):
            for face, state in wing.nodes(self.done):
                _, low, high = self._boxed(is_behind, face, state)
                own = np.arange(len(low)) if is_behind else np.flatnonzero(high[:, 1] > 0.0)
                nodes += [(is_behind, face, state, int(at)) for at in own]
                lows.append(low[own])
                highs.append(high[own])
        return nodes, np.concatenate(lows), np.concatenate(highs)

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


def touchable_of(hit: SpaceHit, face: int, state: int, at: int, solid: Solid) -> Touchable | None:
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
