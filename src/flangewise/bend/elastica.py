"""The arm of an air bend as a large-deflection beam (elastica) with the sheet's own moment curve.

Half of the bend: from its middle, or from where the sheet leaves the nose, out to the die shoulder. The reaction R
acts there at the friction angle b to the normal. With psi the turn of the tangent counted inward from the contact,
M = R x lever arm gives d sin(psi - b) = curvature dM / R, so the complementary energy C alone fixes the angle:

    sin(psi - b) = -sin b + [C(M) - C_s]/R                                    at every section
    R [sin(a - w - b) + sin b] + C_s = C(M_0)                                 a: half turn, w: half angle on the nose
    M_s = R t/2 sin b,  C_s = M_s^2/(2 E'I)                                   friction acting on the lower face
    I1 = int tan(psi-b) dM,  I2 = int M/cos(psi-b) dM,  I3 = int dM/cos(psi-b)

Closing: rho sin w + z0 cos(a-b) - x0 sin(a-b) + rd sin a = V/2, with z0 = M_0/R, x0 = -(t/2) cos b - I1/R,
rho = nose + t/2. One unknown log strain u serves two regimes: up to ln e_p the apex is free (strain e^u), beyond it
the nose is wrapped (strain e_p = t/(2 nose + t), w = (u - ln e_p)/2).

The bend is no circle. Its effective radius is that of the arc which, with straight flanges, puts the flange where it
really lies: with psi the turn still to come from a section to the contact, the mid-surface radius is
int sin psi ds / (1 - cos a). After release every section has turned back by its own M/(E'I). Under load this is the
radius that makes the straight-flange depth exact.
Source: derived here; elastica with complementary energy. Forces per mm of bend.
"""

from functools import cache
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from .moment import FloatArray, MomentCurve

ELASTIC_POINTS, PLASTIC_POINTS = 3, 20
_COS_FLOOR = 1e-12  # keeps a step of the solver real; no solution comes near it

BoolArray = npt.NDArray[np.bool_]


class Rows(NamedTuple):
    """Sheets, tools and metals of many bends, one an element, made ready for the arm."""

    thickness_mm: FloatArray
    half_opening_mm: FloatArray
    shoulder_mm: FloatArray
    nose_mm: FloatArray
    nose_log_strain: FloatArray
    friction_rad: FloatArray
    friction_sin: FloatArray
    friction_cos: FloatArray
    springback_factor: FloatArray
    curve: MomentCurve

    def take(self, rows: npt.NDArray[np.intp]) -> "Rows":
        """Some of the bends; a single element stands for all of them and stays."""
        columns = [column if column.size == 1 else column[rows] for column in (*self[:-1], *self.curve)]
        split = len(self) - 1
        return Rows._make([*columns[:split], MomentCurve._make(columns[split:])])

    def with_nose(self, nose_mm: FloatArray) -> "Rows":
        """The same bends under other noses."""
        return self._replace(nose_mm=nose_mm, nose_log_strain=nose_log_strain(nose_mm, self.thickness_mm))


class Arm(NamedTuple):
    """One evaluation: the gap left in the closing condition and what follows from the state."""

    closing_mm: FloatArray
    depth_mm: FloatArray
    springback_rad: FloatArray
    force_n_per_mm: FloatArray
    contact_mm: FloatArray
    wrapped_rad: FloatArray


class Sections(NamedTuple):
    """Sections along the free arm at the quadrature points (first axis), from the contact inward."""

    moment_n: FloatArray
    sine: FloatArray
    length_mm: FloatArray
    apex_moment_n: FloatArray
    wrapped_rad: FloatArray
    reaction_n_per_mm: FloatArray


def nose_log_strain(nose_mm: FloatArray, thickness_mm: FloatArray) -> FloatArray:
    """ln of the surface strain of a sheet that lies round a nose: ln t/(2 nose + t)."""
    return np.log(thickness_mm / (2 * nose_mm + thickness_mm))


def corrected_nose_mm(nose_radius_mm: FloatArray, thickness_mm: FloatArray) -> FloatArray:
    """Nose radius to solve with: nose + 0.15 t exp(-nose/2t).

    Curvature cannot gather in less than about a sheet thickness; a sharp nose acts blunter than it is. Fitted to 32
    plane-strain finite-element bends, t 1 to 6, V 6 to 12 t. At V = 6 t it already overcorrects by up to 0.8 degrees
    where the nose is half the thickness or more.
    """
    return nose_radius_mm + 0.15 * thickness_mm * np.exp(-nose_radius_mm / (2 * thickness_mm))


def force_nose_share(thickness_mm: FloatArray, opening_mm: FloatArray) -> FloatArray:
    """Share of the nose correction that the peak force is worked with: all from V = 6 t up, none from 5.5 t down.

    The correction is one of depth and angle. In dies narrower than it was fitted for it would only raise the force,
    which lies up to 12 % above a tool maker's chart there without it.
    """
    return np.minimum(np.maximum((opening_mm / thickness_mm - 5.5) / 0.5, 0.0), 1.0)


def sections(
    half_turn: FloatArray, log_strain: FloatArray, rows: Rows, *, plastic_points: int = PLASTIC_POINTS
) -> Sections:
    """Moments, tangent sines and lengths along the free arm of each bend.

    The elastic part is integrated in strain (its integrand is a low polynomial over cos), the plastic part in ln
    strain. 20 points leave 1e-7, 1e-5, 2e-4 mm of depth at 90, 120, 135 degrees.
    """
    t, curve = rows.thickness_mm, rows.curve
    strain = np.exp(np.minimum(log_strain, rows.nose_log_strain))
    wrapped = 0.5 * np.maximum(log_strain - rows.nose_log_strain, 0.0)
    half_square = t * t / 2
    apex_f, apex_g = curve.f_and_g_mpa(strain)
    apex_moment, apex_energy = half_square * apex_f, t * apex_g
    reach = np.sin(half_turn - wrapped - rows.friction_rad) + rows.friction_sin
    reaction = _reaction(apex_energy, reach, rows)
    start = 3 * reaction * rows.friction_sin / (curve.plane_modulus_mpa * t)
    start_energy = t * curve.plane_modulus_mpa * start**2 / 6

    joint = np.minimum(strain, curve.yield_strain)
    rise = curve.plane_modulus_mpa / 3
    nodes, weights = _column(ELASTIC_POINTS, strain.ndim)
    elastic = start + (joint - start) * nodes
    nodes_p, weights_p = _column(plastic_points, strain.ndim)
    span = np.log(np.maximum(strain / joint, 1.0))
    plastic = nodes_p * span
    np.exp(plastic, out=plastic)
    plastic *= joint
    f, g, slope = curve.plastic(np.maximum(plastic, curve.yield_strain, out=plastic))
    slope *= weights_p * span

    moment = np.concatenate([rise * elastic, f])
    sine = np.concatenate([rise / 2 * elastic**2, g])
    length = np.concatenate([rise * (joint - start) * weights, slope])
    moment *= half_square  # in place from here: these are the big arrays
    sine *= t / reaction
    sine -= start_energy / reaction + rows.friction_sin
    cosine = 1 - sine * sine
    np.maximum(cosine, _COS_FLOOR, out=cosine)
    length *= half_square / reaction
    length /= np.sqrt(cosine, out=cosine)
    return Sections(moment, sine, length, apex_moment, wrapped, reaction)


def arm(half_turn: FloatArray, log_strain: FloatArray, rows: Rows, *, plastic_points: int = PLASTIC_POINTS) -> Arm:
    """State of the arm for a half turn above 0 (rad) and log strain, bends last; the closing gap is for the solver."""
    cut = sections(half_turn, log_strain, rows, plastic_points=plastic_points)
    lean = half_turn - rows.friction_rad
    sin_lean, cos_lean = np.sin(lean), np.cos(lean)
    sin_half, cos_half = np.sin(half_turn), np.cos(half_turn)
    t = rows.thickness_mm
    nose_mm = rows.nose_mm + t / 2
    lever_mm = cut.apex_moment_n / cut.reaction_n_per_mm
    along_mm = -(t / 2) * rows.friction_cos - (cut.sine * cut.length_mm).sum(axis=0)
    stiffness = rows.curve.plane_modulus_mpa * t**3 / 12
    bent = (cut.moment_n * cut.length_mm).sum(axis=0) + cut.apex_moment_n * nose_mm * cut.wrapped_rad
    across_mm = nose_mm * np.sin(cut.wrapped_rad) + lever_mm * cos_lean - along_mm * sin_lean
    return Arm(
        closing_mm=across_mm + rows.shoulder_mm * sin_half - rows.half_opening_mm,
        depth_mm=rows.shoulder_mm * (1 - cos_half)
        + nose_mm * (1 - np.cos(cut.wrapped_rad))
        + lever_mm * sin_lean
        + along_mm * cos_lean
        - t / 2,
        springback_rad=rows.springback_factor * 2 / stiffness * bent,
        force_n_per_mm=2 * cut.reaction_n_per_mm * cos_lean,
        contact_mm=cut.length_mm.sum(axis=0) + nose_mm * cut.wrapped_rad,
        wrapped_rad=cut.wrapped_rad,
    )


def _reaction(energy: FloatArray, reach: FloatArray, rows: Rows) -> FloatArray:
    # R reach + R^2 q = C_0: the friction's own small moment makes it a quadratic.
    t = rows.thickness_mm
    own = 6 * (t / 2 * rows.friction_sin) ** 2 / (rows.curve.plane_modulus_mpa * t**3)
    return 2 * energy / (reach + np.sqrt(reach**2 + 4 * own * energy))


@cache
def _column(points: int, dimensions: int) -> tuple[FloatArray, FloatArray]:
    nodes, weights = _gauss(points)
    shape = (points, *(1,) * dimensions)
    return ((nodes + 1) / 2).reshape(shape), (weights / 2).reshape(shape)


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
    nodes, _ = _gauss(points)
    degrees = np.arange(points)
    values = _legendre(nodes, points)
    integral = np.empty((points, points))
    integral[:, 0] = nodes + 1
    integral[:, 1:] = (values[:, 2:] - values[:, :-2]) / (2 * degrees[1:] + 1)
    scale = (2 * degrees + 1) / 2
    return np.asarray((integral * scale) @ values[:, :points].T)


def _gauss(points: int) -> tuple[FloatArray, FloatArray]:
    """Nodes and weights on -1 to 1: zeros of the Legendre polynomial, as eigenvalues of its recurrence (Golub, Welsch).

    numpy's own come with all its polynomials, which are slow to load.
    """
    order = np.arange(1, points)
    beside = order / np.sqrt(4.0 * order**2 - 1)
    nodes = np.linalg.eigvalsh(np.diag(beside, 1) + np.diag(beside, -1))
    return nodes, 2 * (1 - nodes**2) / (points * _legendre(nodes, points)[:, points - 1]) ** 2


def _legendre(at: FloatArray, degree: int) -> FloatArray:
    """Legendre polynomials up to a degree, one a column."""
    columns = [np.ones_like(at), at]
    for n in range(1, degree):
        columns.append(((2 * n + 1) * at * columns[n] - n * columns[n - 1]) / (n + 1))
    return np.stack(columns[: degree + 1], axis=1)
