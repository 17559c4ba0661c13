"""A piece that was bent and measured: what was wanted, what was set, what came out. Plain numbers by bend and leg."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from flangewise.bend import NOTHING_LEARNED, BendSetup, Learned, Swift
from flangewise.findings import Finding
from flangewise.sequence import Gauged


@dataclass(frozen=True)
class Model:
    """The air bend as the model takes it, with the thickness of the piece where it was measured."""

    setup: BendSetup
    swift: Swift
    learned: Learned = NOTHING_LEARNED


@dataclass(frozen=True)
class TriedBend:
    """One bend of the piece.

    `deduction_mm` is what the blank was made with, `rule_mm` what the allowance rule alone gives (None: no rule, as
    for a hem or an offset). `depth_mm` and `stop_mm` are what was set on the machine; `gauged` says from where the
    stop measures, its bends counted from 0. `model` is None where no angle is predicted; `turn_deg` the measured turn.
    """

    number: int
    wanted_deg: float
    radius_mm: float
    deduction_mm: float
    rule_mm: float | None = None
    depth_mm: float | None = None
    stop_mm: float | None = None
    gauged: Gauged | None = None
    model: Model | None = None
    turn_deg: float | None = None

    @property
    def error_deg(self) -> float | None:
        """How much too far it was turned."""
        return None if self.turn_deg is None else self.turn_deg - self.wanted_deg


@dataclass(frozen=True)
class TriedPiece:
    """The whole piece: legs wanted and measured (None: not measured), blank, bends, which piece of its lot it is.

    `developed_measured` says whether the blank's length was measured or is the planned one. `order` are the places of
    the bends, from 0, as they are bent; empty: one after the other.
    """

    thickness_mm: float
    wanted_mm: tuple[float, ...]
    measured_mm: tuple[float | None, ...]
    developed_mm: float
    developed_measured: bool
    bends: tuple[TriedBend, ...]
    piece: int = 1
    sizes: Literal["outside", "inside"] = "outside"
    order: tuple[int, ...] = ()

    @property
    def gauged(self) -> tuple[Gauged, ...]:
        """What each bend was gauged on; one without stops counts as on the start edge, its line stays."""
        return tuple(bend.gauged or Gauged("start") for bend in self.bends)


@dataclass(frozen=True)
class BendCorrection:
    """What one bend's measuring says: corrections to add to depth and stop, and what the piece shows.

    `weight` is the share of the angle's error that is taken back; `leg` the one that comes out with the stop.
    `deduction_sd_mm` and `k_sd` are standard deviations. None where nothing was measured or nothing can be said.
    """

    bend: int
    weight: float | None
    depth_correction_mm: float | None
    stop_correction_mm: float | None
    deduction_mm: float | None
    deduction_sd_mm: float | None
    k_factor: float | None
    k_sd: float | None
    leg: int | None = None


@dataclass(frozen=True)
class LegResult:
    """One leg: wanted, measured, and what it would measure were its bends at their wanted angles."""

    leg: int
    wanted_mm: float
    measured_mm: float | None
    at_angle_mm: float | None

    @property
    def error_mm(self) -> float | None:
        """How much too long it is, the angles' share taken out."""
        return None if self.at_angle_mm is None else self.at_angle_mm - self.wanted_mm


@dataclass(frozen=True)
class Corrections:
    """Everything one piece says: by bend, by leg, for the blank (None: not all legs measured), and what to look at."""

    bends: tuple[BendCorrection, ...]
    legs: tuple[LegResult, ...]
    blank_correction_mm: float | None
    findings: tuple[Finding, ...]
