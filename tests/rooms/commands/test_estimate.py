"""`estimate`: what a part costs in time by machine and handler, from the plans' own figures."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path
from typing import Any

import pytest

from flangewise.commands import run
from flangewise.shop import copy_shop

Capture = pytest.CaptureFixture[str]
ANGLE = Path(__file__).parents[3] / "examples" / "parts" / "angle.yaml"
# What the built-in robot lacks: entered here, invented.
CELL = """  cell:
    infeed: {most_height_mm: 200}
    running: {teach_s: 3600, availability_share: 0.9, scrap_share: 0.02, refill_s: 120, box_change_s: 60}
"""


def told(capsys: Capture, *args: object) -> tuple[int, str, str]:
    status = run([str(each) for each in args])
    out, err = capsys.readouterr()
    return status, out, err


def record_of(capsys: Capture, *args: object) -> dict[str, Any]:
    status, out, err = told(capsys, *args, "--format", "json")
    assert status == 0, err
    return json.loads(out)  # type: ignore[no-any-return]


def test_the_figures_are_those_of_the_plan(capsys: Capture) -> None:
    (line,) = record_of(capsys, "estimate", ANGLE, "--machine", "bench-310")["estimates"]
    plan = record_of(capsys, "plan", ANGLE)
    totals = plan["totals"]
    assert (line["machine"], line["handler"], line["quantity"]) == ("bench-310", "operator", totals["quantity"])
    assert line["cycle_s"] == pytest.approx(totals["cycle_s"])
    assert line["set_up_min"] == pytest.approx(totals["set_up_s"] / 60)
    whole_h = (totals["set_up_s"] + totals["quantity"] * totals["cycle_s"]) / 3600
    assert (line["machine_h"], line["people_h"]) == pytest.approx((whole_h, whole_h))
    # The set-up's share is the greatest: 21.6 s of 21.6 + 13.2.
    assert line["greatest"] == "set_up"
    share = totals["set_up_s"] / totals["quantity"] / (totals["set_up_s"] / totals["quantity"] + totals["cycle_s"])
    assert line["greatest_share"] == pytest.approx(share)


def test_a_line_for_every_machine_and_handler_people_first(capsys: Capture) -> None:
    status, out, _ = told(capsys, "estimate", ANGLE, "--machine", "any", "--handler", "all", "--format", "csv")
    rows = list(csv.DictReader(io.StringIO(out)))
    machines, handlers = ({row[key] for row in rows} for key in ("machine", "handler"))
    assert status == 0 and len(rows) == len(machines) * len(handlers) and machines >= {"bench-310", "mid-740"}
    of_one = [row["handler"] for row in rows if row["machine"] == "bench-310"]
    assert of_one[-1] == "robot" and of_one[0] == "operator"
    two = next(row for row in rows if row["handler"] == "two-operators")
    assert float(two["people_h"]) == pytest.approx(2 * float(two["machine_h"]))


def test_what_a_robot_s_run_lacks_is_named_and_not_known(capsys: Capture) -> None:
    *_, robot = record_of(capsys, "estimate", ANGLE, "--handler", "all")["estimates"]
    assert robot["handler"] == "robot" and robot["machine_h"] is None and robot["pays_from"] is None
    assert {"teach_s", "refill_s", "parts_a_box"} <= set(robot["missing"])
    out = told(capsys, "estimate", ANGLE, "--handler", "all")[1]
    assert "not entered: teach_s" in out and max(map(len, out.splitlines())) <= 80


def test_what_it_rests_on_is_every_time_entered(capsys: Capture, tmp_path: Path) -> None:
    copy_shop(tmp_path / "shop")
    table = tmp_path / "shop" / "handlers.yaml"
    table.write_text(table.read_text().replace("pick_s: 3\n", "pick_s: 7.25\n", 1))
    asked = ("--shop", tmp_path / "shop", "estimate", ANGLE, "--why")
    before, after = record_of(capsys, "estimate", ANGLE), record_of(capsys, *asked)
    assert after["rests_on"]["handlers: operator"]["pick_s"] == 7.25
    more_s = after["estimates"][0]["cycle_s"] - before["estimates"][0]["cycle_s"]
    # The allowance is on all of it.
    assert more_s == pytest.approx(4.25 * (1 + after["rests_on"]["handlers: operator"]["allowance_share"]))
    assert "pick_s 7.25" in told(capsys, *asked)[1]


def test_a_robot_pays_from_so_many_parts_on(capsys: Capture, tmp_path: Path) -> None:
    copy_shop(tmp_path / "shop")
    table = tmp_path / "shop" / "handlers.yaml"
    table.write_text(table.read_text().rstrip("\n") + "\n" + CELL)
    part = tmp_path / "angle.yaml"
    part.write_text(ANGLE.read_text() + "packing: {box: box-400}\n")
    asked = ("--shop", tmp_path / "shop", "estimate", part, "--machine", "bench-310", "--handler", "all")
    hand, *_, robot = record_of(capsys, *asked)["estimates"]
    assert (hand["handler"], robot["handler"], robot["missing"]) == ("operator", "robot", [])
    # People's seconds: by hand all of it, by robot set-up, teaching and a share of refills and boxes.
    from_parts = robot["pays_from"]
    each_s = (robot["people_h"] * 3600 - robot["set_up_min"] * 60 - 3600) / robot["quantity"]

    def saved_s(parts: int) -> float:
        return parts * hand["cycle_s"] - 3600 - parts * each_s

    assert saved_s(from_parts - 1) < 0 <= saved_s(from_parts)
    assert f"from {from_parts} parts on" in told(capsys, *asked)[1]


def test_names_that_are_none_are_told(capsys: Capture) -> None:
    status, out, err = told(capsys, "estimate", ANGLE, "--handler", "robt")
    assert (status, out) == (2, "") and "did you mean 'robot'?" in err
    assert "did you mean 'mid-740'?" in told(capsys, "estimate", ANGLE, "--machine", "mid-704")[2]
