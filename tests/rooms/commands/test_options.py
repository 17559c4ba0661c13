"""Numbers of the command line: units, gauges, spans, names, and all faults at once."""

from __future__ import annotations

from collections.abc import Mapping

import pytest

from flangewise.commands.options import OptionReader, Span, gauge_of, understood
from flangewise.faults import Unusable
from flangewise.shop import GaugeFamily, load_shop

SPAN = Span(0.0, 40.0, "give more than 0 and at most 40 mm", open_below=True)


@pytest.fixture(scope="module")
def gauges() -> Mapping[str, GaugeFamily]:
    return load_shop(None, ["gauges"]).gauges


def told(asked: OptionReader) -> list[str]:
    with pytest.raises(Unusable) as caught:
        asked.done()
    return [fault.text for fault in caught.value.faults]


@pytest.mark.parametrize(
    ("text", "units", "length_mm"),
    [
        ("2", "mm", 2),
        ("2", "inch", 50.8),
        ("2mm", "inch", 2),
        ("0.125in", "mm", 3.175),
        (" .5 ", "mm", 0.5),
        ('1"', "mm", 25.4),
    ],
)
def test_lengths_in_their_units(text: str, units: str, length_mm: float) -> None:
    asked = OptionReader(units)
    assert asked.length_mm("--radius", text, Span(0, 100, "")) == pytest.approx(length_mm)
    asked.done()


@pytest.mark.parametrize("text", ["0", "-2", "nan", "inf", "-inf", "1e9", "two", "2 cm", "", "1_0", "2,5"])
def test_what_is_no_thickness(text: str) -> None:
    asked = OptionReader("mm")
    assert asked.length_mm("--thickness", text, SPAN) is None
    (line,) = told(asked)
    assert line.startswith("command line: --thickness: ") and "\n" not in line


@pytest.mark.parametrize("text", ["nan", "inf", "x", "1_0", "0", "176"])
def test_what_is_no_turn(text: str) -> None:
    asked = OptionReader("mm")
    assert asked.number("--turn", text, Span(0, 175, "a turn", open_below=True)) is None
    assert len(told(asked)) == 1


def test_the_ends_of_a_span() -> None:
    assert SPAN.holds(40) and not SPAN.holds(0) and not SPAN.holds(40.001)
    assert Span(0, 1, "").holds(0)


def test_what_was_left_out_is_none_without_a_fault() -> None:
    asked = OptionReader("mm")
    assert asked.number("--turn", None, SPAN) is None and asked.length_mm("--radius", None, SPAN) is None
    assert asked.name("--die", None, ["a"]) is None
    asked.done()


@pytest.mark.parametrize(
    ("family", "inches"), [("steel", 0.0598), ("galvanized", 0.0635), ("stainless", 0.0625), ("nonferrous", 0.0508)]
)
def test_16_gauge_is_another_thickness_in_each_family(
    gauges: Mapping[str, GaugeFamily], family: str, inches: float
) -> None:
    """Machinery's Handbook, 31st ed., p. 1453."""
    asked = OptionReader("mm")
    thickness_mm = asked.thickness_mm("--thickness", "16ga", SPAN, gauges=gauges, family=family)
    assert thickness_mm == pytest.approx(inches * 25.4, abs=0.003)
    assert understood("16ga", thickness_mm or 0, family=family).startswith(f"16ga of {family} = ")


def test_a_gauge_that_is_not_there_is_a_fault(gauges: Mapping[str, GaugeFamily]) -> None:
    asked = OptionReader("mm")
    assert asked.thickness_mm("--thickness", "99ga", SPAN, gauges=gauges, family="steel") is None
    assert "99ga" in told(asked)[0]


def test_a_gauge_is_no_radius() -> None:
    asked = OptionReader("mm")
    assert asked.length_mm("--radius", "16ga", SPAN) is None
    assert "--thickness only" in told(asked)[0]


def test_gauges_are_known_by_their_ending() -> None:
    assert gauge_of("16ga") is not None and gauge_of("16") is None and gauge_of("x") is None
    assert understood("2", 2.0) == "2 mm"


def test_a_name_that_is_not_there_is_answered_with_the_nearest() -> None:
    asked = OptionReader("mm")
    assert asked.name("--material", "DC1", ["DC01", "S235JR"]) is None
    assert "DC01" in told(asked)[0]
    assert OptionReader("mm").name("--material", "DC01", ["DC01"]) == "DC01"


def test_exactly_one_of_several() -> None:
    for given, count in (
        ({"turn": "90", "depth": None}, 0),
        ({"turn": None, "depth": None}, 1),
        ({"turn": "1", "depth": "2"}, 1),
    ):
        asked = OptionReader("mm")
        asked.one_of(**given)
        assert len(asked.faults) == count


def test_all_faults_are_told_together() -> None:
    asked = OptionReader("mm")
    asked.number("--turn", "x", SPAN)
    asked.length_mm("--radius", "y", SPAN)
    asked.not_both("keep one", die="V16", die_opening="16")
    assert len(told(asked)) == 3
