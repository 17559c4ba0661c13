"""The checkers of single values: what they let through, in mm, and the words of what they do not."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest
from pydantic_core import PydanticCustomError

from flangewise.part import fields
from flangewise.units import Gauge


def info(units: str = "mm", name: str = "turn") -> Any:
    """What pydantic hands a checker besides the value."""
    return SimpleNamespace(context={"units": units}, field_name=name)


def told(checker: fields.Checker, value: Any, units: str = "mm") -> tuple[str, str]:
    with pytest.raises(PydanticCustomError) as error:
        checker(value, info(units))
    context: Any = error.value.context
    return context["wrong"], context["fits"]


LENGTH = fields.length("a length", 0.1, 20_000.0)


@pytest.mark.parametrize(
    ("value", "units", "length_mm"),
    [
        (2, "mm", 2.0),
        (2, "inch", 50.8),
        ("2mm", "inch", 2.0),
        ("0.125in", "mm", 3.175),
        ('0.125"', "mm", 3.175),
        (" 4 mm ", "mm", 4.0),
        (0.1, "mm", 0.1),
        (20_000, "mm", 20_000.0),
    ],
)
def test_lengths_come_out_in_mm(value: Any, units: str, length_mm: float) -> None:
    assert LENGTH(value, info(units)) == pytest.approx(length_mm)


@pytest.mark.parametrize(
    ("value", "wrong"),
    [
        (-1, "-1 is negative"),
        (0, "0 is too small"),
        (20_001, "20001 is absurdly large"),
        (None, "nothing is no length"),
        ([1], "a list is no length"),
        ({"a": 1}, "a mapping is no length"),
        (True, "true is no length"),
        (float("nan"), "nan is no length"),
        ("long", "'long' is no length"),
        ("16ga", "'16ga' is a gauge and gives a thickness only"),
    ],
)
def test_what_is_no_length(value: Any, wrong: str) -> None:
    assert told(LENGTH, value)[0] == wrong


def test_bounds_are_told_in_the_file_s_units() -> None:
    assert told(LENGTH, -1) == ("-1 is negative", "a length is 0.1 mm to 20000 mm")
    assert told(LENGTH, -1, "inch") == ("-1 is negative", "a length is 0.004 in to 787.402 in")
    tolerance = fields.length("a tolerance", 0.001, 100.0)
    assert told(tolerance, -1) == ("-1 is negative", "a tolerance is above 0 and up to 100 mm")


def test_a_thickness_may_be_a_gauge() -> None:
    assert fields.thickness("16ga", info()) == Gauge(16)
    assert fields.thickness("16 gauge", info()) == Gauge(16)
    assert fields.thickness("1.5mm", info("inch")) == 1.5
    assert fields.thickness(2, info()) == 2.0
    assert told(fields.thickness, "thick")[0] == "'thick' is no length"
    assert told(fields.thickness, 31)[1] == "a thickness is 0.1 mm to 30 mm"


def test_choices() -> None:
    checker = fields.choice("mm", "inch")
    assert checker("inch", info()) == "inch"
    assert told(checker, "cm") == ("'cm' is not known here", "write mm or inch")
    assert told(checker, ["mm"])[0] == "a list is not known here"
    assert told(checker, None)[0] == "nothing is not known here"


@pytest.mark.parametrize("value", ["00123", "Foot of a rain gauge", "Ø 6,5 für M6", "", "  kept  "])
def test_texts_stay_as_they_are_written(value: str) -> None:
    assert fields.text(value, info()) == value.strip()


@pytest.mark.parametrize(
    ("value", "wrong"),
    [
        ("two\nlines", "holds a control character ('\\n')"),
        ("bell\x07", "holds a control character ('\\x07')"),
        ("\ud800", "holds a control character ('\\ud800')"),
        ("x" * 301, "has 301 characters"),
        (7, "7 is no text"),
        (["a"], "a list is no text"),
    ],
)
def test_what_is_no_text(value: Any, wrong: str) -> None:
    assert told(fields.text, value)[0] == wrong


def test_a_note_may_have_several_lines() -> None:
    assert fields.note("Deburr.\nMark the box.", info()) == "Deburr.\nMark the box."
    assert told(fields.note, "bell\x07")[0] == "holds a control character ('\\x07')"


def test_days_are_written_year_first() -> None:
    assert fields.day("2031-04-30", info()) == "2031-04-30"
    assert told(fields.day, "30.4.2031") == ("'30.4.2031' is no date", "write it as 2031-04-30")
    assert told(fields.day, "2031-02-30")[0] == "'2031-02-30' is no date"


@pytest.mark.parametrize("name", ["00123", "1-2", "rain-gauge_foot.v2", "A", "Stütze-4", ".hidden", "a" * 120])
def test_names_a_sheet_can_have(name: str) -> None:
    assert fields.part_name(name, info()) == name


@pytest.mark.parametrize(
    "name", ["", ".", "..", "...", "a/b", "a\\b", "a b", "a\n", "a:b", "a*", "ü" * 61, "a" * 121, None, 7]
)
def test_names_a_sheet_cannot_have(name: Any) -> None:
    with pytest.raises(PydanticCustomError):
        fields.part_name(name, info())


def test_angles_are_never_negative() -> None:
    assert fields.angle(45, info()) == 45.0
    assert told(fields.angle, -45) == (
        "-45 is negative, and a turn never is",
        "the other direction is written {turn: 45, away: true}",
    )
    assert told(fields.angle, "45")[0] == "'45' is no angle"
    assert told(fields.angle, float("nan"))[0] == "nan is no angle"
    assert told(fields.angle, True)[0] == "true is no angle"


def test_values_are_quoted_shortly() -> None:
    assert fields.shown("x" * 500) == "'" + "x" * 56 + "..."
    assert fields.shown(None) == "nothing"
    assert fields.shown((1, 2)) == "a list"
    assert fields.shown({}) == "a mapping"
    assert fields.shown(False) == "false"
    assert fields.shown(1e9) == "1000000000"
