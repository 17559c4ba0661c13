"""How far the angle of a first piece may be off, what it comes from, and what measuring or correcting makes of it.

First order, at a fixed depth: s.d. = root of the sum of (sensitivity x spread)^2. Half widths are for 95 % (1.96 s.d.)
and hold only as far as the spreads assumed do; those given here are judgement, to be replaced by a shop's own.
Source: propagation of errors, textbook; checked by drawing (`draws`).
"""

import math
from functools import lru_cache
from typing import Literal

import numpy as np

from flangewise.records import dataclass, replace

from .air_bend import bends_of
from .formula import Formula
from .moment import Swift
from .records import AirBend, BendBatch, BendSetup

TWO_SIDED_95 = 1.96
FIRST_WEIGHT, SECOND_WEIGHT = 0.9, 0.5
"""Share of the measured error that a first and a second depth correction take back."""

SPREAD_FORMULA = Formula(
    "spread_deg",
    "1.96 x root of the sum of (sensitivity x spread)² at a fixed depth",
    "s.d. by cause: {causes}",
    "first order; the spreads are judgement (thickness tolerance/3, strength 5 %), to be replaced by a shop's own",
    "± {spread_deg}",
)
"""How the scatter is told."""

Cause = Literal["thickness", "strength", "hardening", "friction", "depth", "model"]


@dataclass(frozen=True)
class Spreads:
    """Assumed standard deviations; strength as a share of every flow stress. Judgement, apart from the tolerance.

    Thickness: tolerance/3 between coils, cut at the tolerance, tolerance/10 within one. `model_deg` is what the model
    itself is off where nothing of that sheet in that die has been measured.
    """

    thickness_tolerance_mm: float
    strength_between_share: float = 0.05
    strength_within_share: float = 0.015
    exponent: float = 0.01
    friction: float = 0.03
    depth_mm: float = 0.01
    gauge_deg: float = 0.15
    measured_thickness_mm: float = 0.015
    model_deg: float = 0.8

    @property
    def thickness_between_mm(self) -> float:
        """From coil to coil."""
        return self.thickness_tolerance_mm / 3

    @property
    def thickness_within_mm(self) -> float:
        """Within one coil."""
        return self.thickness_tolerance_mm / 10

    @property
    def thickness_mm(self) -> float:
        """Of a piece that was not measured: from coil to coil and within."""
        return math.hypot(self.thickness_between_mm, self.thickness_within_mm)

    @property
    def reading_helps(self) -> bool:
        """Whether a reading is closer than the delivery itself; else it is left alone and the nominal stands."""
        return self.measured_thickness_mm < self.thickness_mm


@dataclass(frozen=True)
class Sensitivities:
    """Change of the finished turn at a fixed depth: per mm, per whole of strength, of exponent, of friction."""

    thickness_deg_per_mm: float
    strength_deg: float
    exponent_deg: float
    friction_deg: float
    depth_deg_per_mm: float


@dataclass(frozen=True)
class Spread:
    """Expected 95 % half widths of the finished turn, the s.d. by cause before any correction, the largest cause.

    Their squares add up to that of the first piece.
    """

    first_piece_deg: float
    thickness_measured_deg: float
    after_one_deg: float
    after_two_deg: float
    by_cause_deg: tuple[tuple[Cause, float], ...]
    dominant: Cause

    @property
    def cause(self) -> str:
        """The largest cause as it is told: thickness that a reading would find no closer is told apart."""
        is_read = self.thickness_measured_deg < self.first_piece_deg
        return "thickness-unread" if self.dominant == "thickness" and not is_read else self.dominant


_NUDGE_SHARE = 0.01  # of thickness and strength
_NUDGE = 0.005  # of exponent and friction


def sensitivities(setup: BendSetup, swift: Swift, depth_mm: float) -> Sensitivities | None:
    """Sensitivities at a commanded depth, central differences (one-sided for low friction); None: a bend is missing."""
    t, low_friction = setup.thickness_mm, max(0.0, setup.friction - _NUDGE)
    more, less = 1 + _NUDGE_SHARE, 1 - _NUDGE_SHARE
    sheets = [
        *((replace(setup, thickness_mm=t * factor), swift) for factor in (more, less)),
        *((setup, swift.stronger(factor)) for factor in (more, less)),
        *((setup, replace(swift, exponent=swift.exponent + step)) for step in (_NUDGE, -_NUDGE)),
        (setup, swift),
        *((replace(setup, friction=friction), swift) for friction in (setup.friction + _NUDGE, low_friction)),
    ]
    found = bends_of(BendBatch.of(*zip(*sheets, strict=True)), "depth", np.full(len(sheets), float(depth_mm)))
    if not found.converged.all():
        return None
    turns = found.turn_deg
    return Sensitivities(
        thickness_deg_per_mm=float(turns[0] - turns[1]) / (2 * _NUDGE_SHARE * t),
        strength_deg=float(turns[2] - turns[3]) / (2 * _NUDGE_SHARE),
        exponent_deg=float(turns[4] - turns[5]) / (2 * _NUDGE),
        friction_deg=float(turns[7] - turns[8]) / (setup.friction + _NUDGE - low_friction),
        depth_deg_per_mm=float(found.deg_per_mm[6]),
    )


@lru_cache(maxsize=256)
def expected_spread(setup: BendSetup, swift: Swift, bend: AirBend, spreads: Spreads) -> Spread | None:
    """Spread of one bend by first order, from its sensitivities; None where these cannot be had."""
    at = sensitivities(setup, swift, bend.depth_mm)
    return None if at is None else spread_of(at, spreads)


def spread_of(at: Sensitivities, spreads: Spreads) -> Spread:
    """Spread from sensitivities; bias can be taken back, what differs by the piece, and the gauge, comes back."""
    strength_share = math.hypot(spreads.strength_between_share, spreads.strength_within_share)
    causes: dict[Cause, float] = {
        "thickness": abs(at.thickness_deg_per_mm) * spreads.thickness_mm,
        "strength": abs(at.strength_deg) * strength_share,
        "hardening": abs(at.exponent_deg) * spreads.exponent,
        "friction": abs(at.friction_deg) * spreads.friction,
        "depth": at.depth_deg_per_mm * spreads.depth_mm,
        "model": spreads.model_deg,
    }
    within = math.hypot(
        at.thickness_deg_per_mm * spreads.thickness_within_mm,
        at.strength_deg * spreads.strength_within_share,
        at.depth_deg_per_mm * spreads.depth_mm,
    )
    bias = math.hypot(
        at.thickness_deg_per_mm * spreads.thickness_between_mm,
        at.strength_deg * spreads.strength_between_share,
        *(causes[cause] for cause in ("hardening", "friction", "model")),
    )
    measured = math.hypot(
        at.thickness_deg_per_mm * spreads.measured_thickness_mm,
        *(value for cause, value in causes.items() if cause != "thickness"),
    )
    seen = math.hypot(within, spreads.gauge_deg)  # noise in one measured piece
    one, two = 1 - FIRST_WEIGHT, 1 - SECOND_WEIGHT
    after_one = math.hypot(one * bias, FIRST_WEIGHT * seen, within)
    after_two = math.hypot(two * one * bias, two * FIRST_WEIGHT * seen, SECOND_WEIGHT * seen, within)
    first = math.hypot(*causes.values())
    return Spread(
        first_piece_deg=TWO_SIDED_95 * first,
        thickness_measured_deg=TWO_SIDED_95 * (measured if spreads.reading_helps else first),
        after_one_deg=TWO_SIDED_95 * after_one,
        after_two_deg=TWO_SIDED_95 * after_two,
        by_cause_deg=tuple(causes.items()),
        dominant=max(causes, key=lambda cause: causes[cause]),
    )
