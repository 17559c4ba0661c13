"""Scatter against what the drawing allows."""

from __future__ import annotations

from dataclasses import replace

from flangewise.bend import Spread
from flangewise.setup.scatter import spread_findings, told_once

from .made import chosen, codes, hit, value

SPREAD = Spread(2.1, 0.9, 0.7, 0.55, (("thickness", 0.56), ("model", 0.8)), "model")


def test_a_spread_within_the_tolerance_is_not_told() -> None:
    assert spread_findings(SPREAD, hit(chosen(tolerance_deg=2.1))) == ()


def test_a_wider_one_is_told_with_what_would_help() -> None:
    told = spread_findings(SPREAD, hit(chosen(tolerance_deg=1.0)))
    assert codes(told) == {"angle-unlikely"} and told[0].severity == "caution"
    assert value(told, "angle-unlikely", "measured_deg") == 0.9
    assert value(told, "angle-unlikely", "corrected_deg") == 0.7
    assert "±2.1°" in told[0].text() and "the bend model" in told[0].text()
    assert told[0].place() == "step 1"


def test_without_a_tolerance_or_a_spread_nothing_is_told() -> None:
    assert spread_findings(SPREAD, hit()) == ()
    assert spread_findings(None, hit(chosen(tolerance_deg=0.1))) == ()


def test_steps_with_the_very_same_caution_are_named_together() -> None:
    one, other = (spread_findings(SPREAD, replace(hit(chosen(tolerance_deg=1.0)), number=n))[0] for n in (1, 3))
    (told,) = told_once([one, other])
    assert told.place() == "step 1, 3" and told.text() == one.text()
    (wider,) = spread_findings(SPREAD, replace(hit(chosen(tolerance_deg=0.5)), number=2))
    assert told_once([one, wider]) == (one, wider)
