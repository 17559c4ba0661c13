"""Where on a panel a gripper may take hold at all: places over the edges of its faces and on them, off what is cut.

A grip stays with the part: the face, the place on the blank, which way the arm points there, and to which side of the
sheet its body lies. How it lies in the machine follows from the step. The body is its outline, as wide as its pads, or
as a jaw is drawn at a part's end. Rules about edges, holes and bends are those of sections.
"""

import math
from collections.abc import Iterator, Sequence
from functools import cached_property
from typing import Any, ClassVar

import numpy as np
import shapely

from flangewise.clearance import Solid, convex_rings
from flangewise.geometry import Fold, Frame, Point, Points, as_frame, fold_tree
from flangewise.handling.gripper import PLACES, SAME_MM, GripKind, GripperShape
from flangewise.panel_order import PanelShapes
from flangewise.pattern import BendZone, FlatFace, FlatHole, PanelBlank, hinge_of
from flangewise.records import dataclass, replace
from flangewise.words import Phrase, phrase

# Places are kept by whole thousandths, so that what is turned finds its fellow.
DIGITS, DIRECTION_DIGITS = 3, 9
# Across a face so many rows of places are tried, each with `PLACES` of them (judgement).
ROWS = 3
# So many lines of places each way are looked at on a face, those nearest to the mass centre (judgement).
MOST_LINES = 10
# A hole is drawn with so many corners to a quarter, outside it.
QUARTER = 16


@dataclass(frozen=True)
class PanelGrip:
    """One way to hold a panel: the pads' middle at `at_mm` of the blank, in face `face`, over an edge or on the face.

    `arm`: the direction on the blank to where the arm comes from; `marked`: the arm's side of the body looks to the
    marked face. `wide_mm`: how wide the pads are across the arm; `corner_mm`: the datum corner of the blank.
    """

    kind: GripKind
    face: int
    face_name: str
    at_mm: Point
    arm: Point
    marked: bool
    wide_mm: float
    corner_mm: Point

    # How a place on the blank is told: a panel lies along and across its base.
    blank_said: ClassVar[str] = "panel"

    @property
    def pads_room_mm(self) -> float:
        """How wide the pads may be."""
        return self.wide_mm

    @property
    def words(self) -> Phrase:
        """Where it is, in words."""
        side = "edge" if self.kind == "edge" else f"face-{'marked' if self.marked else 'other'}"
        return phrase(f"grip.panel-{side}", face=self.face_name)

    @property
    def on_blank_mm(self) -> Point:
        """The pads' middle along and across the base, from the datum corner of the blank."""
        return self.at_mm[0] - self.corner_mm[0], self.at_mm[1] - self.corner_mm[1]

    def as_json(self) -> dict[str, Any]:
        """As a script reads it; `arm_to` is a direction on the blank."""
        return {
            "kind": self.kind,
            "face": self.face_name,
            "at_mm": list(self.on_blank_mm),
            "side": "marked" if self.marked else "other",
            "arm_to": list(self.arm),
        }

    @cached_property
    def stand(self) -> Frame:
        """From the gripper's own axes (toward the arm, beside it, away from the sheet) to the blank, as it lies flat,
        the pads' middle in the middle of the sheet."""
        along, away = np.array([*self.arm, 0.0]), np.array([0.0, 0.0, 1.0 if self.marked else -1.0])
        return as_frame(np.column_stack([along, np.cross(away, along), away]), np.array([*self.at_mm, 0.0]))

    def stands_on(self, thickness_mm: float) -> Frame:
        """The same where its body is: on the skin of a face that is held there, else about the sheet's middle."""
        if self.kind != "face":
            return self.stand
        up_mm = thickness_mm / 2 if self.marked else -thickness_mm / 2
        return replace(self.stand, origin_mm=(*self.at_mm, up_mm))

    def turned(self, turn_deg: float) -> "PanelGrip":
        """The same place with the body turned on a face about its normal, counterclockwise seen on the marked face."""
        cos, sin = math.cos(math.radians(turn_deg)), math.sin(math.radians(turn_deg))
        x, y = self.arm
        return replace(self, arm=_rounded((x * cos - y * sin, x * sin + y * cos)))

    def other_side(self) -> "PanelGrip":
        """The same with the body turned half about its arm."""
        return replace(self, marked=not self.marked)


def _rounded(point: Sequence[float]) -> Point:
    return round(float(point[0]), DIRECTION_DIGITS) + 0.0, round(float(point[1]), DIRECTION_DIGITS) + 0.0


@dataclass(frozen=True)
class PanelBody:
    """A gripper's body as convex pieces in its own axes, and as it is grown by what is kept from the part."""

    shape: GripperShape

    @cached_property
    def wide_mm(self) -> float:
        """How wide it is across the arm: as its pads, or as a jaw is drawn at a part's end."""
        pads_mm, drawn = self.shape.wide_mm, self.shape.row.end_outline_mm
        return pads_mm if drawn is None else max(pads_mm, 2 * float(np.abs(drawn.drawn_mm()[:, 0]).max()))

    def pieces(self, grown_mm: float = 0.0) -> tuple[Solid, ...]:
        """The body, grown to all sides."""
        ring = self.shape.outline_mm
        if grown_mm:
            grown = shapely.buffer(shapely.Polygon(ring), grown_mm, join_style="mitre")
            ring = shapely.get_coordinates(grown.exterior)[:-1]
        rings = convex_rings([(float(x), float(y)) for x, y in _counterclockwise(ring)])
        half_mm = self.wide_mm / 2 + grown_mm
        return tuple(Solid(_at(each, -half_mm), _at(each, half_mm)) for each in rings)

    @cached_property
    def beyond_mm(self) -> tuple[float, float]:
        """From where to where along the arm a jaw's body lies beyond the edge that its pads reach over."""
        return self.shape.row.pad_across_mm / 2, float(self.shape.outline_mm[:, 0].max())


def _at(ring: Points, beside_mm: float) -> Points:
    placed: Points = np.column_stack([ring[:, 0], np.full(len(ring), beside_mm), ring[:, 1]])
    return placed


def _counterclockwise(ring: Points) -> Points:
    x, y = ring.T
    return ring if float((x * np.roll(y, -1) - np.roll(x, -1) * y).sum()) > 0 else ring[::-1]


class _OnFace:
    """One face of the flat blank, and what of it pads may lie on."""

    def __init__(self, blank: PanelBlank, face: FlatFace, shape: GripperShape) -> None:
        self.face, self.row = face, shape.row
        self.area = shapely.Polygon(face.outline_mm)
        zones = [zone for zone in blank.zones if face.number in (zone.face_from, zone.face_to)]
        self.strips = shapely.union_all([strip_of(zone) for zone in zones])
        holes = [hole_area(hole) for hole in blank.holes if hole.face == face.number]
        self.holes, self.hole_rings = shapely.union_all(holes), [shapely.get_coordinates(each) for each in holes]
        self.rim = shapely.difference(self.area.exterior, shapely.buffer(self.strips, SAME_MM * 10))
        shapely.prepare(self.area)

    def may_lie(self, pads: shapely.Geometry, *, off_rim: bool) -> bool:
        """Whether pads lie wholly in the face, off its holes and the bends beside it, and off its edges if asked."""
        row = self.row
        if not shapely.covers(shapely.buffer(self.area, SAME_MM), pads):
            return False
        keeps = [(self.holes, row.edge_free_mm), (self.strips, row.bend_free_mm)]
        keeps += [(self.rim, row.edge_free_mm)] if off_rim else []
        return all(shapely.is_empty(each) or shapely.distance(each, pads) >= mm - SAME_MM for each, mm in keeps)

    def edges(self) -> Iterator[tuple[Point, Point]]:
        """Its straight free edges that pads find room on, the sheet to the left."""
        ring = self.face.outline_mm
        for one, other in zip(ring, (*ring[1:], ring[0]), strict=True):
            long_mm, middle = math.dist(one, other), shapely.Point((one[0] + other[0]) / 2, (one[1] + other[1]) / 2)
            if long_mm >= self.row.pad_across_mm and shapely.distance(self.strips, middle) > SAME_MM * 10:
                yield one, other


def strip_of(zone: BendZone) -> shapely.Geometry:
    """The strip that a bend takes up on the blank."""
    line = shapely.LineString(zone.line_mm)
    return shapely.buffer(line, zone.allowance.allowance_mm / 2, cap_style="flat")


def hole_area(hole: FlatHole) -> shapely.Geometry:
    """A hole, a round one with its corners outside it."""
    if hole.diameter_mm is None:
        return shapely.Polygon(hole.corners_mm)
    radius_mm = hole.diameter_mm / 2 / math.cos(math.pi / (4 * QUARTER))
    return shapely.buffer(shapely.Point(hole.centre_mm), radius_mm, quad_segs=QUARTER)


def pads_of(grip: PanelGrip, shape: GripperShape) -> shapely.Geometry:
    """The sheet that the pads of a grip cover, on the flat blank."""
    deep_mm, _ = shape.covers_mm(grip.kind, grip.wide_mm)
    wide_mm = min(grip.wide_mm, shape.covers_mm(grip.kind, grip.wide_mm)[1])
    return _rectangle(grip.at_mm, grip.arm, (-deep_mm / 2, deep_mm / 2), wide_mm)


def _rectangle(at: Point, arm: Point, along_mm: tuple[float, float], wide_mm: float) -> shapely.Geometry:
    (x, y), (ax, ay), (low, high), half = at, arm, along_mm, wide_mm / 2
    corners = ((low, -half), (high, -half), (high, half), (low, half))
    return shapely.Polygon([(x + i * ax - j * ay, y + i * ay + j * ax) for i, j in corners])


def fold_of(blank: PanelBlank, done: frozenset[int]) -> Fold:
    """A blank with some of its bends bent, the base lying as on it."""
    turns_deg = [zone.signed_turn_deg if zone.bend in done else 0.0 for zone in blank.zones]
    return fold_tree(tuple(map(hinge_of, blank.zones)), turns_deg, thickness_mm=blank.thickness_mm)


def panel_grips(shapes: PanelShapes, shape: GripperShape) -> tuple[PanelGrip, ...]:
    """All grips that are looked at: over free edges, and places on the faces."""
    blank, row = shapes.blank, shape.row
    middle = _middle_mm(blank)
    found: list[PanelGrip] = []
    for face in blank.faces:
        own = _OnFace(blank, face, shape)
        if {"edge", "end"} & set(row.may_hold):
            found += _over_edges(own, blank, shape, middle)
        if {"above", "below"} & set(row.may_hold):
            found += _on_face(own, blank, shape, middle)
    return tuple(dict.fromkeys(found))


def _middle_mm(blank: PanelBlank) -> Point:
    """About where the flat blank has its mass centre: places near it are tried."""
    at = shapely.centroid(shapely.Polygon(blank.outline_mm))
    return float(at.x), float(at.y)


def _over_edges(own: _OnFace, blank: PanelBlank, shape: GripperShape, middle: Point) -> Iterator[PanelGrip]:
    """Jaws over the free edges of a face, at places from one end to the other and next to the mass centre."""
    row, face = shape.row, own.face
    body = PanelBody(shape)
    for (x, y), (to_x, to_y) in own.edges():
        long_mm = math.dist((x, y), (to_x, to_y))
        dx, dy = (to_x - x) / long_mm, (to_y - y) / long_mm
        arm, wide_mm = _rounded((dy, -dx)), min(row.pad_along_mm, long_mm)
        low, high = wide_mm / 2, long_mm - wide_mm / 2
        nearest = min(max((middle[0] - x) * dx + (middle[1] - y) * dy, low), high)
        for along_mm in sorted({*np.linspace(low, high, PLACES if high - low > 1.0 else 1).tolist(), nearest}):
            in_mm = row.pad_across_mm / 2
            at = (x + along_mm * dx - in_mm * arm[0], y + along_mm * dy - in_mm * arm[1])
            beyond = _rectangle(at, arm, (body.beyond_mm[0] + SAME_MM * 10, body.beyond_mm[1]), body.wide_mm)
            for marked in (True,) if shape.sides_alike("edge") else (True, False):
                at_mm = (round(at[0], DIGITS), round(at[1], DIGITS))
                grip = PanelGrip("edge", face.number, face.name, at_mm, arm, marked, wide_mm, blank.corner_mm)
                if (
                    own.may_lie(_inside(grip, shape), off_rim=False)
                    and shapely.area(shapely.intersection(own.area, beyond)) < SAME_MM
                ):
                    yield grip


def _inside(grip: PanelGrip, shape: GripperShape) -> shapely.Geometry:
    """The pads a little smaller than they are, so that rounding puts none of them off the sheet."""
    return shapely.buffer(pads_of(grip, shape), -(10.0**-DIGITS), join_style="mitre")


def _on_face(own: _OnFace, blank: PanelBlank, shape: GripperShape, middle: Point) -> Iterator[PanelGrip]:
    """Cups and magnets on a face, from each side, with the arm to each of its sides."""
    face, (u, v) = own.face, _sides_of(own.face, blank)
    deep_mm, wide_mm = shape.covers_mm("face", math.inf)
    places = _places_mm(own, (u, v), min(deep_mm, wide_mm), middle)
    arms = [u, v] if shape.along_alike else [u, v, _rounded((-u[0], -u[1])), _rounded((-v[0], -v[1]))]
    for at_mm in places:
        for arm in arms:
            grip = PanelGrip("face", face.number, face.name, at_mm, arm, True, wide_mm, blank.corner_mm)
            if own.may_lie(pads_of(grip, shape), off_rim=True):
                yield from (grip, grip.other_side())


def _sides_of(face: FlatFace, blank: PanelBlank) -> tuple[Point, Point]:
    """Two directions of a face, square to each other: along the bend it hangs on, of the base along the base."""
    zone = next((zone for zone in blank.zones if zone.face_to == face.number), None)
    if zone is None:
        return (1.0, 0.0), (0.0, 1.0)
    (x, y), (to_x, to_y) = zone.line_mm
    long_mm = math.dist((x, y), (to_x, to_y))
    dx, dy = (to_x - x) / long_mm, (to_y - y) / long_mm
    return _rounded((dx, dy)), _rounded((-dy, dx))


def _places_mm(own: _OnFace, sides: tuple[Point, Point], least_mm: float, middle: Point) -> list[Point]:
    """Middles of pads over a face: rows of them over the box around what may be free, beside holes, and next to the
    mass centre."""
    row, axes = own.row, np.array(sides)
    seen = np.array(own.face.outline_mm) @ axes.T
    in_mm = least_mm / 2
    low, high = seen.min(axis=0) + in_mm, seen.max(axis=0) - in_mm
    if (high < low - SAME_MM).any():
        return []
    near = np.clip(np.array(middle) @ axes.T, low, high)
    counts = (PLACES, ROWS) if high[0] - low[0] >= high[1] - low[1] else (ROWS, PLACES)
    lines = []
    for axis, count in enumerate(counts):
        # From one end to the other, and as near to both ends as may be; of little room between bends all of it.
        keep_mm = row.edge_free_mm if high[axis] - low[axis] > 2 * row.edge_free_mm else row.bend_free_mm
        found = {float(near[axis]), float(low[axis] + keep_mm), float(high[axis] - keep_mm)}
        found.update(np.linspace(low[axis], high[axis], count + 2)[1:-1].tolist())
        for ring in own.hole_rings:
            first, last = (ring @ axes[axis]).min(), (ring @ axes[axis]).max()
            off_mm = in_mm + row.edge_free_mm + SAME_MM
            found |= {float(first - off_mm), float(last + off_mm)}
        inside = [mm for mm in found if low[axis] <= mm <= high[axis]]
        lines.append(sorted(inside, key=lambda mm: (abs(mm - near[axis]), mm))[:MOST_LINES])
    placed = np.array([(one, other) for one in lines[0] for other in lines[1]]).reshape(-1, 2) @ axes
    return list(dict.fromkeys((round(float(x), DIGITS) + 0.0, round(float(y), DIGITS) + 0.0) for x, y in placed))
