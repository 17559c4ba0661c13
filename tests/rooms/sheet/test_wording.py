"""Numbers as the sheet writes them: no finer than can be set, units said once."""

import pytest

from flangewise.sheet.wording import MISSING, Wording, stepped
from flangewise.shop import load_shop

MACHINE = load_shop().machines["bench-310"]
MM = Wording(MACHINE.model_copy(update={"stop_step_mm": 0.05}))
INCH = Wording(MACHINE, "en", "inch")


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


# 1 mm is 0.03937 inch: 2.15 mm/s are 0.0846, and 0.085 would be faster than told.
@pytest.mark.parametrize(
    ("speed", "mm", "inch"), [(2.15, "2.1", "0.084"), (2.1, "2.1", "0.082"), (9.0, "9.0", "0.354")]
)
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
