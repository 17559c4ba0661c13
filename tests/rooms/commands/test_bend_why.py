"""`--why`: every number with formula, inputs and source; the plain ones recompute."""

from __future__ import annotations

import json
import math
import re

import pytest

from flangewise import commands

BEND = ["bend", "--material", "DC01", "--thickness", "2", "--turn", "60"]
NUMBERS = {
    "allowance_mm", "k_factor", "setback_mm", "deduction_mm", "formed_radius_mm", "loaded_turn_deg", "springback_deg",
    "depth_mm", "deg_per_mm", "force_kn_per_m", "end_force_kn_per_m", "limit_force_kn_per_m", "force_kn", "min_leg_mm",
    "die", "die_opening_mm", "included_deg", "spread_deg",
}  # fmt: skip


def told(capsys: pytest.CaptureFixture[str], *more: str) -> tuple[dict[str, dict[str, str]], dict[str, object]]:
    """The entries by key, and the record."""
    status = commands.run([*BEND, *more, "--why", "--format", "json"])
    record = json.loads(capsys.readouterr().out)
    assert status == 0
    return {entry["key"]: entry for entry in record["why"]}, record


def test_every_number_is_told_with_all_four_things(capsys: pytest.CaptureFixture[str]) -> None:
    entries, _ = told(capsys, "--length", "500")
    assert set(entries) >= NUMBERS
    for entry in entries.values():
        assert all(entry[part] not in ("", "–") for part in ("value", "formula", "inputs", "source")), entry


def test_the_inputs_recompute_the_value(capsys: pytest.CaptureFixture[str]) -> None:
    entries, record = told(capsys, "--radius", "3")
    radius, thickness, turn = (float(n) for n in re.findall(r"[\d.]+", entries["setback_mm"]["inputs"])[:3])
    setback = (radius + thickness) * math.tan(math.radians(turn) / 2)
    assert record["setback_mm"] == pytest.approx(setback, abs=1e-6)
    din = math.radians(turn) * (radius + (0.65 + 0.5 * math.log10(radius / thickness)) * thickness / 2)
    assert record["allowance_mm"] == pytest.approx(din, abs=1e-6)
    assert record["deduction_mm"] == pytest.approx(2 * setback - din, abs=1e-6)


@pytest.mark.parametrize(
    ("rule", "source"),
    [
        ("din-6935", "DIN 6935"),
        ("handbook-medium", "p. 1421"),
        ("faa", "FAA-H-8083-31"),
        ("textbook", "Kalpakjian"),
    ],
)
def test_a_rule_is_told_with_its_source(capsys: pytest.CaptureFixture[str], rule: str, source: str) -> None:
    entries, _ = told(capsys, "--rule", rule)
    assert source in entries["allowance_mm"]["source"]


def test_a_k_factor_given_is_its_own_source(capsys: pytest.CaptureFixture[str]) -> None:
    entries, _ = told(capsys, "--k-factor", "0.4")
    assert entries["k_factor"]["value"] == "0.4" and "given" in entries["allowance_mm"]["source"]


def test_which_formula_set_the_limit_is_told(capsys: pytest.CaptureFixture[str]) -> None:
    commands.run(
        [
            "bend",
            "--material",
            "304",
            "--thickness",
            "2",
            "--turn",
            "60",
            "--die-opening",
            "20",
            "--why",
            "--format",
            "json",
        ]
    )
    record = json.loads(capsys.readouterr().out)
    entry = {each["key"]: each for each in record["why"]}["limit_force_kn_per_m"]
    assert entry["formula"] == "1.43 Rm t²/V" and "chart" in entry["source"]


def test_the_hand_formulas_stand_beside_the_model(capsys: pytest.CaptureFixture[str]) -> None:
    """Within 0.75 to 1.15 and 0.8 to 1.25 of each other at 90, V 8 t; anything else is a mistake in one of them."""
    commands.run([*BEND[:5], "--turn", "90", "--die-opening", "16", "--why", "--format", "json"])
    record = json.loads(capsys.readouterr().out)
    entries = {each["key"]: each for each in record["why"]}
    force = float(entries["by hand: force"]["value"].split()[0])
    springback = float(entries["by hand: springback"]["value"].rstrip("°"))
    assert 0.75 <= record["force_kn_per_m"] / force <= 1.15
    assert 0.8 <= record["springback_deg"] / springback <= 1.25


def test_in_text_it_follows_the_answer(capsys: pytest.CaptureFixture[str]) -> None:
    commands.run(["--units", "inch", *BEND[:4], "2mm", *BEND[5:], "--why"])
    out = capsys.readouterr().out
    assert out.index("springs back") < out.index("deduction_mm = ") and " in" in out[out.index("deduction_mm") :]


def test_a_bend_no_tools_make_tells_what_it_can(capsys: pytest.CaptureFixture[str]) -> None:
    refused = [*BEND[:5], "--turn", "100", "--die", "vee-12-85", "--punch", "acute-30", "--radius", "2", "--why"]
    assert commands.run([*refused, "--format", "json"]) == 1
    record = json.loads(capsys.readouterr().out)
    assert [entry["key"] for entry in record["why"]] == ["included_deg", "die", "die_opening_mm"]


def test_no_line_is_wider_than_a_terminal(capsys: pytest.CaptureFixture[str]) -> None:
    commands.run([*BEND, "--turn", "90", "--why"])
    lines = capsys.readouterr().out.splitlines()
    assert max(map(len, lines)) <= 80
    # What goes on stands under where its own text began.
    starts = [line for line in lines if line.startswith("  after ")]
    assert len(starts) > 10 and any(line.startswith(" " * len("  after ")) for line in lines)
