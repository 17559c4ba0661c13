"""A panel's plan kept or edited by hand: printed as it says where the replay passes it, told and refused where not."""

from __future__ import annotations

import json
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from flangewise.commands.plan_panel import panel_plan_record
from flangewise.faults import Unusable
from flangewise.findings import refused
from flangewise.jobs.panel_by_hand import panel_from_plan
from flangewise.jobs.panel_plan import PanelPlan, planned_panel
from flangewise.part import PanelPart
from flangewise.part.file import part_of
from flangewise.reading import read_yaml

from ...laws.sections import shop

PAN = Path(__file__).parents[3] / "examples" / "panels" / "collector-pan.yaml"


def found(path: Path) -> PanelPart:
    own = part_of(read_yaml(path.read_text(encoding="utf-8"), str(path)), str(path), shop())
    assert isinstance(own, PanelPart)
    return own


@cache
def part() -> PanelPart:
    return found(PAN)


@cache
def written() -> str:
    return json.dumps(panel_plan_record(planned_panel(part(), shop()), {}))


def edited(change: Callable[[dict[str, Any]], None]) -> PanelPlan:
    plan = json.loads(written())
    change(plan)
    return panel_from_plan(part(), shop(), plan)


def codes(plan: PanelPlan) -> list[str]:
    return [each.code for each in plan.findings]


def test_a_plan_that_was_kept_is_printed_as_it_is() -> None:
    plan, kept = edited(lambda _: None), json.loads(written())
    assert plan.feasible and "by-hand" in codes(plan)
    assert not any(code.startswith("by-hand-") for code in codes(plan))
    assert plan.setup is not None
    made = [(list(step.bends), step.stops.x_mm, step.ram.depth_mm) for step in plan.setup.steps]
    assert made == [(step["bends"], pytest.approx(step["stops"]["x_mm"]), step["depth_mm"]) for step in kept["steps"]]


@pytest.mark.anew
def test_of_rows_that_cost_the_same_those_of_a_kept_plan_are_taken() -> None:
    """The cover's offset over a die of 110 or of 220: with the order asked for the other came first."""
    own = found(PAN.with_name("lap-cover.yaml"))
    kept = json.loads(json.dumps(panel_plan_record(planned_panel(own, shop()), {})))
    plan = panel_from_plan(own, shop(), kept)
    assert plan.feasible and not any(code.startswith("by-hand-") for code in codes(plan))
    assert plan.setup is not None
    rows = [[segment.text for segment in step.station.die_segments] for step in plan.setup.steps]
    assert rows == [step["stations"][0]["die_segments"] for step in kept["steps"]]


def test_numbers_by_hand_are_taken_and_told() -> None:
    def change(plan: dict[str, Any]) -> None:
        plan["steps"][1]["depth_mm"] += 0.1
        plan["steps"][2]["slow_from_mm"] = 9.0

    plan, kept = edited(change), json.loads(written())
    assert plan.feasible and codes(plan).count("by-hand-mm") == 2
    assert plan.setup is not None
    assert plan.setup.steps[1].ram.depth_mm == pytest.approx(kept["steps"][1]["depth_mm"] + 0.1)
    assert plan.setup.steps[2].ram.slow_from_mm == 9.0


def test_a_stop_where_the_part_is_not_is_refused_by_the_replay() -> None:
    def change(plan: dict[str, Any]) -> None:
        plan["steps"][0]["stops"]["x_mm"] += 3.0

    plan = edited(change)
    assert refused(plan.findings) and "replay-stop-off" in codes(plan)


def test_a_depth_that_the_ram_does_not_reach_is_refused() -> None:
    def change(plan: dict[str, Any]) -> None:
        plan["steps"][0]["slow_from_mm"] = 900.0

    assert "by-hand-reach" in codes(edited(change))


def test_a_plan_of_another_part_is_refused() -> None:
    plan = edited(lambda plan: plan.update(part="another"))
    assert refused(plan.findings) and "replay-other-part" in codes(plan)


def test_moves_that_the_planner_does_not_make_are_not_printed() -> None:
    def change(plan: dict[str, Any]) -> None:
        plan["steps"][2]["moves"] = []

    assert refused(edited(change).findings)


def test_a_figure_that_is_none_is_a_fault_with_its_place() -> None:
    def change(plan: dict[str, Any]) -> None:
        plan["steps"][2]["slow_from_mm"] = "far"

    with pytest.raises(Unusable) as told:
        edited(change)
    assert [(each.where, each.wrong) for each in told.value.faults] == [("steps[2].slow_from_mm", "'far' is no number")]
