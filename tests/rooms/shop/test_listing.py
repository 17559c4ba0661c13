"""Rows as other programs get them: the outlines really are the tools."""

from __future__ import annotations

import json
import math
from typing import Any

import pytest
from shapely.geometry import Point, Polygon

from flangewise.shop import ROWS, Shop, listed


def record(shop: Shop, table: str, name: str) -> dict[str, Any]:
    """One record of a table."""
    return next(each for each in listed(shop, table) if each["name"] == name)


@pytest.mark.parametrize("table", sorted(ROWS))
def test_a_record_a_row_in_the_files_order(shop: Shop, table: str) -> None:
    rows = getattr(shop, table)
    records = listed(shop, table)
    assert [each["name"] for each in records] == list(rows)
    assert all(list(each) == list(records[0]) for each in records), "every record has every key"
    json.dumps(records, allow_nan=False)


def test_no_other_table(shop: Shop) -> None:
    with pytest.raises(KeyError):
        listed(shop, "hammers")


@pytest.mark.parametrize(
    ("table", "keys"),
    [
        ("punches", "outline_mm height_mm nose_radius_mm included_deg"),
        ("dies", "outline_mm height_mm opening_mm shoulder_radius_mm included_deg"),
        ("machines", "ram_outline_mm bed_outline_mm finger_outline_mm"),
        ("materials", "yield_mpa tensile_mpa source mark least_radius least_radius_source"),
    ],
)
def test_the_keys_promised(shop: Shop, table: str, keys: str) -> None:
    looked_at = list(listed(shop, table))
    assert looked_at
    for each in looked_at:
        assert set(keys.split()) <= set(each)


def test_a_drawn_die_has_the_vee_it_claims(shop: Shop) -> None:
    """A ball resting on both shoulders of the drawn outline lies where plane geometry puts it.

    With V between the arcs' centres, a ball of radius r touching both shoulder arcs (radius s, centres (+-V/2, -s))
    has its centre at height sqrt((r + s)^2 - (V/2)^2) - s.
    """
    looked_at = list(listed(shop, "dies"))
    assert looked_at
    for die in looked_at:
        if die["kind"] != "vee" or die["included_deg"] < 60:
            continue
        half, shoulder = die["opening_mm"] / 2, die["shoulder_radius_mm"]
        block = Polygon(die["outline_mm"])
        ball = die["opening_mm"]
        centre_up = math.sqrt((ball + shoulder) ** 2 - half**2) - shoulder
        assert block.distance(Point(0, centre_up)) == pytest.approx(ball, abs=0.011), die["name"]


def test_the_walls_of_a_drawn_die_have_its_angle(shop: Shop) -> None:
    looked_at = list(listed(shop, "dies"))
    assert looked_at
    for die in looked_at:
        if die["kind"] != "vee":
            continue
        longest = max(_falls(die["outline_mm"]), key=lambda fall: math.hypot(*fall))
        assert 2 * math.degrees(math.atan2(abs(longest[0]), abs(longest[1]))) == pytest.approx(
            die["included_deg"], abs=0.01
        )


def _falls(points: list[list[float]]) -> list[tuple[float, float]]:
    """The slanting edges of an outline."""
    edges = zip(points, [*points[1:], points[0]], strict=True)
    return [(b[0] - a[0], b[1] - a[1]) for a, b in edges if abs(b[0] - a[0]) > 1e-9 and abs(b[1] - a[1]) > 1e-9]


def test_the_nose_of_a_drawn_punch_is_its_circle(shop: Shop) -> None:
    looked_at = list(listed(shop, "punches"))
    assert looked_at
    for punch in looked_at:
        if punch["kind"] != "vee":
            continue
        radius = punch["nose_radius_mm"]
        near = [point for point in punch["outline_mm"] if point[1] < radius * (1 - math.sin(math.radians(44))) - 1e-6]
        assert len(near) >= 3, punch["name"]
        assert all(math.dist(point, (0, radius)) == pytest.approx(radius, abs=1e-3) for point in near)
        assert min(point[1] for point in punch["outline_mm"]) == pytest.approx(0, abs=0.01)


def test_drawn_bodies_are_sound_and_end_at_their_height(shop: Shop) -> None:
    for table in ("punches", "dies"):
        for tool in listed(shop, table):
            body = Polygon(tool["outline_mm"])
            assert body.is_valid and body.exterior.is_ccw
            assert body.bounds[3] - body.bounds[1] >= tool["height_mm"] - 0.01
    looked_at = list(listed(shop, "machines"))
    assert looked_at
    for machine in looked_at:
        for key in ("ram_outline_mm", "bed_outline_mm", "finger_outline_mm"):
            assert Polygon(machine[key]).is_valid and Polygon(machine[key]).exterior.is_ccw


def test_tools_for_hems_and_offsets_have_no_vee(shop: Shop) -> None:
    for die in ("flat-bed", "offset-2"):
        assert record(shop, "dies", die)["opening_mm"] is None
        assert record(shop, "dies", die)["included_deg"] is None
    assert record(shop, "punches", "flattener")["nose_radius_mm"] is None
    assert record(shop, "dies", "offset-2")["offset_mm"] == 2


def test_an_offset_pair_closes_on_a_sheet_of_its_most_thickness(shop: Shop) -> None:
    """Closed on it, punch and die stand apart by the sheet everywhere: no overlap, and no more than a sheet between."""
    for name in ("offset-2", "offset-4", "offset-4-at-60"):
        punch, die = record(shop, "punches", name), record(shop, "dies", name)
        sheet = punch["most_thickness_mm"]
        depth = punch["offset_mm"] - sheet
        closed = Polygon([(across, up - depth) for across, up in punch["outline_mm"]])
        assert closed.distance(Polygon(die["outline_mm"])) == pytest.approx(sheet, abs=1e-4), name


def test_gauges_come_in_mm(shop: Shop) -> None:
    sixteen = next(each for each in record(shop, "gauges", "steel")["gauges"] if each["gauge"] == 16)
    assert sixteen["thickness_mm"] == pytest.approx(1.51892)


def test_segments_come_as_lengths_and_numbers(shop: Shop) -> None:
    segments = record(shop, "punches", "straight-88")["segments"]
    assert {"length_mm": 75.0, "held": 2, "ear": "left"} in segments
    # Four bars of 700, and two sets of 220, 110, 60, 35, 20, 15 and 10: 2,800 and twice 470.
    assert sum(each["length_mm"] * each["held"] for each in segments if each["ear"] is None) == 3740
