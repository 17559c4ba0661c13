"""Hardening of the sheet from its certificate: Swift's law through yield, tensile strength, uniform elongation.

stress = K (e0 + e)^n, e the plastic strain. Two conditions fix the three constants: first yield at Rp0.2, and the
maximum of the engineering curve at Rm and A_g (Considere: n = e0 + ln(1 + A_g)).
Source: Swift 1952, from memory; the fit is derived below.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

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

    def stronger(self, factor: float) -> Swift:
        """The same metal with every flow stress times factor, elastic constants kept."""
        return Swift(
            self.strength_mpa * factor,
            self.prestrain,
            self.exponent,
            self.modulus_mpa,
            self.poisson,
            self.strain_factor,
        )


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
