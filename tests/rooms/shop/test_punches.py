"""Punches read off their outlines."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from flangewise.shop import Punch, Shop


def given(**changes: Any) -> dict[str, Any]:
    """A plain punch of 88 degrees with a nose of 1 mm, 100 high, 20 wide."""
    below = -(1 / math.sin(math.radians(44)) - 1)
    flank = below + 10 / math.tan(math.radians(44))
    points = [[0, below, 1], [10, flank], [10, 100], [-10, 100], [-10, flank]]
    row: dict[str, Any] = {
        "name": "mine",
        "title": "a punch",
        "source": "invented",
        "kind": "vee",
        "height_mm": 100,
        "load_kn_per_m": 500,
        "named_nose_radius_mm": 1,
        "named_included_deg": 88,
        "outline_mm": points,
        "segments": {"100": 3},
    }
    row.update(changes)
    return {key: value for key, value in row.items() if value is not ...}


def test_nose_and_angle_come_from_the_outline() -> None:
    punch = Punch.model_validate(given(named_nose_radius_mm=2.5, named_included_deg=60))
    assert punch.nose.nose_radius_mm == pytest.approx(1, abs=0.001)
    assert punch.nose.included_deg == pytest.approx(88, abs=0.001)


def test_the_turned_punch_is_its_mirror_image(shop: Shop) -> None:
    deep = shop.punches["neck-deep"]
    mirrored = {(-across, up) for across, up in deep.outline_mm.points_mm}
    assert set(deep.outline_turned.points_mm) == mirrored
    assert deep.outline_turned.area_mm2() == pytest.approx(deep.outline_mm.area_mm2())
    assert shop.punches["straight-88"].outline_turned.area_mm2() > 0


def walls_at(punch: Punch, up_mm: float) -> list[float]:
    """Where the drawn outline crosses a height, from back to front."""
    drawn = punch.outline_mm.drawn_mm()
    found = []
    for start, end in zip(drawn, np.roll(drawn, -1, axis=0), strict=True):
        if (start[1] - up_mm) * (end[1] - up_mm) < 0:
            share = (up_mm - start[1]) / (end[1] - start[1])
            found.append(float(start[0] + share * (end[0] - start[0])))
    return sorted(found)


def test_the_necks_are_relieved_toward_the_operator(shop: Shop) -> None:
    """Half way up, a neck's front stands behind the centre plane, the deep one's further; the straight ones' never."""
    back, front = walls_at(shop.punches["neck-shallow"], 50)
    deep_back, deep_front = walls_at(shop.punches["neck-deep"], 50)
    assert deep_front < front < 0
    assert deep_back < back < front
    assert walls_at(shop.punches["straight-88"], 50) == [-10, 10]


def test_a_neck_is_nowhere_a_blade(shop: Shop) -> None:
    for name in ("neck-shallow", "neck-deep"):
        for up_mm in range(12, 140, 4):
            back, front = walls_at(shop.punches[name], up_mm + 0.5)
            assert front - back >= 10, (name, up_mm)


def test_length_held_leaves_the_ears_out() -> None:
    row = given(segments={"100": 3, "10": 2, "ear 75 left": 4}, ear_load_kn_per_m=200)
    assert Punch.model_validate(row).held_mm == 320


def test_a_row_is_frozen_hashable_and_equal_by_value() -> None:
    punch, same = Punch.model_validate(given()), Punch.model_validate(given())
    assert punch == same
    assert hash(punch) == hash(same)
    with pytest.raises(ValueError, match="frozen"):
        punch.height_mm = 5.0  # type: ignore[misc]


@pytest.mark.parametrize("name", ["flattener", "offset-2", "offset-4"])
def test_what_is_no_vee_punch_has_no_nose(shop: Shop, name: str) -> None:
    punch = shop.punches[name]
    for read in (lambda: punch.nose.nose_radius_mm, lambda: punch.nose.included_deg, lambda: punch.nose):
        with pytest.raises(LookupError, match=f"punch {name} is no vee punch"):
            read()


EARS = {"segments": {"100": 3, "ear 75 left": 1}, "ear_load_kn_per_m": 200}


@pytest.mark.parametrize(
    ("changes", "wrong"),
    [
        ({"height_mm": 90}, "90 is not the outline's height"),
        ({"named_nose_radius_mm": ...}, "named size is missing"),
        ({"named_included_deg": ...}, "named size is missing"),
        ({"named_included_deg": 180}, "less than 180"),
        ({"named_nose_radius_mm": 0}, "greater than 0"),
        ({"outline_mm": [[0, 0], [10, 10], [10, 100], [-10, 100], [-10, 10]]}, "no nose"),
        ({"outline_mm": [[0, 3, 1], [10, 13], [10, 100], [-10, 100], [-10, 13]]}, "no nose"),
        ({"kind": "flat"}, "lowest face"),
        ({"kind": "offset"}, "step is not described"),
        ({"offset_mm": 2}, "make no step"),
        ({"segments": {"ear 75 left": 1}}, "their load is missing"),
        ({"ear_reach_mm": 35}, "add ear_foot_mm"),
        ({"ear_foot_mm": 30}, "add ear_reach_mm"),
        ({"ear_reach_mm": 35, "ear_foot_mm": 30}, "no ears are held"),
        (EARS | {"ear_reach_mm": 75, "ear_foot_mm": 30}, "it is below 75"),
        (EARS | {"ear_reach_mm": 35, "ear_foot_mm": 100}, "it is below 100"),
        ({"kind": "curl"}, "vee"),
        ({"load_kn_per_m": True}, "valid number"),
        ({"load_kn_per_m": "500"}, "valid number"),
        ({"load_kn_per_m": math.inf}, "less than|finite"),
        ({"load_kn_per_m": math.nan}, "finite|greater"),
        ({"title": ""}, "at least 1"),
        ({"source": ...}, "source"),
        ({"tang": "long"}, "tang"),
    ],
)
def test_what_is_no_punch(changes: dict[str, Any], wrong: str) -> None:
    Punch.model_validate(given())
    with pytest.raises(ValueError, match=wrong):
        Punch.model_validate(given(**changes))


def test_a_tool_may_say_in_which_rack_it_is_kept() -> None:
    assert Punch.model_validate(given(rack="R2/3")).rack == "R2/3"
    assert Punch.model_validate(given()).rack is None
    with pytest.raises(ValueError, match="at most 16"):
        Punch.model_validate(given(rack="behind the second press"))
