"""Faults: one line each, with the nearest name that exists."""

from __future__ import annotations

import pickle
from dataclasses import FrozenInstanceError

import pytest
from hypothesis import given, strategies as st

from flangewise.faults import Fault, Unusable, name_fits, nearest, printable


def test_the_line_of_a_fault() -> None:
    fault = Fault("a/p.yaml", 4, 10, "leg 2", "-3 is negative", "a length is above 0")
    assert fault.text == "a/p.yaml:4:10: leg 2: -3 is negative, a length is above 0"


def test_what_has_no_place_in_a_text() -> None:
    assert (
        Fault("p.yaml", None, None, "file", "does not exist", "give one").text
        == "p.yaml: file: does not exist, give one"
    )
    assert Fault("p.yaml", 3, None, "", "is odd", "make it even").text == "p.yaml:3: is odd, make it even"


@given(st.text(), st.text(), st.text())
def test_a_fault_is_one_line_whatever_it_quotes(where: str, wrong: str, fits: str) -> None:
    text = Fault("p.yaml", 1, 1, where, wrong, fits).text
    assert text.isprintable()
    assert len(text.splitlines()) == 1


def test_signs_that_cannot_be_seen_are_written_out() -> None:
    assert printable("a\nb\tc\x07\u2028d") == "a\\nb\\tc\\x07\\u2028d"
    assert printable("Stütze, 日本 90°") == "Stütze, 日本 90°"
    assert printable("\ud800") == "\\ud800"


def test_a_fault_cannot_be_changed() -> None:
    with pytest.raises(FrozenInstanceError):
        Fault("p", 1, 1, "a", "b", "c").line = 2  # type: ignore[misc]


def test_all_faults_of_an_input_travel_together() -> None:
    faults = [Fault("p", line, 1, "a", "b", "c") for line in (1, 2)]
    unusable = Unusable(iter(faults))
    assert unusable.faults == tuple(faults)
    assert str(unusable) == "p:1:1: a: b, c\np:2:1: a: b, c"
    assert pickle.loads(pickle.dumps(unusable)).faults == tuple(faults)


NAMES = ("DC01", "DC04", "S355MC", "1.4301", "6082-T6")


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        ("DC1", "DC01"),
        ("dc01", "DC01"),
        ("DC10", "DC01"),
        ("DC40", "DC04"),
        ("S335MC", "S355MC"),
        ("s355", "S355MC"),
        ("14301", "1.4301"),
        ("6082", "6082-T6"),
        ("wood", None),
        ("", None),
    ],
)
def test_the_nearest_name(name: str, expected: str | None) -> None:
    assert nearest(name, NAMES) == expected


def test_of_two_as_near_the_first() -> None:
    assert nearest("DC0x", ("DC04", "DC01")) == "DC04"
    assert nearest("DC0x", ("DC01", "DC04")) == "DC01"


def test_names_that_differ_in_case_alone() -> None:
    assert nearest("A", ["a"]) == "a"


def test_what_would_be_right_instead_of_a_name() -> None:
    assert name_fits("DC1", NAMES) == "did you mean 'DC01'?"
    assert name_fits("wood", NAMES) == "known are DC01, DC04, S355MC, 1.4301, 6082-T6"
    assert name_fits("wood", [f"row-{n}" for n in range(20)]).endswith("row-7 ...")
    assert name_fits("wood", ()) == "none are known"


@given(st.text(max_size=12), st.lists(st.text(max_size=8), max_size=6))
def test_the_nearest_name_is_one_of_the_names(name: str, names: list[str]) -> None:
    assert nearest(name, names) in (None, *names)
