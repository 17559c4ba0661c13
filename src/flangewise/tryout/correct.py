"""One measured piece worked through: angles first, then legs less the angles' share, stops, blank, and what it shows.

What a stop does to the legs stands in the datum tree of the plan (see sequence): a stop is off by the sum of the leg
errors between what it measures from and its bend, whatever else is off.
"""

from collections.abc import Mapping, Sequence

from flangewise.bend import (
    PIECE_SD_DEG,
    SUSPECT_ERROR_DEG,
    DeductionSum,
    MeasuredLength,
    bend_allowance,
    correction_weight,
    deduction_of_gauged_leg,
    deduction_of_whole_part,
    deductions_of_chain,
    depth_correction_mm,
    k_from_deduction,
    k_sd,
)
from flangewise.findings import Finding, caution, note, place
from flangewise.tryout.piece import BendCorrection, Corrections, LegResult, TriedBend, TriedPiece

# A planned deduction may be off by this share of the thickness: wide, so that it only fills what was not measured.
PLANNED_SD_SHARE = 0.5
# A stop that was not touched off may stand off by this (uniform within 0.3 mm); a blank not measured by its cut.
STOP_SD_MM = 0.17
CUT_SD_MM, BLANK_SD_MM = 0.1, 0.05
# A deduction whose uncertainty measuring did not at least halve is not shown: it would be the plan's own.
TOLD_SHARE = 0.5
# A leg's error below this is scatter of cutting, gauging and calliper: two standard deviations of a leg.
LEG_NOISE_MM = 0.2
# No stop, cut or deduction is off by more, short of a mistake (judgement).
SUSPECT_LEG_MM = 2.0


def shown_deductions(piece: TriedPiece, legs: tuple[LegResult, ...]) -> tuple[MeasuredLength | None, ...]:
    """The deduction of each bend at its wanted turn, by weighted least squares; None where no leg tells of it."""
    equations = _equations(piece, legs)
    if not equations:
        return (None,) * len(piece.bends)
    planned_sd = PLANNED_SD_SHARE * piece.thickness_mm
    planned = [MeasuredLength(bend.deduction_mm, planned_sd) for bend in piece.bends]
    solved = deductions_of_chain(equations, planned)
    return tuple(found if found.sd_mm <= TOLD_SHARE * planned_sd else None for found in solved)


def _equations(piece: TriedPiece, legs: tuple[LegResult, ...]) -> list[DeductionSum]:
    if piece.panel is not None:
        return _gauged_legs(piece, legs, piece.panel.by_own_edge)
    lengths, outer = [leg.at_angle_mm for leg in legs if leg.at_angle_mm is not None], _outer_legs(piece, legs)
    if len(lengths) < len(legs):
        return outer
    blank_sd = BLANK_SD_MM if piece.developed_measured else CUT_SD_MM
    return [deduction_of_whole_part(lengths, piece.developed_mm, blank_sd_mm=blank_sd), *outer]


def _outer_legs(piece: TriedPiece, legs: Sequence[LegResult]) -> list[DeductionSum]:
    """Outer legs gauged from their own free edge, as one bend limits them; a part of one bend is its own equation."""
    if len(piece.bends) < 2:
        return []
    last = len(piece.bends) - 1
    outer = ((0, 0, "start"), (last, last + 1, "end"))
    gauged = [(bend, leg, piece.bends[bend].gauged, edge) for bend, leg, edge in outer]
    return _gauged_legs(piece, legs, {bend: leg for bend, leg, at, edge in gauged if at is not None and at.on == edge})


def _gauged_legs(piece: TriedPiece, legs: Sequence[LegResult], by_own_edge: Mapping[int, int]) -> list[DeductionSum]:
    """Bends with the leg that each limits alone, gauged on its free edge."""
    measured = ((bend, legs[leg].at_angle_mm, piece.bends[bend].stop_mm) for bend, leg in by_own_edge.items())
    return [
        deduction_of_gauged_leg(bend, length, stop_mm, stop_sd_mm=STOP_SD_MM)
        for bend, length, stop_mm in measured
        if length is not None and stop_mm is not None
    ]


def shown_k(piece: TriedPiece, bend: int, shown: MeasuredLength | None) -> tuple[float | None, float | None]:
    """The K factor a deduction shows for the radius the blank was made with, and its standard deviation."""
    tried = piece.bends[bend]
    if shown is None or tried.rule_mm is None:
        return None, None
    return _k_factor(piece, tried, shown.value_mm), k_sd(shown.sd_mm, piece.thickness_mm, turn_deg=tried.wanted_deg)


def _k_factor(piece: TriedPiece, bend: TriedBend, deduction_mm: float) -> float:
    t, turn_deg = piece.thickness_mm, bend.wanted_deg
    return k_from_deduction(bend.radius_mm, t, turn_deg=turn_deg, deduction_mm=deduction_mm, sizes=piece.sizes)


def weight_for(error_deg: float, piece: int) -> float:
    """Share of an angle's error to take back: as `correction_weight`, by what one piece and its gauge scatter.

    At first more for a large error, so that no more than one piece's scatter of it is left.
    """
    weight = correction_weight(piece, error_deg, margin=2 * PIECE_SD_DEG)
    return max(weight, 1 - PIECE_SD_DEG / abs(error_deg)) if piece == 1 and error_deg else weight


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
    weight, correction = weight_for(error, piece), None
    if bend.model is not None and bend.turn_deg is not None:
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


def legs_at_angle(piece: TriedPiece) -> tuple[LegResult, ...]:
    """Each leg as with its bends at their wanted angles; gauging on a flange, that flange's angle moves it too."""
    shares = [_angle_share_mm(piece, bend) for bend in piece.bends]
    found = []
    for leg, terms in enumerate(piece.leg_terms):
        wanted, measured = piece.wanted_mm[leg], piece.measured_mm[leg]
        change = sum(terms.get(("half-deduction", bend), 0.0) * share for bend, share in enumerate(shares))
        name = "" if piece.panel is None else piece.panel.names[leg]
        found.append(LegResult(leg + 1, wanted, measured, None if measured is None else measured + change, name))
    return tuple(found)


def _angle_share_mm(piece: TriedPiece, bend: TriedBend) -> float:
    """Half of what the wanted turn deducts more than the measured one; 0 without a turn, or for hems and offsets."""
    if bend.turn_deg is None or bend.rule_mm is None:
        return 0.0
    t, k_factor, sizes = piece.thickness_mm, _k_factor(piece, bend, bend.deduction_mm), piece.sizes
    wanted, measured = (
        bend_allowance(bend.radius_mm, t, turn_deg=turn, k_factor=k_factor, sizes=sizes).deduction_mm
        for turn in (bend.wanted_deg, bend.turn_deg)
    )
    return (wanted - measured) / 2


def stop_corrections_mm(piece: TriedPiece, legs: tuple[LegResult, ...]) -> tuple[float | None, ...]:
    """What to add to the stop of each bend; None where a leg it needs was not measured, or it has no stop."""
    errors = [leg.error_mm for leg in legs]
    changes = piece.stop_changes(errors)
    return tuple(
        None
        if (bend.gauged is None and piece.panel is None) or change is None
        else correction_weight(piece.piece, change, margin=LEG_NOISE_MM) * change
        for bend, change in zip(piece.bends, changes, strict=True)
    )


def blank_correction_mm(piece: TriedPiece, legs: tuple[LegResult, ...]) -> float | None:
    """What to add to the developed length: minus the errors of all legs; None where not all were measured.

    A panel is cut in two directions: what its base is off by says it.
    """
    if piece.panel is not None:
        return None
    errors = [leg.error_mm for leg in legs if leg.error_mm is not None]
    all_mm = sum(errors)
    return None if len(errors) < len(legs) else -correction_weight(piece.piece, all_mm, margin=LEG_NOISE_MM) * all_mm


def correct(piece: TriedPiece) -> Corrections:
    """The corrections to add to depths, stops and blank before the next piece, and the deductions this one shows.

    Where an angle is suspect (beyond 5 degrees) all is corrected, and it is told what to check first; such a piece is
    not to be recorded. While a leg is suspect (beyond 2 mm) no stop is corrected and no deduction is shown.
    """
    depths = [depth_correction(bend, piece.piece) for bend in piece.bends]
    told = [finding for _, _, findings in depths for finding in findings]
    legs = legs_at_angle(piece)
    misread = _misread(piece, legs)
    if misread:
        only = tuple(BendCorrection(bend, *found[:2]) for bend, found in zip(piece.bends, depths, strict=True))
        return Corrections(only, legs, None, (*told, *misread))
    shown, stops = shown_deductions(piece, legs), stop_corrections_mm(piece, legs)
    by_bend, bends = piece.legs_by_bend, []
    for index, (bend, (weight, depth, _)) in enumerate(zip(piece.bends, depths, strict=True)):
        found = shown[index]
        k_factor, k_sd = shown_k(piece, index, found)
        value, sd = (found.value_mm, found.sd_mm) if found is not None else (None, None)
        has_stop = bend.gauged is not None or piece.panel is not None
        leg = by_bend[index] + 1 if has_stop and index in by_bend else None
        bends.append(BendCorrection(bend, weight, depth, stops[index], value, sd, k_factor, k_sd, leg))
    told += _leg_findings(piece)
    return Corrections(tuple(bends), legs, blank_correction_mm(piece, legs), tuple(told))


def _misread(piece: TriedPiece, legs: tuple[LegResult, ...]) -> list[Finding]:
    """Legs too far off for stop and deduction: read another way than the drawing sizes them, or the stop mistyped."""
    return [
        caution("tryout-suspect-leg", piece.where(leg.leg), off_mm=abs(leg.error_mm))
        for leg in legs
        if leg.error_mm is not None and abs(leg.error_mm) > SUSPECT_LEG_MM
    ]


def _leg_findings(piece: TriedPiece) -> list[Finding]:
    names = piece.panel.names if piece.panel is not None else tuple(map(str, range(1, len(piece.measured_mm) + 1)))
    missing = [name for name, measured in zip(names, piece.measured_mm, strict=True) if measured is None]
    if not missing or len(missing) == len(piece.measured_mm):
        return []
    return [note("tryout-legs-missing", None, legs=", ".join(missing))]
