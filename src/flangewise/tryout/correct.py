"""One measured piece worked through: angles first, then legs less the angles' share, stops, blank, evidence."""

from __future__ import annotations

from flangewise.findings import Finding, caution, note, place
from flangewise.sequence import stop_effects
from flangewise.tryout.depth import depth_correction
from flangewise.tryout.evidence import shown_deductions, shown_k
from flangewise.tryout.legs import blank_correction_mm, legs_at_angle, stop_corrections_mm
from flangewise.tryout.piece import BendCorrection, Corrections, LegResult, TriedPiece

# No stop, cut or deduction is off by more, short of a mistake (judgement).
SUSPECT_LEG_MM = 2.0


def correct(piece: TriedPiece) -> Corrections:
    """The corrections to add to depths, stops and blank before the next piece, and the deductions this one shows.

    Where an angle is suspect (beyond 5 degrees) all is corrected, and it is told what to check first; such a piece is
    not to be recorded. While a leg is suspect (beyond 2 mm) no stop is corrected and no deduction is shown.
    """
    depths = [depth_correction(bend, piece.piece) for bend in piece.bends]
    told = [finding for _, _, findings in depths for finding in findings]
    legs = legs_at_angle(piece)
    misread = _misread(legs)
    if misread:
        only = tuple(BendCorrection(bend, *found[:2]) for bend, found in zip(piece.bends, depths, strict=True))
        return Corrections(only, legs, None, (*told, *misread))
    shown, stops = shown_deductions(piece, legs), stop_corrections_mm(piece, legs)
    effects = stop_effects(piece.gauged, piece.order or range(len(piece.bends)))
    bends = []
    for index, (bend, (weight, depth, _)) in enumerate(zip(piece.bends, depths, strict=True)):
        found = shown[index]
        k_factor, k_sd = shown_k(piece, index, found)
        value, sd = (found.value_mm, found.sd_mm) if found is not None else (None, None)
        leg = None if bend.gauged is None else effects[index].leg + 1
        bends.append(BendCorrection(bend, weight, depth, stops[index], value, sd, k_factor, k_sd, leg))
    told += _leg_findings(piece)
    return Corrections(tuple(bends), legs, blank_correction_mm(piece, legs), tuple(told))


def _misread(legs: tuple[LegResult, ...]) -> list[Finding]:
    """Legs too far off for stop and deduction: read another way than the drawing sizes them, or the stop mistyped."""
    return [
        caution("tryout-suspect-leg", place("leg", leg.leg), off_mm=abs(leg.error_mm))
        for leg in legs
        if leg.error_mm is not None and abs(leg.error_mm) > SUSPECT_LEG_MM
    ]


def _leg_findings(piece: TriedPiece) -> list[Finding]:
    """Which legs are missing for the rest, where some were measured."""
    missing = [str(leg + 1) for leg, measured in enumerate(piece.measured_mm) if measured is None]
    if not missing or len(missing) == len(piece.measured_mm):
        return []
    return [note("tryout-legs-missing", None, legs=", ".join(missing))]
