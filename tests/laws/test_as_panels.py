"""A part written as a section and as a panel: the same blank, the same plan hit by hit, the same drawing."""

from __future__ import annotations

import io
import json
from pathlib import Path
from typing import Any

import ezdxf
import pytest

from flangewise.commands import run

from ..how_many import one_in
from .as_panels import as_panel, sections

# Of the gutter's tools a narrow punch, fourth best of all, is not among those that panels are planned with.
OTHER_TOOLS = {"gutter"}
KEYS = ("bends", "hit", "marked_face", "punch", "punch_turned", "die", "finished_deg")
FIGURES = ("depth_mm", "bend_to_deg", "force_kn")
NAMES = sorted(sections().keys() - OTHER_TOOLS)


def planned(name: str, kind: str, folder: Path, capfd: pytest.CaptureFixture[str]) -> dict[str, Any]:
    """Its plan; its drawing lies in the folder."""
    data = sections()[name]
    file = folder / f"{name}.yaml"
    file.write_text(json.dumps(data if kind == "section" else as_panel(data)))
    capfd.readouterr()
    assert run(["--quiet", "plan", str(file), "--format", "json"]) == 0
    found: dict[str, Any] = json.loads(capfd.readouterr().out)
    assert run(["--quiet", "flat", str(file), "--dxf", str(folder)]) == 0
    return found


def placed(file: Path) -> list[tuple[Any, ...]]:
    """What a drawing holds, each piece with its layer and its corners, whichever is written first."""
    drawing = ezdxf.read(io.StringIO(file.read_text()))
    found = []
    for piece in drawing.modelspace():
        if piece.dxftype() == "TEXT":
            continue
        if piece.dxftype() == "LINE":
            ends = [tuple(round(value, 4) for value in tuple(point)[:2]) for point in (piece.dxf.start, piece.dxf.end)]
        else:
            ends = [tuple(round(value, 4) for value in tuple(point)[:2]) for point in piece.get_points()]
        found.append((piece.dxf.layer, piece.dxftype(), *sorted(ends)))
    return sorted(found)


@pytest.mark.parametrize("name", NAMES[:: one_in(4)])
def test_a_part_is_the_same_written_either_way(name: str, tmp_path: Path, capfd: pytest.CaptureFixture[str]) -> None:
    one, other = tmp_path / "section", tmp_path / "panel"
    one.mkdir()
    other.mkdir()
    section, panel = planned(name, "section", one, capfd), planned(name, "panel", other, capfd)
    assert panel["blank"]["area_mm2"] == pytest.approx(section["blank"]["area_mm2"], abs=1e-3)
    assert len(panel["steps"]) == len(section["steps"])
    # Which of two sides alike comes first is open.
    hits = [sorted(plan["steps"], key=lambda step: (step["bends"], step["hit"])) for plan in (section, panel)]
    for ours, theirs in zip(*hits, strict=True):
        assert [ours[key] for key in KEYS] == [theirs[key] for key in KEYS]
        assert [ours[key] for key in FIGURES] == pytest.approx([theirs[key] for key in FIGURES], abs=1e-6)
        x_mm = [step["stops"]["x_mm"] for step in (ours, theirs)]
        assert x_mm == [None, None] or x_mm[0] == pytest.approx(x_mm[1], abs=0.01)
    assert placed(next(one.glob("*.dxf"))) == placed(next(other.glob("*.dxf")))
