"""A family of sizes in one part file: rows of paths and values, in the file or in a CSV beside it."""

from __future__ import annotations

from pathlib import Path

import pytest

from flangewise.faults import Unusable
from flangewise.part import FoundPart, Part, read_part, read_parts

from .made import shop

RAIL = """part: rail
material: DC01
thickness: 1.5
quantity: 40
section:
  length: 120
  legs: [20, 40, 20]
  bends: [90, {turn: 60}]
"""


def found(folder: Path, variants: str) -> tuple[FoundPart, ...]:
    path = folder / "rail.yaml"
    path.write_text(RAIL + variants, encoding="utf-8")
    return read_parts([str(path)], shop())


def family(folder: Path, variants: str) -> list[Part]:
    assert faults(folder, variants) == []
    return [each.part for each in found(folder, variants) if each.part is not None]


def faults(folder: Path, variants: str) -> list[str]:
    return [fault.text.removeprefix(f"{folder}/") for each in found(folder, variants) for fault in each.faults]


def test_each_row_is_a_part_and_what_it_leaves_out_stays(tmp_path: Path) -> None:
    rows = "variants:\n  - {part: rail-30, section.legs.2: 30}\n  - {part: long, section.length: 180, quantity: 5}\n"
    short, long = family(tmp_path, rows)
    assert (short.name, short.section.legs_mm, short.section.length_mm) == ("rail-30", (20.0, 30.0, 20.0), 120.0)
    assert (long.name, long.section.legs_mm, long.section.length_mm) == ("long", (20.0, 40.0, 20.0), 180.0)
    assert (short.quantity, long.quantity) == (40, 5)


def test_any_value_varies_and_a_key_may_be_new(tmp_path: Path) -> None:
    rows = "variants:\n  - {section.bends.2.turn: 45, title: '007', section.bends.1: {included: 120}}\n"
    (part,) = family(tmp_path, rows)
    assert [bend.turn_deg for bend in part.section.bends] == [60.0, 45.0]
    assert part.title == "007"


def test_a_row_without_a_name_is_named_after_the_file_s_part(tmp_path: Path) -> None:
    rows = "variants:\n  - {section.legs.1: 21}\n  - {part: own}\n  - {section.legs.1: 23}\n"
    assert [part.name for part in family(tmp_path, rows)] == ["rail-1", "own", "rail-3"]


def test_rows_of_a_csv_beside_the_file(tmp_path: Path) -> None:
    (tmp_path / "sizes.csv").write_text("part;section.legs.2;quantity\n00123;31.5;\n\nr-2;;7\n", encoding="utf-8")
    first, second = family(tmp_path, "variants: sizes.csv\n")
    assert (first.name, first.section.legs_mm[1], first.quantity) == ("00123", 31.5, 40)
    assert (second.name, second.section.legs_mm[1], second.quantity) == ("r-2", 40.0, 7)


def test_the_leaf_of_a_family_has_the_name_of_its_file_s_part(tmp_path: Path) -> None:
    rows = "variants: [{part: a}, {part: b, quantity: 3}]\n"
    assert [each.leaf for each in found(tmp_path, "family: one-leaf\n" + rows)] == ["rail", "rail"]
    assert [each.leaf for each in found(tmp_path, "family: one-sheet-each\n" + rows)] == ["", ""]
    assert [each.leaf for each in found(tmp_path, rows)] == ["", ""]
    with pytest.raises(Unusable, match="the name 'rail' is also that of"):
        found(tmp_path, "family: one-leaf\nvariants: [{part: rail}, {part: b}]\n")


def test_two_of_a_family_with_one_name_are_told(tmp_path: Path) -> None:
    with pytest.raises(Unusable, match="the name 'a' is also that of"):
        found(tmp_path, "variants: [{part: a}, {part: a, quantity: 3}]\n")


TOLD = {
    "variants: [{section.legs.4: 3}]": ["9:29: variant 1: section.legs.4: the list has 3 entries"],
    "variants: [{sectoin.length: 3}]": ["9:29: variant 1: sectoin.length: 'sectoin' does not stand in the file"],
    "variants: [{section.legs.2.x: 3}]": ["9:31: variant 1: section.legs.2.x: nothing stands below this value"],
    "variants: [{variants.1: 3}, {.: 4}]": [
        "9:25: variant 1: variants.1: is no path",
        "9:33: variant 2: .: is no path",
    ],
    "variants: [7, {}, {section.legs.2: 30}]": [
        "9:12: variant 1: is no row of paths and values",
        "9:15: variant 2: is no row of paths and values",
    ],
    "family: one-page\nvariants: [{quantity: 3}]": ["9:9: family: 'one-page' is not known, give one of one-leaf, one-"],
    "family: [one-leaf]\nvariants: [{quantity: 3}]": ["9:9: family: is no word"],
    "family: one-leaf": ["9:1: family: stands without variants"],
    "variants: 7": ["9:11: variants: is no list of rows"],
    "variants: ../sizes.csv": ["9:11: variants: '../sizes.csv' lies elsewhere"],
    "variants: nowhere.csv": ["nowhere.csv: file: does not exist"],
    "variants: [{quantty: 3}]": ["9:22: quantty: is no key of this place"],
    "variants: [{section.legs.2: -3}, {section.legs.2: 0}]": [
        "9:29: leg 2: -3 is negative",
        "9:51: leg 2: 0 is",
    ],
}


@pytest.mark.parametrize("variants", TOLD)
def test_faults_of_rows_are_told_at_their_place(variants: str, tmp_path: Path) -> None:
    told = [fault.removeprefix("rail.yaml:") for fault in faults(tmp_path, variants + "\n")]
    assert len(told) == len(TOLD[variants]), told
    assert all(text.startswith(start) for text, start in zip(told, TOLD[variants], strict=True)), told


def test_faults_of_a_csv_name_it_and_its_line(tmp_path: Path) -> None:
    csv = tmp_path / "sizes.csv"
    csv.write_text("part,section.legs.2,section.width\na,-3,\nb,30,4\n", encoding="utf-8")
    told = faults(tmp_path, "variants: sizes.csv\n")
    assert [text.split(", ")[0] for text in told] == [
        "sizes.csv:2:1: leg 2: -3 is negative",
        "sizes.csv:3:1: width: is no key of this place",
    ]
    csv.write_text("part,quantity\na,3,4\n", encoding="utf-8")
    assert faults(tmp_path, "variants: sizes.csv\n") == [
        "sizes.csv:2: variants: has 3 cells where 2 paths stand in the first line, give each cell its path"
    ]
    csv.write_text("", encoding="utf-8")
    assert faults(tmp_path, "variants: sizes.csv\n")[0].startswith("sizes.csv:1:1: variants: has no first line of")
    csv.write_text("part,quantity\n", encoding="utf-8")
    assert faults(tmp_path, "variants: sizes.csv\n") == ["sizes.csv: variants: has 0 rows, it takes 1 to 1000"]


def test_a_fault_of_the_file_itself_is_told_once_for_the_family(tmp_path: Path) -> None:
    every = found(tmp_path, "gran: along\nvariants: [{part: a}, {part: b}, {part: c}]\n")
    assert [len(each.faults) for each in every] == [1, 0, 0]
    assert all(each.part is None for each in every)


def test_one_text_is_one_part() -> None:
    assert read_part(RAIL + "variants: [{part: a}]\n", "rail.yaml", shop()).name == "a"
    with pytest.raises(Unusable, match="are 2 parts, give one"):
        read_part(RAIL + "variants: [{part: a}, {part: b}]\n", "rail.yaml", shop())


def test_a_family_without_sizes_is_told_with_all_else_that_is_wrong(tmp_path: Path) -> None:
    path = tmp_path / "rail.yaml"
    path.write_text(RAIL.replace("DC01", "DC99").replace("1.5", "-1") + "family: one-leaf\n", encoding="utf-8")
    (part,) = read_parts([str(path)], shop())
    assert [(fault.line, fault.where) for fault in part.faults] == [(9, "family"), (2, "material"), (3, "thickness")]
