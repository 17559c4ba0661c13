"""The stroke of one bend: turn, depth and force from first touch to the end, and how fast the leg's tip rises.

Source: derived here, the model of `air_bend` at many turns.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from .air_bend import bends_of
from .records import NOTHING_LEARNED, BendBatch, BendSetup, Learned
from .swift import Swift

FIRST_TURN_DEG = 1.0


@dataclass(frozen=True)
class StrokePoints:
    """Points along a stroke, in order: turn under load, turn left if released there, commanded depth, force, rate.

    The rate is degrees of loaded turn for one mm of depth. Points without an answer are left out.
    """

    loaded_turn_deg: tuple[float, ...]
    turn_deg: tuple[float, ...]
    depth_mm: tuple[float, ...]
    force_kn_per_m: tuple[float, ...]
    loaded_deg_per_mm: tuple[float, ...]


def stroke(
    setup: BendSetup,
    swift: Swift,
    *,
    to_loaded_turn_deg: float,
    learned: Learned = NOTHING_LEARNED,
    points: int = 46,
) -> StrokePoints:
    """Points from 1 degree under load to the end of the stroke, evenly in loaded turn, in one call of the solver.

    A stroke that ends below 1 degree has its end as the only point.
    """
    turns = np.linspace(min(FIRST_TURN_DEG, to_loaded_turn_deg), to_loaded_turn_deg, points)
    found = bends_of(BendBatch.of([setup], [swift], [learned]), "loaded", np.unique(turns))
    good = found.converged
    columns = (found.loaded_turn_deg, found.turn_deg, found.depth_mm, found.force_kn_per_m, found.loaded_deg_per_mm)
    return StrokePoints(*(tuple(column[good].tolist()) for column in columns))


def tip_speed_factor(along: StrokePoints, reach_mm: float) -> float:
    """Highest speed of a point on the leg, as a multiple of the ram's: the largest |L d(a)/dD - 1| over the stroke.

    a is the half turn, L the distance from the bend. The sheet's middle goes down with the ram while the leg swings
    up. An empty stroke gives 0. For a sharp bend at its start this is 2L/V - 1; real radii make it 1.2 to 1.3 times
    that near 25 to 30 degrees. Source: kinematics of the straight flange, derived here.
    """
    rates = np.radians(np.array(along.loaded_deg_per_mm)) / 2
    return float(np.abs(reach_mm * rates - 1).max(initial=0.0))


def ram_speed_for_tip_mm_per_s(tip_limit_mm_per_s: float, along: StrokePoints, *, reach_mm: float) -> float | None:
    """Ram speed that keeps the leg's tip at or under a limit; None where the tip does not move against the floor."""
    factor = tip_speed_factor(along, reach_mm)
    return tip_limit_mm_per_s / factor if factor > 0 else None
