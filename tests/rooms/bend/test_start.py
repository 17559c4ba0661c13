"""Start values: right at the elastic limit, and near enough elsewhere."""

import math

import numpy as np
import pytest

from flangewise.bend import BendSetup
from flangewise.bend.hand import flange_depth_mm
from flangewise.bend.newton import Aim, solve, start_from_depth, start_from_finished, start_from_loaded

from .metals import METALS
from .test_elastica import one, rows


def test_a_small_elastic_turn_has_the_strain_of_a_cantilever():
    # Half turn a of a cantilever of length l under an end load: a = M l/(2 E'I), so surface strain = a t/l.
    sheet = rows(METALS["D"], friction=0.0)
    half, strain = start_from_loaded(one(2e-4), sheet)
    assert half[0] == pytest.approx(1e-4)
    assert math.exp(strain[0]) >= 1e-4 * 2 / 8 * 0.99


@pytest.mark.parametrize("metal", METALS)
def test_springback_is_added_to_a_finished_turn(metal):
    sheet, turn = rows(METALS[metal]), np.radians(one(90))
    half, _ = start_from_finished(turn, sheet)
    found = solve(sheet, Aim.of("finished", turn), one(0.8), one(-1.5))
    assert turn[0] / 2 < half[0]
    assert half[0] == pytest.approx(found.half_turn[0], abs=math.radians(2.5))


@pytest.mark.parametrize("degrees", [10, 45, 90, 140])
def test_depth_start_inverts_straight_flanges(degrees):
    # Nose 2.08 mm is 0.13 V: the arc that the start assumes.
    sheet = rows(METALS["A"], nose=2.08)
    depth = flange_depth_mm(degrees, BendSetup(2, 16, 1.5, 2.08))
    half, _ = start_from_depth(one(depth), sheet)
    assert half[0] == pytest.approx(math.radians(degrees / 2), abs=2e-4)
