"""Thickness tolerances against the reprints of their standards."""

from __future__ import annotations

import pytest

from flangewise.shop import Shop, thickness_tolerance_mm


@pytest.mark.parametrize(
    ("product", "thickness_mm", "expected_mm"),
    [
        # EN 10131:2006, yield under 260, width to 1200, normal.
        ("cold-rolled", 0.9, 0.05),
        ("cold-rolled", 1.0, 0.05),
        ("cold-rolled", 1.5, 0.08),
        ("cold-rolled", 2.0, 0.10),
        ("cold-rolled", 2.01, 0.12),
        ("cold-rolled", 3.0, 0.15),
        # EN 10051, category A, width to 1200.
        ("hot-rolled", 4.0, 0.22),
        ("hot-rolled", 6.0, 0.26),
        ("hot-rolled", 10.0, 0.32),
        # Stainless, width 1250.
        ("stainless", 1.5, 0.09),
        ("stainless", 3.0, 0.14),
        # EN 485-4:1994, group II.
        ("aluminium", 2.0, 0.13),
        ("aluminium", 3.0, 0.15),
    ],
)
def test_by_standard(shop: Shop, product: str, thickness_mm: float, expected_mm: float) -> None:
    assert thickness_tolerance_mm(shop.tolerances, product, thickness_mm) == expected_mm


@pytest.mark.parametrize(("product", "thickness_mm"), [("cold-rolled", 3.01), ("copper", 1.0), ("wood", 1.0)])
def test_where_no_table_reaches_there_is_no_figure(shop: Shop, product: str, thickness_mm: float) -> None:
    assert thickness_tolerance_mm(shop.tolerances, product, thickness_mm) is None


def test_bands_rise_and_never_narrow(shop: Shop) -> None:
    looked_at = list(shop.tolerances.values())
    assert looked_at
    for table in looked_at:
        limits = [band.to_mm for band in table.bands]
        allowed = [band.deviation_mm for band in table.bands]
        assert limits == sorted(set(limits))
        assert allowed == sorted(allowed)
