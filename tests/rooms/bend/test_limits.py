"""Limits of a pair and of the model."""

import math
from dataclasses import replace

import pytest

from flangewise.bend import (
    BendSetup,
    bend_to_turn,
    beyond_verified,
    least_flange_mm,
    most_loaded_by_die_deg,
    most_loaded_by_punch_deg,
)
from flangewise.bend.limits import agrees_with_straight_flanges

from ...published.source import printed_at
from .metals import AUSTENITIC, METALS, SOFT

SETUP = BendSetup(2, 16, 1.5, 1)


def test_an_88_die_cannot_make_90_of_stainless():
    # Loaded turn 93.2 at 90 finished (2 mm in V 16): an 88 degree die stops at 91, an 85 at 94.
    bend = bend_to_turn(SETUP, AUSTENITIC, 90)
    assert bend.converged
    assert most_loaded_by_die_deg(88) == 91 < bend.loaded_turn_deg < most_loaded_by_die_deg(85)


def test_a_punch_of_60_stops_at_120():
    assert most_loaded_by_punch_deg(60) == 120


@pytest.mark.parametrize(
    ("change", "turn", "length", "beyond"),
    [
        ({}, 90, 100, ()),
        ({}, 120, 16, ()),
        ({"opening_mm": 10}, 90, None, ()),
        ({"opening_mm": 9.9}, 90, None, ("opening-ratio",)),
        ({"opening_mm": 32}, 90, None, ()),
        ({"opening_mm": 32.1}, 90, None, ("opening-ratio",)),
        ({}, 120.1, None, ("loaded-turn",)),
        ({"nose_radius_mm": 4}, 90, None, ()),
        ({"nose_radius_mm": 4.1}, 90, None, ("nose-radius",)),
        ({}, 90, 15.9, ("width",)),
        ({"opening_mm": 40, "nose_radius_mm": 11}, 130, 10, ("opening-ratio", "loaded-turn", "nose-radius", "width")),
    ],
)
def test_beyond_the_verified_range(change, turn, length, beyond):
    assert beyond_verified(replace(SETUP, **change), turn, length_mm=length) == beyond


# A tool maker's chart of least outside legs, mild steel; contact is 1.09 to 1.12 less.
@pytest.mark.parametrize("opening", [8, 16, 32])
def test_least_flange_is_what_the_chart_keeps_a_tenth_from(opening):
    chart = printed_at("force-chart-least-leg-and-radius", "least_leg_chart_mm", "opening_mm")
    setup = BendSetup(opening / 8, opening, 0.09 * opening, 0.08 * opening)
    bend = bend_to_turn(setup, SOFT, 90)
    assert bend.converged
    r, t = bend.formed_radius_mm, setup.thickness_mm
    deduction = 2 * (r + t) - math.pi / 2 * (r + (0.40 + 0.016 * r / t) * t)
    assert 1.02 < chart[opening,] / least_flange_mm(bend, deduction) < 1.2


@pytest.mark.parametrize("swift", METALS.values(), ids=METALS.keys())
@pytest.mark.parametrize("turn", [30, 90, 120])
def test_contact_length_is_near_that_of_straight_flanges(swift, turn):
    bend = bend_to_turn(SETUP, swift, turn)
    assert bend.converged
    assert agrees_with_straight_flanges(SETUP, bend)
    assert not agrees_with_straight_flanges(SETUP, replace(bend, contact_length_mm=2 * bend.contact_length_mm))
