"""Batches of bends and what makes a bend possible at all."""

import numpy as np
import pytest

from flangewise.bend import BendSetup, Learned
from flangewise.bend.air_bend import bends_of
from flangewise.bend.records import BendBatch

from .metals import AUSTENITIC, SOFT

SETUP = BendSetup(2, 16, 1.5, 1)


def test_a_batch_holds_each_record_in_its_place():
    batch = BendBatch.of(
        [SETUP, BendSetup(3, 24, 2, 1.5, friction=0.2)], [SOFT, AUSTENITIC], [Learned(0.1, 0.2), Learned()]
    )
    assert batch.thickness_mm.tolist() == [2, 3]
    assert batch.opening_mm.tolist() == [16, 24]
    assert batch.shoulder_radius_mm.tolist() == [1.5, 2]
    assert batch.nose_radius_mm.tolist() == [1, 1.5]
    assert batch.friction.tolist() == [0.1, 0.2]
    assert batch.strength_mpa.tolist() == [541, 1339]
    assert batch.prestrain.tolist() == [0.0082, 0.0224]
    assert batch.exponent.tolist() == [0.207, 0.394]
    assert batch.modulus_mpa.tolist() == [210_000, 193_000]
    assert batch.depth_offset_mm.tolist() == [0.1, 0]
    assert batch.springback_log.tolist() == [0.2, 0]


def test_one_metal_serves_many_set_ups():
    batch = BendBatch.of([SETUP, SETUP], [SOFT])
    assert batch.exponent.shape == (1,)
    found = bends_of(batch, "finished", np.array([90.0, 45.0]))
    assert found.turn_deg == pytest.approx([90, 45])


def test_the_nose_is_corrected_only_when_asked():
    batch = BendBatch.of([SETUP], [SOFT])
    assert batch.rows(nose_correction=False).nose_mm.tolist() == [1]
    assert batch.rows().nose_mm[0] == pytest.approx(1 + 0.15 * 2 * np.exp(-0.25))


@pytest.mark.parametrize(("target", "possible"), [(0.0, False), (1.0, True), (180.0, False), (np.nan, False)])
def test_targets_lie_strictly_between_their_bounds(target, possible):
    batch = BendBatch.of([SETUP], [SOFT])
    assert batch.possible(np.array([target]), least=0, most=180).tolist() == [possible]
