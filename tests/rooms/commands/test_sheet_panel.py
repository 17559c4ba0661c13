"""A panel's sheet and the pictures of its hits through the commands."""

from __future__ import annotations

import io
import json
import re
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

from pypdf import PdfReader

PANELS = Path(__file__).parents[3] / "examples" / "panels"
PAN = str(PANELS / "collector-pan.yaml")


def test_a_panel_s_sheet_is_made_once_and_then_kept(told: Any, tmp_path: Path) -> None:
    status, out, err = told("--quiet", "sheet", PAN, "-o", str(tmp_path), "--format", "json")
    assert (status, err) == (0, "")
    record = json.loads(out)
    assert (record["status"], record["part"], record["pages"]) == ("made", "rain-gauge-collector-pan", 3)
    made = (tmp_path / "rain-gauge-collector-pan.pdf").read_bytes()
    # Plan and blank ride inside.
    files = PdfReader(io.BytesIO(made)).attachments
    (plan,) = files["rain-gauge-collector-pan.plan.json"]
    assert [step["step"] for step in json.loads(plan)["steps"]] == [1, 2, 3, 4]
    assert b"BEND-TOWARD" in files["rain-gauge-collector-pan.dxf"][0]
    again = json.loads(told("--quiet", "sheet", PAN, "-o", str(tmp_path), "--format", "json")[1])
    assert again["status"] == "kept"
    assert (tmp_path / "rain-gauge-collector-pan.pdf").read_bytes() == made


def test_a_panel_that_is_refused_gets_no_sheet(told: Any, tmp_path: Path) -> None:
    refused = str(PANELS.parent / "refused-panels" / "rack-corner-plate-overlap.yaml")
    status, _, err = told("sheet", refused, "-o", str(tmp_path), "--html")
    assert status == 1 and list(tmp_path.iterdir()) == []
    assert "Inset one of them" in err


def test_the_hits_of_a_panel_are_drawn_at_the_stops_and_bent(told: Any, tmp_path: Path) -> None:
    status, _, err = told("--quiet", "plan", PAN, "--draw", str(tmp_path))
    assert (status, err) == (0, "")
    names = sorted(path.name for path in tmp_path.iterdir())
    part = "rain-gauge-collector-pan"
    assert names == sorted(f"{part}.step-{step}{bent}.svg" for step in range(1, 5) for bent in ("", ".bent"))
    looked_at = [path.read_text() for path in sorted(tmp_path.iterdir())]
    assert len(looked_at) == 8
    for text in looked_at:
        ElementTree.fromstring(text.encode())
        # Tools in two greys, the part white, nothing coloured.
        fills = set(re.findall(r'(?:stroke|fill)="([^"]+)"', text))
        assert fills <= {"none", "black", "white", "#ececec", "#cfcfcf"} and {"#ececec", "#cfcfcf"} <= fills
