"""`flat`: the blank as text, JSON, CSV and DXF, by the command's real entry point."""

from __future__ import annotations

import csv
import io
import json
import math
import subprocess
import sys
from pathlib import Path
from typing import Any

import ezdxf
import pytest

EXAMPLES = Path(__file__).parents[3] / "examples"
ZED = str(EXAMPLES / "parts" / "zed.yaml")
PART = """\
part: {name}
material: DC01
thickness: 2
section:
  length: 100
  legs: {legs}
  bends: {bends}
"""


def part_file(folder: Path, name: str, legs: str = "[40, 60]", bends: str = "[90]") -> str:
    path = folder / f"{name}.yaml"
    path.write_text(PART.format(name=name, legs=legs, bends=bends))
    return str(path)


def test_the_record_has_the_keys_of_the_manual(told: Any) -> None:
    status, out, err = told("flat", ZED, "--format", "json")
    assert (status, err) == (0, "")
    (line,) = out.splitlines()
    record = json.loads(line)
    assert list(record)[:2] == ["schema_version", "part"]
    assert record.keys() >= {"schema_version", "part", "blank", "bends", "findings"}
    assert record["blank"].keys() >= {"developed_mm", "along_bends_mm", "area_mm2", "mass_kg"}
    for bend in record["bends"]:
        assert bend.keys() >= {
            *("bend", "line_mm", "zone_mm", "turn_deg", "toward"),
            *("inside_radius_mm", "allowance_mm", "deduction_mm", "allowance_from"),
        }
    for finding in record["findings"]:
        assert finding.keys() >= {"severity", "code", "where", "text"}


def test_the_numbers_agree_with_each_other(told: Any) -> None:
    """Legs 25/60/25, mould line to mould line: developed is legs less deductions; lines stand amid their zones."""
    record = json.loads(told("flat", ZED, "--format", "json")[1])
    blank, bends = record["blank"], record["bends"]
    assert blank["developed_mm"] == pytest.approx(110 - sum(bend["deduction_mm"] for bend in bends), abs=1e-5)
    assert blank["along_bends_mm"] == 180.0
    holes_mm2 = 2 * math.pi * 6.5**2 / 4
    assert blank["area_mm2"] == pytest.approx(blank["developed_mm"] * 180 - holes_mm2, abs=1e-2)
    assert blank["mass_kg"] == pytest.approx(blank["area_mm2"] * 2 * 7.85e-6, rel=1e-3)
    assert [bend["bend"] for bend in bends] == [1, 2]
    assert [bend["toward"] for bend in bends] == [True, False]
    for bend in bends:
        begins, ends = bend["zone_mm"]
        assert bend["line_mm"] == pytest.approx((begins + ends) / 2, abs=1e-5)
        assert ends - begins == pytest.approx(bend["allowance_mm"], abs=1e-5)


def test_an_offset_has_two_lines_of_one_bend(told: Any) -> None:
    record = json.loads(told("flat", str(EXAMPLES / "parts" / "offset.yaml"), "--format", "json")[1])
    assert [bend["bend"] for bend in record["bends"]] == ["1a", "1b"]
    assert [bend["toward"] for bend in record["bends"]] == [True, False]


def test_every_example_has_a_blank_and_a_dxf(told: Any, tmp_path: Path) -> None:
    folder = tmp_path / "out" / "dxf"
    status, out, _ = told("flat", str(EXAMPLES / "parts"), "--dxf", str(folder), "--format", "json")
    records = [json.loads(line) for line in out.splitlines()]
    assert status == 0
    assert len(records) == len(list((EXAMPLES / "parts").glob("*.yaml"))) >= 8
    for record in records:
        assert record["blank"]["developed_mm"] > 0
        assert all(each["severity"] != "refuse" for each in record["findings"])
    assert sorted(path.name for path in folder.iterdir()) == sorted(f"{record['part']}.dxf" for record in records)
    for path in folder.iterdir():
        auditor = ezdxf.readfile(path).audit()  # type: ignore[attr-defined]
        assert not auditor.errors and not auditor.fixes


def test_a_refused_part_leaves_with_1_and_still_has_its_blank(told: Any) -> None:
    status, out, _ = told("flat", str(EXAMPLES / "refused"), "--format", "json")
    record = json.loads(out)
    assert status == 1
    assert record["blank"]["developed_mm"] > 0
    assert any(each["severity"] == "refuse" for each in record["findings"])


def test_where_the_radius_formed_leaves_no_blank_its_numbers_are_null(told: Any, tmp_path: Path) -> None:
    """Legs of 2.5 pass without a radius asked for; any die that takes 2 mm sheet forms more than 0.5."""
    status, out, err = told("flat", part_file(tmp_path, "stub", "[2.5, 60]"), "--format", "json")
    record = json.loads(out)
    assert (status, err) == (1, "")
    assert (record["blank"], record["bends"]) == (None, [])
    assert [each["code"] for each in record["findings"] if each["severity"] == "refuse"]


def test_text_goes_to_standard_output_and_findings_to_standard_error(told: Any) -> None:
    status, out, err = told("flat", ZED)
    assert status == 0
    assert "rain-gauge-foot" in out and "din-6935" in out
    assert "toward the marked face or away from it" in out and "  toward " in out and "  away " in out
    assert err.splitlines()[0].startswith("the built-in example shop is used")
    assert [line for line in (*out.splitlines(), err.splitlines()[0]) if len(line) > 80] == []
    assert all(not line.startswith(("note:", "caution:")) for line in out.splitlines())


def test_a_name_of_a_file_is_no_folder_for_drawings(told: Any, tmp_path: Path) -> None:
    status, out, err = told("flat", ZED, "--dxf", str(tmp_path / "zed.dxf"))
    assert (status, out) == (2, "") and "--dxf takes a folder" in err and not (tmp_path / "zed.dxf").exists()


def test_text_follows_the_units(told: Any) -> None:
    in_mm, in_inch = told("flat", ZED)[1], told("--units", "inch", "flat", ZED)[1]
    assert "180 mm" in in_mm and " in" not in in_mm.replace("inside", "")
    assert "7.087 in" in in_inch and " mm " not in in_inch


def test_json_is_in_mm_whatever_the_units(told: Any) -> None:
    assert told("--units", "inch", "flat", ZED, "--format", "json")[1] == told("flat", ZED, "--format", "json")[1]


def test_quiet_says_nothing_but_faults(told: Any, tmp_path: Path) -> None:
    _, out, err = told("--quiet", "flat", ZED)
    assert out and err == ""
    _, _, err = told("--quiet", "flat", ZED, str(tmp_path / "no.yaml"))
    assert err == f"{tmp_path / 'no.yaml'}: file: does not exist, give a file that can be read\n"


def test_csv_has_a_head_and_a_row_a_part(told: Any, tmp_path: Path) -> None:
    for name in ("00123", "1-2", "-dash"):
        part_file(tmp_path, name)
    status, out, _ = told("flat", str(tmp_path), "--format", "csv")
    rows = list(csv.DictReader(io.StringIO(out)))
    assert status == 0
    # What a spreadsheet would take for a formula has an apostrophe in front.
    assert sorted(row["part"] for row in rows) == ["'-dash", "00123", "1-2"]
    assert all(float(row["developed_mm"]) == pytest.approx(96.4, abs=0.5) for row in rows)
    assert rows[0]["refused"] == "false"


def test_the_same_part_gives_the_same_dxf(told: Any, tmp_path: Path) -> None:
    for folder in ("a", "b"):
        told("flat", ZED, "--dxf", str(tmp_path / folder))
    one, other = (next((tmp_path / folder).iterdir()).read_bytes() for folder in ("a", "b"))
    assert one == other


def test_a_dxf_folder_that_is_a_file(told: Any, tmp_path: Path) -> None:
    (tmp_path / "taken").write_text("x")
    status, _, err = told("flat", ZED, "--dxf", str(tmp_path / "taken"))
    assert status == 2
    assert "Traceback" not in err and str(tmp_path / "taken") in err


def test_a_bad_file_stops_no_other_and_the_highest_status_wins(told: Any, tmp_path: Path) -> None:
    part_file(tmp_path, "a")
    (tmp_path / "b.yaml").write_text("part: b\nmaterial: DC10\n")
    part_file(tmp_path, "c")
    status, out, err = told("--quiet", "flat", str(tmp_path), "--format", "json")
    assert status == 2
    assert [json.loads(line)["part"] for line in out.splitlines()] == ["a", "c"]
    assert len(err.splitlines()) == 3 and "did you mean 'DC01'?" in err


def test_two_parts_of_one_name_are_a_fault_before_any_work(told: Any, tmp_path: Path) -> None:
    part_file(tmp_path, "a")
    (tmp_path / "again.yaml").write_text((tmp_path / "a.yaml").read_text())
    status, out, err = told("flat", str(tmp_path), "--format", "json", "--dxf", str(tmp_path / "dxf"))
    assert (status, out) == (2, "")
    assert "the name 'a' is also that of" in err
    assert not (tmp_path / "dxf").exists()


@pytest.mark.parametrize("args", [["flat"], ["flat", "--format", "xml", ZED], ["flat", ZED, "--dfx", "x"]])
def test_wrong_usage_leaves_with_2(told: Any, args: list[str]) -> None:
    status, out, err = told(*args)
    assert (status, out) == (2, "")
    assert "Traceback" not in err and err


def test_standard_input_and_a_process_of_its_own() -> None:
    done = subprocess.run(
        [sys.executable, "-m", "flangewise", "flat", "-", "--format", "json"],
        input=PART.format(name="piped", legs="[40, 60]", bends="[90]"),
        capture_output=True,
        text=True,
        check=True,
    )
    assert json.loads(done.stdout)["part"] == "piped"
    assert done.stderr == ""


def test_a_reader_that_goes_away_is_left_quietly(tmp_path: Path) -> None:
    for index in range(4):
        part_file(tmp_path, f"p{index}")
    command = f"'{sys.executable}' -m flangewise --quiet flat '{tmp_path}' | head -c 1"
    done = subprocess.run(["bash", "-c", command], capture_output=True, text=True, check=True)
    assert done.stderr == ""


def test_a_link_in_the_folder_is_replaced_and_told(told: Any, tmp_path: Path) -> None:
    elsewhere, place = tmp_path / "elsewhere.dxf", tmp_path / "out" / "rain-gauge-foot.dxf"
    elsewhere.write_text("not ours")
    place.parent.mkdir()
    place.symlink_to(elsewhere)
    status, _, err = told("flat", ZED, "--dxf", str(place.parent))
    assert (status, elsewhere.read_text(), place.is_symlink()) == (0, "not ours", False)
    assert f"{place} was a link to {elsewhere}" in err
    assert "link" not in told("flat", ZED, "--dxf", str(place.parent))[2]
