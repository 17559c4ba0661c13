"""A step as the contract writes it: all keys, nulls where nothing can be computed."""

from __future__ import annotations

import json

import pytest

from flangewise.sequence import Hold

from .made import chosen, made, pair

KEYS = {
    "step", "bends", "marked_face", "gauged_on", "moves", "punch", "punch_turned", "die", "stations", "stops",
    "force_kn", "depth_mm", "bend_to_deg", "finished_deg", "open_height_mm", "open_height_reason", "slow_from_mm",
    "ram_speed_mm_per_s", "crowning_mm", "clearance_mm", "seconds", "hold",
}  # fmt: skip


def test_every_key_of_the_contract_is_there() -> None:
    record = made().steps[0].as_json()
    assert set(record) >= KEYS
    assert set(record["gauged_on"]) == {"on", "bend"}
    assert set(record["stops"]) == {"x_mm", "r_mm", "z_mm", "retract_mm"}
    assert set(record["stations"][0]) >= {"from_mm", "to_mm", "segments"}
    json.dumps(record, allow_nan=False)


def test_the_totals_have_their_keys() -> None:
    counted = {"turn_overs", "turns", "regrips", "tool_changes"}
    assert set(made().totals_json()) == counted | {"cycle_s", "set_up_s", "quantity", "wishes"}


def test_what_a_part_costs_is_its_cycle_its_share_of_the_set_up_and_the_wishes() -> None:
    """Wishes of one name are added up: gauging 1 + 2, holding 0.5; the set-up of 50 parts over 50."""
    wished = (("gauging", 1.0), ("holding", 0.5)), (("gauging", 2.0),)
    whole = made(*(chosen(wishes_s=wishes) for wishes in wished), quantity=50)
    assert dict(whole.wishes_s) == {"gauging": 3.0, "holding": 0.5}
    assert whole.totals_json()["wishes"] == [{"wish": "gauging", "seconds": 3.0}, {"wish": "holding", "seconds": 0.5}]
    assert whole.cost_s == pytest.approx(whole.cycle_s + whole.set_up_s / 50 + 3.5)


def test_how_the_part_is_held_is_told_with_its_keys() -> None:
    hold = Hold(80.0, 1.0, 0.25, 1.5, "behind", "support", breach=1.2)
    assert made(chosen(hold=hold)).steps[0].as_json()["hold"] == {
        "front_mm": 80.0,
        "front_kg": 1.0,
        "behind_kg": 0.25,
        "moment_nm": 1.5,
        "by": "support",
        "tips": "behind",
        "kept": False,
    }
    assert made().steps[0].as_json()["hold"] is None


def test_included_angles_not_turns_are_told() -> None:
    record = made().steps[0].as_json()
    assert record["finished_deg"] == 90
    assert record["bend_to_deg"] == pytest.approx(180 - (pair().loaded_turn_deg or 0))
    assert record["bend_to_deg"] < 90


def test_an_offset_has_no_angle_to_bend_to() -> None:
    record = made(chosen(pair("offset", 1.5)), thickness_mm=1.5).steps[0].as_json()
    assert (record["bend_to_deg"], record["deg_per_mm"], record["mm_per_deg"]) == (None, None, None)
    assert record["force_kn"] > 0 and record["depth_mm"] == 2.5


def test_millimetres_per_degree_are_the_inverse() -> None:
    step = made().steps[0]
    assert step.mm_per_deg is not None and step.deg_per_mm is not None
    assert step.mm_per_deg * step.deg_per_mm == pytest.approx(1)
    # V 12, mild steel, near 90: 0.057 mm a degree by a trade table for a nose of about 0.1 V, less for a blunter one.
    assert 0.035 < step.mm_per_deg < 0.06
