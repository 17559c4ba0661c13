"""Gauge numbers against the handbook and against the laws behind the tables."""

from __future__ import annotations

import pytest

from flangewise.shop import Shop


@pytest.mark.parametrize(
    ("family", "inches"), [("steel", 0.0598), ("galvanized", 0.0635), ("stainless", 0.0625), ("nonferrous", 0.0508)]
)
def test_sixteen_gauge(shop: Shop, family: str, inches: float) -> None:
    """Machinery's Handbook 31, p. 1453, table 20; galvanized from memory."""
    assert shop.gauges[family].thickness_mm(16) == pytest.approx(inches * 25.4, abs=1e-9)


@pytest.mark.parametrize("number", range(3, 31))
def test_nonferrous_follows_its_law(shop: Shop, number: int) -> None:
    """American Wire Gage: 0.005 x 92^((36 - n)/39) inch."""
    law_mm = 0.005 * 92 ** ((36 - number) / 39) * 25.4
    assert shop.gauges["nonferrous"].thickness_mm(number) == pytest.approx(law_mm, abs=0.00006 * 25.4)


# Ounces per square foot of the US Standard gage, 16 ounces a pound.
OUNCES = {8: 110, 10: 90, 12: 70, 13: 60, 14: 50, 16: 40, 18: 32, 20: 24, 22: 20, 24: 16, 26: 12, 28: 10, 30: 8}


@pytest.mark.parametrize(("number", "ounces"), OUNCES.items())
def test_steel_and_stainless_follow_their_weights(shop: Shop, number: int, ounces: float) -> None:
    """Steel 41.82 lb/ft2 per inch, stainless by 40 lb/ft2 per inch of iron."""
    steel_mm, stainless_mm = ounces / (16 * 41.82) * 25.4, ounces / 640 * 25.4
    assert shop.gauges["steel"].thickness_mm(number) == pytest.approx(steel_mm, abs=0.0001 * 25.4)
    assert shop.gauges["stainless"].thickness_mm(number) == pytest.approx(stainless_mm, abs=0.0001 * 25.4)


@pytest.mark.parametrize("number", range(8, 31))
def test_galvanized_is_steel_plus_its_zinc(shop: Shop, number: int) -> None:
    zinc_mm = shop.gauges["galvanized"].thickness_mm(number) - shop.gauges["steel"].thickness_mm(number)
    assert zinc_mm == pytest.approx(0.0037 * 25.4, abs=0.00011 * 25.4)


def test_a_higher_number_is_always_thinner(shop: Shop) -> None:
    looked_at = list(shop.gauges.values())
    assert looked_at
    for family in looked_at:
        numbers = sorted(family.thickness_inch)
        thicknesses = [family.thickness_inch[number] for number in numbers]
        assert thicknesses == sorted(thicknesses, reverse=True)
        assert len(set(thicknesses)) == len(thicknesses)


def test_a_missing_gauge_names_those_there_are(shop: Shop) -> None:
    with pytest.raises(LookupError, match="galvanized has gauges 8 to 30, not 7"):
        shop.gauges["galvanized"].thickness_mm(7)


def test_every_material_finds_its_gauges(shop: Shop) -> None:
    assert {material.family for material in shop.materials.values()} == set(shop.gauges)
