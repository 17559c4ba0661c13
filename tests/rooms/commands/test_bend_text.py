"""The answer of `bend` for a person: what was understood, what decides, nothing computed left unsaid."""

from __future__ import annotations

import re

import pytest

from flangewise import commands

from .made import joined

SHEET = ["--material", "DC01", "--thickness", "2"]


def text(capsys: pytest.CaptureFixture[str], *arguments: str, units: str = "mm") -> str:
    commands.run(["--quiet", "--units", units, "bend", *arguments])
    return capsys.readouterr().out


def lines(out: str) -> dict[str, str]:
    """The named lines of an answer."""
    named = (re.split(r"\s{2,}", line, maxsplit=1) for line in out.splitlines() if re.match(r"\S.*\s{2,}\S", line))
    return {pieces[0]: pieces[1] for pieces in named if len(pieces) == 2}


def test_every_number_has_its_line(capsys: pytest.CaptureFixture[str]) -> None:
    said = lines(text(capsys, *SHEET, "--turn", "90", "--length", "500"))
    assert set(said) >= {
        "material", "thickness", "bend", "inside radius", "K factor", "allowance", "setback", "deduction", "die",
        "punch", "formed radius", "least leg", "depth", "bend to", "per mm", "expected", "peak force", "at the end",
        "checked with", "force",
    }  # fmt: skip


def test_values_stand_in_one_column(capsys: pytest.CaptureFixture[str]) -> None:
    out = text(capsys, *SHEET, "--turn", "90", "--die-opening", "16")
    starts = {re.match(r"(\S+( \S+)*\s{2,}|\s+)", line).end() for line in out.splitlines() if line.strip()}  # type: ignore[union-attr]
    assert len(starts) == 1


def test_both_angles_are_said(capsys: pytest.CaptureFixture[str]) -> None:
    assert lines(text(capsys, *SHEET, "--turn", "45"))["bend"] == "turn 45° = included 135°"
    assert lines(text(capsys, *SHEET, "--included", "120"))["bend"] == "turn 60° = included 120°"


@pytest.mark.parametrize(
    ("more", "said"),
    [
        (["--radius", "3"], "as asked"),
        (["--die-opening", "20", "--nose-radius", "0.5"], "the opening decides"),
        (["--die-opening", "16", "--nose-radius", "3"], "the punch nose decides"),
    ],
)
def test_what_decides_the_radius_is_said(capsys: pytest.CaptureFixture[str], more: list[str], said: str) -> None:
    material = ["--material", "1.4301", "--thickness", "2", "--turn", "90"]
    assert said in lines(text(capsys, *material, *more))["inside radius"]


def test_planning_values_and_certificates_are_told_apart(capsys: pytest.CaptureFixture[str]) -> None:
    plain = lines(text(capsys, *SHEET, "--turn", "90"))["material"]
    own = lines(text(capsys, *SHEET, "--turn", "90", "--tensile", "350"))["material"]
    assert "planning values" in plain and "Rm 320" in plain
    assert "certificate values" in own and "Rm 350" in own


def test_which_force_tools_are_checked_with_is_said(capsys: pytest.CaptureFixture[str]) -> None:
    mild = lines(text(capsys, *SHEET, "--turn", "90"))["checked with"]
    stainless = ["--material", "1.4301", "--thickness", "2", "--turn", "90", "--die-opening", "20"]
    assert "by the bend model" in mild
    assert "1.43 Rm t²/V" in lines(text(capsys, *stainless))["checked with"]


def test_a_named_opening_that_is_another_is_said(capsys: pytest.CaptureFixture[str]) -> None:
    assert "named" not in lines(text(capsys, *SHEET, "--turn", "90", "--die", "vee-16-80"))["die"]
    assert "ideal" in lines(text(capsys, *SHEET, "--turn", "90", "--die-opening", "16"))["die"]


def test_what_cannot_be_computed_is_a_dash(capsys: pytest.CaptureFixture[str]) -> None:
    said = lines(text(capsys, *SHEET, "--turn", "100", "--die", "vee-12-85", "--punch", "acute-30"))
    assert said["inside radius"].startswith("–") and said["formed radius"] == "–"
    assert "allowance" not in said


def test_no_length_no_force_in_all(capsys: pytest.CaptureFixture[str]) -> None:
    assert "force" not in lines(text(capsys, *SHEET, "--turn", "90", "--die-opening", "16"))


def test_in_inch_a_force_is_in_ton_with_the_kn_beside(capsys: pytest.CaptureFixture[str]) -> None:
    said = lines(text(capsys, "--material", "DC01", "--thickness", "2mm", "--turn", "90", units="inch"))
    assert said["allowance"].endswith(" in") and re.fullmatch(r"[\d.]+ ton/ft \(\d+ kN/m\)", said["peak force"])
    metric = lines(text(capsys, *SHEET, "--turn", "90"))
    assert float(said["deduction"].split()[0]) * 25.4 == pytest.approx(float(metric["deduction"].split()[0]), abs=0.02)


def test_other_dies_stand_in_a_table_with_why_not(capsys: pytest.CaptureFixture[str]) -> None:
    out = text(capsys, *SHEET, "--turn", "90")
    table = joined(out[out.index("other dies") :]).splitlines()
    assert table[1].split() == ["die", "punch", "radius", "force", "why", "not", "first"]
    assert len(table) >= 6 and any("further from the usual" in row for row in table)


def test_a_refused_die_says_so_in_the_table(capsys: pytest.CaptureFixture[str]) -> None:
    out = text(capsys, "--material", "S355MC", "--thickness", "6", "--turn", "90", "--length", "1500")
    assert "refused: " in out[out.index("other dies") :]
