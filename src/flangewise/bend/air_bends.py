"""Many tool pairs for one sheet in one call: plain lists in, records out, the peak of each stroke found on a grid."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

import numpy as np

from .air_bend import (
    NOTHING_LEARNED,
    AirBend,
    AirBends,
    BendBatch,
    BendSetup,
    Learned,
    NoBend,
    bends_at_depth,
    bends_loaded_to,
    bends_to_turn,
)
from .moment import FloatArray
from .swift import Swift

Target = Literal["finished", "loaded", "depth"]

# Peaks fall between 42 and 66 degrees of loaded turn for every metal and opening from 5 to 16 t.
_PEAK_GRID_DEG = np.array([36.0, 44.0, 52.0, 60.0, 68.0])
_GRID_STEP_DEG = 8.0


def air_bends(
    setups: Sequence[BendSetup],
    swift: Swift,
    values: Sequence[float],
    *,
    target: Target = "finished",
    learned: Learned = NOTHING_LEARNED,
) -> tuple[AirBend | NoBend, ...]:
    """Each setup bent to its own value: a finished turn, a loaded turn or a commanded depth.

    The same answers as one bend at a time, the peak force within 0.1 %: it is a parabola through points 8 degrees
    apart. Edges: no setups give no bends.
    """
    if not setups:
        return ()
    solve = {"finished": bends_to_turn, "loaded": bends_loaded_to, "depth": bends_at_depth}[target]
    found = solve(BendBatch.of(setups, [swift], [learned]), np.array(values, dtype=float))
    peaks, turns = _peaks(found, setups, swift)
    return tuple(
        _record(found, row, peak, turn) if ok else NoBend(found.reason(row))
        for row, (ok, peak, turn) in enumerate(zip(found.converged, peaks, turns, strict=True))
    )


def _peaks(found: AirBends, setups: Sequence[BendSetup], swift: Swift) -> tuple[FloatArray, FloatArray]:
    """Highest force up to each bend's own end, and the loaded turn it falls at."""
    count, points = len(setups), len(_PEAK_GRID_DEG)
    end_deg = found.loaded_turn_deg
    grid = np.broadcast_to(_PEAK_GRID_DEG[:, None], (points, count))
    inside = (grid < end_deg) & found.converged
    forces = np.full((points, count), -np.inf)
    column = np.nonzero(inside)[1]
    if column.size:
        batch = BendBatch.of([setups[index] for index in column], [swift])
        along = bends_loaded_to(batch, grid[inside])
        forces[inside] = np.where(along.converged, along.force_kn_per_m, -np.inf)
    return _summits(forces, end_deg, found.force_kn_per_m)


def _summits(forces: FloatArray, end_deg: FloatArray, end_force: FloatArray) -> tuple[FloatArray, FloatArray]:
    bends = np.arange(end_deg.size)
    top = forces.argmax(axis=0)
    before, after = np.maximum(top - 1, 0), np.minimum(top + 1, len(forces) - 1)
    left, right, middle = forces[before, bends], forces[after, bends], forces[top, bends]
    whole = (before < top) & (after > top) & np.isfinite(left) & np.isfinite(right)
    with np.errstate(all="ignore"):
        bow = left - 2 * middle + right
        shift = np.where(whole & (bow < 0), (left - right) / (2 * bow), 0.0)
        force = np.where(whole & (bow < 0), middle - (left - right) ** 2 / (8 * bow), middle)
    turn = _PEAK_GRID_DEG[top] + shift * _GRID_STEP_DEG
    at_end = ~np.isfinite(force) | (end_force >= force)
    return np.where(at_end, end_force, force), np.where(at_end, end_deg, turn)


def _record(found: AirBends, row: int, peak_kn_per_m: float, peak_turn_deg: float) -> AirBend:
    wrapped_deg = float(found.nose_contact_deg[row])
    return AirBend(
        turn_deg=float(found.turn_deg[row]),
        loaded_turn_deg=float(found.loaded_turn_deg[row]),
        springback_deg=float(found.springback_deg[row]),
        depth_mm=float(found.depth_mm[row]),
        effective_radius_mm=float(found.effective_radius_mm[row]),
        formed_radius_mm=float(found.formed_radius_mm[row]),
        force_kn_per_m=float(found.force_kn_per_m[row]),
        peak_kn_per_m=float(peak_kn_per_m),
        peak_turn_deg=float(peak_turn_deg),
        deg_per_mm=float(found.deg_per_mm[row]),
        contact_length_mm=float(found.contact_length_mm[row]),
        nose_contact_deg=wrapped_deg,
        regime="wrapped" if wrapped_deg > 0 else "free",
    )
