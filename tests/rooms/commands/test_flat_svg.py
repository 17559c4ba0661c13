"""The blank drawn in plan: outline to scale, lines by their way, each bend told, sizes as `flat` tells them."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest

EXAMPLES = Path(__file__).parents[3] / "examples"
FILES = [*sorted((EXAMPLES / "panels").glob("*.yaml")), *sorted((EXAMPLES / "parts").glob("h*.yaml"))]


def _read(path: Path) -> tuple[list[tuple[str, str, str]], list[str]]:
    """Fill, dash and way of each path, and all words."""
    root = ElementTree.parse(path).getroot()
    paths = [
        (each.get("fill", ""), each.get("stroke-dasharray", ""), each.get("d", ""))
        for each in root.iter()
        if "d" in each.attrib
    ]
    return paths, [each.text or "" for each in root.iter() if each.tag.endswith("text")]


def _shown(value_mm: float) -> str:
    return f"{value_mm:.2f}".rstrip("0").rstrip(".")


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.stem)
def test_every_bend_is_drawn_by_its_way_and_told(file: Path, told: Any, tmp_path: Path) -> None:
    out = tmp_path / "plan.svg"
    status, text, _ = told("flat", str(file), "--format", "json", "--svg", str(out))
    assert status == 0
    record = json.loads(text)
    paths, words = _read(out)
    bends = record["bends"]
    assert len(bends) >= 1
    # Grey only where a zone is, one each; nothing coloured.
    assert sum(fill == "#ececec" for fill, _, _ in paths) == len(bends)
    assert {fill for fill, _, _ in paths} <= {"", "white", "black", "#ececec"}
    assert set(re.findall(r'(?:stroke|fill)="([^"]+)"', out.read_text())) <= {"none", "black", "white", "#ececec"}
    dashes = {dash for _, dash, _ in paths} - {""}
    assert dashes == {"3 1.5" if bend["toward"] else "6 1.2 0.8 1.2" for bend in bends}
    for bend in bends:
        way = "toward" if bend["toward"] else "away"
        assert f"{bend['bend']}: {bend['turn_deg']:g}° {way}" in words
    sizes = record["blank"].get("size_mm") or [record["blank"][key] for key in ("along_bends_mm", "developed_mm")]
    assert {_shown(size) for size in sizes} <= set(words)


def test_the_pan_tells_how_far_each_line_lies_from_its_edge(told: Any, tmp_path: Path) -> None:
    """t 2, K 0.42, radius 2: the line lies 40 - 3.53894/2 = 38.23 from the edge, the lines are 292 and 192 long."""
    path = tmp_path / "pan.yaml"
    flanges = "all: {height: 40, bend: {turn: 90, k_factor: 0.42, radius: 2}}"
    path.write_text(
        "part: pan\nmaterial: DC01\nthickness: 2\npanel:\n  base: [300, 200]\n  flanges:\n    " + flanges + "\n"
    )
    record = json.loads(told("flat", str(path), "--format", "json", "--svg", str(tmp_path / "drawn"))[1])
    words = _read(tmp_path / "drawn" / "pan.svg")[1]
    radius_mm = record["bends"][0]["inside_radius_mm"]
    deduction_mm = 2 * (radius_mm + 2) - 1.5707963 * (radius_mm + 0.84)
    assert words.count(_shown(40 - deduction_mm / 2)) == 4
    assert words.count(f"{_shown(300 - 2 * (radius_mm + 2))} long") == 2
    assert words.count(f"{_shown(200 - 2 * (radius_mm + 2))} long") == 2


def test_in_inch_the_picture_says_so(told: Any, tmp_path: Path) -> None:
    out = tmp_path / "hat.svg"
    assert told("--units", "inch", "--quiet", "flat", str(EXAMPLES / "parts" / "hat.yaml"), "--svg", str(out))[0] == 0
    assert any("Sizes in inch" in each for each in _read(out)[1])
