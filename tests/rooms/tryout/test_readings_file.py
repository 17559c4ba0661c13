"""A file of readings: understood to mm and turns, every fault with its place."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from flangewise.faults import Unusable
from flangewise.tryout import Readings, read_readings

WHOLE: dict[str, Any] = {
    "part": "bracket",
    "revision": "B",
    "plan": "a1b2c3d4e5f6",
    "lot": "Coil 7",
    "piece": 2,
    "measured_thickness_mm": 1.98,
    "developed_mm": 102.3,
    "included_deg": {"1": 91.5, "2": 0},
    "legs_mm": {"3": 25.1},
    "depths_mm": {"1": -0.5},
    "stops_mm": {"2": 23.09},
}


def read(folder: Path, text: str | dict[str, Any]) -> Readings:
    file = folder / "readings.json"
    file.write_text(text if isinstance(text, str) else json.dumps(text, indent=2), encoding="utf-8")
    return read_readings(file, part="bracket", revision="B", bends=2, legs=3)


def faults(folder: Path, text: str | dict[str, Any]) -> list[str]:
    with pytest.raises(Unusable) as raised:
        read(folder, text)
    return [fault.text.removeprefix(f"{folder}/") for fault in raised.value.faults]


def test_a_whole_file_is_understood(tmp_path: Path) -> None:
    assert read(tmp_path, WHOLE) == Readings(
        turns_deg={1: 88.5, 2: 180.0},
        legs_mm={3: 25.1},
        depths_mm={1: -0.5},
        stops_mm={2: 23.09},
        developed_mm=102.3,
        thickness_mm=1.98,
        lot="Coil 7",
        piece=2,
    )


def test_what_is_left_out_was_not_read(tmp_path: Path) -> None:
    assert read(tmp_path, {"part": "bracket"}) == Readings({}, {}, {}, {}, None, None, "", 1)


@pytest.mark.parametrize(
    ("change", "place", "said"),
    [
        ({"part": "other"}, "2:11", "part: 'other' is not that of this part file, it has 'bracket'"),
        ({"revision": "A"}, "3:15", "revision: 'A' is not that of this part file, it has 'B'"),
        ({"piece": 0}, "6:12", "piece: 0 is too small, it must be 1 or more"),
        ({"piece": 1.5}, "6:12", "piece: 1.5 is no whole number, write a whole number"),
        ({"lot": 7}, "5:10", "lot: 7 is no text, put it in quotes"),
        ({"lot": "a\nb"}, "5:10", "lot: has signs that do not print, a name in one line is wanted"),
        ({"measured_thickness_mm": 500}, "7:28", "measured_thickness_mm: 500 is too large, it must be 50 or less"),
        ({"developed_mm": True}, "8:19", "developed_mm: True is no number, write a number, without its unit"),
        ({"included_deg": {"1": 180}}, "10:10", "included_deg: 1: 180 is too large, it must be less than 180"),
        ({"included_deg": {"3": 90}}, "10:5", "included_deg: 3: there is no bend 3, the part has bends 1 to 2"),
        (
            {"included_deg": {"a": 90}},
            "10:10",
            "included_deg: a: is no number of a bend or leg, write its number, like 1",
        ),
        ({"included_deg": 90}, "9:19", "included_deg: 90 is no mapping, write numbers with their readings"),
    ],
)
def test_a_fault_is_told_with_its_place(tmp_path: Path, change: dict[str, Any], place: str, said: str) -> None:
    (told,) = faults(tmp_path, {**WHOLE, **change})
    assert told.startswith(f"readings.json:{place}: {said}")


def test_every_fault_is_told_at_once(tmp_path: Path) -> None:
    told = faults(tmp_path, {**WHOLE, "leg_mm": {"1": 3}, "legs_mm": {"1": -2, "2": "25.1"}})
    assert [line.split(": ", 1)[1] for line in told] == [
        "legs_mm: 1: -2 is too small, it must be more than 0",
        "legs_mm: 2: '25.1' is no number, write a number, without its unit",
        "leg_mm: is no key of a file of readings, did you mean 'legs_mm'?",
    ]


@pytest.mark.parametrize("text", ["", "[]", "{", "nonsense", '{"part": "bracket", "part": "bracket"}', "\x00"])
def test_what_is_no_file_of_readings_is_a_fault(tmp_path: Path, text: str) -> None:
    assert faults(tmp_path, text)


def test_a_file_that_is_not_there_is_a_fault(tmp_path: Path) -> None:
    with pytest.raises(Unusable, match="does not exist"):
        read_readings(tmp_path / "none.json", part="bracket", revision="B", bends=2, legs=3)
