"""The folded section as a closed ring of points, thickness and arcs included, walked along the middle of the sheet.

A bend zone on its way has an arc of its final radius, grown from the middle of the zone; what is left of the zone, in
proportion to the turn still missing, lies flat on both sides of the arc.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flangewise.replay.section import View

Array = NDArray[np.float64]

# One chord of an arc spans at most this much turn: 0.1 % of the radius off the true arc.
CHORD_DEG = 5.0
_CAP_CHORDS = 6


@dataclass(frozen=True)
class Wing:
    """One side of a part in its own frame: it leaves the origin along +across, level, up where the part's up is.

    `upper_mm` and `lower_mm` are the two faces outward from there. A label tells for every point of a face the flat it
    belongs to, counted from the back in the view, or -1 - zone for a point on a bend zone.
    """

    upper_mm: Array
    lower_mm: Array
    labels: tuple[int, ...]


def wing_from(view: View, flat: int, *, front: bool, inset_mm: float = 0.0) -> Wing:
    """The part from one flat outward, that flat included; `inset_mm` takes that much off each face.

    The back wing comes mirrored: it leaves its flat's inner end along +across as the front wing does.
    """
    walk = _Walk(view.thickness_mm / 2, inset_mm)
    for passed in range(flat, len(view.flats_mm)) if front else range(flat, -1, -1):
        walk.straight(view.flats_mm[passed], passed)
        beyond = passed if front else passed - 1
        if 0 <= beyond < len(view.zones_mm):
            _walk_zone(walk, view, beyond)
    if view.round_ends:
        walk.round_end(len(view.flats_mm) - 1 if front else 0)
    return walk.wing()


def _walk_zone(walk: _Walk, view: View, zone: int) -> None:
    turn_deg, full_deg = view.turns_deg[zone], view.full_deg[zone]
    rest_mm = view.zones_mm[zone] * max(0.0, 1 - abs(turn_deg / full_deg)) / 2
    if turn_deg == 0:
        walk.straight(2 * rest_mm, -1 - zone)
        return
    walk.straight(rest_mm, -1 - zone)
    walk.arc(view.radii_mm[zone], math.radians(turn_deg), steps=chords(full_deg), label=-1 - zone)
    walk.straight(rest_mm, -1 - zone)


class _Walk:
    """Walks along the middle of the thickness and keeps both faces."""

    def __init__(self, half_mm: float, inset_mm: float) -> None:
        self.half_mm, self.face_mm = half_mm, half_mm - inset_mm
        self.across_mm = self.up_mm = self.heading_rad = 0.0
        self.upper: list[tuple[float, float]] = []
        self.lower: list[tuple[float, float]] = []
        self.labels: list[int] = []

    def straight(self, length_mm: float, label: int) -> None:
        self._keep(label)
        self.across_mm += length_mm * math.cos(self.heading_rad)
        self.up_mm += length_mm * math.sin(self.heading_rad)
        self._keep(label)

    def arc(self, radius_mm: float, turn_rad: float, *, steps: int, label: int) -> None:
        side = math.copysign(1.0, turn_rad)
        middle = radius_mm + self.half_mm
        begin = self.heading_rad
        centre_across = self.across_mm - side * middle * math.sin(begin)
        centre_up = self.up_mm + side * middle * math.cos(begin)
        for step in range(1, steps + 1):
            self.heading_rad = begin + turn_rad * step / steps
            self.across_mm = centre_across + side * middle * math.sin(self.heading_rad)
            self.up_mm = centre_up - side * middle * math.cos(self.heading_rad)
            if step < steps:
                self._keep(label)

    def round_end(self, label: int) -> None:
        """A half disc as thick as the sheet beyond the free edge."""
        for part in range(1, _CAP_CHORDS + 1):
            lean = math.pi / 2 * (1 - part / _CAP_CHORDS)
            for side, face in ((1.0, self.upper), (-1.0, self.lower)):
                angle = self.heading_rad + side * lean
                across, up = self.face_mm * math.cos(angle), self.face_mm * math.sin(angle)
                face.append((self.across_mm + across, self.up_mm + up))
            self.labels.append(label)

    def _keep(self, label: int) -> None:
        off_across, off_up = -math.sin(self.heading_rad) * self.face_mm, math.cos(self.heading_rad) * self.face_mm
        self.upper.append((self.across_mm + off_across, self.up_mm + off_up))
        self.lower.append((self.across_mm - off_across, self.up_mm - off_up))
        self.labels.append(label)

    def wing(self) -> Wing:
        return Wing(np.array(self.upper), np.array(self.lower), tuple(self.labels))


def chords(turn_deg: float) -> int:
    """How many chords an arc of a turn is drawn with."""
    return max(2, math.ceil(abs(turn_deg) / CHORD_DEG))


@dataclass(frozen=True)
class Swing:
    """How a zone turns under the punch: from flat to its loaded turn about an arc of one inside radius."""

    zone: int
    loaded_deg: float
    radius_mm: float


@dataclass(frozen=True)
class Rings:
    """The part at many moments: closed rings (moments, points, 2) and a label a point (flat, or -1 - zone)."""

    points_mm: Array
    labels: tuple[int, ...]

    def moved(self, *, across_mm: float | Array = 0.0, up_mm: float | Array = 0.0) -> Rings:
        """The same rings, each moved by its own amount (or all by one)."""
        shift = np.zeros((len(self.points_mm), 1, 2))
        shift[:, 0, 0], shift[:, 0, 1] = across_mm, up_mm
        return Rings(self.points_mm + shift, self.labels)


def rings_of(view: View, swing: Swing, turns_deg: Array, *, inset_mm: float = 0.0) -> Rings:
    """The part at many turns (0 or more, rising) of one zone, lying evenly on both sides of it.

    The middle of the zone, in the middle of the thickness, is at the origin and its tangent there is level.
    """
    zone = swing.zone
    front = wing_from(view, zone + 1, front=True, inset_mm=inset_mm)
    back = wing_from(view, zone, front=False, inset_mm=inset_mm)
    upper_arc, lower_arc, ends_mm = _half_zone(view, swing, turns_deg, inset_mm=inset_mm)
    halves = np.radians(turns_deg) / 2
    front_upper, front_lower = _swung(front.upper_mm, halves, ends_mm), _swung(front.lower_mm, halves, ends_mm)
    back_upper, back_lower = _swung(back.upper_mm, halves, ends_mm), _swung(back.lower_mm, halves, ends_mm)
    half_labels = (-1 - zone,) * upper_arc.shape[1]
    lower = (_mirrored(back_lower)[:, ::-1], _mirrored(lower_arc)[:, ::-1], lower_arc, front_lower)
    upper = (front_upper[:, ::-1], upper_arc[:, ::-1], _mirrored(upper_arc), _mirrored(back_upper))
    labels = back.labels[::-1] + 2 * half_labels + front.labels
    return Rings(np.concatenate(lower + upper, axis=1), labels + labels[::-1])


def _half_zone(view: View, swing: Swing, turns_deg: Array, *, inset_mm: float) -> tuple[Array, Array, Array]:
    """Upper and lower face of the front half of the swinging zone, and where its middle line ends, at each turn."""
    half_mm = view.thickness_mm / 2
    shares = np.linspace(0.0, 1.0, chords(swing.loaded_deg) // 2 + 2)[1:]
    halves = np.radians(turns_deg) / 2
    angles = halves[:, None] * shares
    direction = np.stack([np.cos(angles), np.sin(angles)], axis=2)
    normal = np.stack([-np.sin(angles), np.cos(angles)], axis=2)
    radius = swing.radius_mm + half_mm
    arc = np.stack([radius * np.sin(angles), radius * (1 - np.cos(angles))], axis=2)
    rest = view.zones_mm[swing.zone] / 2 * np.maximum(0.0, 1 - turns_deg / swing.loaded_deg)
    face = normal * (half_mm - inset_mm)
    return arc + face, arc - face, arc[:, -1] + direction[:, -1] * rest[:, None]


def _swung(face_mm: Array, halves_rad: Array, ends_mm: Array) -> Array:
    """A wing's face turned by each half turn about the origin and carried to the end of the zone."""
    cos, sin = np.cos(halves_rad)[:, None], np.sin(halves_rad)[:, None]
    across, up = face_mm[:, 0], face_mm[:, 1]
    return np.stack([across * cos - up * sin, across * sin + up * cos], axis=2) + ends_mm[:, None, :]


def _mirrored(points_mm: Array) -> Array:
    mirrored: Array = points_mm * np.array([-1.0, 1.0])
    return mirrored


def ring_on_flat(view: View, flat: int, *, inset_mm: float = 0.0) -> Rings:
    """The part at its turns of the moment, one flat lying level: lower face at up 0, rear end at the origin.

    Used where the part does not lie evenly: an offset pair leaves the rear leg on its land, and a hem is flattened
    with the sheet lying flat.
    """
    front = wing_from(view, flat, front=True, inset_mm=inset_mm)
    back = wing_from(view, flat, front=False, inset_mm=inset_mm)
    end = np.array([view.flats_mm[flat], 0.0])
    lower = np.concatenate([(_mirrored(back.lower_mm) + end)[:1:-1], front.lower_mm])
    upper = np.concatenate([front.upper_mm[::-1], (_mirrored(back.upper_mm) + end)[2:]])
    labels = back.labels[:1:-1] + front.labels
    points = np.concatenate([lower, upper]) + np.array([0.0, view.thickness_mm / 2])
    return Rings(points[None], labels + labels[::-1])
