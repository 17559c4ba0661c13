"""`flangewise shop`: what is written where, in which form, with which status."""

from __future__ import annotations

import csv
import io
import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from flangewise.commands import run
from flangewise.commands.output import told
from flangewise.shop import ROWS, copy_shop

Capture = pytest.CaptureFixture[str]
TABLES = [table.replace("_", "-") for table in sorted(ROWS)]


@pytest.fixture(autouse=True)
def no_shop_of_the_environment(monkeypatch: pytest.MonkeyPatch) -> None:
    """The tests' own shell may have one."""
    monkeypatch.delenv("FLANGEWISE_SHOP", raising=False)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A fresh copy of the built-in shop."""
    copy_shop(tmp_path / "shop")
    return tmp_path / "shop"


def test_every_table_has_its_columns() -> None:
    assert set(told("shop.columns")) == set(told("shop.rows")) == set(ROWS)


@pytest.mark.parametrize("table", TABLES)
def test_text_has_a_line_a_row_and_names_the_example_shop_once(capsys: Capture, table: str) -> None:
    assert run(["shop", "list", table]) == 0
    out, err = capsys.readouterr()
    assert len(out.splitlines()) > 2
    assert err.count("example shop") == 1 and len(err.splitlines()) == 1
    assert all(len(line) <= 200 for line in out.splitlines())


@pytest.mark.parametrize("table", TABLES)
def test_json_is_a_row_a_line_and_nothing_else(capsys: Capture, table: str) -> None:
    assert run(["shop", "list", table, "--format", "json"]) == 0
    out, err = capsys.readouterr()
    records = [json.loads(line) for line in out.splitlines()]
    assert all(record["schema_version"] == 1 and record["name"] for record in records)
    assert err == ""


def test_json_of_the_dies_is_what_a_script_may_draw(capsys: Capture) -> None:
    assert run(["shop", "list", "dies", "--format", "json"]) == 0
    dies = {record["name"]: record for record in map(json.loads, capsys.readouterr().out.splitlines())}
    die = dies["vee-16-80"]
    assert (die["opening_mm"], die["shoulder_radius_mm"], die["included_deg"], die["height_mm"]) == (16, 1.6, 80, 76)
    assert die["outline_mm"][0][1] == 0 and all(len(point) == 2 for point in die["outline_mm"])
    assert dies["flat-bed"]["opening_mm"] is None


def test_csv_has_a_head_and_names_that_stay_text(capsys: Capture) -> None:
    assert run(["shop", "list", "materials", "--format", "csv"]) == 0
    rows = list(csv.DictReader(io.StringIO(capsys.readouterr().out)))
    assert len(rows) == 27
    assert {"1.4301", "304"} <= {row["name"] for row in rows}
    assert next(row["yield_mpa"] for row in rows if row["name"] == "DC01") == "200.0"


def test_text_follows_the_units_and_json_does_not(capsys: Capture) -> None:
    assert run(["--units", "inch", "shop", "list", "dies"]) == 0
    inch = capsys.readouterr().out
    assert "0.63 in" in inch and " mm" not in inch
    run(["--units", "inch", "shop", "list", "dies", "--format", "json"])
    in_json = capsys.readouterr().out
    run(["shop", "list", "dies", "--format", "json"])
    assert in_json == capsys.readouterr().out


def test_an_unknown_table_is_answered_with_the_nearest(capsys: Capture) -> None:
    assert run(["shop", "list", "punch"]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err == "punch: shop list: is no table of the shop, did you mean 'punches'?\n"


def test_quiet_leaves_the_example_shop_unsaid(capsys: Capture) -> None:
    assert run(["--quiet", "shop", "list", "punches"]) == 0
    assert capsys.readouterr().err == ""


def test_the_shop_given_is_the_one_listed(capsys: Capture, folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = folder / "materials.yaml"
    path.write_text(path.read_text(encoding="utf-8").replace("DC01:", "MINE:"), encoding="utf-8")
    assert run(["--shop", str(folder), "shop", "list", "materials"]) == 0
    out, err = capsys.readouterr()
    assert "MINE" in out and err == ""
    monkeypatch.setenv("FLANGEWISE_SHOP", str(folder))
    assert run(["shop", "list", "materials"]) == 0
    assert "MINE" in capsys.readouterr().out


def test_listing_reads_no_other_table(capsys: Capture, folder: Path) -> None:
    (folder / "dies.yaml").write_text("broken: {", encoding="utf-8")
    assert run(["--shop", str(folder), "shop", "list", "punches"]) == 0
    assert "straight-88" in capsys.readouterr().out


def test_copy_writes_the_tables_and_says_what_to_do_next(capsys: Capture, tmp_path: Path) -> None:
    place = tmp_path / "mine"
    assert run(["shop", "copy", str(place)]) == 0
    out, err = capsys.readouterr()
    assert [Path(line).name for line in out.splitlines()] == sorted(file.name for file in place.iterdir())
    assert f"flangewise shop check {place}" in err
    assert {"shop.yaml", "materials.yaml", "machines.yaml", "punches.yaml", "dies.yaml", "handlers.yaml"} <= {
        file.name for file in place.iterdir()
    }


def test_copy_never_overwrites(capsys: Capture, folder: Path) -> None:
    before = {file: file.read_bytes() for file in folder.iterdir()}
    assert run(["shop", "copy", str(folder)]) == 2
    out, err = capsys.readouterr()
    assert out == "" and "is not empty" in err and len(err.splitlines()) == 1
    assert {file: file.read_bytes() for file in folder.iterdir()} == before


def test_copy_where_nothing_may_be_written(capsys: Capture, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("", encoding="utf-8")
    assert run(["shop", "copy", str(tmp_path / "file" / "shop")]) == 2
    err = capsys.readouterr().err
    assert len(err.splitlines()) == 1 and "Traceback" not in err


def test_check_of_a_sound_shop(capsys: Capture, folder: Path) -> None:
    assert run(["shop", "check", str(folder)]) == 0
    out, err = capsys.readouterr()
    assert out.startswith(f"{folder}: no faults; 27 materials")
    assert err == ""


def test_check_without_a_folder_checks_the_shop_in_use(capsys: Capture, folder: Path) -> None:
    assert run(["shop", "check"]) == 0
    assert "the built-in shop: no faults" in capsys.readouterr().out
    assert run(["--shop", str(folder), "shop", "check"]) == 0
    assert str(folder) in capsys.readouterr().out


def test_check_tells_every_fault_with_its_place(capsys: Capture, folder: Path) -> None:
    for file, old, new in (
        ("materials.yaml", "yield_mpa: 200", "yield_mpa: 2OO"),
        ("dies.yaml", "load_kn_per_m: 300", "lode_kn_per_m: 300"),
        ("punches.yaml", "load_kn_per_m: 1000", "load_kn_per_m: -1000"),
    ):
        path = folder / file
        path.write_text(path.read_text(encoding="utf-8").replace(old, new, 1), encoding="utf-8")
    assert run(["shop", "check", str(folder)]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    lines = err.splitlines()
    assert len(lines) == 3
    for line in lines:
        file, row, column, _ = line.split(":", 3)
        assert Path(file).parent == folder and int(row) > 1 and int(column) > 1


# What a handler of an older shop weighed moves with, and the words of what takes its place.
WEIGHTS = {
    "hit_cost": "gauge_s",
    "stop_change_cost": "next_stop_s",
    "turn_cost": "turn_s",
    "turn_over_bed_cost": "turn_over_bed_s",
    "turn_over_front_cost": "turn_over_front_s",
    "regrip_cost": "regrip_s",
    "tool_change_cost": "mount_s in machines.yaml",
    "side_exit_cost": "side_exit_s",
    "formed_gauge_cost": "formed_gauge_wish_s",
    "opening_cost": "the machine's speeds",
}


def test_a_shop_that_carries_weights_is_told_what_replaces_each(capsys: Capture, folder: Path) -> None:
    """Each at its own line and column, and nothing else is wrong with the shop."""
    assert set(WEIGHTS) == set(ROWS["handlers"].REPLACED)  # type: ignore[attr-defined]
    path = folder / "handlers.yaml"
    lines = path.read_text(encoding="utf-8").splitlines()
    at = next(number for number, line in enumerate(lines) if line.startswith("  kind: operator"))
    lines[at + 1 : at + 1] = [f"  {key}: 1" for key in WEIGHTS]
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    assert run(["shop", "check", str(folder)]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    told = err.splitlines()
    assert len(told) == len(WEIGHTS)
    for number, (line, (key, instead)) in enumerate(zip(told, WEIGHTS.items(), strict=True), start=at + 2):
        assert line.startswith(f"{path}:{number}:3: ")
        assert f"{key}: is no longer read" in line and instead in line.split("is no longer read")[1]


def test_weights_alone_are_no_reason_to_leave_out_what_is_wanted_now(capsys: Capture, folder: Path) -> None:
    """An old handler without the seconds that are new is told of both."""
    path = folder / "handlers.yaml"
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace("  next_stop_s: 0.8\n", "  stop_change_cost: 0.5\n", 1), encoding="utf-8")
    assert run(["shop", "check", str(folder)]) == 2
    err = capsys.readouterr().err
    assert "stop_change_cost: is no longer read" in err and "next_stop_s: is missing" in err


def test_check_tells_a_die_that_is_not_what_is_stamped_on_it(capsys: Capture, folder: Path) -> None:
    path = folder / "dies.yaml"
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace("named_opening_mm: 16\n", "named_opening_mm: 14.5\n", 1), encoding="utf-8")
    assert run(["shop", "check", str(folder)]) == 0
    assert "caution: die vee-16-80: the opening stamped on it is 14.5 mm" in capsys.readouterr().err
    assert run(["shop", "check", str(folder), "--format", "json"]) == 0
    record = json.loads(capsys.readouterr().out)
    assert [finding["code"] for finding in record["findings"]] == ["opening-not-as-named"]
    assert record["findings"][0]["severity"] == "caution"
    assert record["findings"][0]["where"] == "die vee-16-80"
    assert record["rows"]["dies"] == 24
    assert run(["shop", "check", str(folder), "--format", "csv"]) == 0
    assert '"opening-not-as-named"' in capsys.readouterr().out


@pytest.mark.parametrize("place", ["missing", "file"])
def test_check_of_what_is_no_folder(capsys: Capture, tmp_path: Path, place: str) -> None:
    (tmp_path / "file").write_text("x", encoding="utf-8")
    assert run(["shop", "check", str(tmp_path / place)]) == 2
    assert "is no folder" in capsys.readouterr().err


@pytest.mark.parametrize(
    "arguments", [["shop", "list"], ["shop", "copy"], ["shop", "lists"], ["shop", "list", "a", "b"]]
)
def test_wrong_usage(capsys: Capture, arguments: list[str]) -> None:
    assert run(arguments) == 2
    out, err = capsys.readouterr()
    assert out == "" and "Traceback" not in err and err


def test_a_closed_pipe_ends_quietly() -> None:
    script = f'"{sys.executable}" -m flangewise shop list dies --format json | head -c 10'
    done = subprocess.run(["bash", "-c", script], capture_output=True, check=False, env={**os.environ}, timeout=60)
    assert done.stdout == b'{"schema_v'
    assert done.stderr == b""
