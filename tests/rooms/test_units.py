"""Units at the rim."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, strategies as st

from flangewise.units import (
    MM_PER_INCH,
    Gauge,
    format_length,
    in_units,
    read_length,
    trimmed,
    written,
)


def test_an_inch_is_25_4_mm_by_agreement() -> None:
    assert MM_PER_INCH == 25.4


@pytest.mark.parametrize(
    ("text", "units", "expected"),
    [
        ("2", "mm", 2.0),
        ("2", "inch", 50.8),
        ("2mm", "inch", 2.0),
        ("0.125in", "mm", 3.175),
        ("0.125 inch", "mm", 3.175),
        ('1"', "mm", 25.4),
        (".5", "mm", 0.5),
        ("5.", "mm", 5.0),
        ("-3mm", "mm", -3.0),
        ("+3", "mm", 3.0),
        ("1e1mm", "mm", 10.0),
        ("  7  mm  ", "mm", 7.0),
        (3, "mm", 3.0),
        (0.5, "inch", 12.7),
    ],
)
def test_lengths_as_they_are_written(text: str | float, units: str, expected: float) -> None:
    assert read_length(text, units) == pytest.approx(expected)


@pytest.mark.parametrize("text", ["16ga", "16 ga", "16GA", "16 gauge", "16gage", " 16ga "])
def test_a_gauge_is_no_length_yet(text: str) -> None:
    assert read_length(text, "mm") == Gauge(16)


@pytest.mark.parametrize(
    "text",
    [
        "",
        "mm",
        "two",
        "2 cm",
        "2,5",
        "1/8in",
        "2mm3",
        "0x10",
        "1_000",
        "--2",
        "nan",
        "inf",
        "1e999mm",
        "ga",
        "116ga",
        "-16ga",
    ],
)
def test_what_is_no_length(text: str) -> None:
    with pytest.raises(
        ValueError, match=r"a length is a number, or like 2mm, 0\.125in or 16ga|a finite number is wanted"
    ):
        read_length(text, "mm")


@pytest.mark.parametrize("number", [math.nan, math.inf, -math.inf, True, False])
def test_numbers_that_are_no_length(number: float) -> None:
    with pytest.raises(ValueError):
        read_length(number, "mm")


@given(st.floats(-1e6, 1e6, allow_nan=False), st.sampled_from(["mm", "inch"]))
def test_in_and_out_again(number: float, units: str) -> None:
    length_mm = read_length(number, units)
    assert isinstance(length_mm, float)
    assert in_units(length_mm, units) == pytest.approx(number, rel=1e-12, abs=1e-12)


@pytest.mark.parametrize(
    ("name", "value", "text"),
    [
        ("leg_mm", 25.456, "25.46 mm"),
        ("leg_mm", 25.0, "25 mm"),
        ("turn_deg", 90.0, "90°"),
        ("turn_deg", 88.75, "88.8°"),
        ("force_kn", 24.84, "24.8 kN"),
        ("moment_nm", 4.24, "4.2 N m"),
        ("push_n", 51.3, "51 N"),
        ("force_kn_per_m", 662.4, "662 kN/m"),
        ("mass_kg", 0.3064, "0.306 kg"),
        ("mass_kg", 3.0641, "3.06 kg"),
        ("mass_kg", 16.187, "16.2 kg"),
        ("tolerance_deg", 0.5, "0°30′"),
        ("angle_tolerance_deg", 1.0, "1°"),
        ("tolerance_deg", 0.33, "0.33°"),
        ("area_mm2", 19487.05, "19487 mm²"),
        ("seconds_s", 12.34, "12.3 s"),
        ("tip_mm_per_s", 250.004, "250 mm/s"),
        ("deg_per_mm", 12.345, "12.3°/mm"),
        ("mm_per_deg", 0.0812, "0.081 mm/°"),
        ("yield_mpa", 355.2, "355 N/mm²"),
        ("density_kg_per_m3", 7850.0, "7850 kg/m³"),
        ("share_percent", 63.2, "63 %"),
        ("set_up_min", 24.6, "25 min"),
        ("ratio", 0.65432, "0.654"),
    ],
)
def test_a_value_is_written_by_the_end_of_its_name(name: str, value: float, text: str) -> None:
    assert written(name, value) == text


# By hand from the inch of 25.4 mm and the pound of 0.45359237 kg and 4.448222 N, 2000 of them a ton: 100 kN are
# 22481 lbf, 11.24 ton; 662.4 kN on a metre are 201.9 kN, 22.69 ton, on a foot; 16.187 kg / 0.453592 = 35.69 lb;
# 355 N/mm2 / 6.894757 = 51.49 ksi; 250 mm/s are 590.55 in/min, more is over the limit;
# 7850 kg/m3 x 25.4^3 / 453.59e6 = 0.2836 lb/in3.
@pytest.mark.parametrize(
    ("name", "value", "text"),
    [
        ("leg_mm", 25.4, "1 in"),
        ("leg_mm", 2.0, "0.079 in"),
        ("depth_mm", 2.0, "0.0787 in"),
        ("turn_deg", 90.0, "90°"),
        ("tip_mm_per_s", 250.0, "590.5 in/min"),
        ("force_kn", 100.0, "11.24 ton (100 kN)"),
        ("force_kn", 4.0, "899 lbf (4 kN)"),
        ("force_kn_per_m", 662.4, "22.7 ton/ft (662 kN/m)"),
        ("moment_nm", 4.24, "3.1 lbf ft"),
        ("push_n", 51.3, "12 lbf (51 N)"),
        ("mass_kg", 16.187, "35.7 lb"),
        ("yield_mpa", 355.0, "51.5 ksi"),
        ("density_kg_per_m3", 7850.0, "0.284 lb/in³"),
        ("area_mm2", 19487.05, "30.2 in²"),
        ("deg_per_mm", 12.345, "314°/in"),
        ("mm_per_deg", 0.0812, "0.0032 in/°"),
        ("set_up_min", 24.6, "25 min"),
    ],
)
def test_in_inch_every_value_follows_and_kn_stands_beside_a_force(name: str, value: float, text: str) -> None:
    assert written(name, value, "inch") == text


def test_a_length_alone_follows_the_units() -> None:
    assert format_length(1.5, "inch") == "0.059 in"
    assert in_units(50.8, "inch") == pytest.approx(2.0)
    assert in_units(50.8, "mm") == 50.8


@pytest.mark.parametrize(
    ("number", "digits", "text"),
    [
        (1.0, 2, "1"),
        (1.5, 2, "1.5"),
        (1.999, 2, "2"),
        (-0.001, 2, "0"),
        (-0.0, 0, "0"),
        (100.0, 0, "100"),
        (1234.5, 1, "1234.5"),
    ],
)
def test_numbers_lose_their_idle_zeros(number: float, digits: int, text: str) -> None:
    assert trimmed(number, digits) == text


@given(st.floats(-1e7, 1e7, allow_nan=False), st.integers(0, 4))
def test_a_trimmed_number_is_the_number_to_its_places(number: float, digits: int) -> None:
    text = trimmed(number, digits)
    assert abs(float(text) - number) <= 0.5 * 10**-digits * (1 + 1e-9) + 1e-9
    assert text != "-0" and not (("." in text) and text.endswith(("0", ".")))
