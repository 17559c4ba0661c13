"""`bend` and `tryout` by label, heading, column and key, held to sums by hand; and what is recorded."""

from __future__ import annotations

import json
import math
import re
from pathlib import Path
from typing import Any

import pytest
import yaml

from flangewise.shop import copy_shop

from ..house.running import run
from .read_back import (
    INCH_MM,
    csv_rows,
    file_of,
    force_kn,
    labels,
    number,
    out_of,
    plans,
    printed_length_mm,
    table_of,
)

ONE_BEND = ("bend", "--material", "DC01", "--thickness", "2")
BENDS = [("--turn", "90"), ("--turn", "60"), ("--included", "45"), ("--turn", "90", "--k-factor", "0.4")]
TRYOUT = ("--included", "1=91.5", "--turn", "2=89", "--leg", "1=25.3", "--leg", "2=60.4", "--leg", "3=25.2")


def told(*arguments: str) -> dict[str, Any]:
    """The JSON of a command that could use its input."""
    return json.loads(out_of(*arguments, "--format", "json"))


@pytest.mark.parametrize("asked", BENDS)
def test_the_numbers_of_a_bend_are_those_of_the_sums_by_hand(asked: tuple[str, ...]) -> None:
    """Allowance (r + K t) turn, setback (r + t) tan(turn/2), deduction twice the setback less the allowance."""
    bend = told(*ONE_BEND, *asked)
    radius, k_factor, turn = bend["inside_radius_mm"], bend["k_factor"], math.radians(bend["turn_deg"])
    assert bend["turn_deg"] == (135.0 if asked[0] == "--included" else float(asked[1]))
    assert bend["included_deg"] == 180 - bend["turn_deg"]
    allowance = (radius + k_factor * 2) * turn
    # Above 90 degrees of turn sizes go to the tangent planes: each side is as at a right angle (DIN 6935).
    setback = (radius + 2) * math.tan(turn / 2)
    sized = (radius + 2) * math.tan(min(turn, math.pi / 2) / 2)
    assert bend["allowance_mm"] == pytest.approx(allowance, abs=2e-5)
    assert bend["setback_mm"] == pytest.approx(setback, abs=2e-5)
    assert bend["deduction_mm"] == pytest.approx(2 * sized - allowance, abs=4e-5)
    assert bend["loaded_turn_deg"] == pytest.approx(bend["turn_deg"] + bend["springback_deg"], abs=2e-6)
    assert bend["springback_deg"] > 0
    assert bend["spread_corrected_deg"] < bend["spread_measured_deg"] < bend["spread_deg"]


@pytest.mark.parametrize("units", ["mm", "inch"])
@pytest.mark.parametrize("asked", BENDS)
def test_the_text_and_the_csv_of_a_bend_say_what_its_record_says(asked: tuple[str, ...], units: str) -> None:
    bend = told(*ONE_BEND, *asked, "--length", "250")
    measured = ("bend", "--material", "DC01", "--thickness", "2mm", *asked, "--length", "250mm")
    text = labels(out_of("--units", units, *measured).split("other dies")[0])
    lengths = {
        "inside radius": "inside_radius_mm",
        "allowance": "allowance_mm",
        "setback": "setback_mm",
        "deduction": "deduction_mm",
        "formed radius": "formed_radius_mm",
        "least leg": "min_leg_mm",
        "depth": "depth_mm",
    }
    near = 0.006 if units == "mm" else 0.0006 * INCH_MM
    for label, key in lengths.items():
        first = re.match(r"[\d.]+ (?:mm|in)", text[label])[0]
        assert printed_length_mm(first) == pytest.approx(bend[key], abs=near), label
    assert number(text["bend"].split("turn")[1]) == bend["turn_deg"]
    assert number(text["bend"].split("included")[1]) == bend["included_deg"]
    assert number(text["K factor"]) == pytest.approx(bend["k_factor"], abs=6e-4)
    angle, springs = re.findall(r"([\d.]+)°", text["bend to"])
    assert float(angle) == pytest.approx(180 - bend["loaded_turn_deg"], abs=0.06)
    assert float(springs) == pytest.approx(bend["springback_deg"], abs=0.06)
    assert force_kn(text["peak force"]) == pytest.approx(bend["force_kn_per_m"], rel=0.01)
    assert force_kn(text["at the end"]) == pytest.approx(bend["end_force_kn_per_m"], rel=0.01)
    assert force_kn(text["checked with"]) == pytest.approx(bend["limit_force_kn_per_m"], rel=0.01)
    assert bend["force_kn"] == pytest.approx(bend["force_kn_per_m"] * 0.25, abs=1e-5)
    slope = next(value for label, value in text.items() if label in ("per mm", "per inch"))
    scale = INCH_MM if "inch" in slope or "/in" in slope else 1.0
    assert number(slope) == pytest.approx(bend["deg_per_mm"] * scale, rel=0.01)
    assert text["die"].split(",")[0] == bend["die"] and text["punch"].split(",")[0] == bend["punch"]
    spread = re.findall(r"±([\d.]+)°", text["expected"])
    keys = ("spread_deg", "spread_measured_deg", "spread_corrected_deg")
    assert [float(each) for each in spread] == pytest.approx([bend[key] for key in keys], abs=0.06)
    (row,) = csv_rows(out_of(*ONE_BEND, *asked, "--length", "250", "--format", "csv"))
    for key, value in bend.items():
        if isinstance(value, float):
            assert float(row[key]) == value, key


@pytest.mark.parametrize("units", ["mm", "inch"])
def test_the_text_of_a_first_piece_says_under_each_heading_what_its_record_says(units: str) -> None:
    part = file_of("rain-gauge-foot")
    record, text = told("tryout", part, *TRYOUT), out_of("--units", units, "tryout", part, *TRYOUT)
    scale, near = (1.0, 0.006) if units == "mm" else (INCH_MM, 0.0006)
    unit = "mm" if units == "mm" else "in"
    heads, rows = table_of(text, "bend")
    assert heads[3:] == [f"depth, {unit}", "change", "set", "leg", f"X, {unit}", "change", "set"]
    keys = ["bend", "wanted_included_deg", "measured_included_deg", "depth_mm", "depth_correction_mm", "new_depth_mm"]
    keys += ["leg", "stop_mm", "stop_correction_mm", "new_stop_mm"]
    for row, bend in zip(rows, record["bends"], strict=True):
        for cell, key in zip(row, keys, strict=True):
            each = scale if key.endswith("_mm") else 1.0
            assert number(cell) * each == pytest.approx(bend[key], abs=near * each), key
    heads, rows = table_of(text, "leg")
    keys = ["leg", "wanted_mm", "measured_mm", "at_wanted_angle_mm", "error_mm"]
    for row, leg in zip(rows, record["legs"], strict=True):
        for cell, key in zip(row, keys, strict=True):
            each = scale if key.endswith("_mm") else 1.0
            assert number(cell) * each == pytest.approx(leg[key], abs=near * each), key
    blank = re.search(r"blank ([\d.]+) (?:mm|in): change ([-+][\d.]+), cut ([\d.]+)", text)
    keys = ["developed_mm", "correction_mm", "new_developed_mm"]
    wide = 0.006 if units == "mm" else 0.02
    for cell, key in zip(blank.groups(), keys, strict=True):
        assert float(cell) * scale == pytest.approx(record["blank"][key], abs=wide), key
    evidence = text.split("deduction planned", 1)[1].splitlines()[1:3]
    for line, bend in zip(evidence, record["bends"], strict=True):
        shown = re.split(r"\s{2,}|\s±\s", line.strip())[1:]
        keys = ["planned_deduction_mm", "deduction_mm", "deduction_plus_minus_mm", "k_factor", "k_factor_plus_minus"]
        if bend["deduction_mm"] is not None:
            for cell, key in zip(shown, keys, strict=True):
                each = scale if key.endswith("_mm") else 1.0
                assert number(cell) * each == pytest.approx(bend[key], abs=near * each), key
    for row, bend in zip(csv_rows(out_of("tryout", part, *TRYOUT, "--format", "csv")), record["bends"], strict=True):
        assert all(float(row[key]) == value for key, value in bend.items() if isinstance(value, int | float))


def test_the_first_piece_is_put_right_the_way_that_a_setter_reckons() -> None:
    """Open by 1.5 degrees: deeper by that over the degrees a mm; legs too long: X and blank less by them."""
    plan = plans()["rain-gauge-foot"]
    record = told("tryout", file_of("rain-gauge-foot"), *TRYOUT)
    first, second = record["bends"]
    steps = {step["bends"][0]: step for step in plan["steps"]}
    for bend, error in ((first, -1.5), (second, -1.0)):
        step = steps[bend["bend"]]
        assert bend["error_deg"] == pytest.approx(error)
        for which in ("wanted", "measured"):
            assert bend[f"{which}_turn_deg"] + bend[f"{which}_included_deg"] == 180.0
        # A corner that is open by so much measures so much more.
        assert bend["measured_included_deg"] == pytest.approx(bend["wanted_included_deg"] - error)
        assert bend["depth_mm"] == step["depth_mm"] and bend["stop_mm"] == step["stops"]["x_mm"]
        assert bend["depth_correction_mm"] == pytest.approx(-error * bend["weight"] * step["mm_per_deg"], rel=0.1)
        assert bend["new_depth_mm"] == pytest.approx(bend["depth_mm"] + bend["depth_correction_mm"], abs=2e-6)
        assert bend["new_stop_mm"] == pytest.approx(bend["stop_mm"] + bend["stop_correction_mm"], abs=2e-6)
        assert bend["leg"] == step["correction"]["leg"]
        off = record["legs"][bend["leg"] - 1]["error_mm"]
        assert off > 0.1 and -off * 1.05 <= bend["stop_correction_mm"] <= -off * 0.4
    blank, errors = record["blank"], [leg["error_mm"] for leg in record["legs"]]
    assert -sum(errors) * 1.05 <= blank["correction_mm"] <= -sum(errors) * 0.4
    assert blank["new_developed_mm"] == pytest.approx(blank["developed_mm"] + blank["correction_mm"], abs=2e-6)
    for leg, measured in zip(record["legs"], (25.3, 60.4, 25.2), strict=True):
        assert leg["measured_mm"] == measured
        assert leg["error_mm"] == pytest.approx(leg["at_wanted_angle_mm"] - leg["wanted_mm"], abs=2e-6)
        # An open angle shows an outside leg shorter than it will be: by some hundredths here.
        assert 0 < leg["at_wanted_angle_mm"] - measured < 0.2


def recorded(folder: Path, sizes: str, legs: list[float], longer: float, *readings: str) -> dict[str, Any]:
    """A channel tried and recorded three times over, and what is told before and after."""
    shop, file = folder / "shop", folder / "channel.yaml"
    copy_shop(shop)
    section = {"length": 120, "legs": legs, "bends": [90, 90], "sizes": sizes}
    file.write_text(
        yaml.safe_dump(
            {"part": "channel", "machine": "bench-310", "material": "DC01", "thickness": 2, "section": section}
        )
    )
    ask = ("--quiet", "--shop", str(shop))
    found: dict[str, Any] = {"ask": ask, "file": str(file)}
    found["flat"] = _json(*ask, "flat", str(file))
    found["plan"] = _json(*ask, "plan", str(file))
    measured = [item for number, leg in enumerate(legs, 1) for item in ("--leg", f"{number}={leg + longer}")]
    found["tryout"] = _json(*ask, "tryout", str(file), *readings, *measured, "--lot", "L1", "--record")
    found["again"] = _json(*ask, "tryout", str(file), *readings, *measured, "--lot", "L1", "--record")
    found["flat after"] = _json(*ask, "flat", str(file))
    found["plan after"] = _json(*ask, "plan", str(file))
    return found


def _json(*arguments: str) -> Any:
    status, out, err = run(*arguments, "--format", "json")
    assert status in (0, 1), err
    return json.loads(out)


@pytest.mark.parametrize(("sizes", "legs"), [("outside", [30.0, 60.0, 30.0]), ("inside", [28.0, 56.0, 28.0])])
def test_legs_that_came_out_long_make_the_next_blank_shorter_once(
    sizes: str, legs: list[float], tmp_path: Path
) -> None:
    """0.3 on each of three legs of a right-angled part: the two deductions larger by 0.9 together."""
    found = recorded(tmp_path, sizes, legs, 0.3, "--turn", "1=90", "--turn", "2=90")
    bends = found["tryout"]["bends"]
    assert found["tryout"]["recorded"] == 2 and found["again"]["recorded"] == 0
    rows = csv_rows(re.sub(r"(?m)^#.*\n", "", (tmp_path / "shop" / "measured.csv").read_text(encoding="utf-8")))
    for bend, row in zip(bends, rows, strict=True):
        # Of a normal scatter 95 % lie within 1.96 s.d. Deduction is twice the setback less (r + K t) turn, so that K
        # is off by the deduction's over t turn.
        assert bend["deduction_plus_minus_mm"] == pytest.approx(1.96 * float(row["deduction_sd_mm"]), rel=1e-3)
        by_k = bend["deduction_plus_minus_mm"] / (2 * math.pi / 2)
        assert bend["k_factor_plus_minus"] == pytest.approx(by_k, rel=1e-3)
    shown = sum(bend["deduction_mm"] - bend["planned_deduction_mm"] for bend in bends)
    assert shown == pytest.approx(0.9, abs=0.1)
    before, after = found["flat"]["blank"]["developed_mm"], found["flat after"]["blank"]["developed_mm"]
    assert -0.95 <= after - before <= -0.2
    for one, other in zip(found["flat"]["bends"], found["flat after"]["bends"], strict=True):
        assert 0.1 <= other["deduction_mm"] - one["deduction_mm"] <= 0.48
        assert other["setback_mm"] == pytest.approx(one["setback_mm"], abs=1e-4)
    assert sum(_deductions(found["flat"])) - sum(_deductions(found["flat after"])) == pytest.approx(
        after - before, abs=1e-3
    )
    # The same sheet bent from the bend command is told the same deduction.
    plan = found["plan after"]["steps"][0]
    tools = ("--die", plan["die"], "--punch", plan["punch"])
    bend = _json(*found["ask"], *ONE_BEND, "--turn", "90", *tools)
    assert bend["deduction_mm"] == pytest.approx(_outside(found["flat after"]["bends"][0], sizes), abs=0.02)


def _deductions(flat: dict[str, Any]) -> list[float]:
    return [bend["deduction_mm"] for bend in flat["bends"]]


def _outside(bend: dict[str, Any], sizes: str) -> float:
    """The deduction of outside sizes: of inside sizes it is less by the thickness on each side at a right angle."""
    return bend["deduction_mm"] + (4.0 if sizes == "inside" and bend["deduction_mm"] < 2 else 0.0)


def test_an_angle_that_came_out_open_makes_the_next_depth_deeper_once(tmp_path: Path) -> None:
    """1.5 degrees open: no more than that over the degrees a mm, however often the same piece is told."""
    found = recorded(tmp_path, "outside", [30.0, 60.0, 30.0], 0.0, "--turn", "1=88.5", "--turn", "2=88.5")
    assert found["again"]["recorded"] == 0
    for one, other in zip(found["plan"]["steps"], found["plan after"]["steps"], strict=True):
        change = other["depth_mm"] - one["depth_mm"]
        assert 0.3 * 1.5 * one["mm_per_deg"] <= change <= 1.1 * 1.5 * one["mm_per_deg"]
        assert other["bend_to_deg"] == pytest.approx(one["bend_to_deg"], abs=1.0)


def test_what_would_do_is_true_when_it_is_done(tmp_path: Path) -> None:
    """A part pinned to a die that cannot carry it, and one no pinned tool nor other machine frees."""
    strong = {"part": "shoe", "material": "S355MC", "thickness": 8, "machine": "bench-310"}
    strong["section"] = {"length": 600, "legs": [80, 120], "bends": [90]}
    pinned = {**strong, "part": "pin", "machine": "mid-740", "thickness": 2}
    pinned["section"] = {"length": 100, "legs": [40, 50], "bends": [{"turn": 90, "die": "vee-4-88"}]}
    hopeless = {**strong, "part": "none", "thickness": 10, "machine": "bench-310"}
    hopeless["section"] = {"length": 1400, "legs": [12, 12], "bends": [{"turn": 90, "die": "vee-4-88"}], "radius": 1}
    advised = 0
    for part in (strong, pinned, hopeless):
        record = _planned(part, tmp_path)
        assert record["feasible"] is False
        advice = {each["code"]: each for each in record["findings"] if each["code"].startswith("would-do")}
        for code, each in advice.items():
            advised += 1
            assert _planned(_done(part, code, each["text"], each["where"]), tmp_path)["feasible"], (part["part"], code)
        for code in ("would-do-unpinned", "would-do-machine"):
            works = [
                _planned(_done(part, code, f"on {name} ", None), tmp_path)["feasible"]
                for name in (("mid-740", "long-1450") if code == "would-do-machine" else ("",))
            ]
            if code not in advice and code == "would-do-machine":
                assert not any(works)
    assert advised >= 2


def _planned(part: dict[str, Any], folder: Path) -> dict[str, Any]:
    file = folder / "asked.yaml"
    file.write_text(yaml.safe_dump(part))
    return _json("--quiet", "plan", str(file))


def _done(part: dict[str, Any], code: str, text: str, where: str | None) -> dict[str, Any]:
    """The part with the advice taken."""
    section = dict(part["section"])
    if code == "would-do-machine":
        return {**part, "machine": re.search(r"on (\S+) ", text)[1]}
    if code == "would-do-unpinned":
        section["bends"] = [{"turn": bend["turn"]} if isinstance(bend, dict) else bend for bend in section["bends"]]
    elif code == "would-do-radius":
        section.pop("radius")
    elif code.startswith("would-do-leg"):
        legs = list(section["legs"])
        legs[int(where.split()[1]) - 1] = float(re.findall(r"([\d.]+) mm", text)[0])
        section["legs"] = legs
    return {**part, "section": section}
