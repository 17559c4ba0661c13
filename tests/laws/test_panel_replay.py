"""Plans of panels stepped through by the replay: passed as they are found, and rows that stand wrong are told."""

from __future__ import annotations

import copy
import math
from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from flangewise.commands.plan_panel import panel_plan_record
from flangewise.findings import place
from flangewise.jobs import panel_replayed
from flangewise.jobs.panel_plan import PanelPlan, planned_panel
from flangewise.part import PanelPart
from flangewise.part.file import part_of
from flangewise.reading import read_yaml
from flangewise.setup import panel_step

from ..how_many import WHOLE, one_in
from ..rooms.panel_order import real
from .panels import panel
from .sections import shop

EVERY = sorted((Path(__file__).parents[2] / "examples" / "panels").glob("*.yaml"))
FILES = EVERY if WHOLE else [file for file in EVERY if file.stem in ("battery-tray", "relay-cover")]
# Random panels of two to six bends, hems among them: from each second one on a plan is found.
SEEDS = range(200)[:: one_in(134)]
PUSHED_MM = 1.5
# Between upright walls every row has an end to be pushed past.
WALLED = {"battery-tray", "collector-pan", "filter-tray", "relay-cover", "terminal-cover"}


@cache
def plan(file: Path) -> PanelPlan:
    part = part_of(read_yaml(file.read_text(encoding="utf-8"), str(file)), str(file), shop())
    assert isinstance(part, PanelPart)
    return planned_panel(part, shop())


@cache
def drawn_plan(seed: int) -> PanelPlan:
    return planned_panel(panel(real.written(seed)), shop())


def record(planned: PanelPlan) -> dict[str, Any]:
    return copy.deepcopy(panel_plan_record(planned, {}))


def replayed(planned: PanelPlan, told: dict[str, Any]) -> list[tuple[int | None, str, str]]:
    found = panel_replayed(planned.part, shop(), told)
    return [(each.step, each.code, each.text()) for each in found]


def alone(told: dict[str, Any], at: int) -> dict[str, Any]:
    """A plan up to one of its hits."""
    return {**told, "steps": told["steps"][: at + 1]}


def pushed(planned: PanelPlan) -> Iterator[tuple[int, dict[str, Any]]]:
    """Each row in turn with an end 1.5 mm within the nearest stretch that is forbidden to it, if there is one near."""
    problem, setup = planned.problem, planned.setup
    assert problem is not None and setup is not None
    for at, keyed in enumerate(setup.steps):
        step = panel_step(keyed.planned)
        way = next(
            each
            for each in problem.ways
            if problem.operations[each.operation].bends == step.bends
            and each.parent_behind == step.parent_behind
            and each.made.name == step.mounting.name
            and each.is_second == keyed.planned.is_second
        )
        row = step.punch.row
        for low, high in way.hit.forbidden(step.done).punch:
            if row.ears != (False, False) or not math.isfinite(high - low) or high - low < PUSHED_MM:
                continue
            # The right end of the block that stands left of the stretch within it, or the left end of the row.
            left = [end for begin, end in row.blocks_mm if step.punch.from_mm + begin < low]
            from_mm = low - left[-1] + PUSHED_MM if left else high - PUSHED_MM
            told = alone(record(planned), at)
            own = told["steps"][at]
            own["row_from_line_mm"], own["short_mm"] = from_mm, None
            own["part_from_mm"] = own["stations"][0]["from_mm"] - from_mm
            yield at + 1, told


def not_told(planned: PanelPlan) -> tuple[int, list[int]]:
    """How many rows were pushed, and the hits at which that is not told."""
    count, missed = 0, []
    for number, told in pushed(planned):
        found = [text for step, code, text in replayed(planned, told) if (step, code) == (number, "replay-panel-meets")]
        count += 1
        missed += [] if any("punch" in text for text in found) else [number]
    return count, missed


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.stem)
def test_the_plan_of_an_example_is_passed(file: Path) -> None:
    assert plan(file).feasible
    assert replayed(plan(file), record(plan(file))) == []


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.stem)
def test_a_row_pushed_past_the_end_of_what_is_forbidden_is_told(file: Path) -> None:
    count, missed = not_told(plan(file))
    assert missed == []
    assert count > 0 or file.stem not in WALLED


@pytest.mark.parametrize("seed", SEEDS)
def test_the_plan_of_a_random_panel_is_passed_and_pushed_rows_are_told(seed: int) -> None:
    planned = drawn_plan(seed)
    if planned.feasible is not True:
        pytest.skip("no plan")
    assert replayed(planned, record(planned)) == []
    assert not_told(planned)[1] == []


def _flanges_drawn(seed: int) -> list[Any]:
    return list(real.stepped(seed)["panel"]["flanges"].values())


@pytest.mark.parametrize("seed", range(60) if WHOLE else (1, 12))
def test_the_plan_of_a_panel_with_an_offset_is_passed_and_pushed_rows_are_told(seed: int) -> None:
    planned = planned_panel(panel(real.stepped(seed)), shop())
    if planned.feasible is not True:
        pytest.skip("no plan")
    told = record(planned)
    assert replayed(planned, told) == []
    assert not_told(planned)[1] == []
    # Tools set the other way round would step the sheet the other way. Of tabs alone none is drawn as an offset.
    at = next((number for number, step in enumerate(told["steps"]) if step["hit"] == "offset"), None)
    if at is None:
        assert WHOLE and all(isinstance(each, list) or "hem" in each["bend"] for each in _flanges_drawn(seed))
        return
    told["steps"][at]["punch_turned"] = not told["steps"][at]["punch_turned"]
    assert (at + 1, "replay-face") in [(step, code) for step, code, _ in replayed(planned, told)]


@pytest.mark.parametrize("seed", range(40) if WHOLE else (12,))
def test_a_side_stop_is_passed_where_it_stands_and_told_where_it_does_not(seed: int) -> None:
    """Half a millimetre aside it stands in the part or away from it; without its row the machine has none."""
    planned = planned_panel(panel(real.narrow(seed)), shop())
    if planned.feasible is not True:
        pytest.skip("no plan")
    told = record(planned)
    assert replayed(planned, told) == []
    used = [at for at, step in enumerate(told["steps"]) if "side_stop" in step]
    assert used or WHOLE
    for at in used:
        for off_mm in (-0.5, 0.5):
            moved = copy.deepcopy(told)
            moved["steps"][at]["side_stop"]["z_mm"] += off_mm
            assert (at + 1, "replay-side-off") in [(step, code) for step, code, _ in replayed(planned, moved)]
        turned = copy.deepcopy(told)
        turned["steps"][at]["side_stop"]["side"] = {"left": "right", "right": "left"}[
            told["steps"][at]["side_stop"]["side"]
        ]
        assert {code for step, code, _ in replayed(planned, turned) if step == at + 1} & {
            *("replay-side-off", "replay-side-misses", "replay-panel-meets"),
        }  # fmt: skip


def test_a_machine_without_a_side_stop_says_so() -> None:
    """The same tongue on the small machine, whose row has none: one finger with a caution, and none is made up."""
    written = real.narrow(3) | {"machine": "bench-310"}
    (tab,) = [side for side, own in written["panel"]["flanges"].items() if "from" in own][:1]
    own = written["panel"]["flanges"][tab]
    own["to"] = own["from"] + 40
    planned = planned_panel(panel(written), shop())
    codes = {finding.code for finding in planned.findings}
    assert {"one-finger", "no-side-stop"} <= codes and "side-stop" not in codes
    told = record(planned)
    assert all("side_stop" not in step for step in told["steps"])
    told["steps"][0]["side_stop"] = {"side": "left", "z_mm": 400.0}
    assert (1, "replay-no-side-stop") in [(step, code) for step, code, _ in replayed(planned, told)]


def with_a_tip(turn: int, tip: int, *, away: bool, **more: Any) -> PanelPart:
    """A narrow plate with a flange that has a tip."""
    hung = {"height": 25, "bend": {"turn": tip, "away": away}}
    flanges = {"right": {"height": 60, "bend": {"turn": turn}, "tip": hung}}
    written = {"part": "p", "material": "DC01", "thickness": 1, **more}
    return panel({**written, "panel": {"base": [40, 160], "flanges": flanges}})


@cache
def flange_before_tip(turn: int, tip: int, *, away: bool) -> PanelPlan:
    """A flange and then its tip, in this order."""
    return planned_panel(with_a_tip(turn, tip, away=away, order=[1, 2]), shop())


Told = tuple[str, str | None, float | None]


@pytest.mark.parametrize(
    ("turn", "tip", "away", "moves"),
    [
        (60, 45, False, [("turn-in-plane", None, 180.0), ("tilt", "the bed", 60.0)]),
        (60, 45, True, [("turn-over", "the bed", None), ("tilt", "the bed", -60.0)]),
        # Upright it goes either way: nothing is turned over.
        (90, 90, True, [("tilt", "the bed", 90.0)]),
    ],
)
def test_a_tip_bent_after_its_flange_is_tilted_and_walked_by_the_replay(
    turn: int, tip: int, away: bool, moves: list[Told]
) -> None:
    """The base lies on the die, the flange is bent up from it, and then the flange lies there."""
    planned = flange_before_tip(turn, tip, away=away)
    assert planned.solution is not None and planned.solution.proven_least
    told = record(planned)
    own = told["steps"][1]["moves"]
    assert [(each["move"], each["axis"], each["angle_deg"]) for each in own] == moves
    assert own[-1]["axis_deg"] == 0.0
    assert replayed(planned, told) == []


def test_from_flange_to_flange_the_part_is_tilted_about_a_line_askew_to_the_bed() -> None:
    """Two flanges of a corner that is not square, each turned up, then the tip of the one and of the other."""
    tip = {"height": 16, "bend": {"turn": 30}}
    sides = {
        "edge 1": {"height": 35, "inset": 14, "bend": {"turn": 60}, "tip": tip},
        "edge 2": {"height": 35, "inset": 14, "bend": {"turn": 50}, "tip": tip},
    }
    shape = {"base": {"outline": [[0, 0], [140, 0], [190, 90], [0, 90]]}, "flanges": sides}
    written = {"part": "p", "material": "DC01", "thickness": 1, "order": [1, 3, 2, 4], "panel": shape}
    planned = planned_panel(panel(written), shop())
    told = record(planned)
    last = told["steps"][-1]["moves"][-1]
    assert (last["move"], last["axis"]) == ("tilt", None) and 0 < abs(last["axis_deg"]) < 90
    # By the angle between the two faces: their normals' product, with the corner's 119.05 degrees between the edges.
    corner = math.radians(180.0 - math.degrees(math.atan2(90, 50)))
    one, other = math.radians(60.0), math.radians(50.0)
    cosine = math.cos(one) * math.cos(other) + math.sin(one) * math.sin(other) * math.cos(math.pi - corner)
    assert abs(last["angle_deg"]) == pytest.approx(math.degrees(math.acos(cosine)), abs=1e-6)
    assert replayed(planned, told) == []
    last["axis_deg"] = -last["axis_deg"]
    assert (4, "replay-panel-moves") in {(step, code) for step, code, _ in replayed(planned, told)}


@pytest.mark.parametrize("wrong", ["left out", "the other way", "by less"])
def test_a_tilt_that_is_told_wrong_does_not_pass(wrong: str) -> None:
    planned = flange_before_tip(60, 45, away=False)
    told = record(planned)
    moves = told["steps"][1]["moves"]
    if wrong == "left out":
        del moves[-1]
    else:
        moves[-1]["angle_deg"] = {"the other way": -60.0, "by less": 55.0}[wrong]
    assert (2, "replay-panel-moves") in {(step, code) for step, code, _ in replayed(planned, told)}


def test_what_a_tilt_takes_is_weighed_against_the_order_without_it() -> None:
    """The tip is bent first, which needs no tilt. A second more of it is that and 12 % more."""
    tip_first = planned_panel(with_a_tip(60, 45, away=False), shop())
    assert tip_first.setup is not None and tip_first.solution is not None
    assert tip_first.setup.count("tilt") == 0 and tip_first.solution.proven_least
    last = flange_before_tip(60, 45, away=False).solution
    assert last is not None and last.cost is not None and tip_first.solution.cost is not None
    assert last.cost > tip_first.solution.cost
    dearer = {
        name: each.model_copy(update={"tilt_s": each.seconds_of("tilt") + 1}) for name, each in shop().handlers.items()
    }
    again = planned_panel(with_a_tip(60, 45, away=False, order=[1, 2]), replace(shop(), handlers=dearer)).solution
    assert again is not None and again.cost == pytest.approx(last.cost + 1.12)


def test_of_a_tilt_that_is_not_timed_a_note_says_so() -> None:
    """It is reckoned with as long as turning over, the way that takes longer."""
    plain = {name: each.model_copy(update={"tilt_s": None}) for name, each in shop().handlers.items()}
    planned = planned_panel(with_a_tip(60, 45, away=False, order=[1, 2]), replace(shop(), handlers=plain))
    assert [each.where for each in planned.findings if each.code == "tilt-not-timed"] == [place("step", 2)]
    assert [each for each in flange_before_tip(60, 45, away=False).findings if each.code == "tilt-not-timed"] == []


def test_what_is_told_wrong_of_a_gap_does_not_pass() -> None:
    """A block moved 1.5 mm into the side that passes; a gap that is not told; segments that do not make the row."""
    planned = plan(next(file for file in EVERY if file.stem == "relay-cover"))
    told = record(planned)
    assert [step["gap_mm"] for step in told["steps"]] == [4, 4, 0, 0]
    gap = told["steps"][0]["stations"][0]["segments"].index("gap 4")

    def codes(at: int, **changes: Any) -> set[tuple[int, str]]:
        made = alone(copy.deepcopy(told), at)
        made["steps"][at].update({key: value for key, value in changes.items() if key == "gap_mm"})
        for key, value in changes.items():
            if key == "gap":
                own = made["steps"][at]["stations"][0]
                for row in ("segments", "die_segments"):
                    own[row][gap] = value
                own["to_mm"], own["die_to_mm"] = (own[end] + changes["by_mm"] for end in ("to_mm", "die_to_mm"))
        return {(step, code) for step, code, _ in replayed(planned, made) if step}

    assert codes(0) == codes(2) == set()
    assert (3, "replay-panel-meets") in codes(2, gap="gap 2.5", by_mm=-1.5)
    assert codes(0, gap_mm=0) == {(1, "replay-row-gap")}
    assert codes(0, gap="gap 6", by_mm=2.0) >= {(1, "replay-row-gap")}
    assert (1, "replay-row-length") in codes(0, gap="gap 3", by_mm=0.0)


# A tab that hangs between two that are bent up: the die needs a gap for it, the punch none.
TAB_BETWEEN = {
    "part": "tab-between",
    "material": "DC01",
    "thickness": 2,
    "panel": {
        "base": [200, 120],
        "flanges": {
            "near": [
                {"height": 25, "bend": 90, "from": 0, "to": 60},
                {"height": 25, "bend": {"turn": 90, "away": True}, "from": 80, "to": 120},
                {"height": 25, "bend": 90, "from": 140, "to": 200},
            ]
        },
    },
}


def test_a_die_with_a_gap_under_a_punch_without_is_passed_and_what_strikes_beside_the_gap_is_told() -> None:
    planned = planned_panel(panel(TAB_BETWEEN), shop())
    told = record(planned)
    at = next(at for at, step in enumerate(told["steps"]) if len(step["bends"]) == 2)
    own = told["steps"][at]["stations"][0]
    assert any("gap" in text for text in own["die_segments"])
    assert not any("gap" in text for text in own["segments"])
    assert replayed(planned, told) == []
    moved = alone(copy.deepcopy(told), at)
    die = moved["steps"][at]["stations"][0]
    for key in ("die_from_mm", "die_to_mm"):
        die[key] += 3.0
    moved["steps"][at]["die_from_line_mm"] += 3.0
    assert (at + 1, "replay-panel-meets") in {(step, code) for step, code, _ in replayed(planned, moved)}


def test_some_of_the_random_panels_are_planned() -> None:
    assert any(drawn_plan(seed).feasible for seed in SEEDS)


def test_a_row_of_another_station_in_the_way_is_told() -> None:
    """The plates that flatten the hem, moved along the bed until they stand 1.5 mm into the part at the other row."""
    file = next(each for each in (Path(__file__).parents[2] / "examples" / "panels").glob("terminal-cover.yaml"))
    planned = plan(file)
    told = record(planned)
    first, plates = told["steps"][0], told["steps"][1]["stations"][0]
    assert planned.blank is not None
    # Flat, the base begins half of what it is longer than the hem left of the hem's line.
    line_mm = planned.blank.zones[0].length_mm
    part_to_mm = first["part_from_mm"] + line_mm / 2 + planned.blank.along_mm / 2
    by_mm = part_to_mm - PUSHED_MM - plates["from_mm"]
    for step in told["steps"]:
        own = step["stations"][0]
        if own["from_mm"] == plates["from_mm"]:
            own.update({key: own[key] + by_mm for key in ("from_mm", "to_mm", "die_from_mm", "die_to_mm")})
            step["part_from_mm"] += by_mm
    codes = {(step, code) for step, code, _ in replayed(planned, told)}
    assert (1, "replay-panel-beside") in codes


def test_a_way_out_turned_by_too_little_is_told() -> None:
    """The box with its rim turned in leaves the ears turned by 25.7 to 31.8 degrees, and not by half of that."""
    planned = plan(next(file for file in EVERY if file.stem == "logger-housing"))
    told = record(planned)
    turned = [step for step in told["steps"] if step["leaves"] == "turned"]
    assert turned
    # What comes after the first of them is no other case.
    turned = turned if WHOLE else turned[:1]
    told = told if WHOLE else alone(told, turned[0]["step"] - 1)
    for step in turned:
        step["leaves_turned_deg"] = [each / 2 for each in step["leaves_turned_deg"]]
    found = {(step, code) for step, code, _ in replayed(planned, told)}
    assert found == {(step["step"], "replay-panel-stuck") for step in turned}
