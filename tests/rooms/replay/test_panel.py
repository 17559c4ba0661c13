"""A panel's plan stepped through: the worked pan is passed, and each slip of a hand-made plan is told."""

from __future__ import annotations

import copy
import json
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from flangewise.faults import Unusable
from flangewise.findings import Finding
from flangewise.jobs import panel_replayed, panel_worked_out
from flangewise.part import PanelPart
from flangewise.part.file import part_of
from flangewise.pattern import PanelBlank
from flangewise.reading import read_yaml
from flangewise.replay import read_panel_steps

from ...laws.sections import shop

PAN = """\
part: pan
material: DC01
thickness: 2
machine: bench-310
panel:
  base: [300, 200]
  flanges:
    all: {height: 40, bend: {turn: 90, k_factor: 0.42, punch: straight-88, die: vee-12-85}}
"""
Change = Callable[[dict[str, Any]], object]


@cache
def _pan() -> tuple[PanelPart, PanelBlank]:
    part = part_of(read_yaml(PAN, "pan.yaml"), "pan.yaml", shop())
    assert isinstance(part, PanelPart)
    blank = panel_worked_out(part, shop()).blank
    assert blank is not None
    return part, blank


def _step(number: int, bend: int, face: str, x_mm: float, long_mm: float, *, turned: float | None) -> dict[str, Any]:
    """A hit with the flange behind, its edge at the stops, one row of 290 in the middle of the line."""
    row_mm, bed_mm = (long_mm - 290) / 2, 300.0
    part_from_mm = bed_mm - row_mm
    segments = ["220", "60", "10"]
    station = {"from_mm": bed_mm, "to_mm": bed_mm + 290, "segments": segments}
    station |= {"die_from_mm": bed_mm, "die_to_mm": bed_mm + 290, "die_segments": segments, "set_up": 1}
    return {
        "step": number,
        "bends": [bend],
        "faces": [face],
        "behind": face,
        "marked_face": "up",
        "gauged_on": {"on": "edge", "face": face},
        "moves": [] if turned is None else [{"move": "turn-in-plane", "axis": None, "angle_deg": turned}],
        "punch": "straight-88",
        "punch_turned": False,
        "die": "vee-12-85",
        "stations": [station],
        "row_from_line_mm": row_mm,
        "die_from_line_mm": row_mm,
        "part_from_mm": part_from_mm,
        "short_mm": max(0.0, (long_mm - 290) / 2),
        "leaves": "up",
        "stops": {"x_mm": x_mm, "r_mm": 0.0, "z_mm": [part_from_mm + 40, part_from_mm + 140], "retract_mm": 0.0},
        "depth_mm": None,
        "open_height_mm": 60.0,
        "bend_to_deg": 88.0,
        "finished_deg": 90.0,
    }


def _plan() -> dict[str, Any]:
    """The order of the worked pan: right and left first, then near and far with the same row between them.

    Hand figures: a line of 300 or 200 less 2 (r + t), and 40 less half the deduction from the edge.
    """
    zone = _pan()[1].zones[0]
    radius_mm = zone.inside_radius_mm
    x_mm = 40 - (2 * (radius_mm + 2) - 1.5707963 * (radius_mm + 0.84)) / 2
    long_mm, wide_mm = 300 - 2 * (radius_mm + 2), 200 - 2 * (radius_mm + 2)
    steps = [
        _step(1, 2, "right", x_mm, wide_mm, turned=None),
        _step(2, 4, "left", x_mm, wide_mm, turned=180.0),
        _step(3, 1, "near", x_mm, long_mm, turned=-90.0),
        _step(4, 3, "far", x_mm, long_mm, turned=180.0),
    ]
    return {"part": "pan", "machine": "bench-310", "steps": steps}


def _found(change: Change = lambda plan: None, *, most_steps: int | None = None) -> list[Finding]:
    """What the replay tells of the plan once it is changed, of its first steps alone where no more are asked for."""
    plan = copy.deepcopy(_plan())
    change(plan)
    del plan["steps"][len(plan["steps"]) if most_steps is None else most_steps :]
    return list(panel_replayed(_pan()[0], shop(), plan))


def test_the_worked_pan_is_passed() -> None:
    assert [each.text() for each in _found()] == []


def _moved(at: int, key: str, by: float) -> Change:
    def change(plan: dict[str, Any]) -> None:
        plan["steps"][at][key] += by
        if key == "row_from_line_mm":
            for step in plan["steps"]:
                # The station stands where it does for all hits.
                step["part_from_mm"] += 0.0 if step is plan["steps"][at] else by
                station = step["stations"][0]
                station["from_mm"], station["to_mm"] = station["from_mm"] + by, station["to_mm"] + by
            plan["steps"][at]["short_mm"] += abs(by)

    return change


@pytest.mark.parametrize("by", [4.0, -4.0])
def test_a_row_pushed_past_the_end_of_what_is_free_is_told(by: float) -> None:
    """Between the sides the inner skins leave 2 mm beside the row: at 4 it stands 1.5 mm and more in one of them.

    With near behind the operator has the part before him the other way round: left is at his right hand.
    """
    found = [
        each for each in _found(_moved(2, "row_from_line_mm", by), most_steps=3) if each.code == "replay-panel-meets"
    ]
    assert found and {each.step for each in found} == {3}
    assert {each.bodies for each in found} == {("part", "punch")}
    assert f"{'left' if by > 0 else 'right'} meets the punch" in found[0].text()


def test_a_row_that_may_stand_there_is_not_told() -> None:
    assert _found(_moved(2, "row_from_line_mm", 0.9)) == []


def test_a_die_row_does_not_mind_the_sides_that_stand_up() -> None:
    codes = {each.code for each in _found(_moved(2, "die_from_line_mm", 1.0))}
    assert codes == {"replay-row-short"}


def _long_first(plan: dict[str, Any]) -> None:
    """The long sides first: then the row of 290 has no room between them for the short ones."""
    right, left, near, far = plan["steps"]
    plan["steps"] = [near, far, right, left]
    near["moves"], right["moves"] = [], [{"move": "turn-in-plane", "axis": None, "angle_deg": -90.0}]
    for number, step in enumerate(plan["steps"], start=1):
        step["step"] = number


def test_the_long_sides_first_have_no_room_for_the_row() -> None:
    found = [each for each in _found(_long_first) if each.code == "replay-panel-meets"]
    assert {(each.step, each.bodies[1]) for each in found} == {(3, "punch"), (4, "punch")}


def test_moves_must_bring_the_part_to_lie_so() -> None:
    def change(plan: dict[str, Any]) -> None:
        plan["steps"][1]["moves"][0]["angle_deg"] = 90.0

    assert [(each.code, each.step) for each in _found(change)] == [("replay-panel-moves", 2)]


def test_a_turn_over_front_to_back_and_a_half_turn_come_to_the_same_as_one_about_the_bed() -> None:
    def change(plan: dict[str, Any]) -> None:
        plan["steps"][1]["moves"] = [
            {"move": "turn-over", "axis": "front to back"},
            {"move": "turn-over", "axis": "the bed"},
        ]

    # Over both axes is half a turn in the plane.
    assert _found(change) == []


@pytest.mark.parametrize(
    ("change", "most_steps", "code"),
    [
        (lambda plan: plan["steps"][0]["stops"].update(x_mm=37.0), 1, "replay-stop-off"),
        (lambda plan: plan["steps"][0]["stops"].update(r_mm=30.0), 1, "replay-stop-misses"),
        (lambda plan: plan["steps"][3].update(behind="near"), None, "replay-behind"),
        (lambda plan: plan["steps"][0].update(marked_face="down"), 1, "replay-face"),
        (lambda plan: plan["steps"][0].update(punch="no-such"), 1, "replay-tool-unknown"),
        (lambda plan: plan["steps"][0].update(finished_deg=95.0), 1, "replay-angle"),
        (lambda plan: plan["steps"][0].update(depth_mm=9.0), 1, "replay-depth"),
        (lambda plan: plan["steps"][2].update(short_mm=0.2), 3, "replay-row-short"),
        (lambda plan: plan["steps"][2].update(part_from_mm=307.0), 3, "replay-row-elsewhere"),
        (lambda plan: plan["steps"].pop(), None, "replay-bend-left-out"),
        (lambda plan: plan["steps"].append(plan["steps"][0]), None, "replay-bend-again"),
        (lambda plan: plan.update(part="other"), 1, "replay-other-part"),
    ],
)
def test_a_slip_is_told(change: Change, most_steps: int | None, code: str) -> None:
    assert code in {each.code for each in _found(change, most_steps=most_steps)}


def test_a_plan_that_cannot_be_read_tells_all_its_faults() -> None:
    plan = _plan()
    del plan["steps"][0]["behind"]
    plan["steps"][1]["row_from_line_mm"] = "left"
    plan["steps"][2]["stations"] = []
    with pytest.raises(Unusable) as unusable:
        read_panel_steps(plan)
    told = str(unusable.value)
    assert "steps[0].behind: is no name" in told and "steps[1].row_from_line_mm: is 'left'" in told
    assert "steps[2].stations: is no list of stations" in told


def test_the_command_replays_a_panel(tmp_path: Path, capfd: pytest.CaptureFixture[str]) -> None:
    from flangewise.commands import run

    part, plan = tmp_path / "pan.yaml", tmp_path / "plan.json"
    part.write_text(PAN)
    plan.write_text(json.dumps(_plan()))
    assert run(["--quiet", "plan", str(part), "--replay", str(plan)]) == 0
    assert "pan: 4 steps replayed, no findings" in capfd.readouterr().out
