"""Where on a section a gripper may take hold at all: places on its flats, and the gripper's own body laid there.

A grip stays with the part: the flat, the place on it, which face the arm's side of the body looks to, and to which end
of the section the arm points. How it lies in the machine follows from the step.
"""

import math
from functools import cached_property
from typing import Any, ClassVar, Literal

import numpy as np

from flangewise.geometry import Chain, Points
from flangewise.handling.holding_force import Pads
from flangewise.records import dataclass, replace
from flangewise.shop import Gripper, TurnAxis
from flangewise.words import Phrase, phrase

GripKind = Literal["edge", "face", "end"]

# So many places are tried on a flat, from one end of what is free to the other (judgement).
PLACES = 5
# Where the pads have no more room than this along a flat, one place is tried.
ONE_PLACE_MM = 1.0
# Of a jaw at the part's end, and of a field of cups, the middle of the part is no better than any other place.
SAME_MM = 1e-6


@dataclass(frozen=True)
class Hole:
    """A hole in a flat: its middle along the bed from the part's middle, and from the flat's end nearer the start."""

    flat: int
    beside_mm: float
    at_mm: float
    half_beside_mm: float
    half_at_mm: float


@dataclass(frozen=True)
class HeldPart:
    """A section as it is held: its chain, how long it is along the bends, its mass, its holes."""

    chain: Chain
    length_mm: float
    mass_kg: float
    holes: tuple[Hole, ...] = ()


@dataclass(frozen=True)
class Grip:
    """One way to hold a section: on flat `flat`, the pads' middle at `at_mm` from its end nearer the start edge.

    `marked`: the arm's side of the body looks to the marked face (of a face it is the face that is touched).
    `toward_end`: the arm points to the end edge. `beside_mm`: from the middle of the part along the bed.
    """

    kind: GripKind
    flat: int
    at_mm: float
    marked: bool
    toward_end: bool
    beside_mm: float = 0.0

    # How a place on the blank is told: a section lies along and across its bends.
    blank_said: ClassVar[str] = "blank"
    # The pads are as wide as they are, or the section.
    pads_room_mm: ClassVar[float] = math.inf

    @property
    def words(self) -> Phrase:
        """Where it is, in words."""
        if self.kind == "edge":
            return phrase(f"grip.edge-{'end' if self.toward_end else 'start'}", leg=self.leg)
        face = "" if self.kind == "end" else "-marked" if self.marked else "-other"
        return phrase(f"grip.{self.kind}{face}", leg=self.leg, at_mm=self.at_mm)

    def as_json(self) -> dict[str, Any]:
        """As a script reads it."""
        return {
            "kind": self.kind,
            "leg": self.leg,
            "at_mm": self.at_mm,
            "face": "marked" if self.marked else "other",
            "arm_to": "end" if self.toward_end else "start",
            "beside_mm": self.beside_mm,
        }

    @property
    def leg(self) -> int:
        """The number of the leg held, as a drawing counts."""
        return self.flat + 1

    def turned(self, gripper: "GripperShape", about: TurnAxis) -> "Grip | None":
        """The same place after half a turn in the gripper; None where the body can not lie so.

        An edge that is turned about the sheet's normal would lie where the arm is.
        """
        about = "normal" if self.kind == "face" else about
        if about == "normal":
            return gripper.told_apart(replace(self, toward_end=not self.toward_end)) if self.kind == "face" else None
        return gripper.told_apart(replace(self, marked=not self.marked))


def on_blank_mm(part: HeldPart, grip: Grip) -> tuple[float, float]:
    """Where the pads' middle lies on the flat blank: along the bends and across them from its datum corner."""
    chain, flat = part.chain, grip.flat
    before_mm = sum(chain.flats_mm[:flat]) + sum(chain.zones_mm[:flat])
    return part.length_mm / 2 + grip.beside_mm, before_mm + grip.at_mm


@dataclass(frozen=True)
class GripperShape:
    """A gripper's row as outlines and pads; lengths in mm."""

    row: Gripper

    @cached_property
    def outline_mm(self) -> Points:
        """The body over an edge or on a face: pads' middle at the origin."""
        return self.row.outline_mm.drawn_mm()

    @cached_property
    def end_outline_mm(self) -> Points:
        """The body at a part's end, seen along the bed."""
        drawn = self.row.end_outline_mm
        return self.outline_mm if drawn is None else drawn.drawn_mm()

    def body_mm(self, kind: GripKind) -> Points:
        """The outline of a kind of grip."""
        return self.end_outline_mm if kind == "end" else self.outline_mm

    @cached_property
    def along_alike(self) -> bool:
        """Whether the body is the same with the arm to either side of the flat."""
        return _alike(self.outline_mm, np.array([-1.0, 1.0]))

    def sides_alike(self, kind: GripKind) -> bool:
        """Whether the body is the same with either side up: of a jaw."""
        return kind != "face" and _alike(self.body_mm(kind), np.array([1.0, -1.0]))

    def told_apart(self, grip: Grip) -> Grip:
        """The grip, with what makes no difference to the body told one way."""
        marked = True if self.sides_alike(grip.kind) else grip.marked
        either = grip.kind == "end" or (grip.kind == "face" and self.along_alike)
        return replace(grip, marked=marked, toward_end=True if either else grip.toward_end)

    def pads(self, kind: GripKind, length_mm: float) -> Pads:
        """The pads as they lie: across along the held flat; of a jaw no longer than the part."""
        row = self.row
        across, along = row.pad_across_mm, min(row.pad_along_mm, length_mm)
        if kind == "end":
            across, along = row.pad_along_mm, row.pad_across_mm
        return Pads(row.kind, across, along, row.rows_across, row.rows_along, row.spacing_mm or 0.0)

    def covers_mm(self, kind: GripKind, length_mm: float) -> tuple[float, float]:
        """How much sheet the pads take up along the flat and along the bed."""
        pads = self.pads(kind, length_mm)
        across, along = (pads.spacing_mm * (rows - 1) for rows in (pads.rows_across, pads.rows_along))
        return pads.across_mm + across, pads.along_mm + along

    @cached_property
    def wide_mm(self) -> float:
        """How wide its pads, or all rows of them, are across the arm."""
        return self.row.pad_along_mm + (self.row.spacing_mm or 0.0) * (self.row.rows_along - 1)

    @cached_property
    def reach_mm(self) -> float:
        """How far any of the body is from the pads' middle."""
        return float(max(np.hypot(*self.outline_mm.T).max(), np.hypot(*self.end_outline_mm.T).max()))


def _alike(outline_mm: Points, mirror: Points) -> bool:
    one, other = (sorted(map(tuple, np.round(each, 6) + 0.0)) for each in (outline_mm, outline_mm * mirror))
    return one == other


def grips_of(part: HeldPart, shape: GripperShape) -> tuple[Grip, ...]:
    """All grips that are looked at: edges, and places on the flats, clear of holes and of the part's own edges."""
    row, chain = shape.row, part.chain
    found: list[Grip] = []
    if "edge" in row.may_hold:
        depth = row.pad_across_mm
        for flat, toward_end in ((0, False), (chain.bends, True)):
            at = chain.flats_mm[flat] - depth / 2 if toward_end else depth / 2
            found += [Grip("edge", flat, at, marked, toward_end) for marked in (True, False)]
    faces = [kind for kind, names in (("face", {"above", "below"}), ("end", {"end"})) if names & set(row.may_hold)]
    for kind in faces:
        for flat in range(chain.bends + 1):
            for at in _places_mm(part, shape, flat, "end" if kind == "end" else "face"):
                for marked in (True, False):
                    for toward_end in (True, False):
                        found.append(Grip("end" if kind == "end" else "face", flat, at, marked, toward_end))
    placed = (_beside_holes(part, shape, shape.told_apart(grip)) for grip in found)
    return tuple(dict.fromkeys(grip for grip in placed if grip is not None))


def _free_mm(part: HeldPart, shape: GripperShape, flat: int, kind: GripKind) -> tuple[float, float]:
    """Between which places on a flat the middle of the pads may lie; the first beyond the second: nowhere."""
    across_mm, _ = shape.covers_mm(kind, part.length_mm)
    chain, last = part.chain, part.chain.bends
    edge_mm, bend_mm = shape.row.edge_free_mm, shape.row.bend_free_mm
    low = across_mm / 2 + (edge_mm if flat == 0 else bend_mm)
    return low, chain.flats_mm[flat] - across_mm / 2 - (edge_mm if flat == last else bend_mm)


def is_near_a_place(part: HeldPart, shape: GripperShape, moved_mm: float) -> bool:
    """Whether some flat has more places, or fewer, where it is longer or shorter by so much at either end."""
    kinds: list[GripKind] = ["end"] if shape.row.kind == "jaw" else ["face"]
    rooms = [_free_mm(part, shape, flat, kind) for kind in kinds for flat in range(part.chain.bends + 1)]
    return any(-2 * moved_mm - SAME_MM <= high - low <= ONE_PLACE_MM + 2 * moved_mm for low, high in rooms)


def _places_mm(part: HeldPart, shape: GripperShape, flat: int, kind: GripKind) -> list[float]:
    """Middles of pads along a flat: evenly over what may be free, and where the flat blank's mass centre is nearest."""
    chain = part.chain
    low, high = _free_mm(part, shape, flat, kind)
    if high < low - SAME_MM:
        return []
    even = np.linspace(low, high, PLACES if high - low > ONE_PLACE_MM else 1).tolist()
    before_mm = sum(chain.flats_mm[:flat]) + sum(chain.zones_mm[:flat])
    return sorted({*even, min(max(chain.developed_mm / 2 - before_mm, low), high)})


def _beside_holes(part: HeldPart, shape: GripperShape, grip: Grip) -> Grip | None:
    """The grip moved along the bed, as little as can be, until no hole lies under its pads; None where none does."""
    across_mm, along_mm = shape.covers_mm(grip.kind, part.length_mm)
    free_mm = shape.row.edge_free_mm
    if grip.kind == "end":
        middles = [part.length_mm / 2 - along_mm / 2]
    else:
        keep_mm = free_mm if grip.kind == "face" else 0.0
        most_mm = part.length_mm / 2 - along_mm / 2 - keep_mm
        if most_mm < -SAME_MM:
            return None
        beside = [
            hole.beside_mm + side * (hole.half_beside_mm + free_mm + along_mm / 2)
            for hole in part.holes
            for side in (-1, 1)
        ]
        middles = sorted({0.0, *(mm for mm in beside if abs(mm) <= most_mm)}, key=lambda mm: (abs(mm), mm))
    for middle in middles:
        if not any(_covers(hole, grip, middle, across_mm, along_mm, free_mm) for hole in part.holes):
            return replace(grip, beside_mm=middle)
    return None


def _covers(hole: Hole, grip: Grip, middle_mm: float, across_mm: float, along_mm: float, free_mm: float) -> bool:
    if hole.flat != grip.flat:
        return False
    at = abs(hole.at_mm - grip.at_mm) < hole.half_at_mm + across_mm / 2 + free_mm - SAME_MM
    return at and abs(hole.beside_mm - middle_mm) < hole.half_beside_mm + along_mm / 2 + free_mm - SAME_MM


@dataclass(frozen=True)
class GripFrame:
    """Where a grip lies: the pads' middle, the direction of the arm's side along the flat, and away from the sheet."""

    at_mm: Points
    along: Points
    away: Points

    def body_mm(self, outline_mm: Points) -> Points:
        """A gripper's outline there."""
        placed: Points = self.at_mm + outline_mm[:, :1] * self.along + outline_mm[:, 1:] * self.away
        return placed

    def seen_mm(self, points_mm: Points) -> Points:
        """Points as the gripper has them."""
        away = points_mm - self.at_mm
        return np.stack([away @ self.along, away @ self.away], axis=-1)


def frame_of(
    grip: Grip, ends_mm: Points, flat_mm: float, *, toward_end: bool, marked_up: bool, thickness_mm: float
) -> GripFrame:
    """The grip on a flat whose ends are given, the first of them nearer the start edge if `toward_end`.

    The upper face lies to the left of the way from the first to the second end.
    """
    way = ends_mm[1] - ends_mm[0]
    length = float(np.hypot(*way))
    onward = way / length if length > SAME_MM else np.array([1.0, 0.0])
    upper = np.array([-onward[1], onward[0]])
    at = ends_mm[0] + onward * (grip.at_mm if toward_end else flat_mm - grip.at_mm)
    away = upper if grip.marked == marked_up else -upper
    along = onward if grip.toward_end == toward_end else -onward
    off = away * (thickness_mm / 2) if grip.kind == "face" else np.zeros(2)
    return GripFrame(at + off, along, away)


def mass_centre_mm(path_points_mm: Points) -> Points:
    """Mass centre of a section on its middle surface, the sheet weighing alike all along it."""
    one, other = path_points_mm[:-1], path_points_mm[1:]
    long = np.hypot(*(other - one).T)
    centre: Points = ((one + other) / 2 * long[:, None]).sum(axis=0) / long.sum()
    return centre
