"""The section in plain numbers, and folded: a closed ring of points, walked along the middle of the thickness.

A bend zone on its way has an arc of its final radius, grown from the middle of the zone; what is left of the zone, in
proportion to the turn still missing, lies flat on both sides of the arc.
"""

import math
from collections.abc import Iterator, Mapping
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from flangewise.records import dataclass, replace

Array = NDArray[np.float64]

# One chord of an arc spans at most this much turn: 0.1 % of the radius off the true arc.
CHORD_DEG = 5.0
_CAP_CHORDS = 12

Kind = Literal["bend", "hem", "offset"]


@dataclass(frozen=True)
class NumberedBend:
    """One bend number of the section: what it is and which zones it has (an offset has two, all others one)."""

    number: int
    kind: Kind
    zones: tuple[int, ...]


@dataclass(frozen=True)
class SectionNumbers:
    """A section in plain numbers: flats (n + 1), bend zones (n) with flat width, turn and inside radius, thickness.

    `turns_deg` are signed, positive toward the marked face. `bends` groups the zones under the user's bend numbers;
    left empty, each zone is a bend of its own, numbered from 1. `round_ends` gives the sheet half discs for edges, for
    comparing with figures that thicken a middle line by a disc.
    Raises ValueError where the lists do not fit together.
    """

    flats_mm: tuple[float, ...]
    zones_mm: tuple[float, ...]
    turns_deg: tuple[float, ...]
    radii_mm: tuple[float, ...]
    thickness_mm: float
    bends: tuple[NumberedBend, ...] = ()
    round_ends: bool = False

    def __post_init__(self) -> None:
        count = len(self.zones_mm)
        if len(self.flats_mm) != count + 1 or len(self.turns_deg) != count or len(self.radii_mm) != count:
            raise ValueError("a section of n zones has n + 1 flats, n turns and n radii")
        if not self.bends:
            plain = tuple(NumberedBend(zone + 1, "bend", (zone,)) for zone in range(count))
            object.__setattr__(self, "bends", plain)
        if sorted(zone for bend in self.bends for zone in bend.zones) != list(range(count)):
            raise ValueError("every zone belongs to exactly one bend number")

    def bend(self, number: int) -> NumberedBend:
        """The bend of a number. Raises KeyError where the section has none."""
        return {bend.number: bend for bend in self.bends}[number]


@dataclass(frozen=True)
class View:
    """The section as it lies in the machine, from the backgauge toward the operator; a turn that rises is positive.

    `section` has its lists from the back and its turns as the drawing wants them, seen so; `turns_deg` are the turns
    the zones have at this moment. `start_behind` says whether the section's first flat is the rearmost one.
    """

    section: SectionNumbers
    turns_deg: tuple[float, ...]
    start_behind: bool

    def place_of(self, zone: int) -> int:
        """Where a zone of the section stands in this view, counted from the back; the same the other way round."""
        return zone if self.start_behind else len(self.turns_deg) - 1 - zone

    def leg_of(self, flat: int) -> int:
        """The user's number of the leg with a flat: counted from the section's start."""
        return flat + 1 if self.start_behind else len(self.section.flats_mm) - flat


def view_of(section: SectionNumbers, turns_now_deg: tuple[float, ...], *, marked_up: bool, start_behind: bool) -> View:
    """The section with its turns of the moment, laid in the machine: marked face up or down, start or end behind."""
    sign = 1.0 if marked_up else -1.0
    step = 1 if start_behind else -1
    lying = replace(
        section,
        flats_mm=section.flats_mm[::step],
        zones_mm=section.zones_mm[::step],
        turns_deg=tuple(sign * turn for turn in section.turns_deg[::step]),
        radii_mm=section.radii_mm[::step],
    )
    return View(lying, tuple(sign * turn for turn in turns_now_deg[::step]), start_behind)


@dataclass(frozen=True)
class ZoneBend:
    """How a zone turns under the punch: from flat to its loaded turn about an arc of one inside radius."""

    zone: int
    loaded_deg: float
    radius_mm: float


@dataclass(frozen=True)
class Rings:
    """The part at many moments: closed rings (moments, points, 2), the lower face from the back and the upper one home.

    A label tells for every point the flat it belongs to, counted from the back, or -1 - zone for one on a bend zone.
    """

    points_mm: Array
    labels: tuple[int, ...]

    def moved(self, *, across_mm: float | Array = 0.0, up_mm: float | Array = 0.0) -> "Rings":
        """The same rings, each moved by its own amount (or all by one)."""
        shift = np.zeros((len(self.points_mm), 1, 2))
        shift[:, 0, 0], shift[:, 0, 1] = across_mm, up_mm
        return Rings(self.points_mm + shift, self.labels)

    def of(self, *labels: int) -> Array:
        """The points with these labels, (moments, points, 2)."""
        return self.points_mm[:, np.isin(self.labels, labels)]


@dataclass(frozen=True)
class _Piece:
    """A flat or a zone along the middle line: the heading at each point, and the way to it from the point before."""

    label: int
    headings_rad: Array
    ways_mm: Array


def rings_of(view: View, bend: ZoneBend, turns_deg: Array, *, inset_mm: float = 0.0) -> "Rings":
    """The part at many turns (0 or more) of one zone, lying evenly on both sides of it; `inset_mm` is off each face.

    The middle of the zone, in the middle of the thickness, is at the origin and its tangent there is level.
    """
    pieces = list(_pieces(view, {bend.zone: turns_deg}, bend))
    before = sum(len(piece.ways_mm[0]) for piece in pieces[: 2 * bend.zone + 1])
    middle = before + len(pieces[2 * bend.zone + 1].ways_mm[0]) // 2
    return _rings(view, pieces, middle, inset_mm=inset_mm)


def rings_on_flat(
    view: View, flat: int, turns_deg: Mapping[int, Array] | None = None, *, inset_mm: float = 0.0
) -> Rings:
    """The part with some zones at many turns (signed), one flat level: its lower face at up 0, rear end at the origin.

    Used where the part does not lie evenly: an offset pair leaves the rear leg on its land, and a hem is flattened
    with the sheet lying flat.
    """
    pieces = list(_pieces(view, turns_deg or {}))
    begin = sum(len(piece.ways_mm[0]) for piece in pieces[: 2 * flat])
    return _rings(view, pieces, begin, inset_mm=inset_mm).moved(up_mm=view.section.thickness_mm / 2)


def _pieces(view: View, turns_deg: Mapping[int, Array], bend: ZoneBend | None = None) -> Iterator[_Piece]:
    """Flats and zones from the back; zones not in `turns_deg` have the turn of the moment."""
    moments = len(next(iter(turns_deg.values()), np.zeros(1)))
    heading = np.zeros((moments, 1))
    for flat, length_mm in enumerate(view.section.flats_mm):
        yield _straight(flat, heading, length_mm)
        if flat < len(view.section.zones_mm):
            turns = np.radians(np.broadcast_to(turns_deg.get(flat, view.turns_deg[flat]), moments))[:, None]
            yield _zone(view, flat, heading, turns, bend if bend is not None and bend.zone == flat else None)
            heading = heading + turns


def _straight(label: int, heading: Array, length_mm: float) -> _Piece:
    return _Piece(label, heading.repeat(2, axis=1), np.tile([0.0, length_mm], (len(heading), 1)))


def _zone(view: View, zone: int, heading: Array, turns: Array, bend: ZoneBend | None) -> _Piece:
    """What is left of the zone, the arc in chords, and what is left; the zone under the punch has a chord end amid."""
    width_mm, full_deg = view.section.zones_mm[zone], view.section.turns_deg[zone]
    radius_mm, steps = view.section.radii_mm[zone], chords(full_deg)
    if bend is not None:
        full_deg, radius_mm, steps = bend.loaded_deg, bend.radius_mm, 2 * (chords(bend.loaded_deg) // 2 + 1)
    elif not turns.any():
        return _straight(-1 - zone, heading, width_mm)
    rest_mm = width_mm / 2 * np.maximum(0.0, 1 - np.abs(turns) / math.radians(abs(full_deg)))
    chord_mm = 2 * (radius_mm + view.section.thickness_mm / 2) * np.sin(np.abs(turns) / (2 * steps))
    shares = np.concatenate([[0.0], np.linspace(0.0, 1.0, steps + 1), [1.0]])
    ways_mm = np.concatenate([0 * rest_mm, rest_mm, chord_mm.repeat(steps, axis=1), rest_mm], axis=1)
    return _Piece(-1 - zone, heading + turns * shares, ways_mm)


def _rings(view: View, pieces: list[_Piece], level: int, *, inset_mm: float) -> Rings:
    """The rings of a middle line, the point `level` at the origin and its heading along +across."""
    headings = np.concatenate([piece.headings_rad for piece in pieces], axis=1)
    headings = headings - headings[:, [level]]
    # A chord of an arc runs in the mean of the headings at its ends.
    along = (headings + np.roll(headings, 1, axis=1)) / 2
    ways_mm = np.concatenate([piece.ways_mm for piece in pieces], axis=1)
    line_mm = np.cumsum(ways_mm[:, :, None] * _direction(along), axis=1)
    line_mm = line_mm - line_mm[:, [level]]
    face_mm = view.section.thickness_mm / 2 - inset_mm
    face = face_mm * _direction(headings + math.pi / 2)
    parts = [line_mm - face, (line_mm + face)[:, ::-1]]
    labels = [label for piece in pieces for label in (piece.label,) * piece.ways_mm.shape[1]]
    if not view.section.round_ends:
        return Rings(np.concatenate(parts, axis=1), (*labels, *reversed(labels)))
    # Half discs as thick as the sheet beyond both free edges.
    cap = np.linspace(-math.pi / 2, math.pi / 2, _CAP_CHORDS + 1)[1:-1]
    front = line_mm[:, -1:] + face_mm * _direction(headings[:, -1:] + cap)
    rear = line_mm[:, :1] + face_mm * _direction(headings[:, :1] + math.pi + cap)
    ends = [(label,) * len(cap) for label in (labels[-1], labels[0])]
    return Rings(
        np.concatenate([parts[0], front, parts[1], rear], axis=1), (*labels, *ends[0], *reversed(labels), *ends[1])
    )


def _direction(headings_rad: Array) -> Array:
    return np.stack([np.cos(headings_rad), np.sin(headings_rad)], axis=2)


def chords(turn_deg: float) -> int:
    """How many chords an arc of a turn is drawn with."""
    return max(2, math.ceil(abs(turn_deg) / CHORD_DEG))
