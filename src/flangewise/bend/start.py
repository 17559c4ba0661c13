"""Start values for the solver: half turn and log strain near enough to the answer for Newton.

Source: derived here: a cantilever, elastic or of power-law metal, and straight flanges on an arc.
"""

from __future__ import annotations

import numpy as np

from .elastica import Rows
from .moment import FloatArray

_RADIUS_SHARE = 0.13  # of V, a middling natural radius
_HALVINGS = 14
_MOST_START_RAD = np.radians(86.0)


def start_from_loaded(loaded_turn_rad: FloatArray, rows: Rows) -> tuple[FloatArray, FloatArray]:
    """Half turn and log strain for a loaded turn: the apex strain of an elastic or a power-law cantilever."""
    half = np.minimum(loaded_turn_rad / 2, _MOST_START_RAD)
    return half, np.log(_apex_strain(half, rows))


def start_from_finished(turn_rad: FloatArray, rows: Rows) -> tuple[FloatArray, FloatArray]:
    """The same for a finished turn: springback of a cantilever with that apex strain is added."""
    half = np.minimum(turn_rad / 2, _MOST_START_RAD)
    t = rows.thickness_mm
    strain = np.minimum(_apex_strain(half, rows), np.exp(rows.nose_log_strain))
    moment = t**2 / 2 * rows.curve.f_and_g_mpa(strain)[0]
    stiffness = rows.curve.plane_modulus_mpa * t**3 / 12
    added = rows.springback_factor * moment * _lever_mm(half, rows) / stiffness
    return start_from_loaded(turn_rad + np.minimum(added, 0.6), rows)


def start_from_depth(depth_mm: FloatArray, rows: Rows) -> tuple[FloatArray, FloatArray]:
    """The same for a depth: straight flanges on an arc of 0.13 V, solved by halving."""
    radius = np.maximum(_RADIUS_SHARE * 2 * rows.half_opening_mm, rows.nose_mm)
    low = np.zeros_like(depth_mm + radius)
    high = np.full_like(low, _MOST_START_RAD)
    for _ in range(_HALVINGS):
        half = (low + high) / 2
        rise = 1 / np.cos(half) - 1
        at = rows.half_opening_mm * np.tan(half) - (radius + rows.shoulder_mm) * rise - rows.thickness_mm * (rise + 1)
        low, high = np.where(at < depth_mm, half, low), np.where(at < depth_mm, high, half)
    return start_from_loaded(low + high, rows)


def _lever_mm(half: FloatArray, rows: Rows) -> FloatArray:
    reach = rows.half_opening_mm - (rows.shoulder_mm + rows.thickness_mm / 2) * np.sin(half)
    return np.asarray(reach / np.cos(half))


def _apex_strain(half: FloatArray, rows: Rows) -> FloatArray:
    t, n = rows.thickness_mm, np.maximum(rows.curve.exponent, 0.02)
    lever = np.maximum(_lever_mm(half, rows), t)
    rise = t * np.sin(half) / lever
    return np.asarray(np.maximum(rise, rise / 2 * (1 + n) / n))
