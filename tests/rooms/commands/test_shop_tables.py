"""Shop tables as a person reads them."""

from __future__ import annotations

import pytest

from flangewise.commands.shop import table_text
from flangewise.shop import TABLES, listed, load_shop


@pytest.fixture(scope="module")
def texts() -> dict[str, list[str]]:
    """The lines of each table's text."""
    shop = load_shop()
    tables = ("materials", "dies", "handlers", "gauges", "least_radii", "tolerances")
    return {table: table_text(table, listed(shop, table), units="mm").splitlines() for table in tables}


def test_a_line_a_row_under_a_head(texts: dict[str, list[str]]) -> None:
    assert len(texts["materials"]) == 2 * 28
    assert texts["materials"][0].split()[:3] == ["material", "standard", "yield"]
    assert texts["materials"][2].split()[:4] == ["DC01", "EN", "10130", "200"]


@pytest.mark.parametrize("table", sorted(TABLES))
def test_no_table_is_wider_than_a_terminal(table: str) -> None:
    for units in ("mm", "inch"):
        text = table_text(table, listed(load_shop(None, {table}), table), units=units)
        assert max(map(len, text.splitlines())) <= 80


def test_columns_that_do_not_fit_stand_below_their_row(texts: dict[str, list[str]]) -> None:
    head, below = texts["materials"][:2]
    assert below.split() == ["gauges", "least", "radius", "figures"]
    dc01 = texts["materials"][3]
    assert dc01.index("steel") == below.index("gauges") and dc01.index("read") == below.index("figures")
    assert below.startswith("  ") and not head.startswith(" ")


def test_columns_are_aligned(texts: dict[str, list[str]]) -> None:
    places = {line.index("mm", line.index("vee ")) for line in texts["dies"][1:] if "vee " in line}
    assert len(places) == 1


def test_what_a_row_does_not_have_is_a_dash(texts: dict[str, list[str]]) -> None:
    operator = next(line for line in texts["handlers"] if line.startswith("operator "))
    assert operator.endswith(" –")


def test_bands_and_gauges_are_a_line_each(texts: dict[str, list[str]]) -> None:
    assert len([line for line in texts["gauges"] if line.startswith("steel ")]) == 28
    s235 = [line for line in texts["least_radii"] if line.startswith("en-10025-2-s235 ")]
    assert len(s235) == 17
    assert "6 mm" in s235[5] and "8 mm" in s235[5]
    mc = [line for line in texts["least_radii"] if line.startswith("en-10149-2-s355mc")]
    assert [("0.25 t" in line, "0.5 t" in line, "1 t" in line) for line in mc] == [
        (True, False, False),
        (False, True, False),
        (False, False, True),
    ]


def test_a_gauge_is_a_number_without_a_unit(texts: dict[str, list[str]]) -> None:
    sixteen = next(line for line in texts["gauges"] if line.split()[:2] == ["steel", "16"])
    assert sixteen.split()[2:4] == ["1.52", "mm"]


def test_lengths_in_inch() -> None:
    shop = load_shop(None, {"gauges"})
    lines = table_text("gauges", listed(shop, "gauges"), units="inch").splitlines()
    sixteen = next(line for line in lines if line.split()[:2] == ["steel", "16"])
    assert sixteen.split()[2:4] == ["0.06", "in"]
