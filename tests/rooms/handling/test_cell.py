"""Distances of a cell from what was entered: none of them without its inputs, and each against figures of its own."""

from __future__ import annotations

from typing import Any

import pytest

from flangewise.handling import distances, lost, questions, stated
from flangewise.shop import Cell

STOPPING: dict[str, Any] = {
    "stop_time_s": 0.3,
    "slow_stop_time_s": 0.12,
    "sensor_s": 0.06,
    "control_s": 0.04,
    "slow_down_s": 0.4,
    "speed_mm_per_s": 1000,
    "slow_speed_mm_per_s": 250,
    "stops": "evenly",
    "slow_speed_monitored": True,
}
WATCHED: dict[str, Any] = {
    "field_height_mm": 200,
    "resolution_mm": 60,
    "supplement_mm": 100,
    "reach_over_mm": 1200,
    "person_place_mm": 100,
    "robot_place_mm": 10,
    "between_fields_mm": 0,
}
ENTERING: dict[str, Any] = {
    "restart_from_slow": "automatic",
    "restart_from_stop": "by-hand",
    "undetected_person": "excluded",
    "box_place_mm": 1500,
    "entry_every_min": 20,
    "slow_each_s": 30,
}


def cell(*, without: str | None = None, **changed: Any) -> Cell:
    """A cell with all that is entered, but one key; `changed`: other values by their key."""
    blocks = {"stopping": STOPPING, "watched": WATCHED, "entering": ENTERING}
    made = {
        name: {key: changed.get(key, value) for key, value in block.items() if key != without}
        for name, block in blocks.items()
    }
    return Cell.model_validate({"mobile": changed.get("mobile", False), **made})


def found(entered: Cell | None) -> dict[str, float | None]:
    return {each.code: each.distance_mm for each in distances(entered)}


def test_the_distances_of_a_cell_that_is_entered_whole() -> None:
    """1600 x 0.4 + 1120 + 100; D_DS for C; Sp of three terms for the person and the robot each; 1600 x 0.46 more."""
    assert found(cell()) == {
        "walking-2010": pytest.approx(640 + 1120 + 100),
        "walking-2024": pytest.approx(640 + 1200 + 100),
        "separation-full": pytest.approx(640 + 100 + 150 + 1120 + 110),
        "separation-slow": pytest.approx(352 + 25 + 15 + 1120 + 110),
        "stop-zone": pytest.approx(1622),
        "slow-zone": pytest.approx(1622 + 736),
        "box-change": pytest.approx(1622 - 1500),
    }


ENTERED = [
    ("stop_time_s", "stop_time", {"walking-2010", "walking-2024", "separation-full", "slow-zone"}),
    ("slow_stop_time_s", "slow_stop_time", {"separation-slow", "stop-zone", "slow-zone", "box-change"}),
    ("sensor_s", "sensor", set(found(cell()))),
    ("field_height_mm", "field_height", set(found(cell())) - {"walking-2024"}),
    ("reach_over_mm", "reach_over", {"walking-2024"}),
    ("slow_speed_monitored", "slow_speed_monitored", {"stop-zone", "slow-zone", "box-change"}),
    ("box_place_mm", "box_place", {"box-change"}),
]


@pytest.mark.parametrize(("key", "named", "fall"), ENTERED, ids=lambda each: each if isinstance(each, str) else "")
def test_without_an_input_its_distances_are_not_computed_and_name_it(key: str, named: str, fall: set[str]) -> None:
    told = distances(cell(without=key))
    assert {each.code for each in told if each.distance_mm is None} == fall
    assert [each.code for each in told if each.distance_mm is None and named not in each.missing] == []


def test_no_input_has_a_value_of_its_own() -> None:
    assert set(found(None).values()) == {None}
    assert set(found(Cell()).values()) == {None}


def test_a_mobile_base_adds_the_time_in_which_its_fields_switch() -> None:
    mobile = cell(mobile=True, field_switch_s=0.5)
    assert found(mobile)["walking-2010"] is None
    stopping = {**STOPPING, "field_switch_s": 0.5}
    switched = Cell.model_validate({"mobile": True, "stopping": stopping, "watched": WATCHED, "entering": ENTERING})
    assert found(switched)["walking-2010"] == pytest.approx(1860 + 800)


def test_where_slow_speed_is_not_monitored_the_stop_zone_is_that_of_full_speed() -> None:
    told = found(cell(slow_speed_monitored=False))
    assert told["stop-zone"] == told["separation-full"] == pytest.approx(2120)
    assert "slow-not-monitored" in set(questions(cell(slow_speed_monitored=False)))


def test_an_arm_that_may_go_on_at_its_speed_while_it_stops_needs_more() -> None:
    assert found(cell(stops="unknown"))["separation-full"] == pytest.approx(2120 + 150)


def test_a_field_too_high_for_the_formula_gives_no_distance() -> None:
    told = next(each for each in distances(cell(field_height_mm=1100)) if each.code == "walking-2010")
    assert told.distance_mm is None and told.missing == ("field_height to 1000",)


def test_inputs_terms_formula_and_edition_are_echoed() -> None:
    told = distances(cell())[0]
    assert dict(told.inputs)["stop_time_s"] == 0.3 and dict(told.terms)["T"] == pytest.approx(0.4)
    assert (told.formula, told.source) == ("S = 1600 T + max(850, 1200 - 0.4 H) + Z", "ISO 13855:2010, 6.3")


def test_what_must_be_stated_is_none_where_it_is_not() -> None:
    assert dict(stated(None))["undetected_person"] is None
    assert dict(stated(cell()))["restart_from_stop"] == "by-hand"


def test_questions_follow_from_what_was_entered() -> None:
    assert list(questions(cell())) == []
    unseen = cell(restart_from_stop="automatic", undetected_person="possible")
    assert list(questions(unseen)) == ["restart-unseen"]
    assert "field-low" in set(questions(cell(resolution_mm=70)))
    assert "field-high" in set(questions(cell(field_height_mm=400)))


def test_people_coming_in_cost_the_share_of_speed_that_is_lost() -> None:
    """30 s at a quarter of the speed are 22.5 s lost; three times an hour 67.5 s."""
    told = lost(cell())
    assert (told.each_s, told.an_hour_min) == (pytest.approx(22.5), pytest.approx(67.5 / 60))
    assert lost(cell(without="slow_each_s")).missing == ("slow_each",)
