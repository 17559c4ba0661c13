"""A refused panel is told what would free it, each change planned again; why a plan is as it is adds up."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest

from flangewise.findings import Finding, place
from flangewise.jobs.panel_mends import worked_out_panel
from flangewise.jobs.panel_plan import PanelPlan, planned_panel
from flangewise.jobs.panel_reasons import panel_why
from flangewise.part import Panel, PanelPart
from flangewise.part.file import part_of
from flangewise.reading import read_yaml

from ...laws.panels import panel
from ...laws.sections import shop

EXAMPLES = Path(__file__).parents[3] / "examples"
PAN = EXAMPLES / "panels" / "collector-pan.yaml"
OVERLAP = EXAMPLES / "refused-panels" / "rack-corner-plate-overlap.yaml"


@cache
def part(file: Path) -> PanelPart:
    found = part_of(read_yaml(file.read_text(encoding="utf-8"), str(file)), str(file), shop())
    assert isinstance(found, PanelPart)
    return found


@cache
def refused_plan() -> PanelPlan:
    return worked_out_panel(part(OVERLAP), shop())


def mends(plan: PanelPlan) -> list[Finding]:
    return [each for each in plan.findings if each.code.startswith("would-do")]


def inset(edge_3_mm: float, edge_4_mm: float) -> PanelPart:
    """The refused plate with both flanges of its inner corner taken back."""
    wanted = part(OVERLAP)
    assert isinstance(wanted.panel, Panel)
    three, four = wanted.panel.flanges
    flanges = replace(three, inset_mm=edge_3_mm), replace(four, from_mm=edge_4_mm)
    return replace(wanted, panel=replace(wanted.panel, flanges=flanges))


def test_the_refused_example_is_told_its_own_mend() -> None:
    """A flange of 35 turned by 90 covers 35 less the deduction of 4.32 beyond its edge: 30.68, less nothing but what
    the slot of the other takes; a tenth less is refused."""
    plan = refused_plan()
    assert plan.feasible is False
    (told,) = [each for each in mends(plan) if each.where == place("face", "edge 3")]
    assert told.code == "would-do-insets-edge"
    values = dict(told.phrase.values)
    then_mm, not_mm, other_mm = (values[key] for key in ("then_mm", "not_mm", "other_mm"))
    assert isinstance(then_mm, float) and isinstance(not_mm, float) and isinstance(other_mm, float)
    assert 30.6 < then_mm < 32.0 and not_mm == pytest.approx(then_mm - 0.1)
    assert planned_panel(inset(then_mm, other_mm), shop()).feasible
    assert not planned_panel(inset(not_mm, other_mm), shop()).feasible


def test_tools_that_do_not_bend_it_are_left_free() -> None:
    """Every mend told is one that works; what was asked for and stands in the way is freed first."""
    wanted = part(PAN)
    assert isinstance(wanted.panel, Panel)
    pinned = replace(
        wanted,
        panel=replace(
            wanted.panel,
            flanges=tuple(
                replace(flange, bend=replace(flange.bend, punch="straight-88", die="vee-50-78"))
                for flange in wanted.panel.flanges
            ),
        ),
    )
    plan = worked_out_panel(pinned, shop())
    assert plan.feasible is False
    assert "would-do-unpinned" in [each.code for each in mends(plan)]


def test_a_plan_has_no_mends() -> None:
    assert mends(worked_out_panel(part(PAN), shop())) == []


def test_prices_add_up_to_the_cost_and_no_order_told_is_cheaper() -> None:
    plan = planned_panel(part(PAN), shop())
    why = panel_why(plan, shop())
    assert plan.solution is not None and plan.solution.cost is not None
    assert sum(each["cost_s"] for each in why["prices"]) == pytest.approx(plan.solution.cost)
    assert [each["what"] for each in why["prices"]] == ["step"] * 4 + ["rows", "rest"]
    assert why["orders"] and all(each["more"] > -1e-6 for each in why["orders"])
    # Of four steps six pairs can be exchanged; of ten ways to exchange runs beside each other three are such pairs.
    assert why["made"] == 13
    assert why["tools"] and all(each["more"] is None or each["more"] > -1e-6 for each in why["tools"])


def test_an_order_asked_for_is_kept_and_told_against_the_one_liked_best() -> None:
    """A flange, then its tip, for which it is tilted; the tip first needs no tilt."""
    flange = {"height": 60, "bend": {"turn": 60}, "tip": {"height": 25, "bend": {"turn": 45}}}
    shape = {"base": [40, 160], "flanges": {"right": flange}}
    written = {"part": "p", "material": "DC01", "thickness": 1, "order": [1, 2], "panel": shape}
    kept = planned_panel(panel(written), shop())
    assert kept.solution is not None and kept.solution.cost is not None
    assert [step.bends for step in kept.solution.steps] == [(1,), (2,)]
    assert panel_why(kept, shop())["freed"] < kept.solution.cost
