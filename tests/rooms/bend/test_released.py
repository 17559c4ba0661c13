"""Effective radii: exact under load, and after release against the shape drawn section by section."""

import math

import numpy as np
import pytest

from flangewise.bend.elastica import effective_radii_mm, sections
from flangewise.bend.newton import Aim, solve

from .metals import METALS
from .test_elastica import one, rows


def solved(sheet, degrees):
    return solve(sheet, Aim.of("loaded", np.radians(one(degrees))), one(math.radians(degrees / 2)), one(-1.5))


def radii(sheet, found):
    return effective_radii_mm(found.half_turn, found.log_strain, found.springback_rad, sheet)


@pytest.mark.parametrize("metal", METALS)
@pytest.mark.parametrize("degrees", [30, 90, 125])
def test_under_load_the_straight_flange_depth_is_exact(metal, degrees):
    sheet = rows(METALS[metal])
    found = solved(sheet, degrees)
    half = float(found.half_turn[0])
    # Depth of straight flanges on radius r, solved for r: V 16, shoulder 1.5, t 2.
    secant = 1 / math.cos(half)
    exact = (8 * math.tan(half) - float(found.depth_mm[0]) - 2 * secant) / (secant - 1) - 1.5
    assert radii(sheet, found)[0][0] == pytest.approx(exact, abs=1e-6)


@pytest.mark.parametrize(("metal", "degrees"), [("A", 92), ("B", 60), ("C", 95), ("D", 110)])
def test_after_release_the_drawn_shape_gives_the_radius(metal, degrees):
    sheet = rows(METALS[metal])
    found = solved(sheet, degrees)
    # Draw the released half from many sections: each turned back by what lies between it and the contact.
    cut = sections(found.half_turn, found.log_strain, sheet, plastic_points=400)
    stiffness = METALS[metal].plane_modulus_mpa * 8 / 12
    length, sine, moment = cut.length_mm[:, 0], cut.sine[:, 0], cut.moment_n[:, 0]
    back = np.cumsum(moment * length / stiffness) - moment * length / stiffness / 2
    finished = float(found.half_turn[0] - found.springback_rad[0] / 2)
    slope_left = np.arcsin(sine) + math.atan(0.1) - back
    wrapped, on_nose = float(cut.wrapped_rad[0]), 2.0
    free_end = float(found.half_turn[0]) - wrapped - float((moment * length).sum()) / stiffness
    arc = np.linspace(free_end, finished, 20001)
    arc_length = on_nose * wrapped
    mean = float(np.sin((arc[1:] + arc[:-1]) / 2).mean())
    offset = float((np.sin(slope_left) * length).sum()) + arc_length * mean
    drawn = offset / (1 - math.cos(finished)) - 1.0
    assert radii(sheet, found)[1][0] == pytest.approx(drawn, rel=2e-3)


@pytest.mark.parametrize("metal", METALS)
def test_release_changes_the_radius_little(metal):
    # Seen in finite-element bends and in the model: -10 to +5 %.
    sheet = rows(METALS[metal])
    under, after = radii(sheet, solved(sheet, 92))
    assert 0.90 < after[0] / under[0] < 1.05


def test_a_bend_that_springs_back_altogether_has_no_radius():
    sheet = rows(METALS["D"])
    found = solved(sheet, 0.2)
    assert radii(sheet, found)[1][0] == 0
