"""A robot's first piece is bent by hand with the run's own stops, tools and depths, or the step says how otherwise."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from flangewise.jobs import hand_steps, worked_out
from flangewise.part import Part
from flangewise.shop import Shop

from .made import built_in, steel


def by_robot(legs: list[float], turns: list[Any], length_mm: float) -> Part:
    return replace(steel(legs, turns, section={"length": length_mm}), machine="mid-740", machines=(), handler="robot")


def shop_with(**robot: float) -> Shop:
    shop = built_in()
    row = shop.handlers["robot"].model_copy(update=robot)
    return replace(shop, handlers={**shop.handlers, "robot": row})


def codes(part: Part, shop: Shop) -> list[tuple[str, int | None]]:
    found = worked_out(part, shop).findings
    return [(each.code, each.step) for each in found if each.code.startswith("first-piece")]


def test_a_plan_that_a_hand_can_hold_is_the_same_for_the_first_piece() -> None:
    job = worked_out(by_robot([30, 120, 30], [90, 90], 300), built_in())
    steps = hand_steps(job)
    assert [each.same for each in steps] == [True, True] and not any(each.other for each in steps)
    assert codes(job.part, built_in()) == [("first-piece-as-the-run", None)]


def test_where_a_gripper_holds_what_no_hand_can_the_step_is_gauged_the_other_way_by_hand() -> None:
    """A jaw that needs only 8 mm, and a setter who asks for the far edge: by hand the long side comes to the front."""
    shop = shop_with(least_hold_mm=8.0, most_behind_nm=100.0, gripper_reach_mm=1.0)
    job = worked_out(by_robot([12, 300], [{"turn": 90, "gauge": "end"}], 300), shop)
    steps = hand_steps(job)
    assert job.setup is not None
    hold = job.setup.steps[0].hold
    assert hold is not None and hold.front_mm < 12
    other = steps[0].other
    assert not steps[0].same and other is not None and other.hold is not None and other.gauged is not None
    assert other.hold.front_mm > 280 and other.gauged.on == "start" and other.gauged.x_mm < 12
    (told,) = (each for each in job.findings if each.code.startswith("first-piece"))
    assert told.code == "first-piece-on-start" and told.severity == "caution"
    assert f"X {other.gauged.x_mm:.2f} mm" in told.text()


def test_what_no_hand_can_hold_either_way_wants_help() -> None:
    """Both sides of the bend are under 60 mm in front: a jaw of 20 mm holds it, a hand does not."""
    shop = shop_with(least_hold_mm=20.0)
    job = worked_out(by_robot([35, 50], [90], 300), shop)
    assert not hand_steps(job)[0].same and hand_steps(job)[0].other is None
    (code, _), *_ = codes(job.part, shop)
    assert code == "first-piece-with-help"


def test_too_heavy_for_one_is_told() -> None:
    """500 x 900 x 2.5 of steel weighs some 8.8 kg for 2 mm; at 3 mm over ten."""
    part = by_robot([60, 500], [90], 900)
    assert ("first-piece-heavy", None) in codes(replace(part, thickness_mm=3.0), built_in())


def test_a_person_at_the_machine_bends_the_first_piece_as_the_run() -> None:
    job = worked_out(steel([30, 120, 30], [90, 90], section={"length": 300}), built_in())
    assert hand_steps(job) == ()
