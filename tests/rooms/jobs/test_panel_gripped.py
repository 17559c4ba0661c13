"""A panel held by a robot: what its grips take stands in cycle and cost, and what no grip holds is told."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import pytest

from flangewise.commands.plan_panel import panel_plan_record
from flangewise.drawing import Text
from flangewise.jobs.panel_cell import panel_cell_plan
from flangewise.jobs.panel_plan import PanelPlan, planned_panel
from flangewise.jobs.panel_sheet import printed_panel
from flangewise.sequence import UNLIMITED
from flangewise.setup import panel_step
from flangewise.sheet import Wording, hit_picture
from flangewise.shop import Gripper, Shop
from flangewise.words import say

from ...laws.panels import panel
from ...laws.sections import shop
from ..handling.toys import GRIPPERS, robot

MADE = {
    "part": "lid",
    "material": "DC01",
    "thickness": 1.5,
    "machine": "mid-740",
    "panel": {
        "base": [220, 160],
        "flanges": {"near, far": {"height": 30, "bend": {"turn": 90, "punch": "straight-88"}}},
    },
}


def shop_with(gripper: Gripper) -> Shop:
    own = shop()
    return replace(own, handlers={**own.handlers, "robot": robot(gripper)})


@cache
def planned(name: str, handler: str = "robot") -> PanelPlan:
    return planned_panel(replace(panel(MADE), handler=handler), shop_with(GRIPPERS[name]()))


def test_what_the_grips_take_stands_in_the_cycle_and_the_cost() -> None:
    plan = planned("cups")
    assert plan.setup is not None and plan.solution is not None and plan.feasible
    assert len(plan.grips) == 2 and all(each.grip is not None for each in plan.grips)
    assert plan.setup.cost_s == pytest.approx(plan.solution.cost)
    kinds = [move.move for each in plan.setup.steps for move in each.moves]
    assert plan.setup.regrips == sum(kind in ("regrip", "regrip-in-tools") for kind in kinds)
    # It takes something, and is the least of order and grips together: the order by itself is under it.
    by_itself = planned("cups", "operator").solution
    assert plan.solution.proven_least and plan.grips_s > 1.0 and by_itself is not None
    assert plan.solution.lower_bound == pytest.approx(plan.solution.cost)
    told = {each["step"]: each["grip"] for each in panel_plan_record(plan, {})["steps"]}
    assert all(told[each.step]["grip"]["face"] == "base" for each in plan.grips)


def test_a_step_that_no_grip_holds_is_told_with_what_blocks_it() -> None:
    plan = planned("slim")
    by_hand = [each for each in plan.grips if each.grip is None]
    assert by_hand and plan.solution is not None and plan.solution.breach == len(by_hand)
    codes = [each.code for each in plan.findings]
    assert codes.count("no-grip") == len(by_hand)
    assert all(each.blocked and each.helps[-1] == "by-hand" for each in by_hand)
    run = panel_cell_plan(plan, shop_with(GRIPPERS["slim"]()), UNLIMITED)
    assert run.by_hand == ", ".join(str(each.step) for each in by_hand)


def test_the_first_piece_is_bent_by_hand_as_the_run_or_with_help_that_is_told() -> None:
    plan = planned("cups")
    steps = panel_plan_record(plan, {})["steps"]
    helped = [each.where for each in plan.findings if each.code == "first-piece-with-help"]
    assert len(helped) == sum(not each["first_piece"]["same"] for each in steps)
    # Half a lid lies in front at each step: a hand holds it where the stops, tools and depths are the run's.
    assert not helped and "first-piece-as-the-run" in [each.code for each in plan.findings]
    narrow = {**MADE, "panel": {"base": [220, 60], "flanges": {"near": {"height": 30, "bend": 90}}}}
    held = planned_panel(replace(panel(narrow), handler="robot"), shop_with(GRIPPERS["cups"]()))
    told = [each["first_piece"]["same"] for each in panel_plan_record(held, {})["steps"]]
    assert told == [False] and "first-piece-with-help" in [each.code for each in held.findings]
    assert all(each["first_piece"] is None for each in panel_plan_record(planned("slim", "operator"), {})["steps"])


def test_where_pads_find_no_place_the_order_is_as_proven_as_by_itself() -> None:
    wide = GRIPPERS["slim"]().model_copy(update={"pad_across_mm": 250.0})
    plan = planned_panel(replace(panel(MADE), handler="robot"), shop_with(wide))
    by_itself = planned("slim", "operator")
    assert plan.solution is not None and by_itself.solution is not None
    assert all(each.grip is None and not each.blocked for each in plan.grips)
    assert plan.solution.proven_least == by_itself.solution.proven_least
    assert "no face has room for the pads" in " ".join(say(each.phrase) for each in plan.findings)


def test_the_run_and_the_sheet_follow_the_grips() -> None:
    plan, own = planned("cups"), shop_with(GRIPPERS["cups"]())
    sheet = printed_panel(plan, own)
    assert sheet.run is not None and [hit.hold for hit in sheet.run.hits] == [
        "follow" if each.held.within in ("follow", "float") else "let-go" for each in plan.grips
    ]
    assert sheet.run.layout is not None and plan.blank is not None
    # From the jaw the part reaches no farther than its blank is wide from corner to corner.
    assert 100.0 < sheet.run.layout.part_reach_mm < 300.0
    wording = Wording(sheet.machine)
    for step in sheet.steps:
        picture = hit_picture(
            plan.blank,
            step.keyed,
            panel_step(step.keyed.planned),
            sheet.machine,
            wording,
            held=step.held,
            bent=False,
            width_mm=170.0,
            height_mm=130.0,
        )
        assert any("gripper" in item.words for item in picture.items if isinstance(item, Text))


def test_cups_from_below_are_told_that_they_take_no_blank_from_the_stack() -> None:
    row = GRIPPERS["cups"]().model_copy(update={"may_hold": ("below",)})
    plan = planned_panel(replace(panel(MADE), handler="robot"), shop_with(row))
    first = plan.grips[0]
    assert first.grip is None and first.blocked[0][0] == "not-picked" and first.helps == ("by-hand",)
    assert "put-down" not in [name for each in plan.grips for name in each.helps], "there is a station"
