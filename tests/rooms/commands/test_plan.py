"""`flangewise plan`: the record, the table, the pictures, a plan checked again, and every way to be refused."""

from __future__ import annotations

import csv
import io
import json
import re
import shutil
from pathlib import Path
from typing import Any

import pytest

from flangewise.commands import run
from flangewise.units import MM_PER_INCH

from .made import CHANNEL, TOY, joined

Capture = pytest.CaptureFixture[str]
Record = dict[str, Any]

ZED = CHANNEL.replace("channel", "zed").replace("[20, 60, 20]", "[30, 40, 30]").replace("90, 90", "90, -90")
TOO_DEEP = CHANNEL.replace("channel", "too-deep").replace("[20, 60, 20]", "[52, 60, 52]")
ONE_PINNED = "{turn: 90, punch: straight-84, die: block-12}"
PINNED = TOO_DEEP.replace("[90, 90]", f"[{ONE_PINNED}, {ONE_PINNED}]")
AWAY_PINNED = ONE_PINNED.replace("turn: 90", "turn: 90, away: true")
LOW_STEP = (
    ZED.replace("zed", "low-step")
    .replace("[30, 40, 30]", "[50.75, 9.5, 50.75]")
    .replace("[90, -90]", f"[{ONE_PINNED}, {AWAY_PINNED}]")
)
SHORT = CHANNEL.replace("channel", "short").replace("[20, 60, 20]", "[4, 60, 20]")
PLAN_KEYS = {
    "schema_version", "part", "machine", "handler", "blank", "feasible", "proven_least", "cost", "lower_bound", "steps",
    "totals", "findings",
}  # fmt: skip
STEP_KEYS = {
    "step", "bends", "marked_face", "gauged_on", "moves", "punch", "punch_turned", "die", "stations", "stops",
    "force_kn", "depth_mm", "bend_to_deg", "finished_deg", "open_height_mm", "open_height_reason", "slow_from_mm",
    "ram_speed_mm_per_s", "crowning_mm", "clearance_mm", "seconds", "hold",
}  # fmt: skip


def toy(*arguments: object) -> int:
    return run(["--shop", str(TOY), "plan", *map(str, arguments)])


def planned(capsys: Capture, file: Path, *more: object, text: str = "") -> tuple[int, Record]:
    if text:
        file.write_text(text)
    status = toy(file, "--format", "json", *more)
    out, err = capsys.readouterr()
    assert err == "" and out.count("\n") == 1, err
    return status, json.loads(out)


# --- the record


def test_the_record_has_the_published_keys_and_null_for_what_is_not(file: Path, capsys: Capture) -> None:
    status, record = planned(capsys, file)
    assert status == 0 and set(record) >= PLAN_KEYS
    assert set(record["blank"]) == {"developed_mm", "along_bends_mm", "area_mm2", "mass_kg"}
    counted = {"turn_overs", "turns", "regrips", "tool_changes"}
    assert set(record["totals"]) >= counted | {"cycle_s", "set_up_s", "quantity", "wishes"}
    for step in record["steps"]:
        assert set(step) >= STEP_KEYS
        assert set(step["stops"]) == {"x_mm", "r_mm", "z_mm", "retract_mm"}
        assert set(step["gauged_on"]) == {"on", "bend"}
        assert {"from_mm", "to_mm", "segments"} <= set(step["stations"][0])
    for finding in record["findings"]:
        assert set(finding) == {"severity", "code", "where", "text", "step", "bodies", "overlap_mm"}


def test_bend_and_plan_say_the_same_of_a_bend(file: Path, capsys: Capture) -> None:
    _, record = planned(capsys, file)
    tools = ["--punch", "straight-84", "--die", "block-12", "--length", "100"]
    bend = ["bend", "--material", "toy", "--thickness", "1.5", "--turn", "90", *tools, "--format", "json"]
    assert run(["--shop", str(TOY), *bend]) == 0
    alone = json.loads(capsys.readouterr().out)
    for step in record["steps"]:
        assert step["force_kn"] == pytest.approx(alone["limit_force_kn_per_m"] * 0.1, abs=1e-5)
        assert step["depth_mm"] == pytest.approx(alone["depth_mm"], abs=1e-6)
        assert step["bend_to_deg"] == pytest.approx(180 - alone["loaded_turn_deg"], abs=1e-6)
    assert record["blank"]["developed_mm"] == pytest.approx(100 - 2 * alone["deduction_mm"], abs=2e-6)


def test_flat_and_plan_say_the_same_of_the_blank(file: Path, capsys: Capture) -> None:
    _, record = planned(capsys, file)
    assert run(["--shop", str(TOY), "flat", str(file), "--format", "json"]) == 0
    assert json.loads(capsys.readouterr().out)["blank"] == record["blank"]


def test_moves_are_in_words_with_their_axis(file: Path, capsys: Capture) -> None:
    _, record = planned(capsys, file, text=ZED)
    assert record["steps"][0]["moves"] == []
    (move,) = record["steps"][1]["moves"]
    assert move["move"] == "turn-over" and move["axis"] in ("the bed", "front to back") and "over" in move["words"]
    assert record["totals"]["turn_overs"] == 1


def test_cost_is_the_handler_s_prices_added(file: Path, capsys: Capture) -> None:
    """Around the part 5, its share of punch and die 20, two hits gauged at 1, and between them a turn-over: out 1,
    over 2, in 1. The rest is strokes and what the tools are priced with."""
    _, record = planned(capsys, file, text=ZED)
    totals = record["totals"]
    wishes = sum(wish["seconds"] for wish in totals["wishes"])
    cost = totals["cycle_s"] + totals["set_up_s"] / totals["quantity"] + wishes
    assert record["cost"] == record["lower_bound"] == pytest.approx(cost, abs=1e-5) and record["proven_least"]
    strokes = [record["steps"][0]["seconds"] - 1, record["steps"][1]["seconds"] - 1 - 4]
    assert cost == pytest.approx(5 + 2 * 500 / 50 + 2 * 1 + 4 + sum(strokes) + wishes, abs=1e-5)
    assert all(1.5 < stroke < 2 for stroke in strokes)


# --- what cannot be bent


def test_an_infeasible_part_names_step_bodies_overlap_and_the_smallest_change(file: Path, capsys: Capture) -> None:
    status, record = planned(capsys, file, text=PINNED)
    assert (status, record["feasible"], record["proven_least"], record["cost"]) == (1, False, False, None)
    assert record["steps"] == [] and set(record["totals"].values()) == {None}
    refused = [found for found in record["findings"] if found["severity"] == "refuse"]
    assert refused
    for found in refused:
        assert found["step"] == 2 and len(found["bodies"]) == 2 and found["overlap_mm"] > 0
    mends = {found["where"]: found["text"] for found in record["findings"] if found["code"] == "would-do-leg-edge"}
    told = "one that works: with this leg {} mm instead of 52 mm it can be bent. With {} mm it cannot"
    assert mends["leg 1"] == mends["leg 3"] == told.format(42.6, 42.7)
    mended, nearer = (PINNED.replace("[52, 60, 52]", f"[{leg}, 60, 52]") for leg in (42.6, 42.7))
    assert planned(capsys, file, text=mended)[0] == 0 and planned(capsys, file, text=nearer)[0] == 1


def test_a_wrong_order_is_refused_and_the_freed_one_offered(file: Path, capsys: Capture) -> None:
    spiral = PINNED.replace("[52, 60, 52]", "[100.75, 81.5, 41.5, 12.75]").replace(
        "bends: [", f"bends: [{ONE_PINNED}, "
    )
    status, record = planned(capsys, file, text=spiral + "order: [1, 3, 2]\n")
    assert (status, record["feasible"]) == (1, False)
    (offered,) = [found["text"] for found in record["findings"] if found["code"] == "would-do-order"]
    assert "3, 2, 1" in offered
    assert planned(capsys, file, text=spiral + "order: [3, 2, 1]\n")[0] == 0


def test_a_bend_without_tools_is_refused_in_words(file: Path, capsys: Capture) -> None:
    file.write_text(CHANNEL.replace("[20, 60, 20]", "[4, 60, 20]"))
    assert toy(file) == 1
    out, err = capsys.readouterr()
    assert "order    not looked for" in out and "step" not in out
    assert "refused: channel: bend 1: leg 4 mm is under" in err


# --- text


def test_text_is_a_line_a_step_with_head_and_totals(file: Path, capsys: Capture) -> None:
    file.write_text(ZED)
    assert toy(file) == 0
    out, err = capsys.readouterr()
    assert max(map(len, out.splitlines())) <= 80
    head, table, totals = joined(out).strip().split("\n\n")
    assert head.splitlines()[-2:] == [
        "order    34.43 s a part, proven least",
        "made of  cycle 14.4 s, set-up 20 s (shared by 50)",
    ]
    _, first, second = re.split(r"\n(?=\d)", table)
    assert "straight-84 on tower-12" in first and "88.3°" in first and "8.4 kN" in first
    assert "turn" in second and ("front edge to the back" in second or "left end to the right" in second)
    assert totals.splitlines()[0].split(maxsplit=1) == [
        "handling",
        "1 turn-over, 0 turns in the plane, 0 regrips, 0 tool changes",
    ]
    assert totals.splitlines()[-1].startswith("first piece  expect ±") and "Bend a spare first" in totals
    assert all(line.startswith(("caution: zed: ", "notes: ")) for line in err.splitlines())


def test_inches_on_request(file: Path, capsys: Capture) -> None:
    _, record = planned(capsys, file)
    assert run(["--shop", str(TOY), "--units", "inch", "plan", str(file)]) == 0
    out = capsys.readouterr().out
    assert f"{record['blank']['developed_mm'] / MM_PER_INCH:.3f} in" in out and " mm" not in out


def test_quiet_says_no_findings(file: Path, capsys: Capture) -> None:
    assert run(["--shop", str(TOY), "--quiet", "plan", str(file)]) == 0
    assert capsys.readouterr().err == ""


def test_a_refused_part_says_proven_only_where_it_is(file: Path, capsys: Capture) -> None:
    file.write_text(LOW_STEP)
    assert toy(file) == 1
    out, err = capsys.readouterr()
    assert "order    there is none, proven" in out
    assert "refused: low-step: bend " in err


def test_the_example_shop_is_named_once(file: Path, capsys: Capture) -> None:
    file.write_text(CHANNEL.replace("material: toy", "material: DC01"))
    assert run(["plan", str(file)]) == 0
    assert capsys.readouterr().err.count("example shop") == 1
    assert run(["plan", str(file), "--format", "json"]) == 0
    assert capsys.readouterr().err == ""


# --- why


def test_why_tells_the_next_orders_and_what_they_cost(file: Path, capsys: Capture) -> None:
    _, record = planned(capsys, file, "--why")
    (other,) = record["why"]
    assert other["order"] == [1, 2] and other["cost"] == pytest.approx(record["cost"] + other["more"])
    assert toy(file, "--why") == 0
    assert capsys.readouterr().out.splitlines()[-2:][0].split() == ["order", "cost", "more", "where"]


def test_why_of_the_only_order(file: Path, capsys: Capture) -> None:
    file.write_text(ZED.replace("[30, 40, 30]", "[30]").replace("[30]", "[30, 40]").replace("90, -90", "90"))
    assert toy(file, "--why") == 0
    assert capsys.readouterr().out.splitlines()[-1] == "no other order of the same tools can be bent"


# --- csv


def test_csv_is_a_row_a_step_under_one_head(tmp_path: Path, capsys: Capture) -> None:
    for name, text in (("a", CHANNEL), ("b", ZED), ("c", SHORT)):
        (tmp_path / f"{name}.yaml").write_text(text)
    assert toy(tmp_path, "--format", "csv") == 1
    rows = list(csv.DictReader(io.StringIO(capsys.readouterr().out)))
    assert [(row["part"], row["step"]) for row in rows] == [
        ("channel", "1"),
        ("channel", "2"),
        ("zed", "1"),
        ("zed", "2"),
    ]
    assert rows[0]["punch_turned"] == "false" and float(rows[0]["x_mm"]) > 70
    assert json.loads(rows[0]["bends"]) == [2]
    assert "over" in rows[3]["moves"]


# --- pictures


def test_draw_writes_a_picture_a_step(file: Path, tmp_path: Path, capsys: Capture) -> None:
    assert toy(file, "--draw", tmp_path / "pictures") == 0
    names = sorted(path.name for path in (tmp_path / "pictures").iterdir())
    assert names == ["channel.step-1.svg", "channel.step-2.svg"]
    for name in names:
        text = (tmp_path / "pictures" / name).read_text()
        assert "<svg" in text and text.rstrip().endswith("</svg>")
        assert "BACKGAUGE" in text and "OPERATOR" in text
    capsys.readouterr()


def test_a_refused_part_has_no_pictures(file: Path, tmp_path: Path, capsys: Capture) -> None:
    file.write_text(CHANNEL.replace("[20, 60, 20]", "[4, 60, 20]"))
    assert toy(file, "--draw", tmp_path / "pictures") == 1
    assert not list(tmp_path.glob("pictures/*"))


# --- a plan checked again


@pytest.fixture
def plan_file(file: Path, tmp_path: Path, capsys: Capture) -> Path:
    _, record = planned(capsys, file)
    path = tmp_path / "plan.json"
    path.write_text(json.dumps(record))
    return path


def test_our_plan_replays_without_a_finding(file: Path, plan_file: Path, capsys: Capture) -> None:
    assert toy(file, "--replay", plan_file) == 0
    out, err = capsys.readouterr()
    assert out == "channel: 2 steps replayed, no findings\n" and err == ""


def test_a_plan_changed_by_hand_is_found_out(file: Path, plan_file: Path, capsys: Capture) -> None:
    record = json.loads(plan_file.read_text())
    record["steps"][0]["stops"]["x_mm"] += 2
    plan_file.write_text(json.dumps(record))
    assert toy(file, "--replay", plan_file, "--format", "json") == 1
    told = json.loads(capsys.readouterr().out)
    assert told["replayed_steps"] == 2
    assert [found["code"] for found in told["findings"] if found["severity"] == "refuse"] == ["replay-stop-off"]
    assert toy(file, "--replay", plan_file) == 1
    assert "the stop is set to X" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("{", ":1:2: JSON: "),
        ("[1]", ": plan: has no list of steps"),
        ('{"steps": 3}', ": plan: has no list of steps"),
        ('{"steps": []}', ": steps: is no list of steps"),
        ('{"steps": [5]}', ": steps[0]: is no object"),
        ('{"steps": [{"bends": 1, "punch": ["a"]}]}', ": steps[0].bends: is no list of bend numbers"),
        ("{\x00}", "plan.json"),
        ("9" * 5000, ": JSON: is too deep or too long"),
        ("[" * 100000, ": JSON: is too deep or too long"),
    ],
)
def test_what_is_no_plan_is_told_with_its_file(
    file: Path, tmp_path: Path, capsys: Capture, text: str, told: str
) -> None:
    path = tmp_path / "plan.json"
    path.write_text(text)
    assert toy(file, "--replay", path) == 2
    out, err = capsys.readouterr()
    assert out == "" and str(path) in err and told in err
    assert "Traceback" not in err and "a fault of the program" not in err


def test_a_plan_that_is_not_there(file: Path, tmp_path: Path, capsys: Capture) -> None:
    assert toy(file, "--replay", tmp_path / "none.json") == 2
    assert str(tmp_path / "none.json") in capsys.readouterr().err


# --- many parts, standard input, thickness


def test_every_part_is_done_and_the_highest_status_wins(tmp_path: Path, capsys: Capture) -> None:
    for name, text in (("1", SHORT), ("2", CHANNEL), ("3", ZED.replace("legs", "leggs"))):
        (tmp_path / f"{name}.yaml").write_text(text)
    assert toy(tmp_path, "--format", "json") == 2
    out, err = capsys.readouterr()
    assert [json.loads(line)["feasible"] for line in out.splitlines()] == [False, True]
    assert "legs" in err and "3.yaml:" in err
    (tmp_path / "3.yaml").unlink()
    assert toy(tmp_path, "--format", "json") == 1


def test_a_part_on_standard_input(monkeypatch: pytest.MonkeyPatch, capsys: Capture) -> None:
    monkeypatch.setattr("sys.stdin", io.TextIOWrapper(io.BytesIO(CHANNEL.encode())))
    assert toy("-", "--format", "json") == 0
    assert json.loads(capsys.readouterr().out)["part"] == "channel"


def test_a_thicker_sheet_in_hand_is_bent_less_deep(file: Path, capsys: Capture) -> None:
    _, nominal = planned(capsys, file)
    _, thicker = planned(capsys, file, "--measured-thickness", "1.6")
    assert thicker["blank"]["developed_mm"] == pytest.approx(nominal["blank"]["developed_mm"], abs=0.1)
    depths = [[step["depth_mm"] for step in record["steps"]] for record in (nominal, thicker)]
    assert all(less < more for more, less in zip(*depths, strict=True))
    assert (nominal["measured_thickness_mm"], thicker["measured_thickness_mm"]) == (None, 1.6)


def test_the_text_says_which_thickness_was_computed_with(file: Path, capsys: Capture) -> None:
    told = {}
    for options in ((), ("--measured-thickness", "1.6")):
        assert toy(file, *options) == 0
        told[options] = capsys.readouterr().out
    assert "computed with" not in told[()]
    (line,) = [line for line in told["--measured-thickness", "1.6"].splitlines() if "computed with" in line]
    assert line.split() == ["computed", "with", "thickness", "1.6", "mm,", "measured"]


@pytest.mark.parametrize(("given", "told"), [("3", "far from the 1.5 mm"), ("thick", "--measured-thickness")])
def test_a_thickness_that_cannot_be(file: Path, capsys: Capture, given: str, told: str) -> None:
    assert toy(file, "--measured-thickness", given) == 2
    assert told in capsys.readouterr().err


def test_the_same_part_in_inches_gives_the_same_plan(file: Path, capsys: Capture) -> None:
    _, metric = planned(capsys, file)
    inches = (
        CHANNEL.replace("1.5", repr(1.5 / MM_PER_INCH))
        .replace("length: 100", f"length: {100 / MM_PER_INCH!r}")
        .replace("[20, 60, 20]", str([leg / MM_PER_INCH for leg in (20, 60, 20)]))
    )
    _, other = planned(capsys, file, text=inches + "units: inch\n")
    assert (other["cost"], other["totals"]) == (metric["cost"], metric["totals"])
    for one, two in zip(metric["steps"], other["steps"], strict=True):
        assert (one["bends"], one["moves"], one["punch"], one["die"]) == (
            two["bends"], two["moves"], two["punch"], two["die"],
        )  # fmt: skip
        assert one["stops"]["x_mm"] == pytest.approx(two["stops"]["x_mm"], abs=2e-6)


def test_measured_bends_are_used_and_said(file: Path, tmp_path: Path, capsys: Capture) -> None:
    """Recorded by `tryout` in a shop of one's own, then planned again."""
    folder = tmp_path / "shop"
    shutil.copytree(TOY, folder)
    _, before = planned(capsys, file)
    for lot in ("A", "B", "C"):
        tried = ["tryout", str(file), "--included", "1=92", "--included", "2=92", "--leg", "1=20.2", "--leg", "3=20.2"]
        assert run(["--shop", str(folder), *tried, "--leg", "2=60.3", "--lot", lot, "--record"]) == 0
    capsys.readouterr()
    assert run(["--shop", str(folder), "plan", str(file), "--format", "json"]) == 0
    after = json.loads(capsys.readouterr().out)
    assert {"depth-measured", "deduction-measured"} <= {found["code"] for found in after["findings"]}
    assert after["blank"]["developed_mm"] < before["blank"]["developed_mm"]
    assert all(a["depth_mm"] > b["depth_mm"] for a, b in zip(after["steps"], before["steps"], strict=True))


def test_a_wish_too_small_to_be_written_is_not_told(file: Path, tmp_path: Path, capsys: Capture) -> None:
    """With a handler who hardly minds what hangs behind no part of the cost reads 0."""
    folder = tmp_path / "shop"
    shutil.copytree(TOY, folder)
    handlers = folder / "handlers.yaml"
    told = handlers.read_text(encoding="utf-8")
    handlers.write_text(re.sub(r"behind_wish_s: [0-9.]+", "behind_wish_s: 0.01", told), encoding="utf-8")
    file.write_text(CHANNEL, encoding="utf-8")
    assert run(["--shop", str(folder), "plan", str(file), "--format", "json"]) == 0
    wishes = {wish["wish"]: wish["seconds"] for wish in json.loads(capsys.readouterr().out)["totals"]["wishes"]}
    assert 0 < wishes["holding"] < 0.05
    assert run(["--shop", str(folder), "plan", str(file)]) == 0
    (parts,) = (line for line in capsys.readouterr().out.splitlines() if line.startswith("made of"))
    assert "holding" not in parts and "cycle" in parts and "set-up" in parts
