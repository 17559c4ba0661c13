"""Least inside radii against the standards' own tables."""

from __future__ import annotations

import pytest

from flangewise.shop import Grain, Shop, table_radius_mm
from flangewise.shop.materials import Band, LeastRadius


@pytest.mark.parametrize(
    ("material", "thickness_mm", "grain", "expected_mm"),
    [
        # EN 10025-2, S235JRC: column over 4 to 5 mm.
        ("S235JR", 4.5, "across", 6),
        ("S235JR", 4.5, "along", 8),
        ("S235JR", 4.5, "any", 8),
        # The upper limit belongs to its column.
        ("S235JR", 3.0, "across", 3),
        ("S235JR", 3.01, "across", 5),
        # EN 10025-2, S355J2C.
        ("S355J2", 8.0, "across", 16),
        ("S355J2", 8.0, "along", 20),
        ("S355J2", 30.0, "along", 90),
        # EN 10149-2: multiples of the thickness in three steps.
        ("S355MC", 3.0, "across", 0.75),
        ("S700MC", 4.0, "along", 8.0),
        ("S700MC", 8.0, "along", 20.0),
        # Aluminum Design Manual 2005, table 3-1: 5052-H32 at 1/8 inch is 1.5 t.
        ("5052-H32", 3.175, "across", 0.1875 * 25.4),
        ("6061-T6", 1.5875, "across", 1.5 * 1.5875),
        ("2024-T3", 12.7, "across", 7.5 * 12.7),
        ("3003-H14", 1.5, "across", 0.0),
        # A design guide's 0.5 t or 0.8 mm, whichever is larger.
        ("DC01", 1.0, "along", 0.8),
        ("DC01", 2.0, "along", 1.0),
        # Kalpakjian & Schmid, table 16.3: austenitic stainless, soft, 0.5 T.
        ("1.4301", 2.0, "across", 1.0),
    ],
)
def test_a_material_by_its_standard(
    shop: Shop, material: str, thickness_mm: float, grain: str, expected_mm: float
) -> None:
    found = table_radius_mm(shop.materials[material].least_radius, thickness_mm, grain=grain, turn_deg=90)
    assert found == pytest.approx(expected_mm, abs=1e-9)


@pytest.mark.parametrize(
    ("grain", "turn_deg", "expected_mm"),
    # Along the grain and past 120 degrees is still the one next column.
    [("across", 90, 10), ("across", 120, 10), ("across", 135, 12), ("along", 90, 12), ("along", 135, 12)],
)
def test_din_6935_at_6_mm(shop: Shop, grain: Grain, turn_deg: float, expected_mm: float) -> None:
    table = shop.least_radii["din-6935-to-490"]
    assert table_radius_mm(table, 6.0, grain=grain, turn_deg=turn_deg) == expected_mm


@pytest.mark.parametrize("thickness_mm", [20.5, 0.0, float("nan")])
def test_outside_a_table_there_is_no_figure(shop: Shop, thickness_mm: float) -> None:
    table = shop.least_radii["din-6935-to-490"]
    assert table_radius_mm(table, thickness_mm, grain="across", turn_deg=90) is None


def test_the_last_column_has_no_next_one(shop: Shop) -> None:
    table = shop.least_radii["din-6935-to-390"]
    assert table_radius_mm(table, 20.0, grain="across", turn_deg=90) == 40
    assert table_radius_mm(table, 20.0, grain="along", turn_deg=90) is None


def test_the_transverse_rows_of_the_two_standards_agree(shop: Shop) -> None:
    """EN 10025-2 across and DIN 6935's outer rows were printed independently and are the same figures."""
    for old, new in (("din-6935-to-390", "en-10025-2-s235"), ("din-6935-to-640", "en-10025-2-s355")):
        for thickness_mm in (1.2, 2.0, 2.8, 3.5, 4.5, 5.5, 6.5, 7.5, 9, 11, 13, 15, 17, 19):
            radii = {
                table_radius_mm(shop.least_radii[name], thickness_mm, grain="across", turn_deg=90)
                for name in (old, new)
            }
            assert len(radii) == 1, (thickness_mm, radii)


def test_radii_never_fall_with_thickness_nor_from_across_to_along(shop: Shop) -> None:
    looked_at = list(shop.least_radii.values())
    assert looked_at
    for table in looked_at:
        across = [table_radius_mm(table, band.to_mm, grain="across", turn_deg=90) for band in table.bands]
        assert across == sorted(across), table.name  # type: ignore[type-var]
        for band, radius in zip(table.bands, across, strict=True):
            along = table_radius_mm(table, band.to_mm, grain="along", turn_deg=90)
            assert along is None or radius is None or along >= radius


def test_an_inch_thickness_at_a_bands_limit_is_in_the_band(shop: Shop) -> None:
    """0.0625 inch computed by way of a sum is a hair over 1.5875 mm and must not fall into the next column."""
    thickness_mm = sum([0.0125 * 25.4] * 5)
    found = table_radius_mm(shop.materials["3003-H14"].least_radius, thickness_mm, grain="across", turn_deg=90)
    assert found == 0


@pytest.mark.parametrize(
    "given",
    [
        {"to_mm": 1.0},
        {"to_mm": 1.0, "across_mm": 1.0, "across_t": 1.0},
        {"to_mm": 1.0, "across_mm": 1.0, "along_t": 1.0},
        {"to_mm": 1.0, "across_t": 1.0, "along_mm": 1.0},
        {"to_mm": 1.0, "along_mm": 1.0},
    ],
)
def test_a_band_is_in_mm_or_in_thicknesses(given: dict[str, float]) -> None:
    with pytest.raises(ValueError, match="across_mm"):
        Band.model_validate(given)


@pytest.mark.parametrize("limits", [[], [2.0, 1.0], [1.0, 1.0]])
def test_bands_rise(limits: list[float]) -> None:
    bands = [{"to_mm": limit, "across_t": 1.0} for limit in limits]
    with pytest.raises(ValueError, match="rising"):
        LeastRadius.model_validate({"name": "a", "title": "a", "source": "a", "bands": bands})
