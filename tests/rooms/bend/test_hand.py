"""The hand model against exact geometry and the figures it is a fit to."""

import math

import pytest

from flangewise.bend import BendSetup, Swift, bend_to_turn
from flangewise.bend.hand import (
    flange_depth_mm,
    hand_bend,
    hand_springback_deg,
    least_leg_mm,
    natural_radius_mm,
    plane_strain_modulus_mpa,
)

from ...published.source import printed_at
from .metals import METALS, SOFT

# Straight flanges on an arc, solved by drawing the contact: V, rd, r, t, loaded turn -> depth.
GEOMETRY = [
    (16, 1.5, 2.6, 2, 90, 3.47330),
    (16, 1.5, 2.6, 2, 30, -0.07159),
    (12, 1, 1.5, 1.5, 135, 6.53278),
    (50, 5, 8, 6, 90, 11.12994),
    (8, 0.8, 1.2, 1, 60, 0.84530),
]
DC01 = Swift(strength_mpa=550, prestrain=0.003, exponent=0.207, modulus_mpa=210_000, poisson=0.3)


def shape(opening, shoulder, radius, thickness):
    return BendSetup(thickness, opening, shoulder, radius)


def contact_length_mm(loaded_turn_deg, at):
    """Of straight flanges, from the middle: (r + t/2) a + [V/2 - rd sin a - (r + t) sin a]/cos a, a the half turn."""
    half, r, t = math.radians(loaded_turn_deg) / 2, at.nose_radius_mm, at.thickness_mm
    straight = at.opening_mm / 2 - (at.shoulder_radius_mm + r + t) * math.sin(half)
    return (r + t / 2) * half + straight / math.cos(half)


@pytest.mark.parametrize("row", GEOMETRY)
def test_depth(row):
    opening, shoulder, radius, thickness, turn, depth = row
    assert flange_depth_mm(turn, shape(opening, shoulder, radius, thickness)) == pytest.approx(depth, abs=1e-4)


@pytest.mark.parametrize("row", GEOMETRY)
def test_sheet_touches_the_shoulder(row):
    opening, shoulder, radius, thickness, turn, *_ = row
    at = shape(opening, shoulder, radius, thickness)
    half = math.radians(turn) / 2
    centre_up = radius - flange_depth_mm(turn, at)
    # Outer face of the flange: tangent to the circle r + t about (0, centre_up), normal (sin, -cos).
    to_shoulder = opening / 2 * math.sin(half) - (-shoulder - centre_up) * math.cos(half)
    assert to_shoulder == pytest.approx(radius + thickness + shoulder, abs=1e-12)


def test_first_touch_and_limits():
    at = shape(16, 1.5, 2.6, 2)
    assert flange_depth_mm(0, at) == pytest.approx(-2)
    with pytest.raises(ValueError, match="less than 180"):
        flange_depth_mm(180, at)


def test_contact_length_is_arc_plus_straight():
    # 90 degrees, V 16, rd 1.5, r 2.6, t 2: arc 3.6 pi/4, then the contact point at 8 - 1.5 sin 45.
    straight = (8 - (1.5 + 2.6 + 2) * math.sqrt(0.5)) / math.sqrt(0.5)
    assert contact_length_mm(90, shape(16, 1.5, 2.6, 2)) == pytest.approx(3.6 * math.pi / 4 + straight)


def test_natural_radius_follows_the_trade_at_wide_dies():
    # Mild steel forms about 0.16 V, austenitic 0.20 V (trade rules), both at V = 16 t; never below a sharp zero.
    assert natural_radius_mm(16, 1, exponent=0.207) / 16 == pytest.approx(0.16, abs=0.012)
    assert natural_radius_mm(16, 1, exponent=0.394) / 16 == pytest.approx(0.21, abs=0.015)
    assert natural_radius_mm(5, 1, exponent=0.03) == 0


def test_springback_by_hand():
    # 146 x 320/230769 x 8 = 1.62 degrees; half the turn keeps 0.825 of it.
    plane = plane_strain_modulus_mpa(210_000, 0.3)
    at_90 = hand_springback_deg(320, plane, opening_mm=16, thickness_mm=2, turn_deg=90)
    assert at_90 == pytest.approx(1.62, abs=0.005)
    at_45 = hand_springback_deg(320, plane, opening_mm=16, thickness_mm=2, turn_deg=45)
    assert at_45 == pytest.approx(0.825 * at_90)
    stainless = hand_springback_deg(320, plane, opening_mm=16, thickness_mm=2, turn_deg=90, austenitic=True)
    assert stainless == pytest.approx(at_90 * 133 / 146)


@pytest.mark.parametrize("swift", METALS.values(), ids=METALS.keys())
@pytest.mark.parametrize("turn", [30, 90, 120])
def test_the_models_contact_is_near_that_of_straight_flanges(swift, turn):
    bend = bend_to_turn(BendSetup(2, 16, 1.5, 1), swift, turn)
    assert bend.converged
    straight = contact_length_mm(bend.loaded_turn_deg, shape(16, 1.5, bend.effective_radius_mm, 2))
    assert bend.contact_length_mm == pytest.approx(straight, rel=0.1)


# A tool maker's chart of least outside legs, mild steel; contact is 1.09 to 1.12 less.
@pytest.mark.parametrize("opening", [8, 16, 32])
def test_the_bare_least_leg_is_what_the_chart_keeps_a_tenth_from(opening):
    chart = printed_at("force-chart-least-leg-and-radius", "least_leg_chart_mm", "opening_mm")
    setup = BendSetup(opening / 8, opening, 0.09 * opening, 0.08 * opening)
    bend = bend_to_turn(setup, SOFT, 90)
    assert bend.converged
    r, t = bend.formed_radius_mm, setup.thickness_mm
    deduction = 2 * (r + t) - math.pi / 2 * (r + (0.40 + 0.016 * r / t) * t)
    assert 1.02 < chart[opening,] / least_leg_mm(bend.contact_length_mm, deduction, margin=1.0) < 1.2


def test_whole_hand_bend():
    bend = hand_bend(90, shape(16, 1.5, 1, 2), DC01, tensile_mpa=320)
    assert bend.loaded_turn_deg == pytest.approx(90 + bend.springback_deg)
    assert bend.inside_radius_mm == pytest.approx(0.38 * 16 * 0.207 / 0.417 - 1)
    assert (bend.force_kn_per_m, bend.force_from) == (pytest.approx(120), "1+4t/V")
    # A chart's least leg for V 16; here with a deduction of 3.7 mm (finite-element bend of the same sheet).
    chart = printed_at("force-chart-least-leg-and-radius", "least_leg_chart_mm", "opening_mm")
    contact = contact_length_mm(bend.loaded_turn_deg, shape(16, 1.5, bend.inside_radius_mm, 2))
    assert least_leg_mm(contact, 3.7) == pytest.approx(chart[16,], rel=0.06)


def test_a_blunt_punch_sets_the_radius():
    assert hand_bend(90, shape(16, 1.5, 6, 2), DC01, tensile_mpa=320).inside_radius_mm == 6


def test_no_air_bend_reaches_flat():
    with pytest.raises(ValueError, match="less than 180"):
        hand_bend(179, shape(16, 1.5, 1, 2), DC01, tensile_mpa=320)
