"""Whether the entries of a file agree with each other, told even where single values are wrong."""

from __future__ import annotations

from typing import Any

import pytest

from flangewise.part.agreement import check_counts, check_name
from flangewise.part.file import collector_of
from flangewise.reading import read_yaml

from .made import faults


def counted(**raw: Any) -> list[str]:
    """What is told of plain data; the places in the text do not matter here."""
    collector = collector_of(read_yaml("part: p", "p.yaml"), "p.yaml")
    check_counts(raw, collector)
    return [f"{fault.where}: {fault.wrong}, {fault.fits}" for fault in collector.found()]


def section(**more: Any) -> dict[str, Any]:
    return {"legs": [25, 60, 25], "bends": [90, 90], **more}


def test_a_section_that_agrees() -> None:
    assert counted(section=section(holes=[{"leg": 3}]), order=[2, 1], tolerances={"legs": [0.1, 0.1, 0.1]}) == []


@pytest.mark.parametrize(
    ("bends", "told"),
    [
        ([90], "bends: has 1 bend, 3 legs are joined by 2 bends"),
        ([90] * 3, "bends: has 3 bends, 3 legs are joined by 2 bends"),
    ],
)
def test_one_bend_fewer_than_legs(bends: list[int], told: str) -> None:
    assert counted(section=section(bends=bends)) == [told]


def test_two_legs_are_joined_by_one_bend() -> None:
    assert counted(section={"legs": [1, 2], "bends": [90, 90]}) == ["bends: has 2 bends, 2 legs are joined by 1 bend"]


@pytest.mark.parametrize("raw", [{}, {"section": None}, {"section": [1]}, {"section": {"legs": "a", "bends": 90}}])
def test_what_is_no_list_is_left_to_others(raw: dict[str, Any]) -> None:
    assert counted(**raw) == []


def test_holes_lie_in_legs_that_exist() -> None:
    holes: list[Any] = [{"leg": 4}, {"leg": 3}, {"leg": "two"}, "hole", {}]
    assert counted(section=section(holes=holes)) == ["hole 1: leg: there is no leg 4, legs are numbered 1 to 3"]


def test_tolerances_are_one_or_one_a_leg() -> None:
    assert counted(section=section(), tolerances={"legs": 0.3}) == []
    told = counted(section=section(), tolerances={"legs": [0.3, 0.3]})
    assert told == ["tolerances: legs: has 2 entries, give one for all legs or a list of 3"]


@pytest.mark.parametrize(
    ("order", "told"),
    [
        ([1, 1], "order: names a bend twice, name each of the bends 1 to 2 once"),
        ([2], "order: leaves a bend out, name each of the bends 1 to 2 once"),
        ([1, 3], "order: names bend 3, which is not there, name each of the bends 1 to 2 once"),
        ([1, 2, 2], "order: names a bend twice, name each of the bends 1 to 2 once"),
    ],
)
def test_an_order_names_every_bend_once(order: list[int], told: str) -> None:
    assert counted(section=section(), order=order) == [told]


def test_an_order_with_a_value_that_is_no_number_is_left_to_others() -> None:
    assert counted(section=section(), order=[1, "two"]) == []


def test_counts_are_told_beside_wrong_values() -> None:
    told = faults(legs="[40, x, 60]")
    assert [line.split(": ", 1)[1] for line in told] == [
        "leg 2: 'x' is no length, a length is a number, or like 2mm, 0.125in or 16ga",
        "bends: has 1 bend, 3 legs are joined by 2 bends",
    ]


@pytest.mark.parametrize(
    ("given", "told"),
    [
        ("DC01", []),
        (None, []),
        ("", ["material: '' is not in the shop's materials, known are DC01, DC04"]),
        (7, []),
        ("DC0l", ["material: 'DC0l' is not in the shop's materials, did you mean 'DC01'?"]),
        ("wood", ["material: 'wood' is not in the shop's materials, known are DC01, DC04"]),
    ],
)
def test_names_are_looked_up_in_the_shop(given: Any, told: list[str]) -> None:
    collector = collector_of(read_yaml("material: x", "p.yaml"), "p.yaml")
    check_name(given, {"DC01": 1, "DC04": 2}, steps=("material",), table="materials", collector=collector)
    assert [fault.text.split(": ", 1)[1] for fault in collector.found()] == told


def test_a_name_may_stand_in_no_table_at_all() -> None:
    collector = collector_of(read_yaml("material: x", "p.yaml"), "p.yaml")
    check_name("x", (), steps=("material",), table="materials", collector=collector)
    assert collector.found()[0].fits == "none are known"
