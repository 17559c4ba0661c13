"""`shop measured`: what is remembered, what it changed, what was left out."""

import json
from dataclasses import replace

import pytest

from flangewise.commands import run
from flangewise.shop import MeasuredRow, copy_shop, measured_text

ROW = MeasuredRow(
    "L1", "foot", 1, 1, "long-1450", "DC01", 2.0, None, "straight-88", 1.0, "vee-16-80", 90.0,
    3.8, 88.0, 90.0, 12.6, 1.63, 2.1, 3.83, 3.95, 0.15,
)  # fmt: skip


@pytest.fixture
def shop(tmp_path):
    folder = tmp_path / "shop"
    copy_shop(folder)
    return folder


def told(capsys, *args):
    status = run(list(args))
    out, err = capsys.readouterr()
    return status, out, err


def test_nothing_yet(capsys, shop):
    status, out, _ = told(capsys, "--shop", str(shop), "shop", "measured")
    assert status == 0
    assert "nothing has been measured" in out


def test_a_key_a_line_with_lots_and_outliers(capsys, shop):
    rows = [replace(ROW, lot=f"L{lot}") for lot in range(4)]
    rows.append(replace(ROW, lot="odd", measured_turn_deg=99.0, deduction_mm=7.0))
    (shop / "measured.csv").write_text(measured_text(rows))
    status, out, _ = told(capsys, "--shop", str(shop), "shop", "measured", "--format", "json")
    assert status == 0
    depth, deduction = (json.loads(line) for line in out.splitlines())
    assert (depth["kind"], depth["lots"], depth["outliers"]) == ("depth", 4, ["odd"])
    # Two degrees open at 12.6 degrees a mm want up to 0.16 mm more.
    assert 0.08 < depth["depth_change_mm"] < 0.16
    assert (deduction["kind"], deduction["lots"], deduction["outliers"]) == ("deduction", 4, ["odd"])
    assert 3.83 < deduction["deduction_mm"] < 3.95
    text = told(capsys, "--shop", str(shop), "shop", "measured")[1]
    assert "measured, n = 4, ±" in text
    assert "not used: odd" in text


def test_faults_of_the_file_have_their_line(capsys, shop):
    (shop / "measured.csv").write_text(measured_text([ROW]).replace("12.6", "steep"))
    status, out, err = told(capsys, "--shop", str(shop), "shop", "measured")
    assert (status, out) == (2, "")
    assert "measured.csv:11:" in err


def test_csv(capsys, shop):
    (shop / "measured.csv").write_text(measured_text([ROW]))
    status, out, _ = told(capsys, "--shop", str(shop), "shop", "measured", "--format", "csv")
    assert status == 0
    assert out.splitlines()[0].startswith('"kind","machine","material"')
    assert len(out.splitlines()) == 3
