"""The deductions a piece shows, each with its uncertainty, and the K factor that follows from one."""

from __future__ import annotations

from collections.abc import Sequence

from flangewise.bend import (
    DeductionSum,
    MeasuredLength,
    deduction_of_gauged_leg,
    deduction_of_whole_part,
    deductions_of_chain,
    k_from_deduction,
    k_sd,
)
from flangewise.tryout.piece import LegResult, TriedPiece

# A planned deduction may be off by this share of the thickness: wide, so that it only fills what was not measured.
PLANNED_SD_SHARE = 0.5
# A stop that was not touched off may stand off by this (uniform within 0.3 mm); a blank not measured by its cut.
STOP_SD_MM = 0.17
CUT_SD_MM, BLANK_SD_MM = 0.1, 0.05
# A deduction whose uncertainty measuring did not at least halve is not shown: it would be the plan's own.
TOLD_SHARE = 0.5


def shown_deductions(piece: TriedPiece, legs: tuple[LegResult, ...]) -> tuple[MeasuredLength | None, ...]:
    """The deduction of each bend by weighted least squares; None where the measured legs say nothing of it.

    The legs are taken at their wanted angles, so these are the deductions at the wanted turns.
    """
    equations = _equations(piece, legs)
    if not equations:
        return (None,) * len(piece.bends)
    planned_sd = PLANNED_SD_SHARE * piece.thickness_mm
    planned = [MeasuredLength(bend.deduction_mm, planned_sd) for bend in piece.bends]
    solved = deductions_of_chain(equations, planned)
    return tuple(found if found.sd_mm <= TOLD_SHARE * planned_sd else None for found in solved)


def _equations(piece: TriedPiece, legs: tuple[LegResult, ...]) -> list[DeductionSum]:
    found = []
    lengths = [leg.at_angle_mm for leg in legs if leg.at_angle_mm is not None]
    if len(lengths) == len(legs):
        blank_sd = BLANK_SD_MM if piece.developed_measured else CUT_SD_MM
        found.append(deduction_of_whole_part(lengths, piece.developed_mm, blank_sd_mm=blank_sd))
    found += _outer_legs(piece, legs)
    return found


def _outer_legs(piece: TriedPiece, legs: Sequence[LegResult]) -> list[DeductionSum]:
    """The first and the last leg, where each is gauged from its own free edge: only one bend limits them.

    In a part of one bend the whole part says it better, and its leg would be counted twice.
    """
    if len(piece.bends) < 2:
        return []
    found = []
    last = len(piece.bends) - 1
    for bend, leg, edge in ((0, 0, "start"), (last, last + 1, "end")):
        tried, length = piece.bends[bend], legs[leg].at_angle_mm
        if tried.gauged is not None and tried.gauged.on == edge and tried.stop_mm is not None and length is not None:
            found.append(deduction_of_gauged_leg(bend, length, tried.stop_mm, stop_sd_mm=STOP_SD_MM))
    return found


def shown_k(piece: TriedPiece, bend: int, shown: MeasuredLength | None) -> tuple[float | None, float | None]:
    """The K factor a deduction shows for the radius the blank was made with, and its standard deviation."""
    tried = piece.bends[bend]
    if shown is None or tried.rule_mm is None:
        return None, None
    k_factor = k_from_deduction(
        tried.radius_mm,
        piece.thickness_mm,
        turn_deg=tried.wanted_deg,
        deduction_mm=shown.value_mm,
        sizes=piece.sizes,
    )
    return k_factor, k_sd(shown.sd_mm, piece.thickness_mm, turn_deg=tried.wanted_deg)
