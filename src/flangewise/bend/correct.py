"""From a measured piece to the next: depth correction, and the deduction the piece shows.

The depth correction is the difference of two model depths, so it keeps the bend of the curve and needs no model that
is right, only one that is right in its slope: dD = w [D(wanted) - D(measured)].

Source: derived here. The weights follow bias^2/(bias^2 + piece^2), 0.80 to 0.95 for usual coils, rounded by judgement;
deductions are geometry of the outside legs; a chain is solved by weighted least squares (textbook, from memory).
"""

import math
from collections.abc import Sequence

import numpy as np

from flangewise.records import dataclass

from .air_bend import bends_of
from .moment import Swift
from .records import NOTHING_LEARNED, BendBatch, BendSetup, Learned
from .scatter import FIRST_WEIGHT, SECOND_WEIGHT

SUSPECT_ERROR_DEG = 5.0
"""A larger error is no scatter: tools, metal and reading are looked at first, and nothing is learned from it."""

LEG_SD_MM, BLANK_SD_MM = 0.1, 0.05  # what a leg and a blank are measured to with a calliper (judgement)


@dataclass(frozen=True)
class MeasuredLength:
    """A length measured or worked out, with its standard deviation."""

    value_mm: float
    sd_mm: float


@dataclass(frozen=True)
class DeductionSum:
    """One equation of a chain: the deductions of these bends (numbers from 0) add up to this."""

    bends: tuple[int, ...]
    total_mm: float
    sd_mm: float


def correction_weight(piece: int, value: float, *, margin: float) -> float:
    """Share of an error to take back: 0.9 after the first piece, 0.5 after the second, then 0.5 of what is no scatter.

    `margin` is two s.d. of one piece and its gauge, in the unit of the error: correcting less makes it worse.
    """
    if piece == 1:
        return FIRST_WEIGHT
    return SECOND_WEIGHT if piece == 2 or abs(value) >= margin else 0.0


def depth_correction_mm(
    setup: BendSetup,
    swift: Swift,
    *,
    wanted_turn_deg: float,
    measured_turn_deg: float,
    weight: float,
    learned: Learned = NOTHING_LEARNED,
) -> float | None:
    """What to add to the commanded depth for a piece of the setup's thickness; None where a turn has no model bend."""
    turns = np.array([wanted_turn_deg, measured_turn_deg], dtype=float)
    found = bends_of(BendBatch.of([setup], [swift], [learned]), "finished", turns)
    if not found.converged.all():
        return None
    return weight * float(found.depth_mm[0] - found.depth_mm[1])


def deduction_of_gauged_leg(
    bend: int, leg_mm: float, stop_mm: float, *, leg_sd_mm: float = LEG_SD_MM, stop_sd_mm: float = BLANK_SD_MM
) -> DeductionSum:
    """A leg that only this bend limits, gauged from its free edge at a stop: deduction = 2 (leg - stop)."""
    return DeductionSum((bend,), 2 * (leg_mm - stop_mm), 2 * math.hypot(leg_sd_mm, stop_sd_mm))


def deduction_of_whole_part(
    legs_mm: Sequence[float], blank_mm: float, *, leg_sd_mm: float = LEG_SD_MM, blank_sd_mm: float = BLANK_SD_MM
) -> DeductionSum:
    """Equation of the whole chain: all legs less the blank is the sum of all deductions."""
    sd_mm = math.sqrt(len(legs_mm) * leg_sd_mm**2 + blank_sd_mm**2)
    return DeductionSum(tuple(range(len(legs_mm) - 1)), sum(legs_mm) - blank_mm, sd_mm)


def deductions_of_chain(
    equations: Sequence[DeductionSum], planned: Sequence[MeasuredLength]
) -> tuple[MeasuredLength, ...]:
    """Deductions of all bends by weighted least squares of the equations and of what was planned.

    The planned deductions, each with how far it may be off, stand in for what the measurements leave open: with no
    equation they come back. Standard deviations must be above zero (ValueError). Errors are taken as independent; one
    leg in two equations makes the answer a little too sure.
    """
    sds_mm = np.array([one.sd_mm for one in planned] + [one.sd_mm for one in equations], dtype=float)
    if (sds_mm <= 0).any():
        raise ValueError("a measurement without uncertainty cannot be weighed")
    count = len(planned)
    bends = [(bend,) for bend in range(count)] + [equation.bends for equation in equations]
    rows = np.array([np.bincount(each, minlength=count) for each in bends], dtype=float) / sds_mm[:, None]
    told_mm = np.array([*(one.value_mm for one in planned), *(one.total_mm for one in equations)], dtype=float)
    covariance = np.linalg.inv(rows.T @ rows)
    values = covariance @ rows.T @ (told_mm / sds_mm)
    return tuple(MeasuredLength(float(values[i]), math.sqrt(covariance[i, i])) for i in range(count))


def k_sd(deduction_sd_mm: float, thickness_mm: float, *, turn_deg: float) -> float:
    """Standard deviation of the K factor that a deduction shows: sd/(turn t). Show K with it, average deductions."""
    return deduction_sd_mm / (math.radians(turn_deg) * thickness_mm)
