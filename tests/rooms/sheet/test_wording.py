"""Numbers as the sheet writes them: no finer than can be set, units said once."""

import pytest

from flangewise.part import read_part
from flangewise.sheet.wording import MISSING, Wording, stepped
from flangewise.shop import load_shop

MACHINE = load_shop().machines["bench-310"]
MM = Wording(MACHINE.model_copy(update={"stop_step_mm": 0.05}))
INCH = Wording(MACHINE, "en", "inch")
DE, ES = (Wording(MM.machine, lang) for lang in ("de", "es"))
GAUGE_PART = """
part: tray
units: inch
material: A1008-CS
thickness: 16ga
section: {length: 6, legs: [1, 3.5, 1], bends: [90, 90]}
"""


@pytest.mark.parametrize(
    ("value", "step", "text"),
    [
        (18.234, 0.05, "18.25"),
        (18.234, 0.01, "18.23"),
        (18.234, 0.1, "18.2"),
        (86.4, 1.0, "86"),
        (2.7, 0.25, "2.75"),
        (0.0, 0.01, "0.00"),
    ],
)
def test_a_value_is_written_in_whole_steps(value: float, step: float, text: str) -> None:
    assert stepped(value, step) == text


# 1 mm is 0.03937 inch: 2.15 mm/s are 5.079 in/min, and 5.1 would be faster than told.
@pytest.mark.parametrize(("speed", "mm", "inch"), [(2.15, "2.1", "5.0"), (2.1, "2.1", "4.9"), (9.0, "9.0", "21.2")])
def test_a_speed_is_rounded_down_because_more_would_not_do(speed: float, mm: str, inch: str) -> None:
    assert (MM.speed(speed), INCH.speed(speed)) == (mm, inch)


def test_no_minus_zero() -> None:
    assert stepped(-0.001, 0.01) == "0.00"


def test_a_stop_is_no_finer_than_the_machine_can_set() -> None:
    assert MM.stop(58.237) == "58.25"
    assert Wording(MACHINE.model_copy(update={"stop_step_mm": 0.1})).stop(58.237) == "58.2"


def test_an_opening_is_rounded_up_because_less_would_not_do() -> None:
    assert MM.opening(85.1) == "86"
    assert MM.opening(86.0) == "86"


@pytest.mark.parametrize(
    ("force", "text"), [(18.44, "18.4"), (19.96, "20.0"), (20.4, "20"), (129.6, "130"), (None, MISSING)]
)
def test_a_force_has_tenths_only_under_20(force: float | None, text: str) -> None:
    assert MM.force(force) == text


def test_angles_have_a_tenth_and_their_sign() -> None:
    assert MM.angle(88.44) == "88.4°"
    assert MM.angle(None) == MISSING


def test_inch_is_a_conversion_to_three_places_with_a_leading_zero() -> None:
    assert INCH.stop(58.23) == "2.293"
    assert INCH.stop(12.7) == "0.500"
    assert INCH.size(12.7) == "0.5"


def test_a_depth_in_inch_has_four_places_and_an_opening_is_rounded_up_to_the_hundredth() -> None:
    assert INCH.depth(-5.08) == "-0.2000"
    assert INCH.opening(85.1) == "3.36"
    assert INCH.opening(25.4) == "1.00"


# 44.6 mm are 1.756 inch; 3.2 mm are 0.126 inch, and the stop must draw back at least that far.
def test_along_the_bed_and_backward_the_stop_goes_to_the_whole_mm() -> None:
    assert MM.stops((44.6, 200.4)) == "45 / 200"
    assert INCH.stops((44.6,)) == "1.75"
    assert (MM.retract(3.2), INCH.retract(3.2), MM.retract(0.0)) == ("4", "0.15", "0")


def test_a_number_has_the_decimal_sign_of_its_language_and_no_thousands_are_set_apart() -> None:
    assert (DE.stop(1258.23), ES.stop(1258.23), MM.stop(1258.23)) == ("1258,25", "1258,25", "1258.25")
    assert (DE.written("mass_kg", 16.187), ES.written("mass_kg", 16.187)) == ("16,2 kg", "16,2 kg")
    assert (DE.angle(88.44), DE.force(18.44), DE.speed(2.15)) == ("88,4°", "18,4", "2,1")
    assert (DE.size(102.92), DE.opening(85.1), DE.scatter(0.84)) == ("102,92", "86", "± 0,8°")


def test_a_tolerance_of_an_angle_is_in_degrees_and_minutes() -> None:
    """ISO 2768-1 m: 1 degree up to 10 mm, 30 minutes up to 50, 20 up to 120, 10 up to 400 (from memory)."""
    assert [MM.angle_plus_minus(each) for each in (1.0, 0.5, 20 / 60, 10 / 60)] == [
        "± 1°",
        "± 0°30′",
        "± 0°20′",
        "± 0°10′",
    ]
    assert DE.angle_plus_minus(0.33) == "± 0,33°"
    assert (MM.plus_minus(0.3), DE.plus_minus(0.3), MM.plus_minus(None)) == ("± 0.3", "± 0,3", "not known")


# A US ton is 8.896 kN: 18.44 kN are 2.07 ton, 129.6 kN 14.6 ton.
def test_a_force_in_inch_is_in_ton_with_the_kn_of_the_machines_table_beside() -> None:
    assert (INCH.force(18.44), INCH.force(129.6)) == ("2.07 (18.4)", "14.6 (130)")


def test_a_gauge_number_stands_beside_the_thickness_where_the_part_gave_one() -> None:
    sheet = read_part(GAUGE_PART, "tray.yaml", load_shop())
    assert sheet.gauge == 16
    assert INCH.thickness(sheet) == "0.0598 (16 ga)"
    assert INCH.thickness(sheet, 0.0762) == "0.0598 ± 0.003 (16 ga)"
    told = read_part(GAUGE_PART.replace("16ga", "0.06"), "tray.yaml", load_shop())
    assert (told.gauge, INCH.thickness(told), MM.thickness(told)) == (None, "0.06", "1.52")


def test_a_word_that_says_a_unit_says_the_one_of_the_sheet() -> None:
    assert MM.word("step.force") == "force, kN"
    assert INCH.word("step.force") == "force, ton (kN)"
    assert INCH.word("step.depth") == MM.word("step.depth")


def test_sizes_of_the_part_carry_no_idle_zeros() -> None:
    assert MM.size(180.0) == "180"
    assert MM.size(102.922) == "102.92"
    assert MM.size(None) == MISSING


def test_what_cannot_be_computed_is_never_a_number() -> None:
    for said in (MM.length(None), MM.depth(None), MM.stop(None), MM.opening(None), MM.plain(None, 1)):
        assert said == MISSING
        assert not any(letter.isdigit() for letter in said)


def test_words_come_from_the_catalogue_of_the_language() -> None:
    assert MM.word("backgauge") == "BACKGAUGE"
    with pytest.raises(KeyError):
        MM.word("no-such-word")
