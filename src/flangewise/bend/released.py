"""Effective radius of the bend under load and after release.

The bend is no circle. Its effective radius is that of the arc which, with straight flanges, puts the flange where it
really lies: with psi the turn still to come from a section to the contact, the mid-surface radius is
int sin psi ds / (1 - cos a), a the half turn. After release every section has turned back by its own M/(E'I).
Under load this is the radius that makes the straight-flange depth exact. Source: derived here.
"""

from __future__ import annotations

from functools import cache

import numpy as np

from .elastica import ELASTIC_POINTS, PLASTIC_POINTS, Rows, sections
from .moment import FloatArray


def effective_radii_mm(
    half_turn: FloatArray, log_strain: FloatArray, springback_rad: FloatArray, rows: Rows
) -> tuple[FloatArray, FloatArray]:
    """Inside radius under load and after release, for states that close the arm.

    The unloading changes it by -10 to +5 %, mostly -4 to +1 %. A finished turn of zero or less has no radius after
    release: 0 is given.
    """
    cut = sections(half_turn, log_strain, rows)
    t = rows.thickness_mm
    stiffness = rows.curve.plane_modulus_mpa * t**3 / 12
    rate = rows.springback_factor * cut.moment_n * cut.length_mm / stiffness
    loaded = np.arcsin(cut.sine) + rows.friction_rad
    left = loaded - _running(rate)
    on_nose_mm = (rows.nose_mm + t / 2) * cut.wrapped_rad
    finished = half_turn - springback_rad / 2
    free_left = half_turn - cut.wrapped_rad - rate.sum(axis=0)
    under = (np.sin(loaded) * cut.length_mm).sum(axis=0)
    under += on_nose_mm * _mean_sine(half_turn - cut.wrapped_rad, half_turn)
    after = (np.sin(left) * cut.length_mm).sum(axis=0) + on_nose_mm * _mean_sine(free_left, finished)
    fall = 2 * np.sin(np.maximum(finished, 1e-9) / 2) ** 2
    return under / (2 * np.sin(half_turn / 2) ** 2) - t / 2, np.where(finished > 0, after / fall - t / 2, 0.0)


def _mean_sine(low: FloatArray, high: FloatArray) -> FloatArray:
    # Mean of sin over an even run of angle; sinc keeps it exact where the run is empty.
    return np.asarray(np.sin((low + high) / 2) * np.sinc((high - low) / (2 * np.pi)))


def _running(steps: FloatArray) -> FloatArray:
    """Integral from the contact to each section, of what the steps add up to in all (elastic part, then plastic)."""
    elastic, plastic = steps[:ELASTIC_POINTS], steps[ELASTIC_POINTS:]
    first = np.tensordot(_up_to_nodes(ELASTIC_POINTS), elastic, axes=1)
    second = np.tensordot(_up_to_nodes(PLASTIC_POINTS), plastic, axes=1) + elastic.sum(axis=0)
    return np.concatenate([first, second])


@cache
def _up_to_nodes(points: int) -> FloatArray:
    """Matrix from Gauss weighted values to the integral up to each node: exact for the polynomial through them."""
    nodes = np.polynomial.legendre.leggauss(points)[0]
    degrees = np.arange(points)
    values = np.polynomial.legendre.legvander(nodes, points)
    integral = np.empty((points, points))
    integral[:, 0] = nodes + 1
    integral[:, 1:] = (values[:, 2:] - values[:, :-2]) / (2 * degrees[1:] + 1)
    scale = (2 * degrees + 1) / 2
    matrix: FloatArray = (integral * scale) @ values[:, :points].T
    return matrix
