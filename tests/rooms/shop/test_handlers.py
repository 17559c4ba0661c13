"""Handlers: seconds by move, how the part is held, and the order of wishes that the search relies on."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from flangewise.faults import Unusable
from flangewise.shop import Handler, Shop, load_shop


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


def _with_gripper(folder: Path, **lines: str) -> Path:
    """The shop's table with some lines of the gripper written otherwise; an empty one is left out."""
    file = folder / "handlers.yaml"
    kept = []
    for line in file.read_text(encoding="utf-8").splitlines():
        key = line.strip().split(":")[0]
        if line.startswith("    ") and key in lines:
            kept += [f"    {key}: {lines[key]}"] if lines[key] else []
        else:
            kept.append(line)
    file.write_text("\n".join(kept) + "\n", encoding="utf-8")
    return file


@pytest.mark.parametrize(
    ("lines", "where", "wrong"),
    [
        ({"kind": "cups"}, "robot: gripper: may_hold", "only a jaw holds an edge or an end"),
        ({"may_hold": "[edge, side]"}, "robot: gripper: may_hold: 1", "'side' is not one of the choices"),
        ({"may_hold": "[edge, above]"}, "robot: gripper: may_hold", "a jaw grips over an edge or an end"),
        ({"end_outline_mm": ""}, "robot: gripper: may_hold", "end_outline_mm is missing"),
        ({"friction": "0"}, "robot: gripper: friction", "0 holds nothing"),
        ({"friction": "1.5"}, "robot: gripper: friction", "1.5 is too large"),
        ({"mass_kg": ""}, "robot: gripper: mass_kg", "is missing"),
        ({"outline_mm": "[[0, 0], [1, 0]]"}, "robot: gripper: outline_mm", "is no outline"),
        ({"adapter_kg": "-1"}, "robot: gripper: adapter_kg", "-1 is too small"),
        ({"seat_found_by": "ear"}, "robot: gripper: seat_found_by", "'ear' is not one of the choices"),
    ],
)
def test_a_fault_of_a_gripper_is_told_with_its_line(
    folder: Path, *, lines: dict[str, str], where: str, wrong: str
) -> None:
    file = _with_gripper(folder, **lines)
    with pytest.raises(Unusable) as told:
        load_shop(folder)
    (fault,) = told.value.faults
    assert (fault.file, fault.where, fault.wrong) == (str(file), where, wrong)
    texts = file.read_text(encoding="utf-8").splitlines()
    begins = next(number for number, text in enumerate(texts, start=1) if text.startswith("  gripper:"))
    assert fault.line is not None and fault.line >= begins
    named = where.split(": ")[2]
    assert named in texts[fault.line - 1] or "missing" in wrong


def test_what_a_gripper_leaves_out_is_a_default_and_what_it_holds_with_has_none(shop: Shop) -> None:
    gripper = shop.handlers["robot"].gripper
    assert gripper is not None
    assert {"payload_share", "bend_free_mm", "clear_mm"} <= set(gripper.defaults_taken)
    assert not {"friction", "holding_n", "factor", "may_hold"} & set(gripper.defaults_taken)
    fields = type(gripper).model_fields
    needed = ("friction", "holding_n", "acceleration_m_per_s2", "payload_kg", "payload_moment_nm", "flange_mm")
    assert [fields[key].default for key in needed] == [None] * len(needed)


def test_no_plan_turns_a_part_in_less_than_the_better_of_arm_and_gripper(shop: Shop) -> None:
    robot = shop.handlers["robot"]
    assert robot.at_best.turn_over_front_s == 1.5 < robot.turn_over_front_s
    operator = shop.handlers["operator"]
    assert operator.at_best is operator
