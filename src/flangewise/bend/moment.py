"""A sheet metal in bending: its hardening from its certificate, its moment and energy against surface strain.

Swift: stress = K (e0 + e)^n, e the plastic strain. Two conditions fix the three constants: first yield at Rp0.2, and
the maximum of the engineering curve at Rm and A_g (Considere: n = e0 + ln(1 + A_g)).

Surface strain e = curvature x t/2. Elastic up to e_y, beyond it stress = A w^n with w = b + c |strain|:

* M = t^2/2 f(e),  f = 1/e^2 int_0^e stress x strain            N (N mm per mm of bend)
* C = int curvature dM = t g(e),  g = e f - 1/e int_0^e Phi, Phi = int stress     N/mm

f and g depend on the metal only, so every thickness shares them. Plastic strain is taken as c (|e| - e_y); the
implicit form differs by less than 0.22 % in M. For n = 0 this is Gardiner's perfectly plastic sheet.
Source: Swift 1952, from memory, the fit derived below; its law in plane strain bending (Hill 1950, from memory).
"""

import math
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from flangewise.records import dataclass, replace

PLANE_STRAIN_FACTOR = 2 / math.sqrt(3)
"""Effective strain over |strain|, and stress over flow stress, of an isotropic sheet bent in plane strain."""

_LEAST_LOG, _MOST_LOG, _HALVINGS = -700.0, 7.0, 200


@dataclass(frozen=True)
class Swift:
    """A sheet metal for bending: stress = strength (prestrain + e)^exponent, with its elastic constants.

    `strain_factor` is 2/sqrt 3 for every metal unless a normal anisotropy is really known.
    """

    strength_mpa: float
    prestrain: float
    exponent: float
    modulus_mpa: float
    poisson: float = 0.3
    strain_factor: float = PLANE_STRAIN_FACTOR

    @property
    def plane_modulus_mpa(self) -> float:
        """E' = E/(1 - nu^2)."""
        return self.modulus_mpa / (1 - self.poisson**2)

    def stronger(self, factor: float) -> "Swift":
        """The same metal with every flow stress times factor, elastic constants kept."""
        return replace(self, strength_mpa=self.strength_mpa * factor)


def swift_from_certificate(
    yield_mpa: float,
    tensile_mpa: float,
    *,
    uniform_elongation: float,
    modulus_mpa: float,
    poisson: float = 0.3,
    strain_factor: float = PLANE_STRAIN_FACTOR,
) -> Swift:
    """Swift's constants from Rp0.2, Rm and the uniform elongation A_g (a fraction).

    With eu = ln(1 + A_g): n = e0 + eu, K = Rm exp(eu)/n^n, and e0 the one root of
    (e0 + eu) ln[e0/(e0 + eu)] = ln(Rp/Rm) - eu, by bisection in ln e0.
    A_g is not the elongation at break: 0.5 to 0.65 of A80 is a planning figure (from memory).
    Raises ValueError unless 0 < Rp < Rm and A_g > 0: otherwise no such curve exists.
    """
    if not (0 < yield_mpa < tensile_mpa and uniform_elongation > 0 and modulus_mpa > 0):
        raise ValueError("hardening needs 0 < yield < tensile strength and a uniform elongation above 0")
    uniform = math.log1p(uniform_elongation)
    prestrain = _prestrain(uniform, math.log(yield_mpa / tensile_mpa) - uniform)
    exponent = prestrain + uniform
    return Swift(
        strength_mpa=tensile_mpa * math.exp(uniform - exponent * math.log(exponent)),
        prestrain=prestrain,
        exponent=exponent,
        modulus_mpa=modulus_mpa,
        poisson=poisson,
        strain_factor=strain_factor,
    )


def _prestrain(uniform: float, target: float) -> float:
    # The left side rises steadily from minus infinity to -uniform, so the root is single.
    low, high = _LEAST_LOG, _MOST_LOG
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        if middle in (low, high):
            break
        prestrain = math.exp(middle)
        value = (prestrain + uniform) * -math.log1p(uniform / prestrain)
        low, high = (middle, high) if value < target else (low, middle)
    return math.exp(low)


FloatArray = npt.NDArray[np.float64]


class MomentCurve(NamedTuple):
    """Constants of f and g for one sheet metal, or arrays of them, one an element.

    The last five fold what does not depend on strain: S1 = first + raised (wide w - back), and
    S2 = second + slope e + twice raised w, with raised = w^(n+1), f = S1/e^2, g = (S1 - S2)/e.
    """

    plane_modulus_mpa: FloatArray
    amplitude_mpa: FloatArray
    strain_factor: FloatArray
    offset: FloatArray
    exponent: FloatArray
    yield_strain: FloatArray
    first_mpa: FloatArray
    second_mpa: FloatArray
    slope_mpa: FloatArray
    wide_mpa: FloatArray
    back_mpa: FloatArray
    twice_mpa: FloatArray

    def f_and_g_mpa(self, strain: FloatArray) -> tuple[FloatArray, FloatArray]:
        """M/(t^2/2) and C/t at surface strain above zero: E' e/3 and E' e^2/6 while elastic."""
        f, g, _ = self.plastic(np.maximum(strain, self.yield_strain))
        elastic = strain <= self.yield_strain
        third = self.plane_modulus_mpa * strain / 3
        return np.where(elastic, third, f), np.where(elastic, third * strain / 2, g)

    def plastic(self, strain: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
        """f, g and e df/de beyond first yield (e df/de = A w^n - 2 f).

        The power is taken once: w^(n+1) and w^(n+2) are products, and exp(n ln w) is quicker than a power. Work is in
        place where arrays are large.
        """
        width = self.strain_factor * strain
        width += self.offset
        power = np.log(width)
        power *= self.exponent
        np.exp(power, out=power)
        raised = power * width
        first = self.wide_mpa * width
        first -= self.back_mpa
        first *= raised
        first += self.first_mpa
        raised *= width
        raised *= self.twice_mpa
        raised += self.second_mpa
        second = self.slope_mpa * strain
        second += raised
        np.subtract(first, second, out=second)
        second /= strain
        first /= strain
        first /= strain
        power *= self.amplitude_mpa
        power -= 2 * first
        return first, second, power


def moment_curve(
    strength_mpa: FloatArray,
    prestrain: FloatArray,
    *,
    exponent: FloatArray,
    modulus_mpa: FloatArray,
    poisson: FloatArray,
    strain_factor: FloatArray,
) -> MomentCurve:
    """Moment curve of arrays of metals, from the constants of `Swift`."""
    n, c, e0 = exponent, strain_factor, prestrain
    plane = modulus_mpa / (1 - poisson**2)
    amplitude = c * strength_mpa
    start = e0**n
    yield_strain = amplitude * start / plane
    offset = e0 - c * yield_strain
    wide, back = amplitude / (c**2 * (n + 2)), amplitude / c**2 * offset / (n + 1)
    twice = wide / (n + 1)
    slope = plane * yield_strain**2 / 2 - amplitude * start * e0 / (c * (n + 1))
    first = plane * yield_strain**3 / 3 - start * e0 * (wide * e0 - back)
    second = plane * yield_strain**3 / 6 - twice * start * e0**2 - slope * yield_strain
    return MomentCurve(plane, amplitude, c, offset, n, yield_strain, first, second, slope, wide, back, twice)
