"""`check`: only the findings of part files."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path
from typing import Any

import pytest

EXAMPLES = Path(__file__).parents[3] / "examples"
REFUSED = str(EXAMPLES / "refused" / "too-strong.yaml")
HOLE = """\
part: hole
material: DC01
thickness: 2
section:
  length: 100
  legs: [40, 60]
  bends: [{turn: 90, k_factor: 0.42}]
  holes:
    - {leg: 2, at: [50, 8], diameter: 5}
tolerances: {angle: 5}
"""


@pytest.fixture
def hole(tmp_path: Path) -> str:
    path = tmp_path / "hole.yaml"
    path.write_text(HOLE)
    return str(path)


def test_a_part_without_findings(told: Any, hole: str) -> None:
    Path(hole).write_text(HOLE.replace("[50, 8]", "[50, 40]"))
    assert told("check", hole, "--format", "csv")[1].count("\n") == 1
    assert told("--quiet", "check", hole) == (0, "hole: no findings\n", "")


def test_text_counts_on_standard_output_and_tells_on_standard_error(told: Any, hole: str) -> None:
    status, out, err = told("check", hole)
    assert status == 0
    assert out.startswith("hole: 1 caution")
    assert any(line.startswith("caution: hole: hole 1: ") for line in err.splitlines())


def test_a_refusal_leaves_with_1_and_says_why(told: Any) -> None:
    status, out, err = told("check", REFUSED)
    assert status == 1
    assert out.startswith("pole-shoe: 1 refusal")
    (refused,) = [line for line in err.splitlines() if line.startswith("refused: ")]
    assert "bench-310" in refused and "310 kN" in refused


def test_the_same_part_passes_on_the_larger_machine(told: Any, tmp_path: Path) -> None:
    other = tmp_path / "other.yaml"
    other.write_text(Path(REFUSED).read_text().replace("bench-310", "mid-740"))
    assert told("--quiet", "check", str(other))[0] == 0


def test_json_has_one_line_a_part(told: Any, hole: str) -> None:
    status, out, err = told("check", hole, REFUSED, "--format", "json")
    records = [json.loads(line) for line in out.splitlines()]
    assert (status, err) == (1, "")
    assert [record["part"] for record in records] == ["hole", "pole-shoe"]
    assert all(record["schema_version"] == 1 for record in records)
    near = next(each for each in records[0]["findings"] if each["code"] == "hole-near-bend")
    assert (near["severity"], near["where"]) == ("caution", "hole 1")
    assert near["text"].endswith("Common practice keeps 4 mm clear")


def test_the_gravest_come_first(told: Any) -> None:
    record = json.loads(told("check", REFUSED, "--format", "json")[1])
    severities = [each["severity"] for each in record["findings"]]
    assert severities == sorted(severities, key=["refuse", "caution", "note"].index)


def test_csv_has_one_row_a_finding(told: Any, hole: str) -> None:
    _, out, _ = told("check", hole, "--format", "csv")
    rows = list(csv.DictReader(io.StringIO(out)))
    assert [(row["part"], row["severity"], row["code"]) for row in rows if row["severity"] == "caution"] == [
        ("hole", "caution", "hole-near-bend")
    ]


def test_findings_are_those_of_the_plan(told: Any, hole: str) -> None:
    """What is found on the way to a plan is told before one is asked for."""
    checked = json.loads(told("check", hole, "--format", "json")[1])["findings"]
    planned = json.loads(told("plan", hole, "--format", "json")[1])["findings"]
    assert checked == planned


def test_every_example_can_be_made(told: Any) -> None:
    status, out, _ = told("--quiet", "check", str(EXAMPLES / "parts"))
    assert status == 0
    assert len(out.splitlines()) >= 8
