"""How far the angle of an air bend is to be expected to scatter."""

from __future__ import annotations

from dataclasses import replace

from flangewise.bend import (
    NOTHING_LEARNED,
    DrawnSpread,
    Spread,
    Spreads,
    drawn_spread as spread_by_draws,
    expected_spread as spread_of_bend,
)
from flangewise.punch_die.pair import PunchDie

# What the model is still off where measured bends have corrected it, 1 s.d. (judgement); 0.8 where none have.
LEARNED_MODEL_DEG = 0.3


def expected_spread(made: PunchDie, *, tolerance_mm: float | None, depth_repeat_mm: float) -> Spread | None:
    """The scatter of an air bend's angle; None for hems and offsets.

    `tolerance_mm` is the half width within which the sheet's thickness is delivered, None where no standard's table
    reaches: the scatter then cannot be computed. `depth_repeat_mm` is the machine's own, 1 s.d.
    """
    if made.air is None or made.model is None or tolerance_mm is None:
        return None
    spreads = _spreads(made, tolerance_mm, depth_repeat_mm)
    return spread_of_bend(made.model.setup, made.model.swift, made.air, spreads)


def drawn_spread(
    made: PunchDie, *, tolerance_mm: float | None, depth_repeat_mm: float, draws: int
) -> DrawnSpread | None:
    """The same scatter by Monte Carlo, as a check on the first-order one; the model's own error is not drawn.

    None for hems and offsets, without a tolerance, and where the bend itself has no answer.
    """
    if made.air is None or made.model is None or tolerance_mm is None:
        return None
    spreads = _spreads(made, tolerance_mm, depth_repeat_mm)
    model = made.model
    return spread_by_draws(model.setup, model.swift, made.air.turn_deg, spreads=spreads, draws=draws)


def _spreads(made: PunchDie, tolerance_mm: float, depth_repeat_mm: float) -> Spreads:
    spreads = Spreads(thickness_tolerance_mm=tolerance_mm, depth_mm=depth_repeat_mm)
    is_learned = made.model is not None and made.model.learned != NOTHING_LEARNED
    return replace(spreads, model_deg=LEARNED_MODEL_DEG) if is_learned else spreads
