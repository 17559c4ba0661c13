"""measured.csv: what is written is read back, and every fault has its line and column."""

from dataclasses import replace

import pytest

from flangewise.faults import Unusable
from flangewise.shop import MeasuredRow, added_text, measured_text, parse_measured, read_measured

ROW = MeasuredRow(
    lot="A17",
    part="rain-gauge-foot",
    bend=1,
    piece=1,
    machine="long-1450",
    material="DC01",
    thickness_mm=2.0,
    measured_thickness_mm=None,
    punch="straight-88",
    nose_radius_mm=1.0,
    die="vee-16-80",
    wanted_turn_deg=90.0,
    depth_mm=3.8,
    measured_turn_deg=88.75,
    model_turn_deg=90.0,
    deg_per_mm=12.6,
    springback_deg=1.63,
    radius_mm=2.1,
    rule_deduction_mm=3.83,
    deduction_mm=None,
    deduction_sd_mm=None,
)


def faults_of(text):
    with pytest.raises(Unusable) as told:
        parse_measured(text, "measured.csv")
    return [fault.text for fault in told.value.faults]


def spoiled(**changes):
    """A file of one row with cells replaced by texts."""
    head, names, cells = measured_text([ROW]).rsplit("\n", 3)[:3]
    columns = names.split(",")
    values = dict(zip(columns, cells.split(","), strict=True)) | changes
    return "\n".join([head, names, ",".join(values[name] for name in columns), ""])


def test_what_is_written_is_read_back():
    rows = (ROW, replace(ROW, bend=2, deduction_mm=3.9, deduction_sd_mm=0.15, measured_thickness_mm=1.97))
    assert parse_measured(measured_text(rows), "m").rows == rows


def test_no_file_and_no_folder_hold_nothing(tmp_path):
    assert read_measured(None).rows == ()
    assert read_measured(tmp_path / "measured.csv").rows == ()


def test_head_tells_every_column():
    comments = [line for line in measured_text([]).splitlines() if line.startswith("#")]
    looked_at = list(measured_text([]).splitlines()[-1].split(","))
    assert looked_at
    for name in looked_at:
        assert any(name in comment.split() or f"{name}:" in comment.split() for comment in comments), name


@pytest.mark.parametrize("lot", ["=1+1", "+4", "-4", "@sum", "#7", "'quoted", 'say "A", please', "Über 7"])
def test_no_lot_is_a_formula_and_all_come_back(lot):
    text = measured_text([replace(ROW, lot=lot)])
    cell = text.splitlines()[-1]
    assert not cell.startswith(("=", "+", "-", "@", "#"))
    assert parse_measured(text, "m").rows[0].lot == lot


def test_columns_in_another_order_and_comments_between():
    names, cells = measured_text([ROW]).splitlines()[-2:]
    turned = "\n".join(",".join(reversed(line.split(","))) for line in (names, cells))
    assert parse_measured(f"# from the office\n{turned}\n\n# end\n", "m").rows == (ROW,)


def test_added_rows_leave_all_else_as_it_is():
    names, cells = measured_text([ROW]).splitlines()[-2:]
    old = "# ours, by hand\n" + "\n".join(",".join(reversed(line.split(","))) for line in (names, cells))
    second = replace(ROW, piece=2, depth_mm=3.85)
    new = added_text(old, [second])
    assert new.startswith(old + "\n")
    assert parse_measured(new, "m").rows == (ROW, second)


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"thickness_mm": "two"}, "thickness_mm: is 'two', a number with a point from 0.05 to 50 is wanted"),
        ({"thickness_mm": "nan"}, "thickness_mm: is 'nan', a number with a point from 0.05 to 50 is wanted"),
        ({"thickness_mm": ""}, "thickness_mm: is '', a number with a point from 0.05 to 50 is wanted"),
        ({"measured_turn_deg": "inf"}, "measured_turn_deg: is 'inf', a number with a point from 0 to 180 is wanted"),
        ({"bend": "1.5"}, "bend: is '1.5', a whole number from 1 to 999 is wanted"),
        ({"piece": "0"}, "piece: is '0', a whole number from 1 to 9999 is wanted"),
        ({"depth_mm": "-700"}, "depth_mm: is '-700', a number with a point from -50 to 500 is wanted"),
    ],
)
def test_a_bad_cell_is_named_with_its_place(changes, said):
    text = spoiled(**changes)
    line = len(text.splitlines())
    (name,) = changes
    names = text.splitlines()[-2].split(",")
    column = len(",".join(text.splitlines()[-1].split(",")[: names.index(name)])) + 2
    assert faults_of(text) == [f"measured.csv:{line}:{column}: {said}"]


def test_all_faults_at_once():
    assert len(faults_of(spoiled(thickness_mm="x", bend="y", depth_mm="z"))) == 3


@pytest.mark.parametrize(
    ("find", "put", "said"),
    [
        (
            "wanted_turn_deg,depth_mm",
            "wanted_turn,depth_mm",
            "unknown column 'wanted_turn', did you mean 'wanted_turn_deg'?",
        ),
        ("lot,part,bend", "lot,bend", "lacks the column part"),
        ("die,wanted", "die,die,wanted", "stands twice in the head"),
        ("A17,", "A17,extra,", "has 22 cells, a row has 21 cells"),
    ],
)
def test_a_head_or_row_that_does_not_fit(find, put, said):
    text = measured_text([ROW])
    assert find in text
    assert any(said in fault for fault in faults_of(text.replace(find, put, 1)))


def test_the_same_piece_twice_is_a_fault():
    text = measured_text([ROW, replace(ROW, depth_mm=4.0)])
    line = len(text.splitlines())
    assert faults_of(text) == [
        f"measured.csv:{line}:1: row: lot 'A17', bend 1, piece 1 of rain-gauge-foot stands twice,"
        f" keep one of it and line {line - 1}"
    ]


def test_bytes_that_are_no_text_are_a_fault(tmp_path):
    file = tmp_path / "measured.csv"
    file.write_bytes(b"lot\xff\xfe")
    with pytest.raises(Unusable, match="not UTF-8"):
        read_measured(file)
