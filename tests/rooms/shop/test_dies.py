"""Dies read off their outlines; the trap of the two ways to measure an opening."""

from __future__ import annotations

import math
from typing import Any

import pytest

from flangewise.shop import Die, Shop


def given(
    corner_mm: float = 16.0, shoulder_mm: float = 1.5, included_deg: float = 85.0, **changes: Any
) -> dict[str, Any]:
    """A block 60 wide and 80 high with one vee, its opening given between the sharp corners."""
    deep = corner_mm / 2 / math.tan(math.radians(included_deg / 2))
    half = corner_mm / 2
    points = [
        [half, 0, shoulder_mm], [0, -deep], [-half, 0, shoulder_mm], [-30, 0], [-30, -80], [30, -80], [30, 0],
    ]  # fmt: skip
    row: dict[str, Any] = {
        "name": "mine",
        "title": "a die",
        "source": "invented",
        "kind": "vee",
        "height_mm": 80,
        "load_kn_per_m": 500,
        "named_opening_mm": corner_mm,
        "opening_measured": "corner",
        "named_shoulder_radius_mm": shoulder_mm,
        "named_included_deg": included_deg,
        "outline_mm": points,
        "segments": {"100": 3},
    }
    row.update(changes)
    return {key: value for key, value in row.items() if value is not ...}


@pytest.mark.parametrize(
    ("corner_mm", "shoulder_mm", "included_deg", "tangent_mm"),
    [(8, 0.8, 85, 8.704), (16, 1.5, 85, 17.320), (16, 1.5, 30, 18.302), (50, 5, 85, 54.400)],
)
def test_opening_between_tangent_points(
    corner_mm: float, shoulder_mm: float, included_deg: float, tangent_mm: float
) -> None:
    """V_tangent = V_corner + 2 r tan((90 - angle/2)/2), plane geometry."""
    die = Die.model_validate(given(corner_mm, shoulder_mm, included_deg))
    assert die.vee.opening_mm == pytest.approx(tangent_mm, abs=0.0006)
    assert die.vee.corner_opening_mm == pytest.approx(corner_mm, abs=0.001)
    assert die.vee.shoulder_radius_mm == pytest.approx(shoulder_mm, abs=0.001)
    assert die.vee.included_deg == pytest.approx(included_deg, abs=0.001)


def test_sharp_shoulders_have_one_opening_only() -> None:
    die = Die.model_validate(given(shoulder_mm=0.0))
    assert die.vee.opening_mm == die.vee.corner_opening_mm == 16


def test_a_turned_die_is_its_mirror_image(shop: Shop) -> None:
    die = shop.dies["offset-4"]
    assert {(-across, up) for across, up in die.outline_mm.points_mm} == set(die.outline_turned.points_mm)


@pytest.mark.parametrize("name", ["flat-bed", "offset-2"])
def test_what_is_no_vee_die_has_no_opening(shop: Shop, name: str) -> None:
    die = shop.dies[name]
    for read in (
        lambda: die.vee.opening_mm,
        lambda: die.vee.shoulder_radius_mm,
        lambda: die.vee.included_deg,
        lambda: die.vee,
    ):
        with pytest.raises(LookupError, match=f"die {name} is no vee die"):
            read()


@pytest.mark.parametrize(
    ("changes", "wrong"),
    [
        ({"height_mm": 60}, "60 is not the outline's height"),
        ({"opening_measured": ...}, "named size is missing"),
        ({"named_opening_mm": ...}, "named size is missing"),
        ({"opening_measured": "middle"}, "corner"),
        ({"named_opening_mm": -16}, "greater than 0"),
        ({"outline_mm": [[-30, 0], [-30, -80], [30, -80], [30, 0]]}, "no vee"),
        ({"outline_mm": [[8, 1], [0, -9], [-8, 1], [-30, 1], [-30, -80], [30, -80], [30, 1]]}, "top is at 1"),
        ({"outline_mm": [[8, 0, 1], [0, -9], [-8, 0, 2], [-30, 0], [-30, -80], [30, -80], [30, 0]]}, "different radii"),
        ({"outline_mm": [[9, 0], [1, -9], [-7, 0], [-30, 0], [-30, -80], [30, -80], [30, 0]]}, "origin"),
    ],
)
def test_what_is_no_die(changes: dict[str, Any], wrong: str) -> None:
    Die.model_validate(given())
    with pytest.raises(ValueError, match=wrong):
        Die.model_validate(given(**changes))
