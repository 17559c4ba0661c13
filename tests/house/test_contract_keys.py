"""The JSON of each command holds the keys that scripts rely on, each quantity named with its unit."""

from __future__ import annotations

import math
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from .running import records
from .source_tree import REPOSITORY

PARTS = sorted((REPOSITORY / "examples" / "parts").glob("*.yaml"))
# Blank and findings have the same keys for every part; a few of the shapes show them. Plans are looked at whole.
SOME = PARTS[::3]
REFUSED = sorted((REPOSITORY / "examples" / "refused").glob("*.yaml"))

BEND = [
    "schema_version",
    "material",
    "thickness_mm",
    "turn_deg",
    "included_deg",
    "inside_radius_mm",
    "radius_from",
    "formed_radius_mm",
    "k_factor",
    "allowance_from",
    "allowance_mm",
    "setback_mm",
    "deduction_mm",
    "die",
    "die_opening_mm",
    "named_opening_mm",
    "punch",
    "force_kn_per_m",
    "end_force_kn_per_m",
    "limit_force_kn_per_m",
    "force_from",
    "force_kn",
    "min_leg_mm",
    "loaded_turn_deg",
    "springback_deg",
    "depth_mm",
    "deg_per_mm",
    "findings",
]
FINDING = ["severity", "code", "where", "text"]
FLAT = ["schema_version", "part", "blank", "bends", "findings"]
BLANK = ["developed_mm", "along_bends_mm", "area_mm2", "mass_kg"]
FLAT_BEND = [
    "bend",
    "line_mm",
    "zone_mm",
    "turn_deg",
    "toward",
    "inside_radius_mm",
    "allowance_mm",
    "deduction_mm",
    "allowance_from",
]
PLAN = [
    "schema_version",
    "part",
    "machine",
    "handler",
    "blank",
    "feasible",
    "proven_least",
    "cost",
    "lower_bound",
    "steps",
    "totals",
    "findings",
]
STEP = [
    "step",
    "bends",
    "marked_face",
    "gauged_on",
    "moves",
    "punch",
    "punch_turned",
    "die",
    "stations",
    "stops",
    "force_kn",
    "depth_mm",
    "bend_to_deg",
    "finished_deg",
    "open_height_mm",
    "open_height_reason",
    "slow_from_mm",
    "ram_speed_mm_per_s",
    "crowning_mm",
    "clearance_mm",
    "seconds",
    "hold",
]
HOLD = ["front_mm", "front_kg", "behind_kg", "moment_nm", "by"]
TOTALS = ["turn_overs", "turns", "regrips", "tool_changes", "cycle_s", "set_up_s", "quantity", "wishes"]
SHEET = [
    *("schema_version", "part", "file", "sheet", "pages", "status", "superseded", "findings"),
    *("leaf", "differs"),
]
TABLES = {
    "materials": ["name", "source", "density_kg_per_m3"],
    "punches": ["name", "outline_mm", "height_mm"],
    "dies": ["name", "outline_mm", "height_mm"],
    "machines": ["name", "ram_outline_mm", "bed_outline_mm", "finger_outline_mm"],
    "handlers": ["name"],
}
VEE = {
    "punches": ["nose_radius_mm", "included_deg"],
    "dies": ["opening_mm", "shoulder_radius_mm", "included_deg"],
}

# Endings of a key that carries a quantity, and the keys whose number is a pure one.
UNITS = (
    "_mm",
    "_mm2",
    "_mm3",
    "_mm4",
    "_deg",
    "_kn",
    "_kn_per_m",
    "_kg",
    "_nm",
    "_s",
    "_mpa",
    "_mm_per_s",
    "_mm_per_s2",
    "_kg_per_m3",
    "_n",
    "_m_per_s2",
    "_mm_per_m",
)
UNITS += ("_deg_per_mm", "_mm_per_deg", "_percent", "_share", "_cost", "_min")
PURE = {"k_factor", "cost", "lower_bound", "seconds", "friction", "poisson", "uniform_elongation", "gauge", "factor"}

BENDS = {
    "by turn": ["--turn", "90"],
    "by included angle": ["--included", "60"],
    "by depth": ["--depth", "2"],
    "with a radius": ["--turn", "90", "--radius", "3"],
    "with tools": ["--turn", "90", "--die-opening", "16", "--nose-radius", "1", "--length", "500"],
    "out of reach": ["--turn", "175"],
}


def _has(record: dict[str, Any], keys: list[str]) -> None:
    missing = [key for key in keys if key not in record]
    assert missing == []


def _numbers(value: Any, key: str) -> Iterator[tuple[str, float]]:
    """Every number of a record that is not whole, under the key it belongs to; a list belongs to its list's key."""
    if isinstance(value, dict):
        for name, below in value.items():
            yield from _numbers(below, name)
    elif isinstance(value, list):
        for below in value:
            yield from _numbers(below, key)
    elif isinstance(value, float):
        yield key, value


def _units_are_named(record: dict[str, Any]) -> None:
    for key, value in _numbers(record, ""):
        assert math.isfinite(value), key
        assert key.endswith(UNITS) or key in PURE, f"{key} = {value}: a quantity without its unit"


def _findings_are_whole(findings: list[dict[str, Any]], *, more: tuple[str, ...] = ()) -> None:
    for finding in findings:
        _has(finding, [*FINDING, *more])
        assert finding["severity"] in ("refuse", "caution", "note")
        assert finding["text"]


def test_there_are_examples() -> None:
    assert len(PARTS) >= 8
    assert REFUSED


@pytest.mark.parametrize("options", BENDS.values(), ids=BENDS)
def test_bend(options: list[str]) -> None:
    (record,) = records("bend", "--material", "DC01", "--thickness", "2", *options)
    _has(record, BEND)
    _units_are_named(record)
    _findings_are_whole(record["findings"])
    assert record["schema_version"] == 1
    assert record["radius_from"] in ("asked", "die", "punch", "measured", None)
    assert record["turn_deg"] is None or record["included_deg"] == pytest.approx(180 - record["turn_deg"])


@pytest.mark.parametrize("part", SOME, ids=lambda path: path.stem)
def test_flat(part: Path) -> None:
    (record,) = records("flat", str(part))
    _has(record, FLAT)
    _has(record["blank"], BLANK)
    _units_are_named(record)
    _findings_are_whole(record["findings"])
    assert record["bends"]
    for bend in record["bends"]:
        _has(bend, FLAT_BEND)
        assert isinstance(bend["toward"], bool)
        assert bend["zone_mm"][0] <= bend["line_mm"] <= bend["zone_mm"][1]


@pytest.mark.parametrize("part", SOME, ids=lambda path: path.stem)
def test_check(part: Path) -> None:
    (record,) = records("check", str(part))
    _has(record, ["schema_version", "part", "findings"])
    _findings_are_whole(record["findings"])


@pytest.mark.parametrize("part", PARTS, ids=lambda path: path.stem)
def test_plan(part: Path) -> None:
    (record,) = records("plan", str(part))
    _has(record, PLAN)
    _has(record["totals"], TOTALS)
    _units_are_named(record)
    _findings_are_whole(record["findings"], more=("step", "bodies", "overlap_mm"))
    assert record["feasible"] is True
    assert record["steps"]
    for step in record["steps"]:
        _step_is_whole(step)


def _step_is_whole(step: dict[str, Any]) -> None:
    _has(step, STEP)
    _has(step["gauged_on"], ["on", "bend"])
    _has(step["hold"], HOLD)
    _has(step["stops"], ["x_mm", "r_mm", "z_mm", "retract_mm"])
    assert step["marked_face"] in ("up", "down")
    assert step["gauged_on"]["on"] in ("start", "end", "flange")
    for move in step["moves"]:
        _has(move, ["move", "axis", "words"])
        assert move["axis"] in ("the bed", "front to back", None)
    for station in step["stations"]:
        _has(station, ["from_mm", "to_mm", "segments"])


@pytest.mark.parametrize("part", REFUSED, ids=lambda path: path.stem)
def test_a_refused_plan_keeps_its_keys(part: Path) -> None:
    (record,) = records("plan", str(part))
    _has(record, PLAN)
    assert record["feasible"] is False
    assert any(finding["severity"] == "refuse" for finding in record["findings"])


def test_sheet(tmp_path: Path) -> None:
    (record,) = records("sheet", str(PARTS[0]), "-o", str(tmp_path), "--html")
    _has(record, SHEET)
    assert record["status"] == "made"
    (again,) = records("sheet", str(PARTS[0]), "-o", str(tmp_path), "--html")
    assert again["status"] == "kept"


@pytest.mark.parametrize("table", TABLES)
def test_shop_list(table: str) -> None:
    rows = records("shop", "list", table)
    assert rows
    for row in rows:
        _has(row, TABLES[table])
        _units_are_named(row)
    if table in VEE:
        vee = [row for row in rows if row.get(VEE[table][0]) is not None]
        assert len(vee) >= 8
        for row in vee:
            _has(row, VEE[table])
