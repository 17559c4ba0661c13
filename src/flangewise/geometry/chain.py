"""A section as a chain: flat lengths joined by bend zones, folded to any state.

Every zone is drawn in both of its states: a flat strip of its developed width, or an arc of its own
middle radius, so that lengths are right before and after the bend. In between, the arc grows from the
middle of the strip and what is left of the strip stays flat on both sides.

Two frames are used. The *section frame* has the start edge at the origin, the first flat along +x and
the marked face on the +y side. The *wing frame* of a bend has the edge between bend zone and flat at
the origin, the flat going away from the bend along +x, and the upper face of the sheet on the +y side;
both wings of a bend are written alike in it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from flangewise.records import dataclass, replace

Points = NDArray[np.float64]

CHORD_DEG = 22.5
CHORD_ERROR_MM = 0.02


@dataclass(frozen=True)
class Chain:
    """A section with its bend zones: plain numbers, checked.

    `flats_mm` are the n + 1 flat lengths between zones, `zones_mm` the n developed zone widths,
    `turns_deg` the n signed turns (+ toward the marked face), `radii_mm` the n inside radii.

    Edges: no bend at all is a flat sheet of one length. A radius of minus half the thickness puts the
    middle surface in a sharp corner, which only theory knows.
    Raises ValueError when the counts do not fit or a length is negative.
    """

    flats_mm: tuple[float, ...]
    zones_mm: tuple[float, ...]
    turns_deg: tuple[float, ...]
    radii_mm: tuple[float, ...]
    thickness_mm: float

    def __post_init__(self) -> None:
        bends = len(self.turns_deg)
        if len(self.flats_mm) != bends + 1 or len(self.zones_mm) != bends or len(self.radii_mm) != bends:
            raise ValueError("a chain of n bends has n + 1 flats, n zones and n radii")
        if not self.thickness_mm > 0 or min((*self.flats_mm, *self.zones_mm)) < 0:
            raise ValueError("thickness must be positive, lengths must not be negative")
        if min(self.radii_mm, default=0.0) < -self.thickness_mm / 2 - 1e-9:
            raise ValueError("an inside radius below minus half the thickness cannot be drawn")

    @property
    def bends(self) -> int:
        """Number of bend zones."""
        return len(self.turns_deg)

    @property
    def developed_mm(self) -> float:
        """Length across the bends of the flat blank."""
        return sum(self.flats_mm) + sum(self.zones_mm)

    def middle_radius_mm(self, zone: int) -> float:
        """Radius of the middle surface of a formed zone: inside radius + t/2."""
        return max(0.0, self.radii_mm[zone] + self.thickness_mm / 2)

    def line_mm(self, zone: int) -> float:
        """Bend line on the flat blank: from the start edge to the middle of the zone."""
        return sum(self.flats_mm[: zone + 1]) + sum(self.zones_mm[:zone]) + self.zones_mm[zone] / 2

    def mirrored(self) -> Chain:
        """The section with every bend the other way."""
        return replace(self, turns_deg=tuple(-turn for turn in self.turns_deg))


@dataclass(frozen=True)
class Path:
    """The middle surface, unit normals to the upper face; `spans` names each point's piece, 2 f flat, 2 z + 1 zone."""

    points_mm: Points
    normals: Points
    spans: NDArray[np.int64]

    def placed(self, *, rotate_deg: float, to_mm: Sequence[float] | Points, mirror: bool = False) -> Path:
        """The path turned about the origin, moved, mirrored about across = 0 if asked; normals stay above."""
        turned = _rotation(math.radians(rotate_deg))
        flip = np.array([-1.0, 1.0]) if mirror else np.ones(2)
        points = (self.points_mm @ turned.T + np.asarray(to_mm, dtype=float)) * flip
        return Path(points, (self.normals @ turned.T) * flip, self.spans)

    def then(self, other: Path) -> Path:
        """Two paths one after the other."""
        return Path(
            np.vstack([self.points_mm, other.points_mm]),
            np.vstack([self.normals, other.normals]),
            np.concatenate([self.spans, other.spans]),
        )

    def backward(self) -> Path:
        """The same path read from its other end; the normals stay."""
        return Path(self.points_mm[::-1], self.normals[::-1], self.spans[::-1])

    def seen(self, *, marked_up: bool, start_behind: bool) -> Path:
        """A section path as it lies in the machine: from behind to the front, the face that is up above."""
        points, normals = self.points_mm, self.normals
        if not marked_up:
            points, normals = points * [1.0, -1.0], -(normals * [1.0, -1.0])
        whole = Path(points, normals, self.spans)
        return whole if start_behind else whole.placed(rotate_deg=0.0, to_mm=(0.0, 0.0), mirror=True).backward()

    def ends_mm(self, span: int) -> Points:
        """First and last point of a piece."""
        return self.points_mm[np.flatnonzero(self.spans == span)[[0, -1]]]

    def levelled(self, span: int, *, by_last: bool = False, to_mm: Sequence[float] = (0.0, 0.0)) -> Path:
        """The path turned so that a piece is level, its first or its last point brought to a place."""
        ends = self.ends_mm(span)
        along = ends[1] - ends[0]
        there = self.placed(rotate_deg=0.0, to_mm=-ends[1 if by_last else 0])
        return there.placed(rotate_deg=-math.degrees(math.atan2(along[1], along[0])), to_mm=to_mm)

    def outline_mm(self, thickness_mm: float) -> Points:
        """Closed outline of the sheet: upper face out, lower face back."""
        half = self.normals * (thickness_mm / 2)
        return np.vstack([self.points_mm + half, (self.points_mm - half)[::-1]])


def _rotation(angle_rad: float) -> Points:
    cos, sin = math.cos(angle_rad), math.sin(angle_rad)
    return np.array([[cos, -sin], [sin, cos]])


def arc_chords(radius_mm: float, turn_deg: float) -> int:
    """Number of chords an arc is drawn with: at most 22.5 degrees and 0.02 mm sagitta each; 0 for no radius."""
    if radius_mm <= 1e-9 or abs(turn_deg) <= 1e-9:
        return 0
    by_error = 2 * math.degrees(math.acos(max(0.0, 1 - CHORD_ERROR_MM / radius_mm)))
    return max(1, math.ceil(abs(turn_deg) / min(CHORD_DEG, by_error) - 1e-9))


def zone_points(chain: Chain, zone: int, *, angle_deg: float) -> Points:
    """Middle surface of a zone turned by `angle_deg` (+ up), from the origin along +x at first.

    The rest of the strip, zone width x (1 - angle/turn) / 2 on each side, stays flat. Points run from
    the zone's inner edge to its outer edge; the heading at the end is `angle_deg`.
    """
    turn = chain.turns_deg[zone]
    share = min(1.0, abs(angle_deg) / abs(turn)) if turn else 0.0
    rest = chain.zones_mm[zone] * (1 - share) / 2
    radius = chain.middle_radius_mm(zone)
    chords = arc_chords(radius, angle_deg)
    headings = np.radians(np.linspace(0.0, angle_deg, chords + 1)) if chords else np.zeros(1)
    side = math.copysign(1.0, angle_deg)
    arc = np.column_stack([radius * np.sin(headings * side), side * radius * (1 - np.cos(headings))])
    arc[:, 0] += rest
    angle_rad = math.radians(angle_deg)
    end = arc[-1] + rest * np.array([math.cos(angle_rad), math.sin(angle_rad)])
    return np.vstack([[0.0, 0.0], arc, end])


def _zone_path(chain: Chain, zone: int, angle_deg: float) -> Path:
    if not angle_deg:
        return _flat_path(chain.zones_mm[zone], 2 * zone + 1)
    points = zone_points(chain, zone, angle_deg=angle_deg)
    arc = len(points) - 2
    headings = np.radians(np.concatenate([[0.0], np.linspace(0.0, angle_deg, arc), [angle_deg]]))
    normals = np.column_stack([-np.sin(headings), np.cos(headings)])
    return Path(points, normals, np.full(len(points), 2 * zone + 1))


def _flat_path(length_mm: float, span: int) -> Path:
    up = np.array([[0.0, 1.0], [0.0, 1.0]])
    return Path(np.array([[0.0, 0.0], [length_mm, 0.0]]), up, np.full(2, span))


def _joined(pieces: Sequence[tuple[Path, float]]) -> Path:
    """Pieces set one after the other, each starting where and how the one before ends."""
    heading, at = 0.0, np.zeros(2)
    points, normals = [], []
    for piece, angle_deg in pieces:
        turned = _rotation(math.radians(heading)).T
        points.append(piece.points_mm @ turned + at)
        normals.append(piece.normals @ turned)
        at, heading = points[-1][-1], heading + angle_deg
    return Path(np.vstack(points), np.vstack(normals), np.concatenate([piece.spans for piece, _ in pieces]))


def section_path(chain: Chain, angles_deg: Sequence[float]) -> Path:
    """The whole section with zone i turned by `angles_deg[i]` (signed, 0 flat), in the section frame."""
    pieces = [(_flat_path(chain.flats_mm[0], 0), 0.0)]
    for zone in range(chain.bends):
        pieces.append((_zone_path(chain, zone, angles_deg[zone]), angles_deg[zone]))
        pieces.append((_flat_path(chain.flats_mm[zone + 1], 2 * zone + 2), 0.0))
    return _joined(pieces)


def wing_path(chain: Chain, zone: int, *, toward_end: bool, angles_deg: Sequence[float], marked_up: bool) -> Path:
    """One wing of the bend at `zone`, outward from the zone's edge, in the wing frame.

    `toward_end` picks the wing that holds the end edge, otherwise the one that holds the start edge.
    `angles_deg` are the signed angles of all zones (that of `zone` itself is not used); with the marked
    face down a bend toward the marked face goes down.
    """
    return _wing_path(chain, zone, toward_end, tuple(angles_deg), marked_up)


@lru_cache(maxsize=256)
def _wing_path(chain: Chain, zone: int, toward_end: bool, angles_deg: tuple[float, ...], marked_up: bool) -> Path:
    """Each is asked for several times in a row."""
    up = 1.0 if marked_up else -1.0
    faces = range(zone + 1, chain.bends + 1) if toward_end else range(zone, -1, -1)
    pieces: list[tuple[Path, float]] = []
    for face in faces:
        if pieces:
            between = face - 1 if toward_end else face
            angle = up * angles_deg[between]
            pieces.append((_zone_path(chain, between, angle), angle))
        pieces.append((_flat_path(chain.flats_mm[face], 2 * face), 0.0))
    return _joined(pieces)


def done_angles(chain: Chain, done: frozenset[int] | set[int]) -> tuple[float, ...]:
    """Signed angle of every zone when exactly the zones in `done` are bent."""
    return tuple(turn if zone in done else 0.0 for zone, turn in enumerate(chain.turns_deg))
