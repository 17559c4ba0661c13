"""Plans of panels stepped through by the second simulator: nothing is found, and rows pushed into the part are told."""

from __future__ import annotations

import copy
import math
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from flangewise.commands.plan_panel import panel_plan_record
from flangewise.jobs import panel_replayed
from flangewise.jobs.panel_plan import PanelPlan, planned_panel
from flangewise.part import PanelPart
from flangewise.part.file import part_of
from flangewise.reading import read_yaml
from flangewise.setup import panel_step

from ..how_many import one_in
from .sections import shop

FILES = sorted((Path(__file__).parents[2] / "examples" / "panels").glob("*.yaml"))[:: one_in(3)]
PUSHED_MM = 1.5
# Between upright walls every row has an end to be pushed past.
WALLED = {"battery-tray", "collector-pan", "filter-tray"}


@cache
def plan(file: Path) -> PanelPlan:
    part = part_of(read_yaml(file.read_text(encoding="utf-8"), str(file)), str(file), shop())
    assert isinstance(part, PanelPart)
    return planned_panel(part, shop())


def record(file: Path) -> dict[str, Any]:
    return copy.deepcopy(panel_plan_record(plan(file), {}))


def replayed(file: Path, told: dict[str, Any]) -> list[tuple[int | None, str, str]]:
    found = panel_replayed(plan(file).part, shop(), told)
    return [(each.step, each.code, each.text()) for each in found]


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.stem)
def test_the_plan_of_an_example_is_passed(file: Path) -> None:
    assert plan(file).feasible
    assert replayed(file, record(file)) == []


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.stem)
def test_a_row_pushed_past_the_end_of_what_is_forbidden_is_told(file: Path) -> None:
    """Each row in turn with an end 1.5 mm within the nearest stretch that is forbidden to it, if there is one near."""
    problem, setup = plan(file).problem, plan(file).setup
    assert problem is not None and setup is not None
    pushed = 0
    for at, keyed in enumerate(setup.steps):
        step = panel_step(keyed.planned)
        way = next(
            each
            for each in problem.ways
            if problem.operations[each.operation].bends == step.bends
            and each.parent_behind == step.parent_behind
            and each.made.name == step.mounting.name
        )
        row = step.punch.row
        for low, high in way.hit.forbidden(step.done).punch:
            if (
                row.ears != (False, False)
                or not math.isfinite(low)
                or not math.isfinite(high)
                or high - low < PUSHED_MM
            ):
                continue
            # The row's right end within the stretch, or its left end.
            from_mm = low - row.length_mm + PUSHED_MM if low > step.punch.from_mm else high - PUSHED_MM
            told = record(file)
            own = told["steps"][at]
            station = own["stations"][0]
            own["row_from_line_mm"], own["short_mm"] = from_mm, None
            own["part_from_mm"] = station["from_mm"] - from_mm
            found = [each for each in replayed(file, told) if each[0] == at + 1 and each[1] == "replay-panel-meets"]
            assert any("punch" in text for _, _, text in found), (keyed.step, low, high)
            pushed += 1
    assert pushed > 0 or file.stem not in WALLED
