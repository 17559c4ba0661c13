"""Panels planned through the command: text, JSON and CSV; costs, units, refusals, an order that is kept."""

from __future__ import annotations

import csv
import io
import json
import math
from pathlib import Path
from typing import Any

import pytest

PANELS = Path(__file__).parents[3] / "examples" / "panels"
PAN = str(PANELS / "collector-pan.yaml")
HEAD = "part: p\nmaterial: DC01\nthickness: 2\nmachine: bench-310\n"


def written(folder: Path, panel: str, head: str = HEAD) -> str:
    """A part file with a panel."""
    file = folder / "p.yaml"
    file.write_text(head + panel + "\n")
    return str(file)


def planned(told: Any, file: str) -> dict[str, Any]:
    """Its plan as JSON."""
    status, out, _ = told("--quiet", "plan", file, "--format", "json")
    record: dict[str, Any] = json.loads(out)
    assert status == 0, record["findings"]
    return record


def order(record: dict[str, Any]) -> list[str]:
    """The faces in the order in which they are bent."""
    return ["+".join(step["faces"]) for step in record["steps"]]


def test_the_pan_of_the_examples(told: Any) -> None:
    """Short sides first, then between them with one row of 290; the blank gauged on the edge of each flange.

    In points this panel needs one turn; in seconds every bend is made with the base in front, where the hand is: with
    the base behind only 40 mm lie in front, less than a person wants to hold.
    """
    record = planned(told, PAN)
    assert set(order(record)[:2]) == {"left", "right"} and set(order(record)[2:]) == {"near", "far"}
    assert record["feasible"] and record["proven_least"]
    for step in record["steps"]:
        (station,) = step["stations"]
        length = station["to_mm"] - station["from_mm"]
        assert length == pytest.approx(290) and step["behind"] == step["faces"][0]
        assert sum(float(each) for each in station["segments"]) == pytest.approx(290)
        # The row and the line stand on the bed where the step says they do to each other.
        assert station["from_mm"] - step["part_from_mm"] == pytest.approx(step["row_from_line_mm"], abs=1e-5)
        assert station["die_from_mm"] - step["part_from_mm"] == pytest.approx(step["die_from_line_mm"], abs=1e-5)
        assert step["hold"]["front_mm"] > 60 and step["hold"]["kept"]
        assert step["gauged_on"] == {"on": "edge", "bend": None, "face": step["faces"][0]}
        assert step["leaves"] == "up" and len(step["stops"]["z_mm"]) == 2
    long = [step for step in record["steps"] if step["faces"] in (["near"], ["far"])]
    # The line of 300 - 2 (r + t) is so much longer than the row, half of it at each end.
    assert len(long) == 2
    for step in long:
        assert step["short_mm"] == pytest.approx(step["row_from_line_mm"], abs=1e-6) and 0 < step["short_mm"] < 1
    assert [move["angle_deg"] for step in record["steps"] for move in step["moves"]] == [180.0, -90.0, 180.0]


def test_what_a_plan_costs(told: Any) -> None:
    """Cycle, share of the set-up and wishes are what the search proved the least."""
    for name in ("collector-pan", "battery-tray"):
        record = planned(told, str(PANELS / f"{name}.yaml"))
        totals = record["totals"]
        wishes = sum(each["seconds"] for each in totals["wishes"])
        total = totals["cycle_s"] + totals["set_up_s"] / totals["quantity"] + wishes
        assert record["cost"] == pytest.approx(total, abs=1e-4)
        assert record["lower_bound"] <= record["cost"] + 1e-6


def test_the_force_is_that_of_the_bend_s_own_line(told: Any) -> None:
    bends = {bend["bend"]: bend for bend in json.loads(told("flat", PAN, "--format", "json")[1])["bends"]}
    steps = planned(told, PAN)["steps"]
    assert len(steps) == 4
    for step in steps:
        bend = bends[step["bends"][0]]
        assert step["force_kn"] == pytest.approx(bend["force_kn_per_m"] * bend["length_mm"] / 1000, rel=1e-6)


def test_the_lapped_tray_has_two_stations_beside_each_other(told: Any) -> None:
    """What covers is bent first; then the short sides between it, with a short row that hangs nowhere over."""
    record = planned(told, str(PANELS / "battery-tray.yaml"))
    assert set(order(record)[:2]) == {"near", "far"} and set(order(record)[2:]) == {"left", "right"}
    first, second = (record["steps"][at]["stations"][0] for at in (0, 2))
    assert (first["set_up"], second["set_up"], record["totals"]["stations"]) == (1, 1, 2)
    ends = sorted((each["from_mm"], each["to_mm"]) for each in (first, second))
    assert ends[0][1] + 20 <= ends[1][0] and ends[0][0] >= 0 and ends[1][1] <= 900
    assert [move["move"] for move in record["steps"][2]["moves"]] == ["turn-in-plane", "shift"]


def test_text_names_bends_rows_and_angles(told: Any) -> None:
    status, out, err = told("plan", PAN)
    assert status == 0
    assert "4 (left)" in out and "turn the part 90° clockwise as it lies: same face up" in out
    assert "290 = 35 + 220 + 35" in out and "0.5 mm short at each end" in out and "3 turns in the plane" in out
    assert "proven least over the tools looked at" in out and "over     straight-88 on vee-10-86; " in out
    assert "notes: " in err
    assert any("the corner stays softer there" in each["text"] for each in planned(told, PAN)["findings"])
    inch = told("--units", "inch", "--quiet", "plan", PAN)[1]
    assert "11.417 = 35 + 220 + 35" in inch and "Z (inch)" in inch


def test_csv_has_a_row_a_step(told: Any) -> None:
    status, out, _ = told("--quiet", "plan", PAN, "--format", "csv")
    rows = list(csv.DictReader(io.StringIO(out)))
    assert status == 0 and [row["step"] for row in rows] == ["1", "2", "3", "4"]
    assert {row["row"] for row in rows} == {"35 + 220 + 35"} and rows[3]["leaves"] == "up"


def test_inch_is_mm(told: Any, tmp_path: Path) -> None:
    """The same panel written in inch: the same plan and cost."""
    flange = "{height: %s, bend: 90}"
    mm = planned(told, written(tmp_path, "panel: {base: [254, 152.4], flanges: {all: " + flange % 25.4 + "}}"))
    head = HEAD.replace("thickness: 2", "thickness: 0.07874015748\nunits: inch")
    inch = planned(told, written(tmp_path, "panel: {base: [10, 6], flanges: {all: " + flange % 1 + "}}", head))
    assert order(inch) == order(mm)
    assert inch["cost"] == pytest.approx(mm["cost"], abs=1e-3)


def test_mirrored_and_in_any_order_of_the_edges(told: Any, tmp_path: Path) -> None:
    """A low side at the left, at the right, and written last: the same cost, the same turns but for their sense."""
    found = []
    for sides in ("left: {LOW}, right: {HIGH}", "right: {LOW}, left: {HIGH}", "right: {HIGH}, left: {LOW}"):
        flanges = "near: {HIGH}, " + sides
        for name, height in (("{LOW}", 20), ("{HIGH}", 45)):
            flanges = flanges.replace(name, f"{{height: {height}, bend: 90}}")
        record = planned(told, written(tmp_path, f"panel: {{base: [300, 200], flanges: {{{flanges}}}}}"))
        turns = [abs(move["angle_deg"]) for step in record["steps"] for move in step["moves"]]
        found.append((round(record["cost"], 6), turns))
    assert found[0] == found[1] == found[2]


def test_an_order_of_the_part_is_kept(told: Any, tmp_path: Path) -> None:
    """Long sides first: then the short ones lie between them, and a row does for both that leaves one of them a gap.

    Of 2.92 mm with a radius of 2 and 0.5 to each side: set in halves, 4, which twice the sheet allows.
    """
    panel = "panel: {base: [300, 200], flanges: {all: {height: 40, bend: 90}}}"
    free = planned(told, written(tmp_path, panel))
    kept = planned(told, written(tmp_path, panel, HEAD + "order: [1, 3, 2, 4]\n"))
    assert [step["bends"] for step in kept["steps"]] == [[1], [3], [2], [4]]
    assert kept["cost"] > free["cost"] and kept["totals"]["stations"] == 1
    gaps = [[each for each in step["stations"][0]["segments"] if "gap" in each] for step in kept["steps"]]
    assert gaps == [["gap 4"]] * 4
    assert [step["gap_mm"] for step in kept["steps"]] == [4, 4, 0, 0]


def test_an_order_that_cannot_be_says_what_blocks(told: Any, tmp_path: Path) -> None:
    """The flange before its return: the row finds no room over the return, whichever wing lies behind."""
    panel = (
        "panel: {base: [300, 200], corners: closed, flanges: {all: {height: 40, bend: 90, "
        "tip: {height: 15, bend: 90, ends: mitre, gap: 1}}}}"
    )
    file = written(tmp_path, panel, HEAD + "order: [1, 3, 5, 7, 2, 4, 6, 8]\n")
    status, out, _ = told("--quiet", "plan", file, "--format", "json")
    record = json.loads(out)
    assert status == 1 and record["feasible"] is False and record["steps"] == []
    refused = [(each["code"], each["where"]) for each in record["findings"] if each["severity"] == "refuse"]
    assert refused == [("blocked-in-order", f"bend {bend}") for bend in (2, 4, 6, 8)]


def test_tabs_hit_together_are_bent_with_the_force_of_what_is_bent(told: Any) -> None:
    """Two tabs of 40 and 50 with 40 of nothing between them: 90 mm, for which `bend` tells the same force."""
    file = PANELS / "mast-bracket.yaml"
    record = planned(told, str(file))
    first = record["steps"][0]
    tools = ("--punch", first["punch"], "--die", first["die"], "--length", "90")
    sheet = ("--material", record["material"], "--thickness", str(record["thickness_mm"]), "--turn", "90")
    one = json.loads(told("--quiet", "bend", *sheet, *tools, "--format", "json")[1])
    assert first["force_kn"] == pytest.approx(one["force_kn"], abs=0.01)


def test_a_panel_is_not_planned_for_a_measured_sheet(told: Any) -> None:
    """It says so, in place of a plan for another thickness."""
    status, out, err = told("plan", str(PANELS / "collector-pan.yaml"), "--measured-thickness", "1.48")
    assert (status, out) == (2, "")
    assert "is a panel, which is planned for the thickness of its file" in err


def test_how_near_the_part_comes_is_told_of_each_hit(told: Any) -> None:
    """Walls of 300 outside in sheet of 1.5 leave a row of 290 3.5 at each end, less what the bend's radius fills of it;
    flat the part comes near to the ram alone, which begins far over the nose."""
    steps = planned(told, str(PANELS / "collector-pan.yaml"))["steps"]
    (one, *_), (row, *_) = steps[0]["bends"], steps[2]["stations"]
    assert (one, row["to_mm"] - row["from_mm"]) == (2, 290.0)
    assert all(50 < step["clearance_mm"] < 120 for step in steps[:2])
    assert all(1.5 < step["clearance_mm"] < 3.5 for step in steps[2:])


def test_a_hem_is_bent_and_flattened_at_two_stations(told: Any) -> None:
    """The cover's front edge: two hits that follow each other, the second by hand, and what they cost is all told."""
    record = planned(told, str(PANELS / "terminal-cover.yaml"))
    steps = record["steps"]
    at = next(number for number, step in enumerate(steps) if step["hit"] == "pre-bend")
    first, second = steps[at], steps[at + 1]
    assert second["hit"] == "flatten" and first["bends"] == second["bends"] == [1]
    assert [step["hit"] for step in steps if step["bends"] != [1]] == ["bend"] * 3
    assert (first["punch"], second["punch"], second["die"]) == ("acute-30", "flattener", "flat-bed")
    assert second["stops"]["x_mm"] is None and second["gauged_on"]["on"] is None
    assert [move["move"] for move in second["moves"]] == ["shift"]
    assert first["behind"] == second["behind"] and first["marked_face"] == second["marked_face"]
    # Two layers of 1 mm, and what the flange stands up by before, 9 less half of what the bend takes.
    assert second["depth_mm"] == -2.0 and second["open_height_mm"] > 9 * math.sin(math.radians(33))
    totals = record["totals"]
    wishes = sum(each["seconds"] for each in totals["wishes"])
    cost = totals["cycle_s"] + totals["set_up_s"] / totals["quantity"] + wishes
    assert record["cost"] == pytest.approx(cost, abs=1e-4) and record["proven_least"]


def test_a_section_written_as_a_panel_has_the_same_blank_and_order(told: Any, tmp_path: Path) -> None:
    """A channel: legs 30, 80 and 25, 200 long. Both ways the same X and depth at each bend."""
    flanges = "near: {height: 30, bend: 90}, far: {height: 25, bend: 90}"
    panel = planned(told, written(tmp_path, f"panel: {{base: [200, 80], radius: 2, flanges: {{{flanges}}}}}"))
    bends = "[{turn: 90, radius: 2}, {turn: 90, radius: 2}]"
    file = written(tmp_path, f"section: {{length: 200, legs: [30, 80, 25], bends: {bends}}}")
    status, out, err = told("--quiet", "plan", file, "--format", "json")
    assert status == 0, err
    section = json.loads(out)
    assert panel["blank"]["area_mm2"] == pytest.approx(section["blank"]["area_mm2"], abs=1e-3)
    x_mm = [sorted(step["stops"]["x_mm"] for step in plan["steps"]) for plan in (panel, section)]
    assert x_mm[0] == pytest.approx(x_mm[1], abs=0.01)
    depths = [sorted(step["depth_mm"] for step in plan["steps"]) for plan in (panel, section)]
    assert depths[0] == pytest.approx(depths[1], abs=1e-3)
