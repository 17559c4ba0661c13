"""Scatter against what the drawing allows, and what is told once."""

from __future__ import annotations

from dataclasses import replace

from flangewise.bend import Spread
from flangewise.findings import caution, place
from flangewise.setup import SetupStep, first_piece
from flangewise.setup.set_up import told_once
from flangewise.words import say

from .made import made

SPREAD = Spread(2.1, 0.9, 0.7, 0.55, (("thickness", 0.56), ("model", 0.8)), "model")


def scattered(spread: Spread | None = SPREAD, tolerance_deg: float | None = 1.0) -> SetupStep:
    (step,) = made().steps
    return replace(step, planned=replace(step.planned, tolerance_deg=tolerance_deg), spread=spread)


def test_a_spread_within_the_tolerance_is_not_told() -> None:
    assert first_piece([scattered(tolerance_deg=2.1)]) == ()


def test_a_wider_one_is_told_with_what_to_do_and_what_would_help() -> None:
    expected, helped = map(say, first_piece([scattered()]))
    assert "±2.1°" in expected and "±1°" in expected and "Bend a spare first" in expected
    assert "±0.9°" in helped and "±0.7°" in helped and "the bend model" in helped


def test_the_step_that_scatters_most_is_told_of() -> None:
    wider = replace(SPREAD, first_piece_deg=3.4, dominant="strength")
    expected, helped = map(say, first_piece([scattered(), scattered(wider), scattered()]))
    assert "±3.4°" in expected and "the strength of the coil" in helped


def test_without_a_tolerance_or_a_spread_nothing_is_told() -> None:
    assert first_piece([scattered(tolerance_deg=None), scattered(None)]) == ()


def test_the_scatter_is_a_field_of_the_step_and_no_finding() -> None:
    record = scattered().as_json()
    assert (record["spread_deg"], record["spread_measured_deg"], record["spread_corrected_deg"]) == (2.1, 0.9, 0.7)
    assert (record["spread_cause"], record["tolerance_deg"]) == ("model", 1.0)


def test_steps_with_the_very_same_caution_are_named_together() -> None:
    one, other = (caution("rising-leg", place("step", number), over_mm=500.0) for number in (1, 3))
    (told,) = told_once([one, other])
    assert told.place() == "step 1, 3" and told.text() == one.text()
    apart = caution("rising-leg", place("step", 2), over_mm=600.0)
    assert told_once([one, apart]) == (one, apart)
