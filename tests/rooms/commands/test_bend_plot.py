"""`--plot`: a picture of the stroke, well formed, with its limits and its release in it."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from pathlib import Path

import pytest

from flangewise import commands

BEND = ["--quiet", "bend", "--material", "DC01", "--thickness", "2", "--turn", "90"]


def texts(file: Path) -> list[str]:
    """All text of the picture."""
    return ["".join(element.itertext()) for element in ET.parse(file).iter() if element.tag.endswith("text")]


def test_the_picture_names_its_curves_limits_and_the_end(tmp_path: Path) -> None:
    file = tmp_path / "stroke.svg"
    assert commands.run([*BEND, "--die", "vee-16-80", "--punch", "straight-88", "--plot", str(file)]) == 0
    said = texts(file)
    assert {"force", "turn under load", "turn left when released", "force, kN/m"} <= set(said)
    assert any(text.startswith("springback 1.6") for text in said)
    assert any("vee-16-80" in text for text in said) and any("straight-88" in text for text in said)
    assert re.search(r"3\.8\d? mm", " ".join(said))


def test_the_check_of_austenitic_stainless_is_drawn_in(tmp_path: Path) -> None:
    file = tmp_path / "stroke.svg"
    argv = ["--quiet", "bend", "--material", "1.4301", "--thickness", "2", "--turn", "90", "--die-opening", "20"]
    assert commands.run([*argv, "--plot", str(file)]) == 0
    assert "checked with" in texts(file)


def test_in_inches_the_level_axis_is_in_inches(tmp_path: Path) -> None:
    file = tmp_path / "stroke.svg"
    assert commands.run(["--units", "inch", *BEND[:4], "--thickness", "0.08", "--turn", "90", "--plot", str(file)]) == 0
    assert any(text.endswith("die's top, in") for text in texts(file))


def test_the_same_bend_is_the_same_picture(tmp_path: Path) -> None:
    one, other = tmp_path / "a.svg", tmp_path / "b.svg"
    for file in (one, other):
        commands.run([*BEND, "--plot", str(file)])
    assert one.read_bytes() == other.read_bytes()


def test_a_bend_without_a_stroke_is_not_drawn(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "stroke.svg"
    argv = [*BEND[:6], "--turn", "100", "--die", "vee-12-85", "--punch", "acute-30", "--plot", str(file)]
    assert commands.run(argv) == 2
    assert "--plot" in capsys.readouterr().err and not file.exists()


def test_a_place_that_cannot_be_written_is_one_line(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    blocker = tmp_path / "file"
    blocker.write_text("")
    assert commands.run([*BEND, "--plot", str(blocker / "stroke.svg")]) == 2
    assert len(capsys.readouterr().err.strip().splitlines()) == 1
