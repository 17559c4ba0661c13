"""What a part file asks for, as frozen data: lengths in mm, angles in degrees."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

BendKind = Literal["bend", "hem", "offset"]
Sizes = Literal["outside", "inside"]


@dataclass(frozen=True)
class WantedGauge:
    """What a bend is to be gauged on: the raw start or end edge, or the flange made by bend `bend`."""

    on: Literal["start", "end", "flange"]
    bend: int | None = None


@dataclass(frozen=True)
class WantedBend:
    """One bend entry of a section, numbered from 1.

    `turn_deg` is how far the sheet is turned from flat, always positive; `away` says it goes from the marked face.
    A hem has turn 180 and `gap_mm` (0: closed). An offset has `offset_mm`, the step between the same faces of its two
    legs, made of two opposite bends of `turn_deg`; its first bend goes toward the marked face unless `away`.
    `gauge` and `marked_up` are the setter's own will: what the stops touch, and whether the marked face is up;
    `punch_turned` comes with a plan edited by hand only.
    """

    number: int
    kind: BendKind
    turn_deg: float
    away: bool
    radius_mm: float | None = None
    gap_mm: float | None = None
    offset_mm: float | None = None
    punch: str | None = None
    die: str | None = None
    k_factor: float | None = None
    tolerance_deg: float | None = None
    gauge: WantedGauge | None = None
    marked_up: bool | None = None
    punch_turned: bool | None = None

    @property
    def signed_turn_deg(self) -> float:
        """The turn, positive toward the marked face."""
        return -self.turn_deg if self.away else self.turn_deg


@dataclass(frozen=True)
class WantedHole:
    """A hole in a leg: seen with the marked face up and the start edge toward you, `along_mm` from the left and
    `across_mm` from the leg's edge nearer the start, to its centre; round (`diameter_mm`) or rectangular
    (`size_mm`: along the bend lines, across them)."""

    number: int
    leg: int
    along_mm: float
    across_mm: float
    diameter_mm: float | None = None
    size_mm: tuple[float, float] | None = None


@dataclass(frozen=True)
class Section:
    """A constant cross-section: legs joined by one bend fewer, `length_mm` along the bend lines."""

    length_mm: float
    legs_mm: tuple[float, ...]
    bends: tuple[WantedBend, ...]
    radius_mm: float | None
    sizes: Sizes
    holes: tuple[WantedHole, ...]


@dataclass(frozen=True)
class Tolerances:
    """What the drawing allows, plus and minus; None where it says nothing and ISO 2768-1 m holds."""

    angle_deg: float | None = None
    legs_mm: tuple[float, ...] | None = None


@dataclass(frozen=True)
class Part:
    """One part file, read and found usable.

    `machine` is the one machine named; where the file names several, or any, they stand in `machines` instead.
    """

    name: str
    material: str
    thickness_mm: float
    section: Section
    file: str
    units: str = "mm"
    title: str = ""
    revision: str = ""
    drawing: str = ""
    job: str = ""
    due: str = ""
    quantity: int | None = None
    spares: int | None = None
    machine: str | None = None
    machines: tuple[str, ...] = ()
    handler: str | None = None
    grain: Literal["along", "across", "any"] = "any"
    good_face: Literal["marked", "other", "none"] = "none"
    burr: Literal["marked", "other", "unknown"] = "unknown"
    film: Literal["marked", "other", "both", "none"] = "none"
    tolerances: Tolerances = Tolerances()
    order: tuple[int, ...] | None = None
    notes: tuple[str, ...] = ()
    measured_thickness_mm: float | None = None
