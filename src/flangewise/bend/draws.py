"""The spread of one bend by drawing coils and pieces: the check on the first-order formula.

Each draw is a coil (thickness, strength, hardening, friction) and pieces of it. The depth is set for the nominal
sheet, for the thickness measured, or corrected after a first and a second piece; the model bends every piece.
The model's own error is not in it. Source: derived here, a Monte Carlo of the model; the spreads drawn are judgement.
"""

import numpy as np

from flangewise.records import dataclass, replace

from .air_bend import bends_of
from .elastica import BoolArray
from .moment import FloatArray, Swift
from .records import BendBatch, BendSetup
from .scatter import FIRST_WEIGHT, SECOND_WEIGHT, TWO_SIDED_95, Spreads


@dataclass(frozen=True)
class DrawnSpread:
    """95 % half widths from draws, how many draws had an answer, and how many were made."""

    first_piece_deg: float
    thickness_measured_deg: float
    after_one_deg: float
    after_two_deg: float
    answered: int
    draws: int


def drawn_spread(
    setup: BendSetup, swift: Swift, turn_deg: float, *, spreads: Spreads, draws: int = 4000, seed: int = 20_250_101
) -> DrawnSpread | None:
    """Spread by Monte Carlo, 1.96 s.d. about the turn wanted, seed fixed; None where the nominal bend has no answer."""
    nominal = BendBatch.of([setup], [swift])
    wanted = bends_of(nominal, "finished", np.array([float(turn_deg)]))
    if not wanted.converged[0]:
        return None
    run = _Draws(nominal, float(turn_deg), float(wanted.depth_mm[0]), spreads, np.random.default_rng(seed))
    coils = _coils(run, draws)
    first = _bend(run, coils, np.full(draws, run.depth_mm))
    measured = _bend(run, coils, _depth_for_thickness(run, coils), same_piece=True) if spreads.reading_helps else first
    corrected = _correct(run, first, FIRST_WEIGHT)
    second = _bend(run, coils, corrected.depth_mm)
    third = _bend(run, coils, _correct(run, second, SECOND_WEIGHT).depth_mm)
    pieces = (first, measured, second, third)
    good = corrected.answered & np.logical_and.reduce([piece.answered for piece in pieces])
    widths = [float(TWO_SIDED_95 * np.sqrt(np.mean((piece.turn_deg[good] - turn_deg) ** 2))) for piece in pieces]
    return DrawnSpread(widths[0], widths[1], widths[2], widths[3], answered=int(good.sum()), draws=draws)


@dataclass(frozen=True)
class _Draws:
    nominal: BendBatch
    turn_deg: float
    depth_mm: float
    spreads: Spreads
    rng: "np.random.Generator"


@dataclass(frozen=True)
class _Pieces:
    depth_mm: FloatArray
    turn_deg: FloatArray
    answered: BoolArray


def _coils(run: _Draws, draws: int) -> BendBatch:
    """One sheet of every coil, as it differs from the nominal one from coil to coil."""
    nominal, spreads, rng = run.nominal, run.spreads, run.rng
    most = spreads.thickness_tolerance_mm
    return replace(
        nominal,
        thickness_mm=nominal.thickness_mm + np.clip(rng.normal(0, spreads.thickness_between_mm, draws), -most, most),
        strength_mpa=nominal.strength_mpa * rng.normal(1, spreads.strength_between_share, draws),
        exponent=nominal.exponent + rng.normal(0, spreads.exponent, draws),
        friction=np.abs(nominal.friction + rng.normal(0, spreads.friction, draws)),
    )


def _bend(run: _Draws, coils: BendBatch, depth_mm: FloatArray, *, same_piece: bool = False) -> _Pieces:
    """One piece of every coil; `same_piece`: the one whose thickness was measured, so it does not differ again."""
    draws, spreads, rng = depth_mm.size, run.spreads, run.rng
    within_mm = 0.0 if same_piece else spreads.thickness_within_mm
    piece = replace(
        coils,
        strength_mpa=coils.strength_mpa * rng.normal(1, spreads.strength_within_share, draws),
        thickness_mm=coils.thickness_mm + rng.normal(0, within_mm, draws),
    )
    found = bends_of(piece, "depth", depth_mm + rng.normal(0, spreads.depth_mm, draws))
    return _Pieces(depth_mm, found.turn_deg, found.converged)


def _correct(run: _Draws, pieces: _Pieces, weight: float) -> _Pieces:
    """Depth for the next piece from the turn that a gauge reads on this one."""
    seen = pieces.turn_deg + run.rng.normal(0, run.spreads.gauge_deg, pieces.turn_deg.size)
    model = bends_of(run.nominal, "finished", seen)
    return replace(
        pieces,
        depth_mm=pieces.depth_mm + weight * (run.depth_mm - model.depth_mm),
        answered=pieces.answered & model.converged,
    )


def _depth_for_thickness(run: _Draws, coils: BendBatch) -> FloatArray:
    draws = coils.thickness_mm.size
    read_mm = coils.thickness_mm + run.rng.normal(0, run.spreads.measured_thickness_mm, draws)
    return bends_of(replace(run.nominal, thickness_mm=read_mm), "finished", np.full(draws, run.turn_deg)).depth_mm
