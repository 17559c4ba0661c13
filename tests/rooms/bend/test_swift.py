"""Hardening constants against a table of fits and against the two conditions they come from."""

import math

import pytest

from flangewise.bend.moment import Swift, swift_from_certificate

from .metals import first_yield_mpa

# Rp0.2, Rm, A_g -> K, e0, n, each worked by another program from the same two conditions.
FITS = [
    (200, 320, 0.22, 540.895, 0.00818468, 0.207036),
    (290, 410, 0.17, 645.663, 0.00776936, 0.164773),
    (400, 490, 0.14, 739.632, 0.0147479, 0.145776),
    (740, 820, 0.08, 1097.80, 0.0116877, 0.0886487),
    (300, 640, 0.45, 1339.44, 0.0224235, 0.393987),
    (110, 215, 0.17, 336.649, 0.000836167, 0.157840),
    (160, 240, 0.10, 330.525, 0.0005151, 0.0958253),
]


@pytest.mark.parametrize("row", FITS)
def test_constants(row):
    yield_mpa, tensile_mpa, elongation, strength, prestrain, exponent = row
    swift = swift_from_certificate(yield_mpa, tensile_mpa, uniform_elongation=elongation, modulus_mpa=210_000)
    assert swift.strength_mpa == pytest.approx(strength, rel=1e-5)
    assert swift.prestrain == pytest.approx(prestrain, rel=1e-5)
    assert swift.exponent == pytest.approx(exponent, rel=1e-5)


@pytest.mark.parametrize("row", FITS)
def test_the_certificate_comes_back_from_the_curve(row):
    yield_mpa, tensile_mpa, elongation, *_ = row
    swift = swift_from_certificate(yield_mpa, tensile_mpa, uniform_elongation=elongation, modulus_mpa=210_000)

    def engineering(strain):
        return swift.strength_mpa * (swift.prestrain + strain) ** swift.exponent * math.exp(-strain)

    uniform = math.log1p(elongation)
    assert engineering(0) == pytest.approx(yield_mpa, rel=1e-9)
    assert engineering(uniform) == pytest.approx(tensile_mpa, rel=1e-9)
    # The maximum of the engineering curve lies at uniform elongation.
    assert engineering(uniform - 0.002) < engineering(uniform) > engineering(uniform + 0.002)


@pytest.mark.parametrize("ratio", [0.05, 0.3, 0.9, 0.99, 0.9999])
def test_any_ratio_of_yield_to_tensile_has_a_curve(ratio):
    swift = swift_from_certificate(500 * ratio, 500, uniform_elongation=0.1, modulus_mpa=70_000)
    assert swift.strength_mpa * swift.prestrain**swift.exponent == pytest.approx(500 * ratio, rel=1e-6)


@pytest.mark.parametrize(
    "bad",
    [(320, 320, 0.2, 210e3), (400, 320, 0.2, 210e3), (0, 320, 0.2, 210e3), (200, 320, 0.0, 210e3), (200, 320, 0.2, 0)],
)
def test_a_certificate_without_a_curve_is_refused(bad):
    yield_mpa, tensile_mpa, elongation, modulus_mpa = bad
    with pytest.raises(ValueError, match="0 < yield < tensile"):
        swift_from_certificate(yield_mpa, tensile_mpa, uniform_elongation=elongation, modulus_mpa=modulus_mpa)


def test_elastic_figures():
    swift = Swift(541, 0.0082, 0.207, 210_000)
    assert swift.plane_modulus_mpa == pytest.approx(210_000 / 0.91)
    assert first_yield_mpa(swift) == pytest.approx(2 / math.sqrt(3) * 541 * 0.0082**0.207)


def test_stronger_scales_every_flow_stress():
    swift = Swift(541, 0.0082, 0.207, 210_000)
    harder = swift.stronger(1.1)
    assert first_yield_mpa(harder) == pytest.approx(1.1 * first_yield_mpa(swift))
    assert (harder.modulus_mpa, harder.exponent, harder.prestrain) == (210_000, 0.207, 0.0082)
