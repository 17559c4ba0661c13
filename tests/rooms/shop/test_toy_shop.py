"""The toy shop of the tests: plain blocks as a shop folder, with the sizes that hand calculations use."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from flangewise.shop import Shop, load_shop, named_findings

FOLDER = Path(__file__).with_name("toy_shop")
LEAN = math.tan(math.radians(42))


@pytest.fixture(scope="module")
def toy() -> Shop:
    """The toy shop, read as a user's folder is."""
    return load_shop(FOLDER)


def test_it_needs_only_the_tables_of_its_own(toy: Shop) -> None:
    assert {file.name for file in FOLDER.iterdir()} == {
        "shop.yaml", "materials.yaml", "machines.yaml", "punches.yaml", "dies.yaml", "handlers.yaml",
    }  # fmt: skip
    assert toy.gauges["steel"].thickness_mm(16) == pytest.approx(1.519, abs=0.001)
    assert toy.materials["toy"].least_radius.name == "soft-deep-drawing"


@pytest.mark.parametrize(("name", "half_width_mm", "height_mm"), [("block-12", 20, 60), ("tower-12", 8, 120)])
def test_the_dies(toy: Shop, name: str, *, half_width_mm: float, height_mm: float) -> None:
    die = toy.dies[name]
    assert (die.vee.opening_mm, die.vee.included_deg, die.vee.shoulder_radius_mm) == (12, 84, 0.5)
    assert max(across for across, _ in die.outline_mm.points_mm) == half_width_mm
    assert die.height_mm == height_mm
    assert named_findings(die) == ()


def test_the_punches(toy: Shop) -> None:
    """A nose of 0.5 mm puts the flanks 0.5 (1/sin 42 - 1) = 0.247 mm lower than those of a sharp tip."""
    lowered = 0.5 * (1 / math.sin(math.radians(42)) - 1)
    straight, goose = toy.punches["straight-84"], toy.punches["goose-84"]
    assert (straight.nose.nose_radius_mm, straight.nose.included_deg, straight.height_mm) == (0.5, 84, 100)
    assert straight.outline_mm.points_mm[1] == pytest.approx((10, 10 / LEAN - lowered), abs=1e-4)
    assert goose.outline_mm.points_mm[1] == pytest.approx((4, 4.44 - lowered), abs=0.003)
    assert goose.outline_mm.points_mm[2:6] == ((-6, 22), (-12, 34), (-12, 60), (12, 84))
    assert named_findings(straight) == named_findings(goose) == ()


def test_clamp_ram_and_bed_stand_where_they_are_reckoned(toy: Shop) -> None:
    """Above a punch of 100: clamp 60 wide from 100 to 140, ram 120 wide above; below a die of 60: the bed."""
    machine = toy.machines["toy"]
    above = {(across, up + 100) for across, up in machine.ram_outline_mm.points_mm}
    assert {(30, 100), (30, 140), (60, 140), (60, 640)} <= above
    assert {(across, up - 60) for across, up in machine.bed_outline_mm.points_mm} >= {(60, -60), (60, -800)}


def test_it_opens_wider_than_any_of_its_parts(toy: Shop) -> None:
    machine = toy.machines["toy"]
    assert machine.most_opening_mm(100, 60) == 500
    assert machine.closes_on(100, 60, 10)
