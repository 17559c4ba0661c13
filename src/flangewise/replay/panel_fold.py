"""A panel as plain numbers, folded by itself, and sampled as a cloud of points on both its skins.

Coordinates of a hit: x along the bed from the left end of the bend line, y to the back, z up from the die's top. A wing
is everything on one side of the bend line, rigid through the stroke: `out` is how far a point lies from the line along
the sheet, `up` how far above the sheet's middle.
"""

import math
from collections.abc import Mapping, Sequence

import numpy as np
import shapely
from numpy.typing import NDArray

from flangewise.records import dataclass, replace

Array = NDArray[np.float64]
Corners = tuple[tuple[float, float], ...]

# Points stand so far apart: along edges and bends, and on faces.
EDGE_STEP_MM, FACE_STEP_MM = 0.75, 2.0
ARC_STEP_DEG = 6.0
# No tools bend as far as this: what turns further is a hem.
HEM_DEG = 175.0
# Skins that touch do not meet: taken off each.
CONTACT_MM = 0.05


@dataclass(frozen=True)
class FaceNumbers:
    """A face on the blank: its number, its name, its ring counterclockwise and the rings of its holes."""

    number: int
    name: str
    ring_mm: Corners
    holes_mm: tuple[Corners, ...] = ()


@dataclass(frozen=True)
class ZoneNumbers:
    """A bend on the blank: the middle of its zone from end to end, the face that hangs on it to the left.

    An offset has two; taken as one, from the face it hangs on to that beyond its web, they are its `parts`.
    """

    bend: int
    face_from: int
    face_to: int
    line_mm: tuple[tuple[float, float], tuple[float, float]]
    width_mm: float
    turn_deg: float
    radius_mm: float
    parts: tuple["ZoneNumbers", ...] = ()

    @property
    def web_mm(self) -> float:
        """Of an offset how wide the web between its two zones is."""
        return self.width_mm - sum(part.width_mm for part in self.parts)

    @property
    def is_hem(self) -> bool:
        """Whether it is folded over: bent in a first hit, flattened in a second."""
        return abs(self.turn_deg) > HEM_DEG

    @property
    def along(self) -> tuple[float, float]:
        """Unit vector from the first end to the second."""
        (x, y), (to_x, to_y) = self.line_mm
        length_mm = math.dist(*self.line_mm)
        return (to_x - x) / length_mm, (to_y - y) / length_mm

    @property
    def length_mm(self) -> float:
        """From end to end."""
        return math.dist(*self.line_mm)


def _as_one(first: ZoneNumbers, second: ZoneNumbers) -> ZoneNumbers:
    """Both zones of an offset: its line in the middle between theirs, as long as the longer one."""
    dx, dy = first.along
    (x, y), far = first.line_mm[0], second.line_mm[0]
    apart_mm = (far[1] - y) * dx - (far[0] - x) * dy
    along = [(px - x) * dx + (py - y) * dy for zone in (first, second) for px, py in zone.line_mm]
    x, y = x - apart_mm / 2 * dy, y + apart_mm / 2 * dx
    line = tuple((x + mm * dx, y + mm * dy) for mm in (min(along), max(along)))
    wide_mm = apart_mm + (first.width_mm + second.width_mm) / 2
    return replace(first, face_to=second.face_to, line_mm=(line[0], line[1]), width_mm=wide_mm, parts=(first, second))


@dataclass(frozen=True)
class PanelNumbers:
    """A panel's blank as the replay folds it."""

    thickness_mm: float
    faces: tuple[FaceNumbers, ...]
    zones: tuple[ZoneNumbers, ...]

    def zone(self, bend: int) -> ZoneNumbers:
        """The zone of a bend, of an offset both as one. Raises KeyError where there is none."""
        found = [zone for zone in self.zones if zone.bend == bend]
        if not found:
            raise KeyError(bend)
        return found[0] if len(found) == 1 else _as_one(found[0], found[1])

    def name(self, face: int) -> str:
        """The name of a face."""
        return next(each.name for each in self.faces if each.number == face)


@dataclass(frozen=True)
class Cloud:
    """Points of one wing: along the bed, out along the sheet, up; and the face that each lies in."""

    points_mm: Array
    faces: NDArray[np.int64]


@dataclass(frozen=True)
class Lying:
    """How a panel lies in a hit: which bends are made, which face is up, whether the parent's wing is behind."""

    bends: tuple[int, ...]
    done: frozenset[int]
    marked_up: bool
    parent_behind: bool


@dataclass(frozen=True)
class Wings:
    """Both wings of a hit: how each face stands in its wing's frame, and which faces belong to it."""

    parent: Mapping[int, Array]
    hung: Mapping[int, Array]


def wings_of(panel: PanelNumbers, lying: Lying) -> Wings:
    """The faces of both wings in (x along the bed, out, up), by 4 x 4 matrices from the blank's (along, across, up)."""
    zones = [panel.zone(bend) for bend in lying.bends]
    first = _leftmost(zones, lying)
    # From the blank to the bed with the sheet flat: x along, y to the back, z up.
    flat = _flat_stand(first, lying)
    frames: list[dict[int, Array]] = []
    for is_parent in (True, False):
        behind = lying.parent_behind == is_parent
        turned = np.eye(4)
        # In front of the tools out runs toward the operator.
        turned[1, 1] = 1.0 if behind else -1.0
        roots = {zone.face_from if is_parent else zone.face_to for zone in zones}
        frames.append(_spread(panel, lying, dict.fromkeys(roots, turned @ flat)))
    return Wings(*frames)


def _leftmost(zones: Sequence[ZoneNumbers], lying: Lying) -> ZoneNumbers:
    """The bend of a hit whose left end stands furthest to the left on the bed."""
    x_way = along_bed(zones[0], lying)
    return min(zones, key=lambda zone: min(_dot(end, x_way) for end in zone.line_mm))


def along_bed(zone: ZoneNumbers, lying: Lying) -> tuple[float, float]:
    """The direction on the blank that runs along the bed from left to right."""
    sign = (1.0 if lying.marked_up else -1.0) * (-1.0 if lying.parent_behind else 1.0)
    return zone.along[0] * sign, zone.along[1] * sign


def _flat_stand(zone: ZoneNumbers, lying: Lying) -> Array:
    x_way = along_bed(zone, lying)
    dx, dy = zone.along
    # What hangs on the line lies to its left on the blank, and in front where the parent lies behind.
    y_sign = -1.0 if lying.parent_behind else 1.0
    y_way = (-dy * y_sign, dx * y_sign)
    left = min(zone.line_mm, key=lambda end: _dot(end, x_way))
    stand = np.eye(4)
    stand[0, :2], stand[1, :2] = x_way, y_way
    stand[2, 2] = 1.0 if lying.marked_up else -1.0
    stand[:2, 3] = -_dot(left, x_way), -_dot(left, y_way)
    return stand


def _dot(one: tuple[float, float], other: tuple[float, float]) -> float:
    return one[0] * other[0] + one[1] * other[1]


def _spread(panel: PanelNumbers, lying: Lying, roots: dict[int, Array]) -> dict[int, Array]:
    """From the root faces over all bends but those of the hit to every face that hangs together with them."""
    frames = dict(roots)
    waiting = list(roots)
    for face in waiting:
        for zone in panel.zones:
            if zone.bend in lying.bends or face not in (zone.face_from, zone.face_to):
                continue
            beyond = zone.face_to if face == zone.face_from else zone.face_from
            if beyond in frames:
                continue
            bent = motion(zone, panel.thickness_mm, zone.turn_deg if zone.bend in lying.done else 0.0)
            frames[beyond] = frames[face] @ (bent if beyond == zone.face_to else np.linalg.inv(bent))
            waiting.append(beyond)
    return frames


def motion(zone: ZoneNumbers, thickness_mm: float, turn_deg: float) -> Array:
    """How a bend moves what hangs on it, turned so far toward the marked face.

    From the zone's inner edge the middle of the sheet runs on an arc of the inside radius and half the thickness; its
    length on the blank is the zone's width.
    """
    dx, dy = zone.along
    (x, y), half_mm = zone.line_mm[0], zone.width_mm / 2
    # The zone's own frame: along its line, across it to the left from its inner edge, up.
    own = np.array([[dx, -dy, 0, x + half_mm * dy], [dy, dx, 0, y - half_mm * dx], [0, 0, 1, 0], [0, 0, 0, 1]])
    bent = np.eye(4)
    if turn_deg:
        turn, middle_mm = math.radians(turn_deg), zone.radius_mm + thickness_mm / 2
        side = math.copysign(1.0, turn_deg)
        cos, sin = math.cos(turn), math.sin(turn)
        bent[1:3, 1:3] = [[cos, -sin], [sin, cos]]
        # Where the arc ends, less where the flat strip would have ended, turned.
        bent[1, 3] = middle_mm * abs(sin) - zone.width_mm * cos
        bent[2, 3] = side * middle_mm * (1 - cos) - zone.width_mm * sin
    moved: Array = own @ bent @ np.linalg.inv(own)
    return moved


def cloud_of(panel: PanelNumbers, lying: Lying, frames: Mapping[int, Array], *, step_mm: float = FACE_STEP_MM) -> Cloud:
    """A wing's faces and bends as points on both skins, a little within the sheet."""
    half_mm = panel.thickness_mm / 2 - min(CONTACT_MM, panel.thickness_mm / 4)
    points, faces = [], []
    for face in panel.faces:
        if face.number in frames:
            flat = _on_face(face, step_mm)
            for up in (-half_mm, half_mm):
                points.append(_placed(frames[face.number], flat, up))
                faces.append(np.full(len(flat), face.number))
    for zone in panel.zones:
        if zone.face_from in frames and zone.bend not in lying.bends:
            for up in (-half_mm, half_mm):
                bent = _on_bend(zone, panel.thickness_mm, up, zone.bend in lying.done)
                points.append(_placed(frames[zone.face_from], bent[:, :2], bent[:, 2]))
                faces.append(np.full(len(bent), zone.face_to))
    return Cloud(np.asfortranarray(np.vstack(points)), np.concatenate(faces))


def _placed(frame: Array, flat_mm: Array, up_mm: float | Array) -> Array:
    whole = np.column_stack([flat_mm, np.full(len(flat_mm), 1.0) * up_mm, np.ones(len(flat_mm))])
    placed: Array = (whole @ frame.T)[:, :3]
    return placed


def _on_face(face: FaceNumbers, step_mm: float) -> Array:
    """Points along the edges of a face and its holes, and on a grid within."""
    # A cut-out across a bend lies in no face whole: what of its rim is within the face is an edge of it.
    sheet = shapely.difference(shapely.Polygon(face.ring_mm), shapely.union_all([*map(shapely.Polygon, face.holes_mm)]))
    polygon = max(shapely.get_parts(sheet), key=lambda each: each.area)
    low_x, low_y, high_x, high_y = polygon.bounds
    grid = np.stack(np.meshgrid(np.arange(low_x, high_x, step_mm), np.arange(low_y, high_y, step_mm)), axis=-1).reshape(
        -1, 2
    )
    inside = grid[shapely.contains_xy(polygon, grid[:, 0], grid[:, 1])]
    edges = [_along_ring(tuple(ring.coords[:-1])) for ring in (polygon.exterior, *polygon.interiors)]
    return np.vstack([inside, *edges])


def _along_ring(ring: Corners) -> Array:
    pieces = []
    for here, there in zip(ring, (*ring[1:], ring[0]), strict=True):
        count = max(1, math.ceil(math.dist(here, there) / EDGE_STEP_MM))
        shares = np.arange(count)[:, None] / count
        pieces.append(np.array(here) + shares * (np.array(there) - np.array(here)))
    return np.vstack(pieces)


def _on_bend(zone: ZoneNumbers, thickness_mm: float, up_mm: float, bent: bool) -> Array:
    """Points of a bend in the frame of the face it hangs on, formed or still flat."""
    dx, dy = zone.along
    along = np.linspace(0.0, zone.length_mm, max(2, math.ceil(zone.length_mm / EDGE_STEP_MM) + 1))
    count = max(2, math.ceil(abs(zone.turn_deg) / ARC_STEP_DEG) + 1)
    if bent:
        side = math.copysign(1.0, zone.turn_deg)
        middle_mm = zone.radius_mm + thickness_mm / 2
        turned = np.linspace(0.0, math.radians(abs(zone.turn_deg)), count)
        own_mm = middle_mm - side * up_mm
        across, up = own_mm * np.sin(turned), side * (middle_mm - own_mm * np.cos(turned))
    else:
        across, up = np.linspace(0.0, zone.width_mm, count), np.full(count, up_mm)
    across = across - zone.width_mm / 2
    (x, y) = zone.line_mm[0]
    a, b = np.repeat(along, count), np.tile(across, len(along))
    return np.column_stack([x + a * dx - b * dy, y + a * dy + b * dx, np.tile(up, len(along))])
