"""Moment and complementary energy of the sheet against surface strain, in closed form, for arrays of sheets.

Surface strain e = curvature x t/2. Elastic up to e_y, beyond it stress = A w^n with w = b + c |strain|:

* M = t^2/2 f(e),  f = 1/e^2 int_0^e stress x strain            N (N mm per mm of bend)
* C = int curvature dM = t g(e),  g = e f - 1/e int_0^e Phi, Phi = int stress     N/mm

f and g depend on the metal only, so every thickness shares them. Plastic strain is taken as c (|e| - e_y); the
implicit form differs by less than 0.22 % in M. For n = 0 this is Gardiner's perfectly plastic sheet.
Source: derived from Swift's law in plane strain bending (Hill 1950, from memory).
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

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
