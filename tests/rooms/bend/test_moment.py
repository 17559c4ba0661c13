"""Moment curve against printed check values, adaptive quadrature, and the perfectly plastic sheet."""

import numpy as np
import pytest
from scipy.integrate import quad

from flangewise.bend import Swift

from ...published.hand_formulas import gardiner_ratio
from .metals import METALS, first_yield_mpa, moment_curve_of, moment_n

# Surface strain of a 2 mm sheet -> moment N, complementary energy N/mm, for the metals A, B, C, D; worked by another
# program from the same stress-strain curve.
VALUES = {
    0.0005: [(76.92308, 0.0192308), (70.69597, 0.017674), (25.64103, 0.00641026), (76.92308, 0.0192308)],
    0.002: [(214.49362, 0.158496), (269.75188, 0.258423), (102.56410, 0.102564), (307.69231, 0.307692)],
    0.01: [(259.39127, 0.371963), (375.67204, 0.700143), (224.40168, 0.615098), (834.32982, 2.52099)],
    0.1: [(369.88572, 5.35065), (611.02925, 12.2501), (295.30023, 3.29138), (1011.31639, 9.33887)],
    0.4: [(485.17445, 31.2588), (980.39675, 98.0223), (338.32398, 12.713), (1136.19538, 36.9231)],
}
PERFECT = Swift(300, 0.001, 0.0, 210_000)  # n = 0: yields at 300 and stays there


def at(swift, strain, thickness=2.0):
    curve = moment_curve_of([swift])
    strains = np.array([strain])
    moment = moment_n(curve, strains, thickness_mm=np.array([thickness]))
    return float(moment[0]), float(thickness * curve.f_and_g_mpa(strains)[1][0])


@pytest.mark.parametrize("strain", VALUES)
@pytest.mark.parametrize("place", range(4))
def test_check_values(strain, place):
    moment, energy = at(list(METALS.values())[place], strain)
    assert (moment, energy) == (
        pytest.approx(VALUES[strain][place][0], rel=1e-5),
        pytest.approx(VALUES[strain][place][1], rel=1e-5),
    )


def stress(swift, strain):
    """Longitudinal stress of the plane-strain fibre: elastic, then Swift beyond first yield."""
    yield_strain = first_yield_mpa(swift) / swift.plane_modulus_mpa
    if strain <= yield_strain:
        return swift.plane_modulus_mpa * strain
    plastic = swift.strain_factor * (strain - yield_strain)
    return swift.strain_factor * swift.strength_mpa * (swift.prestrain + plastic) ** swift.exponent


@pytest.mark.parametrize("swift", METALS.values(), ids=METALS.keys())
@pytest.mark.parametrize("strain", [0.0008, 0.003, 0.05, 0.3, 0.9])
def test_against_adaptive_quadrature(swift, strain):
    yield_strain = first_yield_mpa(swift) / swift.plane_modulus_mpa
    joint = [yield_strain] if yield_strain < strain else None

    def integral(upper):
        points = [yield_strain] if yield_strain < upper else None
        return quad(lambda e: stress(swift, e) * e, 0, upper, points=points, epsabs=0, epsrel=1e-12)[0]

    moment, energy = at(swift, strain)
    assert moment == pytest.approx(2 * integral(strain) / strain**2, rel=1e-9)
    # C = kappa M - int M dkappa; a 2 mm sheet has kappa = e.
    area = quad(lambda e: 2 * integral(e) / e**2, 1e-12, strain, points=joint, epsabs=0, epsrel=1e-8)[0]
    assert energy == pytest.approx(strain * moment - area, rel=1e-6)


@pytest.mark.parametrize("swift", METALS.values(), ids=METALS.keys())
def test_no_step_at_first_yield(swift):
    edge = first_yield_mpa(swift) / swift.plane_modulus_mpa
    looked_at = list(zip(at(swift, edge * (1 - 1e-9)), at(swift, edge * (1 + 1e-9)), strict=True))
    assert looked_at
    for low, high in looked_at:
        assert low == pytest.approx(high, rel=1e-7)


def test_slope_is_that_of_the_curve():
    curve = moment_curve_of([METALS["B"]])
    strain, step = np.array([0.08]), 1e-6
    slope = curve.plastic(strain)[2]
    up, down = curve.plastic(strain * (1 + step))[0], curve.plastic(strain * (1 - step))[0]
    assert slope == pytest.approx((up - down) / (2 * step), rel=1e-8)


def test_many_metals_at_once_equal_each_alone():
    curve = moment_curve_of(list(METALS.values()))
    together = moment_n(curve, np.full(4, 0.07), thickness_mm=np.full(4, 2.0))
    assert together == pytest.approx([at(swift, 0.07)[0] for swift in METALS.values()], rel=1e-15)


def test_moment_grows_with_the_square_of_thickness():
    assert at(METALS["A"], 0.1, thickness=6)[0] == pytest.approx(9 * at(METALS["A"], 0.1)[0])


# E 210000, yield 300, t 2, plane strain: radius -> radius under load over radius after release.
@pytest.mark.parametrize(
    ("radius", "ratio"), [(10, 0.977485), (50, 0.887628), (150, 0.667958), (400, 0.207574), (600, 0.014311)]
)
def test_perfectly_plastic_sheet_is_gardiner(radius, ratio):
    moment = at(PERFECT, 1 / radius)[0]  # t 2: strain = curvature
    stiffness = PERFECT.plane_modulus_mpa * 8 / 12
    model = 1 - moment / stiffness * radius
    cubic = gardiner_ratio(radius, 2, yield_mpa=first_yield_mpa(PERFECT), modulus_mpa=PERFECT.plane_modulus_mpa)
    assert cubic == pytest.approx(ratio, abs=1e-6)
    assert model == pytest.approx(cubic, abs=1e-9)


# Kalpakjian and Schmid, problem with 20-gauge steel (inch, psi); steel and aluminium cases worked from the cubic.
@pytest.mark.parametrize(
    ("radius", "thickness", "stress_mpa", "modulus", "ratio"),
    [(0.5, 0.0359, 40_000, 30e6, 0.9443), (2, 1, 220, 210_000, 0.993714), (3, 2, 130, 70_000, 0.991643)],
)
def test_gardiner_examples(radius, thickness, stress_mpa, modulus, ratio):
    assert gardiner_ratio(radius, thickness, yield_mpa=stress_mpa, modulus_mpa=modulus) == pytest.approx(
        ratio, abs=5e-5
    )


def test_gardiner_ends():
    assert gardiner_ratio(350, 1, yield_mpa=300, modulus_mpa=210_000) == 0  # x = 0.5: all elastic
    assert gardiner_ratio(9999, 1, yield_mpa=300, modulus_mpa=210_000) == 0
    assert gardiner_ratio(1e-9, 1, yield_mpa=300, modulus_mpa=210_000) == pytest.approx(1)
