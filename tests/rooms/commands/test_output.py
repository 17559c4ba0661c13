"""How results leave: JSON one object a line, CSV no spreadsheet misreads, text aligned, findings to standard error."""

from __future__ import annotations

import csv
import io
import json
import math
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import click
import pytest
from click.testing import CliRunner

from flangewise.commands import Settings
from flangewise.commands.columns import text_pairs, text_table
from flangewise.commands.output import (
    Printer,
    csv_text,
    finding_line,
    finding_record,
    finding_records,
    format_option,
    json_line,
    spreadsheet_text,
    tell_findings,
    tidy,
)
from flangewise.findings import caution, note, place, refuse

from .made import CHANNEL

TOLD = refuse("leg-too-short", place("bend", 2), leg_mm=7.2, least_mm=8.5, opening_mm=12.0, remedy="")
LOUD, QUIET = Settings(None, "mm", False), Settings(None, "mm", True)


def test_a_record_is_one_line_with_its_schema_version_first() -> None:
    line = json_line({"part": "00123", "note": "two\nlines", "sizes": (1, 2.5)})
    assert "\n" not in line
    assert list(json.loads(line)) == ["schema_version", "part", "note", "sizes"]
    assert json.loads(line) == {"schema_version": 1, "part": "00123", "note": "two\nlines", "sizes": [1, 2.5]}


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf])
def test_what_is_no_number_is_null(value: float) -> None:
    assert json.loads(json_line({"x_mm": value, "deep": [value, {"y": value}]})) == {
        "schema_version": 1,
        "x_mm": None,
        "deep": [None, {"y": None}],
    }


def test_rounding_noise_does_not_show() -> None:
    assert tidy(0.1 + 0.2) == 0.3
    assert str(tidy(-1e-9)) == "0.0"
    assert tidy(True) is True and tidy(3) == 3 and tidy(None) is None


def read_back(text: str) -> list[list[str]]:
    return list(csv.reader(io.StringIO(text, newline="")))


def test_part_numbers_survive_as_text() -> None:
    rows = [{"part": name, "mass_kg": 0.5} for name in ("00123", "1-2", "3/4", 'Größe, "groß"\nzwei')]
    text = csv_text(["part", "mass_kg"], rows)
    assert [row[0] for row in read_back(text)[1:]] == [row["part"] for row in rows]
    assert '"00123",0.5\r\n' in text


@pytest.mark.parametrize("text", ["=1+1", "+1", "-1-2", "@x", "\t=1", "\r=1"])
def test_no_text_runs_as_a_formula(text: str) -> None:
    assert spreadsheet_text(text) == "'" + text
    cell = read_back(csv_text(["part"], [{"part": text}]))[1][0]
    assert cell[0] == "'"


def test_a_negative_number_stays_a_number() -> None:
    assert csv_text(["x_mm"], [{"x_mm": -1.5}]) == '"x_mm"\r\n-1.5\r\n'


def test_columns_keep_their_order_and_what_is_missing_is_empty() -> None:
    text = csv_text(["b", "a", "c"], [{"a": 1, "b": None, "z": 9}, {"c": True, "b": [1, 2], "a": {"k": "v"}}])
    assert read_back(text) == [["b", "a", "c"], ["", "1", ""], ["[1, 2]", '{"k": "v"}', "true"]]


def test_rows_can_follow_a_head_written_before() -> None:
    assert csv_text(["a"], [{"a": 1}], head=False) == "1\r\n"
    assert csv_text(["a"], ()) == '"a"\r\n'


def test_tables_are_aligned() -> None:
    table = text_table(["die", "force"], [["vee-8", "80 kN"], ["vee-16-80", "120 kN"]], right=(1,))
    assert table.splitlines() == ["die         force", "vee-8       80 kN", "vee-16-80  120 kN"]
    assert text_table(["a"], []) == "a"


def test_pairs_are_aligned() -> None:
    assert text_pairs([("die", "x"), ("thickness", "")]) == "die        x\nthickness"
    assert text_pairs([]) == ""


def test_what_is_wider_than_a_terminal_goes_on_below_itself() -> None:
    words = "one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen"
    lines = text_pairs([("a", words), ("bcd", "short")]).splitlines()
    assert [line[:5] for line in lines] == ["a    ", "     ", "bcd  "]
    assert max(map(len, lines)) <= 80 and " ".join(line[5:] for line in lines[:2]) == words
    table = text_table(["x", "why"], [["1", words], ["2", "y"]]).splitlines()
    assert max(map(len, table)) <= 80 and [line[:3] for line in table] == ["x  ", "1  ", "   ", "2  "]
    # A word without a gap is not broken, and what has no room at the end of a line stays in it.
    assert text_pairs([("a", "x" * 90)]) == "a  " + "x" * 90
    assert text_pairs([("a" * 60, "one two three four five six")]) == "a" * 60 + "  one two three four five six"


def test_a_finding_has_the_keys_of_the_contract() -> None:
    record = finding_record(TOLD)
    assert (record["severity"], record["code"], record["where"]) == ("refuse", "leg-too-short", "bend 2")
    assert "7.2 mm" in record["text"] and set(record) == {"severity", "code", "where", "text"}
    assert finding_record(note("ideal-nose", nose_mm=1.0))["where"] is None


def test_a_finding_of_a_plan_has_step_and_bodies_too() -> None:
    record = finding_record(TOLD.at_step(3, bodies=("punch", "leg 1"), overlap_mm=1.5), plan=True)
    assert (record["step"], record["bodies"], record["overlap_mm"]) == (3, ("punch", "leg 1"), 1.5)
    assert finding_record(TOLD, plan=True)["step"] is None


def test_findings_come_gravest_first_and_none_twice() -> None:
    mild = caution("one-finger", length_mm=40.0, spacing_mm=90.0)
    assert [each["severity"] for each in finding_records([mild, TOLD, mild])] == ["refuse", "caution"]


def test_a_line_of_text_says_how_grave_where_and_in_the_users_units() -> None:
    line = finding_line(TOLD, units="inch", part="foot")
    assert line.startswith("refused: foot: bend 2: leg 0.283 in is under 0.335 in")
    assert finding_line(note("ideal-nose", nose_mm=1.0).at_step(4)).startswith("note: step 4: ")


def test_findings_go_to_standard_error_and_quiet_hushes_them(capsys: pytest.CaptureFixture[str]) -> None:
    tell_findings([TOLD], LOUD)
    tell_findings([TOLD], QUIET)
    out, err = capsys.readouterr()
    assert out == "" and err.count("\n") == 1


@pytest.mark.parametrize(("settings", "fmt", "told"), [(LOUD, "text", 1), (LOUD, "json", 0), (QUIET, "text", 0)])
def test_the_example_shop_is_named_once_in_text_only(
    settings: Settings, fmt: str, told: int, capsys: pytest.CaptureFixture[str]
) -> None:
    Printer(settings, fmt).begun()
    out, err = capsys.readouterr()
    assert (out, err.count("example shop")) == ("", told)


def test_the_option_offers_three_formats() -> None:
    @click.command()
    @format_option
    def shown(fmt: str) -> None:
        click.echo(fmt)

    assert CliRunner().invoke(shown, []).output == "text\n"
    assert CliRunner().invoke(shown, ["--format", "json"]).output == "json\n"
    assert CliRunner().invoke(shown, ["--format", "xml"]).exit_code == 2


def test_a_reader_that_goes_away_ends_it_quietly() -> None:
    """The reading end of the pipe is closed before anything is written."""
    reading, writing = os.pipe()
    os.close(reading)
    argv = [sys.executable, "-m", "flangewise", "bend", "--material", "DC01", "--thickness", "2", "--turn", "90"]
    with os.fdopen(writing, "wb") as pipe:
        done = subprocess.run([*argv, "--format", "json"], stdout=pipe, stderr=subprocess.PIPE, check=False)
    assert (done.returncode, done.stderr) == (0, b"")


@pytest.mark.parametrize("fmt", ["text", "json", "csv"])
def test_nothing_from_a_file_steers_the_terminal(told: Any, tmp_path: Path, fmt: str) -> None:
    """A machine named with what colours and turns text round, by the table of a shop."""
    shop, named = tmp_path / "shop", "bench\x1b[31m\u202e\u009b310"
    assert told("shop", "copy", str(shop))[0] == 0
    table = shop / "machines.yaml"
    table.write_text(table.read_text().replace("bench-310", json.dumps(named)))
    part = tmp_path / "part.yaml"
    part.write_text(CHANNEL.replace("toy", "DC01"))
    status, out, err = told("--shop", str(shop), "plan", str(part), "--format", fmt)
    assert status == 0, err
    assert "\\u001b[31m\\u202e\\u009b310" in out or fmt == "csv"
    assert not set("\x1b\u202e\u009b") & set(out + err)
    if fmt == "json":
        assert json.loads(out)["machine"] == named
