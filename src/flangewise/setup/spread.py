"""How far the angle is to be expected to scatter, and whether that holds what the drawing allows."""

from __future__ import annotations

from flangewise.bend import Spread, Spreads
from flangewise.bend import expected_spread as spread_of_bend
from flangewise.findings import Finding, caution, place
from flangewise.punch_die import PunchDie
from flangewise.shop import Machine
from flangewise.words import phrase


def expected_spread(pair: PunchDie, *, machine: Machine, tolerance_mm: float | None) -> Spread | None:
    """The scatter of an air bend's angle on a machine; None for hems and offsets.

    `tolerance_mm` is the half width within which the sheet's thickness is delivered, None where no standard's table
    reaches: the scatter then cannot be computed.
    """
    if pair.air is None or pair.model is None or tolerance_mm is None:
        return None
    spreads = Spreads(thickness_tolerance_mm=tolerance_mm, depth_mm=machine.depth_repeat_mm)
    return spread_of_bend(pair.model.setup, pair.model.swift, pair.air, spreads)


def spread_findings(spread: Spread | None, tolerance_deg: float | None, number: int) -> tuple[Finding, ...]:
    """A caution where the first piece is not likely to hold the tolerance, with what would help and why."""
    if spread is None or tolerance_deg is None or spread.first_piece_deg <= tolerance_deg:
        return ()
    told = caution(
        "angle-unlikely",
        place("step", number),
        spread_deg=spread.first_piece_deg,
        tolerance_deg=tolerance_deg,
        measured_deg=spread.thickness_measured_deg,
        corrected_deg=spread.after_one_deg,
        cause=phrase(f"cause.{spread.dominant}"),
    )
    return (told,)
