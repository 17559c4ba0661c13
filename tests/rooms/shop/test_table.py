"""Faults of an edited table: each with its place, what is wrong and what would be right, and all of them at once."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from flangewise.faults import Fault, Unusable
from flangewise.shop import Handler, load_shop
from flangewise.shop.table import one_row, read_rows

Edit = Callable[[str, str, str], None]
Faults = Callable[..., list[Fault]]


def line_of(folder: Path, file: str, text: str) -> int:
    """The first line that holds a text, counted from 1."""
    lines = (folder / file).read_text(encoding="utf-8").splitlines()
    return next(number for number, line in enumerate(lines, 1) if text in line)


# File; text replaced; by what; where the fault stands; what is wrong; what would be right.
ONE_FAULT = r"""
materials | yield_mpa: 200 | yeild_mpa: 200 | DC01: yeild_mpa | is no key | did you mean 'yield_mpa'?
materials | yield_mpa: 200 | yield_mpa: -200 | DC01: yield_mpa | -200 is too small | more than 0
materials | yield_mpa: 200 | yield_mpa: .nan | DC01: yield_mpa | nan is not finite | finite number
materials | yield_mpa: 200 | yield_mpa: .inf | DC01: yield_mpa | inf is not finite | finite number
materials | yield_mpa: 200 | yield_mpa: 2e8 | DC01: yield_mpa | 200000000.0 is too | less than
materials | yield_mpa: 200 | yield_mpa: soft | DC01: yield_mpa | 'soft' is no number | write a number
materials | yield_mpa: 200 | yield_mpa: '200' | DC01: yield_mpa | '200' is no number | write a number
materials | yield_mpa: 200 | yield_mpa: | DC01: yield_mpa | nothing is no number | write a number
materials | yield_mpa: 200 | yield_mpa: [1] | DC01: yield_mpa | [1] is no number | write a number
materials | yield_mpa: 200 | yield_mpa: true | DC01: yield_mpa | True is no number | write a number
materials | yield_mpa: 200 | yield_mpa: 900 | DC01: yield_mpa | more than the tensile | at most 320
materials | : soft-deep-drawing | : soft-deep-drawn | DC01: least_radius | 'soft-deep-drawn' | mean 'soft-deep-drawing'
materials | family: steel | family: stele | DC01: family | 'stele' is not one of | 'steel'
materials | austenitic: false | austenitic: no way | DC01: austenitic | neither true | true or false
materials | title: Cold | title: 7 # Cold | DC01: title | 7 is no text | quotes
materials | [null, 280] | [null, 280, 290] | DC01: yield_range_mpa | too many | give 2
materials | [null, 280] | 280 | DC01: yield_range_mpa | 280 is no list | write a list
punches | 700: 4 | 700: 0 | straight-88: segments | 0 of 700 are held | hold 1 or more
punches | height_mm: 142 | height_mm: 141 | straight-88: height_mm | 141 is not the | it ends at 142
dies | height_mm: 76 | hight_mm: 76 | vee-4-88: hight_mm | is no key | did you mean 'height_mm'?
dies | measured: tangent | measured: edge | vee-4-88: opening_measured | 'edge' is not | 'corner'
dies | [-9, 0] | [-9, x] | vee-4-88: outline_mm | 'x' in point [-9, 'x' | [toward the operator, up
machines | span_mm: 760 | spam_mm: 760 | bench-310: ram_beam: spam_mm | is no key | 'span_mm'
machines | fingers: 2 | fingers: 2.5 | bench-310: fingers | 2.5 is no whole | whole number
machines | [4, 420] | [420, 4] | bench-310: stop_x_mm | does not rise | [least, most]
handlers | gripper_height_mm: 25 | # no gripper | robot: kind | gripper_height_mm is | open height
handlers | kind: operator | name: mine | operator: name | is no key of a row | own key
least_radii | across_t: 0.5} | across_t: 0.5, along_mm: 1} | soft-deep-drawing: bands: 0 | along_mm | across_t
gauges | 16: 0.0598 | sixteen: 0.0598 | steel: thickness_inch: sixteen | 'sixteen' is | whole number
tolerances | mark: read | mark: sure | cold-rolled: mark | 'sure' is not one of | 'from memory'
shop | rule: din-6935 | rule: din-6936 | rule | 'din-6936' is not | 'din-6935'
shop | cut: CUT | cut: 'CUT 1' | layers: cut | 'CUT 1' is no such | letters, digits
shop | clearance_mm: 1.0 | clearence_mm: 1.0 | clearence_mm | is no key | 'clearance_mm'
"""


@pytest.mark.parametrize("line", ONE_FAULT.strip().splitlines())
def test_one_fault(folder: Path, edit: Edit, faults: Faults, line: str) -> None:
    file, old, new, where, wrong, fits = (cell.strip() for cell in line.split("|"))
    edit(f"{file}.yaml", old, new)
    fault = next(each for each in faults({file} - {"shop"}) if each.where == where)
    assert fault.file == str(folder / f"{file}.yaml")
    assert wrong in fault.wrong
    assert fits in fault.fits
    assert fault.line is not None and fault.column is not None
    assert "\n" not in fault.text


@pytest.mark.parametrize(
    ("file", "old", "new", "marker"),
    [
        ("materials.yaml", "yield_mpa: 200", "yeild_mpa: 200", "yeild_mpa: 200"),
        ("materials.yaml", "yield_mpa: 200", "yield_mpa: -5", "yield_mpa: -5"),
        ("punches.yaml", "height_mm: 142", "height_mm: 141", "height_mm: 141"),
        ("machines.yaml", "[4, 420]", "[420, 4]", "[420, 4]"),
        ("machines.yaml", "span_mm: 760", "spam_mm: 760", "spam_mm: 760"),
        ("shop.yaml", "paper: a4", "paper: a5", "paper: a5"),
    ],
)
def test_a_fault_stands_in_its_line(
    folder: Path, edit: Edit, faults: Faults, *, file: str, old: str, new: str, marker: str
) -> None:
    edit(file, old, new)
    lines = {fault.line for fault in faults()}
    assert line_of(folder, file, marker) in lines


def test_a_misspelt_key_is_told_once_and_not_also_as_missing(edit: Edit, faults: Faults) -> None:
    edit("materials.yaml", "  poisson: 0.3\n", "  poison: 0.3\n")
    (fault,) = faults()
    assert (fault.where, fault.fits) == ("DC01: poison", "did you mean 'poisson'?")


@pytest.mark.parametrize("key", ["float", "int", "str", "none", "'[key]'", "'function-plain[read()]'"])
def test_a_key_that_is_named_like_a_checker_s_own_step_is_told_too(edit: Edit, faults: Faults, key: str) -> None:
    edit("materials.yaml", "  poisson: 0.3\n", f"  poisson: 0.3\n  {key}: 1\n")
    edit("shop.yaml", "layers:\n", f"{key}: 1\nlayers:\n")
    name = key.strip("'")
    assert [fault.where for fault in faults()] == [name, f"DC01: {name}"]
    assert {fault.wrong for fault in faults()} == {"is no key of this table"}


def test_a_missing_key_is_told_at_its_row(edit: Edit, faults: Faults) -> None:
    edit("materials.yaml", "  poisson: 0.3\n", "  colour: grey\n")
    told = sorted((fault.where, fault.wrong) for fault in faults())
    assert told == [("DC01: colour", "is no key of this table"), ("DC01: poisson", "is missing")]


def test_materials_are_not_blamed_for_a_faulty_table_of_radii(edit: Edit, faults: Faults) -> None:
    edit("least_radii.yaml", "floor_mm: 0.8", "floor_mm: -1")
    edit("materials.yaml", "yield_mpa: 200", "yield_mpa: 0")
    assert sorted(fault.where for fault in faults()) == ["DC01: yield_mpa", "soft-deep-drawing: floor_mm"]


def test_all_faults_of_all_files_come_at_once(edit: Edit, faults: Faults) -> None:
    edit("materials.yaml", "yield_mpa: 200", "yield_mpa: -200")
    edit("materials.yaml", "density_kg_per_m3: 7850", "density_kg_per_m3: heavy")
    edit("punches.yaml", "load_kn_per_m: 1000", "load_kn_per_m: 0")
    edit("dies.yaml", "  kind: vee\n", "  kind: wee\n")
    edit("machines.yaml", "force_kn: 310", "force_kn: -310")
    edit("handlers.yaml", "turn_s: 1.2", "turn_s: quick")
    edit("shop.yaml", "language: en", "language: xx")
    edit("gauges.yaml", "0.2391", "-0.2391")
    edit("tolerances.yaml", "deviation_mm: 0.03", "deviation_mm: 0")
    found = faults()
    assert len(found) == 9
    assert len({fault.file for fault in found}) == 8


@pytest.mark.parametrize(
    ("text", "where", "wrong"),
    [
        ("", "file", "is empty"),
        ("# nothing but a comment\n", "file", "is empty"),
        ("- a\n- b\n", "handlers", "is no table"),
        ("operator\n", "handlers", "is no table"),
        ("operator: 5\n", "operator", "is no row"),
        ("operator:\n", "operator", "is no row"),
        ("operator: [1, 2]\n", "operator", "is no row"),
        ("operator: {a: 1\n", "YAML", ""),
        ("a: {}\na: {}\n", "a", "stands twice (first in line 1)"),
        ("a: &x {}\nb: *x\n", "YAML", "anchor"),
        ("a: !!python/object:os.system {}\n", "YAML", "tag"),
    ],
)
def test_a_file_that_is_no_table(tmp_path: Path, text: str, where: str, wrong: str) -> None:
    file = tmp_path / "handlers.yaml"
    file.write_text(text, encoding="utf-8")
    with pytest.raises(Unusable) as told:
        read_rows(file, Handler)
    assert told.value.faults[0].where == where
    assert wrong in told.value.faults[0].wrong


@pytest.mark.parametrize("raw", [b"\xff\xfe\x00\x01", b"operator:\n  title: \xe9\n", b"\x00\x01\x02"])
def test_a_file_that_is_no_text(tmp_path: Path, raw: bytes) -> None:
    file = tmp_path / "handlers.yaml"
    file.write_bytes(raw)
    with pytest.raises(Unusable, match=r"handlers\.yaml"):
        read_rows(file, Handler)


def test_row_names_that_look_like_numbers_stay_names(folder: Path, edit: Edit) -> None:
    edit("materials.yaml", '"1.4301":', "1.4301:")
    edit("materials.yaml", '"304":', "304:")
    shop = load_shop(folder, {"materials"})
    assert {"1.4301", "304"} <= set(shop.materials)


def test_one_row_is_cut_out_of_a_table(tmp_path: Path) -> None:
    file = tmp_path / "table.yaml"
    file.write_text('# head\n\na:\n  x: 1\n\n  # inside\n  y: 2\n"1.5":\n  x: 3\nab:\n  x: 4\n', encoding="utf-8")
    assert one_row(file, "a") == {"a": {"x": 1, "y": 2}}
    assert one_row(file, "1.5") == {"1.5": {"x": 3}}
    assert one_row(file, "ab") == {"ab": {"x": 4}}
    assert one_row(file, "b") is None
    assert one_row(file, "a.*") is None
