"""The depth correction: how much of the angle's error to take back, and what that is in depth."""

from __future__ import annotations

from flangewise.bend import (
    PIECE_SD_DEG,
    SUSPECT_ERROR_DEG,
    correction_weight,
    depth_correction_mm,
    worth_correcting,
)
from flangewise.findings import Finding, caution, note, place
from flangewise.tryout.piece import TriedBend

# The share taken back from the third piece on, of errors that stand out of the scatter.
LATER_WEIGHT = 0.5


def weight_for(error_deg: float, piece: int) -> float:
    """Share of an angle's error to take back after the first, second, or a later piece.

    0.9 at first, more for a large error so that no more than one piece's scatter of it is left; then 0.5; from the
    third on 0.5 of an error beyond two s.d. of a piece and its gauge and nothing below, since correcting what is only
    scatter makes it worse.
    """
    if piece == 1 and error_deg:
        return max(correction_weight(1), 1 - PIECE_SD_DEG / abs(error_deg))
    if piece <= 2:
        return correction_weight(piece)
    return LATER_WEIGHT if worth_correcting(error_deg, PIECE_SD_DEG) else 0.0


def depth_correction(bend: TriedBend, piece: int) -> tuple[float | None, float | None, tuple[Finding, ...]]:
    """Weight and depth correction of a bend and what must be said; None twice where there is none to give.

    An error beyond 5 degrees is no scatter: it is told what to check before the correction is believed. Only a reading
    of the other angle of the corner gives none.
    """
    error = bend.error_deg
    if error is None:
        return None, None, ()
    where = place("bend", bend.number)
    if _is_other_angle(bend):
        read = {"bend": bend.number, "read_deg": 180.0 - (bend.turn_deg or 0.0), "other_deg": bend.turn_deg}
        return None, None, (caution("tryout-other-angle", where, **read),)
    suspect = (caution("tryout-suspect", where, error_deg=abs(error)),) if is_suspect(bend) else ()
    if bend.model is None or bend.turn_deg is None:
        return None, None, (*suspect, note("tryout-no-model", where))
    weight = weight_for(error, piece)
    correction = depth_correction_mm(
        bend.model.setup,
        bend.model.swift,
        wanted_turn_deg=bend.wanted_deg,
        measured_turn_deg=bend.turn_deg,
        weight=weight,
        learned=bend.model.learned,
    )
    if correction is None:
        return None, None, (*suspect, note("tryout-no-model", where))
    told = (note("tryout-let-be", where, error_deg=abs(error)),) if weight == 0 and error else ()
    return weight, correction, (*suspect, *told)


def is_suspect(bend: TriedBend) -> bool:
    """Whether an angle is too far off to be scatter, so that the piece teaches nothing."""
    return bend.error_deg is not None and abs(bend.error_deg) > SUSPECT_ERROR_DEG


def _is_other_angle(bend: TriedBend) -> bool:
    """Whether the protractor was plainly read from the other side of the corner; near square the two look alike."""
    error, turn_deg = bend.error_deg, bend.turn_deg
    if error is None or turn_deg is None or abs(error) <= 2 * SUSPECT_ERROR_DEG:
        return False
    return abs(180.0 - turn_deg - bend.wanted_deg) <= SUSPECT_ERROR_DEG
