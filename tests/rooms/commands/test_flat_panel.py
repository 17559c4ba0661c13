"""Panels through the commands: `flat` and `check` work them out, what needs an order says so in one line."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path
from typing import Any

import ezdxf
import pytest

EXAMPLES = Path(__file__).parents[3] / "examples"
PANELS = EXAMPLES / "panels"
PAN = str(PANELS / "collector-pan.yaml")
ZED = str(EXAMPLES / "parts" / "zed.yaml")
# What a cut-out takes of a bend line, by part and bend: the window of 20 in the drawn one.
PARTED_MM = {("sun-shield-arm", 4): 20.0}
NAMES = sorted(file.stem for file in PANELS.glob("*.yaml"))


def test_there_are_examples_of_panels() -> None:
    assert len(NAMES) >= 4


@pytest.mark.parametrize("name", NAMES)
def test_an_example_has_a_blank_and_tools_for_every_bend(name: str, told: Any, tmp_path: Path) -> None:
    file = str(PANELS / f"{name}.yaml")
    status, out, err = told("flat", file, "--format", "json", "--dxf", str(tmp_path))
    assert (status, err) == (0, "")
    record = json.loads(out)
    assert record["blank"].keys() == {
        *("developed_mm", "along_bends_mm", "area_mm2", "mass_kg", "size_mm", "corner_mm"),
    }  # fmt: skip
    assert (record["blank"]["developed_mm"], record["blank"]["along_bends_mm"]) == (None, None)
    assert len(record["bends"]) >= 4
    # An offset has two lines, as of a section.
    numbers = [int(str(bend["bend"]).rstrip("ab")) for bend in record["bends"]]
    assert numbers == sorted(numbers) and set(numbers) == set(range(1, max(numbers) + 1))
    for number, bend in zip(numbers, record["bends"], strict=True):
        assert (numbers.count(number) == 2) == (str(bend["bend"]) != str(number))
        assert (bend["line_mm"], bend["zone_mm"]) == (None, None)
        (x, y), (to_x, to_y) = bend["line_ends_mm"]
        on_line_mm = bend["length_mm"] + PARTED_MM.get((name, number), 0.0)
        assert on_line_mm == pytest.approx(((to_x - x) ** 2 + (to_y - y) ** 2) ** 0.5, abs=1e-5)
        # The force of a bend is that of its own line.
        assert bend["force_kn"] == pytest.approx(bend["force_kn_per_m"] * bend["length_mm"] / 1000, abs=1e-3)
        assert bend["punch"] and bend["die"]
    (drawing,) = tmp_path.glob("*.dxf")
    document = ezdxf.readfile(drawing)
    assert not document.audit().has_errors
    lines = document.modelspace().query("LINE")
    assert len(lines) == len(record["bends"])
    assert {line.dxf.layer for line in lines} <= {"BEND-TOWARD", "BEND-AWAY"}


def test_the_text_names_each_bend_s_face_and_tools(told: Any) -> None:
    status, out, _ = told("--quiet", "flat", PAN)
    assert status == 0
    rows = [line.split() for line in out.splitlines() if line[:1].isdigit()]
    assert [row[1] for row in rows] == ["near", "right", "far", "left"]
    assert "along the base × across it" in out
    inch = told("--units", "inch", "--quiet", "flat", PAN)[1]
    assert "line from (inch)" in inch


def test_a_table_has_more_columns_only_where_there_are_panels(told: Any) -> None:
    plain = next(csv.reader(io.StringIO(told("flat", ZED, "--format", "csv")[1])))
    rows = list(csv.DictReader(io.StringIO(told("flat", ZED, PAN, "--format", "csv")[1])))
    assert list(rows[0])[: len(plain)] == plain
    section, panel = rows
    assert section["faces"] == "" and section["developed_mm"] != ""
    assert panel["developed_mm"] == "" and json.loads(panel["faces"]) == ["near", "right", "far", "left"]
    assert len(json.loads(panel["forces_kn"])) == 4


def test_the_round_reliefs_of_the_pan_are_arcs_in_its_drawing(told: Any, tmp_path: Path) -> None:
    assert told("--quiet", "flat", PAN, "--dxf", str(tmp_path))[0] == 0
    space = ezdxf.readfile(tmp_path / "rain-gauge-collector-pan.dxf").modelspace()
    (outline,) = [each for each in space.query("LWPOLYLINE") if each.dxf.layer == "CUT"]
    bulges = [bulge for *_, bulge in outline.get_points("xyb") if bulge]
    # Three quarters of a circle, clockwise: minus the tangent of 270/4 degrees.
    assert bulges == pytest.approx([-2.414214] * 4, abs=1e-5)


def test_check_tells_the_findings_of_a_panel(told: Any, tmp_path: Path) -> None:
    part = tmp_path / "p.yaml"
    part.write_text(
        "part: p\nmaterial: DC01\nthickness: 2\n"
        "panel: {base: [300, 200], flanges: {near: {height: 40, bend: 90, left: {height: 20, bend: 90}}}}\n"
    )
    status, out, _ = told("check", str(part), "--format", "json")
    assert status == 1
    assert [each["code"] for each in json.loads(out)["findings"] if each["severity"] == "refuse"] == ["relief-missing"]
    part.write_text(part.read_text().replace("height: 40", "height: 3"))
    status, out, _ = told("check", str(part), "--format", "json")
    found = json.loads(out)["findings"]
    assert status == 1
    assert "flange-inside-bends" in [each["code"] for each in found]
    assert "leg-too-short" in [each["code"] for each in found]
    status, out, _ = told("flat", str(part), "--format", "json", "--dxf", str(tmp_path))
    assert (status, json.loads(out)["blank"], list(tmp_path.glob("*.dxf"))) == (1, None, [])


def test_a_section_beside_a_panel_is_planned_with_it(told: Any) -> None:
    status, out, err = told("--quiet", "plan", ZED, PAN, "--format", "json")
    assert (status, err) == (0, "")
    assert [json.loads(line)["part"] for line in out.splitlines()] == [
        json.loads(told("flat", file, "--format", "json")[1])["part"] for file in (ZED, PAN)
    ]


def test_of_several_machines_the_first_with_tools_for_every_bend_is_taken(told: Any, tmp_path: Path) -> None:
    """A bend of 1200 does not go on a bed of 900."""
    part = tmp_path / "p.yaml"
    part.write_text(
        "part: p\nmaterial: DC01\nthickness: 2\nmachine: [bench-310, mid-740]\n"
        "panel: {base: [1200, 400], flanges: {near: {height: 60, bend: 90}}}\n"
    )
    status, out, _ = told("flat", str(part), "--format", "json")
    assert (status, json.loads(out)["machine"]) == (0, "mid-740")
    part.write_text(part.read_text().replace("[bench-310, mid-740]", "bench-310"))
    status, out, _ = told("flat", str(part), "--format", "json")
    assert (status, json.loads(out)["machine"]) == (1, "bench-310")
