"""`flangewise plan --cell`: what is computed from what was entered, and what is said where it was not."""

from __future__ import annotations

import csv
import io
import json
import math
import re
from pathlib import Path
from typing import Any

import pytest

from flangewise.shop import load_shop
from flangewise.words import word

from ...house.running import run
from .cell_shop import RAIL, cell_shop
from .made import joined

Record = dict[str, Any]


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return cell_shop(tmp_path_factory.mktemp("cell") / "shop")


@pytest.fixture(scope="module")
def rail(tmp_path_factory: pytest.TempPathFactory) -> Path:
    file = tmp_path_factory.mktemp("part") / "rail.yaml"
    file.write_text(RAIL, encoding="utf-8")
    return file


@pytest.fixture(scope="module")
def record(folder: Path, rail: Path) -> Record:
    status, out, err = run("--shop", str(folder), "plan", "--cell", str(rail), "--format", "json")
    assert status == 0, err
    return dict(json.loads(out))


@pytest.fixture(scope="module")
def text(folder: Path, rail: Path) -> str:
    status, out, err = run("--shop", str(folder), "plan", "--cell", str(rail))
    assert status == 0, err
    return out


def test_the_start_names_both_programs_and_the_opening(record: Record, text: str) -> None:
    cell = record["cell"]
    assert cell["programs"] == {"brake": "0123", "robot": "RAIL-B"}
    assert f"ram open to {cell['start_opening_mm']:g} mm, nothing between the tools" in text
    assert "Programs: brake 0123, robot RAIL-B." in text


def test_the_run_table_has_every_phase_of_every_hit(record: Record) -> None:
    rows = record["cell"]["run_table"]
    assert [row["phase"] for row in rows if row["step"] == 1][:3] == ["load", "seated", "pinched"]
    assert [row["phase"] for row in rows if row["step"] == 2][-2:] == ["open", "taken"]
    assert {row[key] for row in rows for key in ("after_power", "after_air", "after_zone")} == {
        "go-on",
        "take-out",
        "take-out-bent",
        "bend-on",
        "scrap",
    }


def test_blanks_boxes_and_the_minutes_alone_are_those_of_hand_reckoning(record: Record) -> None:
    """Two stacks of 60 blanks of 2 mm; 12 kg less 2.1 of the box are 23 parts of 0.417 kg."""
    cell = record["cell"]
    cycle_s = cell["time"]["cycle_s"]
    assert cell["infeed"]["count"] == 120
    assert cell["infeed"]["refill_min"] == pytest.approx(120 * cycle_s / 60, abs=1e-3)
    packed = cell["out"]["packed"]
    assert (packed["count"], packed["governs"]) == (int((12 - 2.1) / cell["out"]["part_kg"]), "mass")
    assert packed["limits"]["wanted"] == 40
    assert cell["alone_min"] == pytest.approx(packed["count"] * cycle_s / 60, abs=1e-3)
    assert cell["label"] == {
        "part": "rail",
        "revision": "B",
        "count": 23,
        "gross_kg": pytest.approx(2.1 + 23 * cell["out"]["part_kg"], abs=1e-4),
    }


def test_a_square_channel_does_not_nest_and_goes_in_pairs(record: Record, text: str) -> None:
    out = record["cell"]["out"]
    assert (out["nests"], out["pitch_by_rule_mm"]) == (False, None)
    assert out["pitch_mm"] == pytest.approx(26) and out["pair_high_mm"] == pytest.approx(28)
    assert "They do not nest: 26 mm a part." in text


def test_each_distance_stands_with_formula_edition_and_inputs(record: Record, text: str) -> None:
    found = {each["code"]: each for each in record["cell"]["layout"]["distances"]}
    assert found["walking-2010"]["distance_mm"] == pytest.approx(1860)
    assert found["separation-full"]["distance_mm"] == pytest.approx(2120)
    assert found["slow-zone"]["distance_mm"] == pytest.approx(1622 + 1600 * 0.46)
    line = next(line for line in joined(text).splitlines() if line.startswith("a person walks in (2010)"))
    for said in ("1860 mm", "1600 T", "ISO 13855:2010", "stop_time_s 0.3", "field_height_mm 200"):
        assert said in line


def test_it_closes_with_the_fixed_notice_and_says_what_is_not_computed(text: str) -> None:
    assert " ".join(text.split()).endswith(word("sheet.notice"))
    assert "Arm joints and reach are not computed." in text


def test_hand_and_robot_are_compared_over_the_batch(record: Record) -> None:
    """Of people: 2 700 s of teaching and what the set-up takes, then 120 / 120 + 60 / 23 s a part, with 2 % scrap."""
    told, time = record["cell"]["hand_or_robot"], record["cell"]["time"]
    assert (time["bottleneck"], time["kind"]) == ("robot", "robot")
    each_s = 1.02 * (120 / 120 + 60 / 23)
    assert told["robot"]["people_s"] == pytest.approx(time["set_up_s"] + 2700 + 200 * each_s, abs=0.01)
    assert told["robot"]["machine_s"] == pytest.approx(
        time["set_up_s"] + 2700 + 200 * 1.02 * time["cycle_s"] / 0.9, abs=0.01
    )
    hand_s = (told["hand"]["people_s"] - time["set_up_s"]) / 200
    assert told["people_from"] == -(-2700 // (hand_s - each_s))
    assert told["machine_from"] is None


def test_without_the_stop_time_its_distance_cannot_be_computed(tmp_path: Path, rail: Path) -> None:
    shop = cell_shop(tmp_path / "shop", without="  stop_time_s")
    status, out, _ = run("--shop", str(shop), "plan", "--cell", str(rail))
    assert status == 0
    lines = [line for line in out.splitlines() if line.startswith("a person walks in")]
    assert [line.split("  ")[-1].strip() for line in lines] == ["cannot be computed: stop_time missing"] * 2
    assert "separation at slow speed          1622 mm" in out
    assert "Enter what is missing under `cell` of the handler robot." in " ".join(out.split())


def test_the_built_in_robot_has_no_cell_and_says_which_block_is_missing(rail: Path, tmp_path: Path) -> None:
    assert load_shop().handlers["robot"].cell is None
    shop = cell_shop(tmp_path / "shop", entered=False)
    status, out, _ = run("--shop", str(shop), "plan", "--cell", str(rail))
    told = " ".join(out.split())
    assert status == 0 and "distances cannot be computed: no `cell:` block under the handler robot" in told
    assert "stop_time" not in told and "infeed cannot be computed: infeed missing" in told


def test_one_row_of_csv_a_part(folder: Path, rail: Path) -> None:
    status, out, _ = run("--shop", str(folder), "plan", "--cell", str(rail), "--format", "csv")
    (row,) = csv.DictReader(io.StringIO(out))
    assert status == 0
    assert (row["part"], row["brake_program"], row["parts_a_box"], row["governs"]) == ("rail", "0123", "23", "mass")
    assert float(row["stop_zone_mm"]) == pytest.approx(1622)


def test_a_hand_fed_part_has_packing_and_times_but_no_run_table(folder: Path, tmp_path: Path) -> None:
    by_hand = tmp_path / "rail.yaml"
    by_hand.write_text(RAIL.replace("handler: robot\n", ""), encoding="utf-8")
    status, out, _ = run("--shop", str(folder), "plan", "--cell", str(by_hand))
    assert status == 0 and word("cell.no-robot") in out
    assert "distances" not in out.replace(word("cell.no-robot"), "") and "by robot" in out


def test_its_plan_without_the_option_stays_as_it_is(rail: Path, folder: Path, tmp_path: Path) -> None:
    plain = tmp_path / "rail.yaml"
    lines = RAIL.splitlines(keepends=True)
    plain.write_text("".join(line for line in lines if not line.startswith(("programs", "packing"))), encoding="utf-8")
    assert run("--shop", str(folder), "plan", str(plain)) == run("--shop", str(folder), "plan", str(rail))


def test_programs_and_boxes_that_are_not_there_are_told(tmp_path: Path) -> None:
    wrong = tmp_path / "wrong.yaml"
    wrong.write_text(RAIL.replace("box-600", "box-60").replace("brake:", "break:"), encoding="utf-8")
    status, _, err = run("plan", "--cell", str(wrong))
    assert status == 2
    assert "'box-60' is not in the shop's boxes" in err and "did you mean 'brake'?" in err


def test_a_person_has_no_cell(tmp_path: Path) -> None:
    shop = cell_shop(tmp_path / "shop")
    file = shop / "handlers.yaml"
    file.write_text(file.read_text(encoding="utf-8").replace("\noperator:\n", "\noperator:\n  cell: {}\n"))
    status, out, err = run("shop", "check", str(shop))
    assert status == 2 and "a person has no cell" in out + err


@pytest.mark.parametrize(
    ("packing", "said"),
    [
        ("{box: box-600, way: dropped}", "cannot be computed: fill_share missing"),
        ("{box: box-600, way: dropped, fill_share: 0.4}", "dropped; stop at the count"),
        ("{box: pallet-1200, way: pairs, count: 300}", "limited by the count wanted, double rows of"),
        ("{box: cart, separator: 3}", "limited by"),
    ],
)
def test_ways_of_packing(tmp_path: Path, folder: Path, packing: str, said: str) -> None:
    file = tmp_path / "rail.yaml"
    file.write_text(RAIL.replace("{box: box-600, count: 40}", packing), encoding="utf-8")
    status, out, err = run("--shop", str(folder), "plan", "--cell", str(file))
    assert status == 0, err
    assert said in out


def test_the_run_of_a_panel_is_told_as_far_as_it_needs_no_grips(folder: Path, tmp_path: Path) -> None:
    """A tray of 240 by 160, flanges of 30: its box is that, its reach that of its blank from corner to corner."""
    file = tmp_path / "tray.yaml"
    example = Path(__file__).parents[3] / "examples" / "panels" / "filter-tray.yaml"
    packed = 'packing: {box: box-600, way: pairs, count: 25}\nprograms: {brake: "7", robot: T}\nhandler: robot\n'
    file.write_text(re.sub(r"(?m)^handler:.*$", "", example.read_text(encoding="utf-8")) + packed, encoding="utf-8")
    status, out, err = run("--shop", str(folder), "plan", "--cell", str(file), "--format", "json")
    assert status == 0, err
    cell = json.loads(out)["cell"]
    plan = json.loads(run("--shop", str(folder), "plan", str(file), "--format", "json")[1])
    blank = plan["blank"]
    assert cell["out"]["box_round_mm"] == pytest.approx([240.0, 160.0, 30.0], abs=0.01)
    assert cell["layout"]["part_reach_mm"] == pytest.approx(math.hypot(*blank["size_mm"]))
    assert cell["time"]["cycle_s"] == pytest.approx(plan["totals"]["cycle_s"])
    rows = cell["run_table"]
    assert {row["step"] for row in rows} == {step["step"] for step in plan["steps"]}
    assert rows[-1]["by_hand_from"] is None and rows[0]["by_hand_from"] == 1
    assert cell["infeed"]["count"] > 0 and cell["alone_min"] is not None
    packed_as = cell["out"]["packed"]
    high, wide, long = 220, 370, 570
    assert packed_as["way"] == "stacked" and packed_as["limits"]["wanted"] == 25
    assert packed_as["count"] == min(packed_as["limits"].values())
    assert packed_as["limits"]["space"] <= (high // 30 + 1) * (wide // 160 + 1) * (long // 240 + 1)
    status, text, _ = run("--shop", str(folder), "plan", "--cell", str(file))
    assert status == 0
    assert "packed as the box around it, 240 mm by 160 mm, 30 mm high" in joined(text)
    assert "brake 7, robot T" in text
