"""Legs, stops and blank: the angle's share taken out of each leg, then what each stop and the blank must change by.

On the blank every bend line has a place u, counted from the start edge, and a leg between two lines is their distance
and half of both deductions. A stop that measures from the start edge sets u, one that measures from the end edge sets
what is left, one on the flange of another bend sets the distance to that bend. So a stop is off by the sum of the leg
errors between what it measures from and its bend, whatever else is off.
"""

from __future__ import annotations

from collections.abc import Iterable

from flangewise.bend import bend_allowance, correction_weight, k_from_deduction
from flangewise.tryout.piece import LegResult, TriedBend, TriedPiece

# A leg's error below this is scatter of cutting, gauging and calliper: two standard deviations of a leg.
LEG_NOISE_MM = 0.2


def legs_at_angle(piece: TriedPiece) -> tuple[LegResult, ...]:
    """Each leg as it would measure with its bends at their wanted angles.

    A leg takes the shares of the bends at its ends. A bend line gauged on a flange also moves with that flange's
    angle, and the legs on its two sides with it.
    """
    shares = [0.0, *(_angle_share_mm(piece, bend) for bend in piece.bends), 0.0]
    moved = [0.0, *(_line_moved_mm(piece, shares, place, frozenset()) for place in range(len(piece.bends))), 0.0]
    found = []
    for leg, (wanted, measured) in enumerate(zip(piece.wanted_mm, piece.measured_mm, strict=True)):
        change = shares[leg] + shares[leg + 1] + moved[leg + 1] - moved[leg]
        found.append(LegResult(leg + 1, wanted, measured, None if measured is None else measured + change))
    return tuple(found)


def _line_moved_mm(piece: TriedPiece, shares: list[float], place: int, passed: frozenset[int]) -> float:
    """How far a bend line (by its place from 0) moves when the bends are at their wanted angles.

    One gauged on an edge stays. One gauged on the flange of another bend keeps its distance to that flange's outer
    face, which stands half a deduction beyond that bend's line.
    """
    tried = piece.bends[place]
    gauged = next((at for at, each in enumerate(piece.bends) if each.number == tried.gauged_bend), None)
    if tried.gauged_on != "flange" or gauged is None or gauged == place or gauged in passed:
        return 0.0
    toward_start = -shares[gauged + 1] if gauged < place else shares[gauged + 1]
    return _line_moved_mm(piece, shares, gauged, passed | {place}) + toward_start


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


def stop_correction_mm(piece: TriedPiece, legs: tuple[LegResult, ...], bend: int) -> float | None:
    """What to add to the stop of a bend (by its place from 0); None where a leg it needs was not measured.

    Minus the errors of the legs between what the stop measures from and the bend.
    """
    tried = piece.bends[bend]
    between = _legs_between(piece, tried, bend)
    if between is None:
        return None
    error = _sum(legs[leg].error_mm for leg in between)
    return None if error is None else -leg_weight(error, piece.piece) * error


def _legs_between(piece: TriedPiece, tried: TriedBend, bend: int) -> range | None:
    """The legs (from 0) between what a stop measures from and its bend."""
    if tried.gauged_on == "start":
        return range(bend + 1)
    if tried.gauged_on == "end":
        return range(bend + 1, len(piece.wanted_mm))
    places = {each.number: place for place, each in enumerate(piece.bends)}
    gauged = places.get(tried.gauged_bend or 0)
    if tried.gauged_on != "flange" or gauged is None or gauged == bend:
        return None
    return range(min(gauged, bend) + 1, max(gauged, bend) + 1)


def blank_correction_mm(piece: TriedPiece, legs: tuple[LegResult, ...]) -> float | None:
    """What to add to the developed length: minus the errors of all legs; None where not all were measured."""
    error = _sum(leg.error_mm for leg in legs)
    return None if error is None else -leg_weight(error, piece.piece) * error


def _sum(errors: Iterable[float | None]) -> float | None:
    listed = list(errors)
    known = [error for error in listed if error is not None]
    return sum(known) if len(known) == len(listed) else None
