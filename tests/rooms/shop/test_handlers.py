"""Handlers: seconds by move, how the part is held, and the order of wishes that the search relies on."""

from __future__ import annotations

from typing import Any

import pytest

from flangewise.shop import Handler, Shop


def test_operators_and_a_robot(shop: Shop) -> None:
    kinds = {name: handler.kind for name, handler in shop.handlers.items()}
    people = dict.fromkeys(("operator", "operator-heavy", "two-operators"), "operator")
    assert kinds == people | {"robot": "robot"}
    assert shop.handlers["two-operators"].people == 2


@pytest.mark.parametrize(
    ("name", "move", "least_s", "most_s"),
    [
        # Common practice: an operator with a small part, with a part of 1 to 5 kg, a robot.
        ("operator", "turn", 1, 1.5),
        ("operator", "turn-over-bed", 1, 2),
        ("operator", "turn-over-front", 1, 2),
        ("operator", "shift", 1, 2),
        ("operator-heavy", "turn", 1.5, 3),
        ("operator-heavy", "turn-over-bed", 2, 4),
        ("robot", "turn", 2, 3.5),
        ("robot", "turn-over-front", 2, 4),
        ("robot", "regrip", 5, 9),
        ("operator", "regrip", 0, 0),
    ],
)
def test_seconds_of_a_move(shop: Shop, name: str, move: Any, *, least_s: float, most_s: float) -> None:
    assert least_s <= shop.handlers[name].seconds_of(move) <= most_s


def test_a_move_that_is_none_is_a_mistake(shop: Shop) -> None:
    with pytest.raises(KeyError):
        shop.handlers["operator"].seconds_of("flip")  # type: ignore[arg-type]


def test_a_turn_over_takes_longer_than_a_turn_and_a_turn_than_the_next_stop(shop: Shop) -> None:
    looked_at = list(shop.handlers.values())
    assert looked_at
    for handler in looked_at:
        assert handler.turn_over_front_s >= handler.turn_over_bed_s > handler.turn_s > handler.next_stop_s > 0
        # Taking the part out and putting it in again is more than drawing it to the next stop.
        assert handler.withdraw_s + handler.insert_s > handler.next_stop_s


def test_a_wish_never_outweighs_a_rule_and_the_worse_gauging_is_the_dearer(shop: Shop) -> None:
    looked_at = list(shop.handlers.values())
    assert looked_at
    for handler in looked_at:
        assert 0 < handler.formed_gauge_wish_s < handler.past_bend_wish_s < handler.sloped_gauge_wish_s
        assert handler.loose_leg_wish_s > handler.sloped_gauge_wish_s
        assert handler.least_hold_mm >= 60 and handler.most_behind_nm > 0
        assert (handler.small_hold_wish_s is None) is (handler.kind == "robot")


def test_only_the_robot_has_a_gripper_and_a_speed_limit(shop: Shop) -> None:
    looked_at = list(shop.handlers.values())
    assert looked_at
    for handler in looked_at:
        is_robot = handler.kind == "robot"
        assert (handler.gripper_height_mm is not None) is is_robot
        assert (handler.tip_speed_mm_per_s is not None) is is_robot


@pytest.mark.parametrize(
    ("base", "changes", "wrong"),
    [
        ("robot", {"gripper_height_mm": None}, "gripper_height_mm is missing"),
        ("operator", {"gripper_height_mm": 20}, "an operator has no gripper"),
        ("operator", {"kind": "helper"}, "operator"),
        ("operator", {"small_hold_wish_s": None}, "small_hold_wish_s is missing"),
        ("robot", {"small_hold_wish_s": 1.0}, "a gripper holds no tool"),
        ("robot", {"tilt_out_s": 9.0}, "how a gripper moves"),
        ("operator", {"tilt_out_s": 3.9}, "less than side_exit_s"),
        ("operator", {"least_hold_mm": -1}, "greater than or equal to 0"),
        ("operator", {"turn_s": -1}, "greater than or equal to 0"),
        ("operator", {"turn_s": "1 s"}, "valid number"),
        ("operator", {"somersault_s": 1}, "somersault_s"),
    ],
)
def test_what_is_no_handler(shop: Shop, base: str, changes: dict[str, Any], wrong: str) -> None:
    row = shop.handlers[base].model_dump()
    assert Handler.model_validate(row) == shop.handlers[base]
    with pytest.raises(ValueError, match=wrong):
        Handler.model_validate({**row, **changes})
