"""Bow of bed and ram under a hit, against the worked 100 t machine, and the crowning for it."""

from __future__ import annotations

from dataclasses import replace

import pytest

from flangewise.setup.ram import NOT_BOWED, crowned
from flangewise.shop import Beam

from .made import codes, hit, machine, pair

PLATE = {"span_mm": 2600.0, "thickness_mm": 60.0, "modulus_mpa": 210000.0, "poisson": 0.3}
BRAKE = machine(
    bed_length_mm=3000.0,
    ram_beam=Beam(height_mm=1300.0, **PLATE),
    bed_beam=Beam(height_mm=900.0, **PLATE),
    crowning_most_mm=1.0,
)


def loaded(kn_per_m: float, **changes: float):  # type: ignore[no-untyped-def]
    made = pair()
    return replace(made, air=replace(made.air, force_kn_per_m=kn_per_m), **changes)


@pytest.mark.parametrize(
    ("length_mm", "bow_mm"), [(2600, 0.429), (2000, 0.257), (1500, 0.134), (1000, 0.050), (500, 0.009)]
)
def test_the_worked_bows_at_300_n_per_mm(length_mm: float, bow_mm: float) -> None:
    made = crowned(loaded(300.0), machine=BRAKE, from_mm=1500 - length_mm / 2, length_mm=length_mm)
    assert made.bow_mm == pytest.approx(bow_mm, abs=0.001)
    assert made.crowning_mm == made.bow_mm and made.left_deg == pytest.approx(0)


def test_off_the_middle_the_bow_is_less() -> None:
    """1500 long, its middle at 850 of 2600: 0.117."""
    made = crowned(loaded(300.0), machine=BRAKE, from_mm=200 + 100, length_mm=1500)
    assert made.bow_mm == pytest.approx(0.117, abs=0.001)


def test_what_the_crowning_cannot_take_is_left_as_degrees() -> None:
    weak = BRAKE.model_copy(update={"crowning_most_mm": 0.2})
    made = crowned(loaded(300.0, deg_per_mm=10.0), machine=weak, from_mm=200, length_mm=2600)
    assert made.crowning_mm == 0.2
    assert made.left_deg == pytest.approx((0.429 - 0.2) * 10, abs=0.01)
    assert codes(made.told(hit())) == {"middle-opens"} and made.told(hit())[0].severity == "caution"


def test_less_than_a_protractor_reads_is_not_told() -> None:
    made = crowned(loaded(300.0), machine=BRAKE, from_mm=1000, length_mm=1000)
    assert made.told(hit()) == ()
    slight = replace(made, left_deg=0.4)
    assert slight.told(hit())[0].severity == "note"


def test_the_mean_opening_of_a_short_central_part() -> None:
    """Worked: t 4, V 40, 459 N/mm over 2000 mm opens 0.478 mm in the mean, bow 0.393."""
    made = crowned(loaded(459.0), machine=BRAKE, from_mm=500, length_mm=2000)
    assert made.mean_opening_mm == pytest.approx(0.478, abs=0.003)
    assert made.bow_mm == pytest.approx(0.393, abs=0.002)


def test_without_a_force_there_is_no_bow() -> None:
    unknown = replace(pair(), air=None, limit_force_kn_per_m=None)
    assert crowned(unknown, machine=BRAKE, from_mm=0, length_mm=1000) == NOT_BOWED


def test_a_flattener_bows_the_machine_but_has_no_angle() -> None:
    flat = pair("hem", 1.0).then
    assert flat is not None
    made = crowned(flat, machine=BRAKE, from_mm=500, length_mm=2000)
    assert made.bow_mm == pytest.approx(392.3 / 459 * 0.393, abs=0.003)
    assert made.left_deg is None and made.told(hit()) == ()
