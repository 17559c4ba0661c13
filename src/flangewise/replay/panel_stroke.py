"""A panel's hit stepped through: clouds of points of both wings against the outlines of tools over their rows.

At half a turn h the outer face of each wing is tangent to the sheet's outer arc and to the die's shoulder arc, which
gives where the arc's centre stands above the die (as for sections, `stroke.Vee`); the wing begins where the arc ends.
"""

import math
from collections.abc import Iterator, Mapping, Sequence
from typing import Literal, Protocol

import numpy as np
import shapely
from numpy.typing import NDArray

from flangewise.records import dataclass, replace
from flangewise.replay.bodies import Corners, Solid, Stack
from flangewise.replay.panel_fold import CONTACT_MM, Array, Cloud, FaceNumbers, PanelNumbers, Wings
from flangewise.replay.panel_plan import TooledRow
from flangewise.replay.stroke import Vee

MOMENTS = 61
# A point this deep in a body has struck it: chords of arcs, and the print of true contact.
STRUCK_MM = 0.05
# Through the ram's way up or down it is looked so often.
RAM_STEP_MM = 2.0
# Of very many points that strike, so many tell how deep.
MOST_ASKED = 400
# What stands further behind a stop's face than this is not what it should meet.
REACH_MM = 15.0

Side = Literal["before", "behind"]


@dataclass(frozen=True)
class Ears:
    """What of an ear stands: over its outer reach only what lies below its foot. None: the whole outline stands."""

    reach_mm: float
    foot_mm: float


@dataclass(frozen=True)
class Moving:
    """A hit's stroke: the vee, sheet and bend, and the turn it ends at under load."""

    vee: Vee
    thickness_mm: float
    radius_mm: float
    width_mm: float
    loaded_deg: float

    def placed(self, cloud: Cloud, turn_deg: float, side: Side) -> Array:
        """A wing's points in the machine at a turn: x, y to the back, z up."""
        half = math.radians(turn_deg) / 2
        centre_mm = self.centre_mm(turn_deg)
        middle_mm = self.radius_mm + self.thickness_mm / 2
        taken_mm = self.width_mm / 2 * (turn_deg / self.loaded_deg if self.loaded_deg else 0.0)
        out, up = cloud.points_mm[:, 1] - taken_mm, cloud.points_mm[:, 2]
        sin, cos = math.sin(half), math.cos(half)
        away = middle_mm * sin + out * cos - up * sin
        high = centre_mm - middle_mm * cos + out * sin + up * cos
        # Column by column in memory: so they are asked, many times over.
        return np.array([cloud.points_mm[:, 0], away if side == "behind" else -away, high]).T

    def back(self, points_mm: Array, turn_deg: float, side: Side) -> Array:
        """Points of the machine in the frame of a wing: along the bed, out along the sheet, up."""
        half = math.radians(turn_deg) / 2
        middle_mm = self.radius_mm + self.thickness_mm / 2
        taken_mm = self.width_mm / 2 * (turn_deg / self.loaded_deg if self.loaded_deg else 0.0)
        sin, cos = math.sin(half), math.cos(half)
        away = (points_mm[:, 1] if side == "behind" else -points_mm[:, 1]) - middle_mm * sin
        high = points_mm[:, 2] - (self.centre_mm(turn_deg) - middle_mm * cos)
        return np.column_stack([points_mm[:, 0], away * cos + high * sin + taken_mm, high * cos - away * sin])

    def centre_mm(self, turn_deg: float) -> float:
        """How high the centre of the bend's arc stands above the die's top."""
        half = np.array([math.radians(turn_deg) / 2])
        return float(self.vee.arc_centre_mm(half, radius_mm=self.radius_mm, thickness_mm=self.thickness_mm)[0])

    def nose_up_mm(self, turn_deg: float) -> float:
        """How high the punch nose stands above the die's top."""
        return self.centre_mm(turn_deg) - self.radius_mm

    @property
    def turns_deg(self) -> Array:
        """The turns that are looked at."""
        return np.linspace(0.0, self.loaded_deg, MOMENTS)


class Stroke(Protocol):
    """How both wings go through a hit."""

    @property
    def turns_deg(self) -> Array:
        """The turns that are looked at."""

    def nose_up_mm(self, turn_deg: float) -> float:
        """How high what comes down stands then."""

    def placed(self, cloud: Cloud, turn_deg: float, side: Side) -> Array:
        """A wing's points in the machine at a turn."""

    def back(self, points_mm: Array, turn_deg: float, side: Side) -> Array:
        """Points of the machine in the frame of a wing."""


@dataclass(frozen=True)
class PanelStrike:
    """The deepest meeting of part and a body: at which turn, how deep, which face, and where along the bed.

    `beside`: the body belongs to another station.
    """

    body: str
    turn_deg: float
    overlap_mm: float
    face: int
    at_mm: float
    beside: bool = False


@dataclass(frozen=True)
class Standing:
    """A body as it stands for one hit: over which stretches of the bed, ears' feet told apart."""

    name: str
    outline: shapely.Geometry
    low_high: tuple[Array, Array]
    with_ram: bool
    runs_mm: tuple[tuple[float, float, float], ...]
    beside: bool = False

    def struck(self, points_mm: Array, nose_up_mm: float) -> NDArray[np.bool_]:
        """Which points lie in the body while the nose stands so high. Across is toward the operator."""
        # Most points lie over or under a body: what does not is asked for the rest.
        found = np.zeros(len(points_mm), dtype=bool)
        (left, low), (right, high) = self.low_high
        up = points_mm[:, 2] - (nose_up_mm if self.with_ram else 0.0)
        near = np.flatnonzero((up > low) & (up < high))
        across = -points_mm[near, 1]
        beside = (across > left) & (across < right)
        near, across = near[beside], across[beside]
        along, up = points_mm[near, 0], up[near]
        over = np.zeros(len(near), dtype=bool)
        for from_mm, to_mm, foot_mm in self.runs_mm:
            over |= (along > from_mm) & (along < to_mm) & (up < foot_mm)
        if over.any():
            found[near[over]] = shapely.contains_xy(self.outline, across[over], up[over])
        return found

    def is_past(self, low_mm: Array, high_mm: Array, nose_up_mm: float) -> bool:
        """Whether points between two corners all lie beside, over or under the body while the nose stands so high."""
        (left, low), (right, high) = self.low_high
        up = nose_up_mm if self.with_ram else 0.0
        return bool(
            high_mm[2] - up <= low
            or low_mm[2] - up >= high
            or -low_mm[1] <= left
            or -high_mm[1] >= right
            or all(high_mm[0] <= from_mm or low_mm[0] >= to_mm for from_mm, to_mm, _ in self.runs_mm)
        )

    def deep_mm(self, points_mm: Array, nose_up_mm: float) -> Array:
        """How deep points lie within the body, by the nearest way out of it along or across the bed."""
        across, up = -points_mm[:, 1], points_mm[:, 2] - (nose_up_mm if self.with_ram else 0.0)
        edge: Array = shapely.distance(self.outline.exterior, shapely.points(across, up))
        for from_mm, to_mm, _ in self.runs_mm:
            along = points_mm[:, 0]
            within = (along > from_mm) & (along < to_mm)
            edge = np.where(within, np.minimum(edge, np.minimum(along - from_mm, to_mm - along)), edge)
        return edge


def standing(stack: Stack, punch_row: TooledRow, die_row: TooledRow, ears: Ears | None) -> tuple[Standing, ...]:
    """The bodies of a hit: punch and die over their rows, ram and bed everywhere."""
    everywhere = ((-math.inf, math.inf, math.inf),)
    rows = {"punch": _punch_runs(punch_row, ears), "die": tuple((*block, math.inf) for block in die_row.blocks_mm)}
    return tuple(_standing(solid, rows.get(solid.name, everywhere)) for solid in stack.solids)


def standing_beside(stack: Stack, punch_row: TooledRow, die_row: TooledRow, ears: Ears | None) -> tuple[Standing, ...]:
    """Punch and die of another station where they stand; ram and bed are met as one's own."""
    return tuple(
        replace(body, beside=True)
        for body in standing(stack, punch_row, die_row, ears)
        if body.name in ("punch", "die")
    )


def _standing(solid: Solid, runs: tuple[tuple[float, float, float], ...]) -> Standing:
    outline = shapely.Polygon(solid.points_mm)
    shapely.prepare(outline)
    corners = np.array(solid.points_mm)
    return Standing(solid.name, outline, (corners.min(axis=0), corners.max(axis=0)), solid.with_ram, runs)


def stop_standing(corners_mm: Corners, from_mm: float, to_mm: float) -> Standing:
    """A finger over its width, its outline where it stands."""
    return _standing(Solid("stop", corners_mm, with_ram=False), ((from_mm, to_mm, math.inf),))


def _punch_runs(row: TooledRow, ears: Ears | None) -> tuple[tuple[float, float, float], ...]:
    ends = [mm for block in row.blocks_mm for mm in block]
    feet: list[tuple[float, float, float]] = []
    if ears is not None:
        left, right = ears.reach_mm if row.ear_left else 0.0, ears.reach_mm if row.ear_right else 0.0
        feet = [(row.from_mm, row.from_mm + left, ears.foot_mm), (row.to_mm - right, row.to_mm, ears.foot_mm)]
        ends[0], ends[-1] = row.from_mm + left, row.to_mm - right
    whole = zip(ends[::2], ends[1::2], strict=True)
    return (*((low, high, math.inf) for low, high in whole), *(foot for foot in feet if foot[1] > foot[0]))


def strikes(
    moving: Stroke, clouds: Mapping[Side, Cloud], bodies: Sequence[Standing], lifts_mm: Mapping[float, Sequence[float]]
) -> Iterator[PanelStrike]:
    """The deepest meeting of the part with each body; `lifts_mm`: the heights of the nose to look at for each turn."""
    worst: dict[tuple[str, bool], PanelStrike] = {}
    for turn_deg, noses in lifts_mm.items():
        for side, cloud in clouds.items():
            points = moving.placed(cloud, turn_deg, side)
            low_mm, high_mm = points.min(axis=0), points.max(axis=0)
            for body in bodies:
                for nose_up_mm in noses if body.with_ram else noses[:1]:
                    if body.is_past(low_mm, high_mm, nose_up_mm):
                        continue
                    found = np.flatnonzero(body.struck(points, nose_up_mm))
                    if not len(found):
                        continue
                    asked = found[:: max(1, len(found) // MOST_ASKED)]
                    deep = body.deep_mm(points[asked], nose_up_mm)
                    at = int(deep.argmax())
                    known = worst.get((body.name, body.beside))
                    if deep[at] > STRUCK_MM and (known is None or deep[at] > known.overlap_mm):
                        face, along = int(cloud.faces[asked[at]]), float(points[asked[at], 0])
                        strike = PanelStrike(body.name, float(turn_deg), float(deep[at]), face, along, body.beside)
                        worst[body.name, body.beside] = strike
    yield from worst.values()


def rising(from_mm: float, to_mm: float) -> Array:
    """The heights of the nose on its way, from the lower one on."""
    return np.linspace(from_mm, max(from_mm, to_mm), max(2, math.ceil(abs(to_mm - from_mm) / RAM_STEP_MM) + 1))


def meets_itself(
    panel: PanelNumbers, moving: Stroke, wings: Wings, clouds: Mapping[str, Cloud], sides: Mapping[str, Side]
) -> tuple[int, int, float] | None:
    """Two faces, one of each wing, that meet during the stroke, and the turn; None where none do.

    Points of each wing are looked for within the faces of the other. Faces at the bend line meet nothing.
    """
    for mine, its in (("parent", "hung"), ("hung", "parent")):
        frames: Mapping[int, Array] = getattr(wings, its)
        roots = _roots(panel, frames)
        for turn_deg in moving.turns_deg[::4]:
            points = moving.placed(clouds[mine], float(turn_deg), sides[mine])
            local = moving.back(points, float(turn_deg), sides[its])
            for face in panel.faces:
                if face.number not in frames or face.number in roots:
                    continue
                found = _within(panel, face, frames[face.number], local)
                if len(found):
                    return int(clouds[mine].faces[found[0]]), face.number, float(turn_deg)
    return None


def _roots(panel: PanelNumbers, frames: Mapping[int, Array]) -> set[int]:
    """The faces of a wing that lie on the die: level, at no height."""
    flat = set()
    for face, frame in frames.items():
        point = frame @ np.array([*panel_point(panel, face), 0.0, 1.0])
        if abs(abs(frame[2, 2]) - 1.0) < 1e-6 and abs(point[2]) < 1e-6:
            flat.add(face)
    return flat


def panel_point(panel: PanelNumbers, face: int) -> tuple[float, float]:
    """A point of a face on the blank."""
    return next(each.ring_mm[0] for each in panel.faces if each.number == face)


def _within(panel: PanelNumbers, face: FaceNumbers, frame: Array, points_mm: Array) -> NDArray[np.int64]:
    """The places of points that lie within a face."""
    back = np.linalg.inv(frame)
    blank = points_mm @ back[:3, :3].T + back[:3, 3]
    half_mm = panel.thickness_mm / 2 - CONTACT_MM
    near = np.flatnonzero(np.abs(blank[:, 2]) < half_mm)
    if not len(near):
        return near
    holes = shapely.union_all([*map(shapely.Polygon, face.holes_mm)])
    polygon = shapely.difference(shapely.Polygon(face.ring_mm), holes).buffer(-CONTACT_MM)
    inside: NDArray[np.int64] = near[shapely.contains_xy(polygon, blank[near, 0], blank[near, 1])]
    return inside


def finger_meets(
    points_mm: Array,
    faces: NDArray[np.int64],
    finger_mm: Corners,
    *,
    x_mm: float,
    r_mm: float,
    z_mm: float,
    width_mm: float,
) -> tuple[float, int] | None:
    """Where the part stands that a finger's stop face meets: how far behind the bend line, and which face of it.

    Looked at is what lies before the finger, at the heights of its face; None where there is nothing.
    """
    corners = np.array(finger_mm)
    face_high = corners[np.abs(corners[:, 0] - corners[:, 0].max()) < 1e-6][:, 1]
    low, high = r_mm + face_high.min(), r_mm + face_high.max()
    before = (np.abs(points_mm[:, 0] - z_mm) < width_mm / 2) & (points_mm[:, 2] > low) & (points_mm[:, 2] < high)
    found = np.flatnonzero(before & (points_mm[:, 1] > 0.0) & (points_mm[:, 1] < x_mm + REACH_MM))
    if not len(found):
        return None
    far = found[int(points_mm[found, 1].argmax())]
    return float(points_mm[far, 1]), int(faces[far])
