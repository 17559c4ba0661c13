"""Legs: what the angles cost them, and what each stop and the blank must change by.

What a stop does to the legs stands in the datum tree of the plan (see sequence): a stop is off by the sum of the leg
errors between what it measures from and its bend, whatever else is off.
"""

from __future__ import annotations

from collections.abc import Iterable

from flangewise.bend import bend_allowance, correction_weight, k_from_deduction
from flangewise.sequence import leg_terms, stop_changes
from flangewise.tryout.piece import LegResult, TriedBend, TriedPiece

# A leg's error below this is scatter of cutting, gauging and calliper: two standard deviations of a leg.
LEG_NOISE_MM = 0.2


def legs_at_angle(piece: TriedPiece) -> tuple[LegResult, ...]:
    """Each leg as it would measure with its bends at their wanted angles.

    A leg takes the shares of the bends at its ends. A bend line gauged on a flange also moves with that flange's
    angle, and the legs on its two sides with it.
    """
    shares = [_angle_share_mm(piece, bend) for bend in piece.bends]
    found = []
    for leg, terms in enumerate(leg_terms(piece.gauged)):
        wanted, measured = piece.wanted_mm[leg], piece.measured_mm[leg]
        change = sum(terms.get(("half-deduction", bend), 0.0) * share for bend, share in enumerate(shares))
        found.append(LegResult(leg + 1, wanted, measured, None if measured is None else measured + change))
    return tuple(found)


def _angle_share_mm(piece: TriedPiece, bend: TriedBend) -> float:
    """Half the deduction at the wanted turn less half of that at the measured one: what the angle cost a leg.

    Nothing where the turn was not measured or stands where the deduction has no form (a hem, an offset).
    """
    if bend.turn_deg is None or bend.rule_mm is None:
        return 0.0
    k_factor = k_from_deduction(
        bend.radius_mm,
        piece.thickness_mm,
        turn_deg=bend.wanted_deg,
        deduction_mm=bend.deduction_mm,
        sizes=piece.sizes,
    )
    deductions = [
        bend_allowance(
            bend.radius_mm, piece.thickness_mm, turn_deg=turn, k_factor=k_factor, sizes=piece.sizes
        ).deduction_mm
        for turn in (bend.wanted_deg, bend.turn_deg)
    ]
    return (deductions[0] - deductions[1]) / 2


def leg_weight(error_mm: float, piece: int) -> float:
    """Share of a length's error to take back: 0.9, then 0.5, later 0.5 of what stands out of the scatter."""
    if piece <= 2:
        return correction_weight(piece)
    return correction_weight(2) if abs(error_mm) > LEG_NOISE_MM else 0.0


def stop_corrections_mm(piece: TriedPiece, legs: tuple[LegResult, ...]) -> tuple[float | None, ...]:
    """What to add to the stop of each bend; None where a leg it needs was not measured, or it has no stop."""
    errors = [leg.error_mm for leg in legs]
    changes = stop_changes(piece.gauged, piece.order or range(len(piece.bends)), errors)
    return tuple(
        None if bend.gauged is None or change is None else leg_weight(change, piece.piece) * change
        for bend, change in zip(piece.bends, changes, strict=True)
    )


def blank_correction_mm(piece: TriedPiece, legs: tuple[LegResult, ...]) -> float | None:
    """What to add to the developed length: minus the errors of all legs; None where not all were measured."""
    error = _sum(leg.error_mm for leg in legs)
    return None if error is None else -leg_weight(error, piece.piece) * error


def _sum(errors: Iterable[float | None]) -> float | None:
    listed = list(errors)
    known = [error for error in listed if error is not None]
    return sum(known) if len(known) == len(listed) else None
