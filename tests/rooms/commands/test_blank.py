"""A blank as the commands give it."""

from __future__ import annotations

import pytest

from flangewise.commands.flat import bend_records, blank_record, blank_text
from flangewise.part import read_part
from flangewise.pattern import FlatPattern, lay_out
from flangewise.shop import load_shop

TEXT = """\
part: lap
material: DC01
thickness: 2
section:
  length: 100
  legs: [40, 60, 30]
  bends: [{turn: 90, k_factor: 0.42}, {offset: 8, away: true, k_factor: 0.42}]
"""


@pytest.fixture(scope="module")
def pattern() -> FlatPattern:
    shop = load_shop()
    return lay_out(read_part(TEXT, "p.yaml", shop), shop, radii_mm={1: 2.0, 2: 2.0})


def test_size_area_and_mass(pattern: FlatPattern) -> None:
    record = blank_record(pattern)
    assert record is not None
    # 36 + 4.461 + 52 + 4.461 + 2 + 4.461 + 26, by 100.
    assert record["developed_mm"] == pytest.approx(129.383, abs=2e-3)
    assert record["area_mm2"] == pytest.approx(12938.3, abs=0.2)
    assert (record["along_bends_mm"], record["mass_kg"]) == (100.0, pytest.approx(0.2031, abs=1e-4))


def test_bends_are_numbered_and_an_offset_s_lines_lettered(pattern: FlatPattern) -> None:
    records = bend_records(pattern)
    assert [record["bend"] for record in records] == [1, "2a", "2b"]
    assert [record["toward"] for record in records] == [True, False, True]
    assert records[0]["zone_mm"] == pytest.approx([36.0, 40.461], abs=1e-3)
    assert records[0]["line_mm"] == pytest.approx(38.2305, abs=1e-3)
    assert [record["allowance_from"] for record in records] == ["k-factor"] * 3


def test_where_there_is_no_blank() -> None:
    assert blank_record(None) is None
    assert bend_records(None) == []


def test_text_in_the_units_asked_for(pattern: FlatPattern) -> None:
    told = blank_text(pattern, material="DC01", units="mm")
    assert "129.38 mm × 100 mm" in told and "DC01, 2 mm" in told
    assert len(told.splitlines()) == 7 + 1 + 3
    assert "3.937 in" in blank_text(pattern, material="DC01", units="inch")


def test_text_has_no_idle_blanks(pattern: FlatPattern) -> None:
    assert all(line == line.rstrip() for line in blank_text(pattern, material="DC01", units="mm").splitlines())
