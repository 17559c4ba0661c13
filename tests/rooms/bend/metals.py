"""Four metals by their Swift constants, and certificate values, as the bend tests use them. Typical values."""

import numpy as np

from flangewise.bend import Swift, swift_from_certificate
from flangewise.bend.moment import moment_curve

SOFT = Swift(541, 0.0082, 0.207, 210_000)
AUSTENITIC = Swift(1339, 0.0224, 0.394, 193_000)
ALUMINIUM = Swift(331, 0.0005, 0.096, 70_000)
STRONG = Swift(1098, 0.0117, 0.089, 210_000)
METALS = {"A": SOFT, "B": AUSTENITIC, "C": ALUMINIUM, "D": STRONG}

# Rp0.2, Rm, A_g, E of the metals of the published force chart's tests and of the scatter cases.
CERTIFICATES = {
    "DC01": (200, 320, 0.22, 210_000),
    "S235": (290, 410, 0.17, 210_000),
    "S355MC": (400, 490, 0.14, 210_000),
    "S700MC": (740, 820, 0.08, 210_000),
    "1.4301": (300, 640, 0.45, 193_000),
    "5754-H111": (110, 215, 0.17, 70_000),
    "5754-H22": (160, 240, 0.10, 70_000),
    "chart steel": (320, 450, 0.16, 210_000),
}


def swift_of(name):
    """Hardening of a metal of the table above."""
    yield_mpa, tensile_mpa, elongation, modulus_mpa = CERTIFICATES[name]
    return swift_from_certificate(yield_mpa, tensile_mpa, uniform_elongation=elongation, modulus_mpa=modulus_mpa)


def first_yield_mpa(swift):
    """Longitudinal stress at first yield in bending: factor x K e0^n."""
    return swift.strain_factor * swift.strength_mpa * swift.prestrain**swift.exponent


def moment_curve_of(swifts):
    """Moment curve of a list of metals, one an element."""
    names = ("strength_mpa", "prestrain", "exponent", "modulus_mpa", "poisson", "strain_factor")
    return moment_curve(**{name: np.array([getattr(swift, name) for swift in swifts]) for name in names})


def moment_n(curve, strain, *, thickness_mm):
    """Bending moment per mm of bend: t^2/2 f."""
    return thickness_mm**2 / 2 * curve.f_and_g_mpa(strain)[0]
