"""Materials against the figures of their standards and the planning values the bend is computed with."""

from __future__ import annotations

from typing import Any

import pytest

from flangewise.shop import Material, Shop, table_radius_mm

WANTED = """
DC01 DC04 DX51D S235JR S355J2 S355MC S420MC S500MC S700MC 1.4301 1.4404 1.4016
1050A-H14 3003-H14 5052-H32 5083-H111 5754-H111 5754-H22 6061-T6 6082-T6 2024-T3
A1008-CS A36 304 316 CuZn37-R300 Cu-ETP-R240
"""


def test_the_rows_promised_and_no_other(shop: Shop) -> None:
    assert list(shop.materials) == WANTED.split()


@pytest.mark.parametrize(
    ("name", "yield_mpa", "tensile_mpa", "uniform_elongation", "modulus_gpa"),
    [
        ("DC01", 200, 320, 0.22, 210),
        ("S235JR", 290, 410, 0.17, 210),
        ("S355MC", 400, 490, 0.14, 210),
        ("S700MC", 740, 820, 0.08, 210),
        ("1.4301", 300, 640, 0.45, 193),
        ("5754-H111", 110, 215, 0.17, 70),
        ("5754-H22", 160, 240, 0.10, 70),
    ],
)
def test_planning_values(
    shop: Shop, name: str, yield_mpa: float, tensile_mpa: float, *, uniform_elongation: float, modulus_gpa: float
) -> None:
    """Those the finite-element bends were run with."""
    row = shop.materials[name]
    assert (row.yield_mpa, row.tensile_mpa) == (yield_mpa, tensile_mpa)
    assert row.uniform_elongation == uniform_elongation
    assert row.modulus_mpa == modulus_gpa * 1000


@pytest.mark.parametrize(
    ("name", "yield_range_mpa", "tensile_range_mpa", "density_kg_per_m3"),
    [
        ("DC01", (None, 280), (270, 410), 7850),
        ("DC04", (None, 210), (270, 350), 7850),
        ("DX51D", (None, None), (270, 500), 7850),
        ("S235JR", (235, None), (360, 510), 7850),
        ("S355MC", (355, None), (430, 550), 7850),
        ("S420MC", (420, None), (480, 620), 7850),
        ("S500MC", (500, None), (550, 700), 7850),
        ("S700MC", (700, None), (750, 950), 7850),
        ("1.4301", (230, None), (540, 750), 7900),
        ("5754-H22", (130, None), (220, 270), 2670),
        ("6082-T6", (260, None), (310, None), 2700),
        ("A36", (250, None), (400, 550), 7850),
        ("CuZn37-R300", (None, 180), (300, 370), 8440),
    ],
)
def test_limits_of_the_standards(
    shop: Shop, name: str, *, yield_range_mpa: Any, tensile_range_mpa: Any, density_kg_per_m3: float
) -> None:
    row = shop.materials[name]
    assert row.yield_range_mpa == yield_range_mpa
    assert row.tensile_range_mpa == tensile_range_mpa
    assert row.density_kg_per_m3 == density_kg_per_m3


def test_planning_values_lie_within_their_standard(shop: Shop) -> None:
    looked_at = list(shop.materials.values())
    assert looked_at
    for row in looked_at:
        for value, (least, most) in (
            (row.yield_mpa, row.yield_range_mpa),
            (row.tensile_mpa, row.tensile_range_mpa),
        ):
            assert (least or 0) <= value <= (most or 10_000), row.name


def test_austenitic_is_the_stainless_that_is(shop: Shop) -> None:
    assert {row.name for row in shop.materials.values() if row.austenitic} == {"1.4301", "1.4404", "304", "316"}
    assert all(row.family == "stainless" for row in shop.materials.values() if row.austenitic)
    assert shop.materials["1.4016"].family == "stainless"
    assert shop.materials["DX51D"].family == "galvanized"


def test_every_sheet_has_a_least_radius_at_every_thickness_it_is_bent_in(shop: Shop) -> None:
    looked_at = list(shop.materials.values())
    assert looked_at
    for row in looked_at:
        for thickness_mm in (0.5, 1.0, 2.0, 3.0, 5.0):
            found = table_radius_mm(row.least_radius, thickness_mm, grain="any", turn_deg=90)
            assert found is not None and 0 <= found <= 8 * thickness_mm, (row.name, thickness_mm)


def test_every_row_tells_what_was_read_and_what_recalled(shop: Shop) -> None:
    looked_at = list(shop.materials.values())
    assert looked_at
    for row in looked_at:
        assert row.mark in row.source, row.name
        assert row.standard.split()[0] in row.source or row.name == "A36", row.name
        assert "planning values" in row.source


def plain(shop: Shop, **changes: Any) -> dict[str, Any]:
    """DC01 as a table writes it, with changes."""
    return {**shop.materials["DC01"].model_dump(), **changes}


@pytest.mark.parametrize(
    ("changes", "wrong"),
    [
        ({"least_radius": "soft-deep-drawin"}, "did you mean 'soft-deep-drawing'"),
        ({"least_radius": None}, "no table of least radii"),
        ({"yield_mpa": 400}, "more than the tensile strength"),
        ({"yield_range_mpa": [300, 200]}, "does not rise"),
        ({"yield_range_mpa": [300]}, "yield_range_mpa"),
        ({"uniform_elongation": 22}, "less than 1"),
        ({"uniform_elongation": 0}, "greater than 0"),
        ({"poisson": 0.5}, "less than 0.5"),
        ({"family": "wood"}, "steel"),
        ({"austenitic": "maybe"}, "valid boolean"),
        ({"mark": "guessed"}, "read"),
        ({"density_kg_per_m3": -1}, "greater than 0"),
    ],
)
def test_what_is_no_material(shop: Shop, changes: dict[str, Any], wrong: str) -> None:
    context = {"least_radii": shop.least_radii}
    assert Material.model_validate(plain(shop), context=context) == shop.materials["DC01"]
    with pytest.raises(ValueError, match=wrong):
        Material.model_validate(plain(shop, **changes), context=context)
