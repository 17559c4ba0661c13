"""Ram and bed as beams: printed check values, textbook formulas, statics, and a numerical integration."""

import numpy as np
import pytest
from scipy.integrate import cumulative_simpson

from flangewise.bend import BeamPlate, BedLoad, bed_deflection, opening_mm
from flangewise.bend.deflection import deflection_mm, reactions_kn

RAM, BED = BeamPlate(2600, 60, 1300), BeamPlate(2600, 60, 900)

# Load [a, b] from the left support, q, plate height -> bending at a, middle, b; shear at the same; reactions in kN.
CASES = [
    (0, 2600, 300, 1300, (0, 0.07738, 0), (0, 0.04829, 0), (390, 390)),
    (550, 2050, 300, 900, (0.1133, 0.18461, 0.1133), (0.03405, 0.05726, 0.03405), (225, 225)),
    (-200, 2800, 260, 900, (-0.04792, 0.19637, -0.04792), (0.00143, 0.06045, 0.00143), (390, 390)),
]


def tilt_mm(load):
    """How much more the right end of a part opens than its left."""
    return opening_mm(RAM, BED, load, load.to_mm) - opening_mm(RAM, BED, load, load.from_mm)


@pytest.mark.parametrize("case", CASES)
def test_check_values(case):
    begin, end, force, height, bending, shear, supports = case
    beam, load = BeamPlate(2600, 60, height), BedLoad(begin - 1300, end - 1300, force)
    for place, bent, sheared in zip((begin, (begin + end) / 2, end), bending, shear, strict=True):
        assert deflection_mm(beam, load, place - 1300) == (
            pytest.approx(bent, abs=1e-4),
            pytest.approx(sheared, abs=1e-4),
        )
    assert reactions_kn(beam, load) == (pytest.approx(supports[0]), pytest.approx(supports[1]))


def test_full_load_is_the_textbook_beam():
    # 5 q S^4/(384 EI) and q S^2/(8 k G A).
    inertia, shear_modulus = 60 * 900**3 / 12, 210_000 / 2.6
    bent, sheared = deflection_mm(BED, BedLoad(-1300, 1300, 300), 0)
    assert bent == pytest.approx(5 * 300 * 2600**4 / (384 * 210_000 * inertia))
    assert sheared == pytest.approx(300 * 2600**2 / (8 * 5 / 6 * shear_modulus * 60 * 900))


def test_short_load_is_nearly_a_point_load():
    # F S^3/(48 EI) in the middle.
    bent, _ = deflection_mm(BED, BedLoad(-1, 1, 50_000), 0)
    assert bent == pytest.approx(100_000 * 2600**3 / (48 * 210_000 * 60 * 900**3 / 12), rel=1e-5)


def test_against_numerical_integration_off_centre():
    load = BedLoad(-900, 150, 250)
    left_n = reactions_kn(BED, load)[0] * 1000
    x = np.linspace(0, 2600, 26_001)
    a, b = 400.0, 1450.0
    moment = left_n * x - 125 * np.maximum(x - a, 0) ** 2 + 125 * np.maximum(x - b, 0) ** 2
    slope = cumulative_simpson(-moment / (210_000 * 60 * 900**3 / 12), x=x, initial=0)
    sag = cumulative_simpson(slope, x=x, initial=0)
    sag -= x / 2600 * sag[-1]
    for place in (300, 925, 1450, 2200):
        assert deflection_mm(BED, load, place - 1300)[0] == pytest.approx(sag[place * 10], abs=1e-7)


def test_reactions_by_the_lever_rule():
    # Load centred 650 left of the middle of 2600: three quarters on the left.
    assert reactions_kn(BED, BedLoad(-700, -600, 1000)) == (pytest.approx(75), pytest.approx(25))
    assert BedLoad(-700, -600, 1000).total_kn == pytest.approx(100)


# An invented machine: ram 60 x 1300, bed 60 x 900, supports 2600 apart: length, force -> bow, mean opening.
@pytest.mark.parametrize(
    ("length", "force", "bow", "mean"),
    [(2500, 120, 0.160, 0.114), (2500, 231, 0.308, 0.219), (2500, 360, 0.480, 0.342), (2000, 459, 0.393, 0.478)],
)
def test_bow_and_mean_opening(length, force, bow, mean):
    found = bed_deflection(RAM, BED, BedLoad(-length / 2, length / 2, force))
    assert found.bow_mm == pytest.approx(bow, abs=1e-3)
    assert found.mean_mm == pytest.approx(mean, abs=4e-3)
    assert tilt_mm(BedLoad(-length / 2, length / 2, force)) == pytest.approx(0, abs=1e-12)


@pytest.mark.parametrize(("length", "bow"), [(2600, 0.429), (2000, 0.257), (1500, 0.134), (1000, 0.050), (500, 0.009)])
def test_bow_by_length(length, bow):
    assert bed_deflection(RAM, BED, BedLoad(-length / 2, length / 2, 300)).bow_mm == pytest.approx(bow, abs=1e-3)


def test_off_centre_part_tilts():
    # 1500 long, centred at 850 from the left support: bow 0.117, right end opens 0.218 more than the left.
    load, mirrored = BedLoad(850 - 750 - 1300, 850 + 750 - 1300, 300), BedLoad(450 - 750, 450 + 750, 300)
    assert bed_deflection(RAM, BED, load).bow_mm == pytest.approx(0.117, abs=1e-3)
    assert tilt_mm(load) == pytest.approx(0.218, abs=1e-3)
    assert tilt_mm(mirrored) == pytest.approx(-tilt_mm(load))
    assert bed_deflection(RAM, BED, mirrored).bow_mm == pytest.approx(bed_deflection(RAM, BED, load).bow_mm)


def test_the_angle_that_crowning_gives_back():
    # 2 mm in V 16 turns 12.6 degrees a mm: 0.160 mm of bow is 2.0 degrees.
    found = bed_deflection(RAM, BED, BedLoad(-1250, 1250, 120))
    assert 12.6 * found.bow_mm == pytest.approx(2.0, abs=0.05)


def test_shear_is_a_third_of_it():
    # 38 % of the ram's and 23 % of the bed's deflection.
    load = BedLoad(-1300, 1300, 300)
    for beam, share in ((RAM, 0.38), (BED, 0.23)):
        bent, sheared = deflection_mm(beam, load, 0)
        assert sheared / (bent + sheared) == pytest.approx(share, abs=0.01)


def test_twice_the_force_opens_twice_as_far():
    one, two = (opening_mm(RAM, BED, BedLoad(-400, 900, force), 250) for force in (150, 300))
    assert two == pytest.approx(2 * one)
    assert bed_deflection(RAM, BED, BedLoad(0, 0, 300)).bow_mm == 0
