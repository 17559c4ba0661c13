"""Every printed figure of `shared/published`, by the public function and by the command where an option reaches.

A row that is a misprint or follows another convention must stay apart from the answer: that keeps the program from
drifting into it unseen.
"""

from __future__ import annotations

import importlib
import re
import subprocess
import sys
from collections import Counter

import click
import pytest

from flangewise.commands import cli

from ..each import all_hold, name_of, of_each
from ..house.running import records, run
from ..how_many import one_in
from ..sentence import FIGURE, sentences_in
from . import hand_formulas
from .checks import ANSWERS, answer, split_quantity
from .commands import COMMANDS, Asked, reached_by_option, read_answer
from .source import HEAD, READ, VERDICTS, Row, Source, all_sources, rows_to_check

SOURCES = all_sources()
ROWS = list(rows_to_check(SOURCES))
BY_FUNCTION = [row for row in ROWS if split_quantity(row.quantity)[0] in ANSWERS]
REACHED = [row for row in ROWS if reached_by_option(row, split_quantity(row.quantity)[0])]

# The command takes a tenth of a second a row; of a long table it is asked these many, spread evenly over it.
MOST_BY_COMMAND = 12


def _spread(rows: list[Row]) -> list[Row]:
    if len(rows) <= MOST_BY_COMMAND:
        return rows
    last = len(rows) - 1
    return [rows[round(last * each / (MOST_BY_COMMAND - 1))] for each in range(MOST_BY_COMMAND)]


BY_COMMAND = [row for source in SOURCES for row in _spread([each for each in REACHED if each.source == source.name])]

# JSON carries six places; a print in inches or degrees loses nothing by it.
JSON_PLACES = 1e-6


def _judge(row: Row, answered: float, *, slack: float = 0.0) -> None:
    off = abs(answered - row.printed)
    told = f"{row.name}: {row.quantity} printed {row.printed:g}, answered {answered:.6g}, within {row.within:g}"
    if row.verdict == "holds":
        assert off <= row.within * (1 + 1e-9) + slack + 1e-12, told
    else:
        assert off > row.within, f"{told}, but it should not come out: {row.text('remark')}"


def _by_source(rows: list[Row]) -> list[list[Row]]:
    each = ([row for row in rows if row.source == source.name] for source in SOURCES)
    return [found for found in each if found]


@pytest.mark.parametrize("rows", _by_source(BY_FUNCTION), ids=lambda rows: rows[0].source)
def test_the_public_function_gives_the_printed_figures(rows: list[Row]) -> None:
    all_hold(lambda row: _judge(row, answer(row)), rows, named=name_of)


@of_each(BY_COMMAND, named=name_of)
def test_the_command_gives_the_printed_figure(row: Row) -> None:
    asked, size = _asked(row)
    status, output, told = run(*asked.arguments)
    assert status in (0, 1), told
    _judge(row, read_answer(asked, output) / size, slack=JSON_PLACES / size)


def _asked(row: Row) -> tuple[Asked, float]:
    word, size = split_quantity(row.quantity)
    return COMMANDS[word](row), size


LISTED = {
    "yield_least": ("yield_range_mpa", 0),
    "yield_most": ("yield_range_mpa", 1),
    "tensile_least": ("tensile_range_mpa", 0),
    "tensile_most": ("tensile_range_mpa", 1),
}


def test_the_shop_lists_the_printed_limits_of_the_materials() -> None:
    materials = {row["name"]: row for row in records("shop", "list", "materials")}
    rows = [row for row in ROWS if split_quantity(row.quantity)[0] in LISTED]
    assert len(rows) >= 60
    for row in rows:
        key, end = LISTED[split_quantity(row.quantity)[0]]
        _judge(row, materials[row.text("material")][key][end])


# A die of 6 t under a sharp nose forms about this share of the thickness; a least radius above it draws the finding.
FORMED_SHARE = 0.7


def _tight_rows() -> list[Row]:
    rows = [row for row in ROWS if row.quantity.startswith("least_radius_") and "material" in row]
    return _spread([row for row in rows if _printed_mm(row) > FORMED_SHARE * row.mm("thickness")])


def _printed_mm(row: Row) -> float:
    return row.printed * split_quantity(row.quantity)[1]


@of_each(_tight_rows(), named=name_of)
def test_the_finding_on_the_radius_names_the_printed_one(row: Row) -> None:
    sheet = ("--material", row.text("material"), "--thickness", f"{row.mm('thickness'):.6g}mm")
    tools = ("--die-opening", f"{6 * row.mm('thickness'):.6g}mm", "--nose-radius", "0.5mm")
    (record,) = records("bend", *sheet, "--turn", row.text("turn_deg"), "--grain", row.text("grain"), *tools)
    code = f"radius-under-least-{row.text('grain')}"
    (told,) = [each["text"] for each in record["findings"] if each["code"] == code]
    (said,) = sentences_in(told, f"finding.{code}", least_mm=f"{FIGURE} mm")
    assert float(said["least_mm"].split()[0]) == pytest.approx(_printed_mm(row), abs=0.006)


def _one_a_source() -> list[Row]:
    """The first row of every ninth source that the command reaches: enough to know the process is the same."""
    first = {row.source: row for row in reversed(BY_COMMAND) if row.verdict == "holds"}
    return [first[name] for name in sorted(first)][:: 3 * one_in(3)]


@pytest.mark.parametrize("row", _one_a_source(), ids=lambda row: row.name)
def test_the_command_as_a_process_gives_the_printed_figure(row: Row) -> None:
    asked, size = _asked(row)
    command = [sys.executable, "-m", "flangewise", *asked.arguments]
    done = subprocess.run(command, capture_output=True, text=True, timeout=60, check=False)
    assert done.returncode in (0, 1), done.stderr
    _judge(row, read_answer(asked, done.stdout) / size, slack=JSON_PLACES / size)


def test_every_row_is_checked_somewhere() -> None:
    answered = {row.name for row in BY_FUNCTION} | {row.name for row in BY_COMMAND}
    assert [row.name for row in ROWS if row.name not in answered] == []


def test_the_sources_are_as_many_as_they_should_be() -> None:
    """A file lost or a reader that skips rows would otherwise pass unseen."""
    assert len(SOURCES) >= 38
    assert len(BY_FUNCTION) >= 1400
    assert len(BY_COMMAND) >= 120
    verdicts = Counter(row.verdict for row in ROWS)
    assert verdicts["misprint"] >= 9
    assert verdicts["differs"] >= 25


@of_each(SOURCES, named=name_of)
def test_a_source_says_where_its_figures_come_from(source: Source) -> None:
    assert tuple(source.head)[: len(HEAD)] == HEAD
    assert set(source.head) <= {*HEAD, "source", "note"}
    assert all(text.strip() for text in source.head.values())
    assert source.columns[0] == "quantity"
    assert source.columns[-5:] == ("printed", "within", "read", "verdict", "remark")
    assert source.rows


# Who prints figures without being a book, a standard or a paper: their pages come and go.
SELLER = re.compile(
    r"\b(maker|dealer|seller|trader|stockist|mill|galvanizers|catalogue|leaflet|cards|shop's own|answer site|column)\b"
)
NAMELESS = re.compile(r"name (withheld: commercial|not recorded)( \([a-z ]+\))?; read by \d{4}-\d\d-\d\d\b")


@of_each(SOURCES, named=name_of)
def test_a_source_that_cannot_be_found_again_says_why_and_when_it_was_read(source: Source) -> None:
    told = source.head.get("source")
    if SELLER.search(" ".join(source.head[key] for key in ("work", "edition", "page", "read", "misprints"))):
        assert told is not None and "withheld: commercial" in told
    if source.head["work"].startswith(("A ", "An ", "Vocational")):
        assert told is not None
    assert told is None or NAMELESS.match(told), told


def test_of_a_force_chart_only_the_cells_stand_here_that_are_compared() -> None:
    charts = [source for source in SOURCES if source.name.startswith("force-chart")]
    assert len(charts) == 5
    assert [row.name for source in charts for row in source.rows if row.verdict == "left-out"] == []


@of_each(SOURCES, named=name_of)
def test_the_head_speaks_of_every_way_its_figures_are_known(source: Source) -> None:
    """Nothing that was inferred, remembered or computed passes for read; what the head calls computed is marked so."""
    marks, told = {row.text("read") for row in source.rows}, source.head["read"]
    assert "grid inferred" not in marks or "inferred" in told
    assert "memory" not in marks or "memory" in told
    assert ("computed" in marks) == bool(re.search(r"\bcomputed\b", told))


def test_a_figure_that_is_another_column_worked_on_is_marked_so() -> None:
    """Millimetres that are the inches times 25.4 are no second witness; nor is a multiple times the thickness."""
    inches = {(r.text("family"), r.text("gauge")): r for r in ROWS if r.quantity == "gauge_in" and r.verdict == "holds"}
    worked_on = [r for r in ROWS if r.quantity == "gauge_mm" and r.verdict == "holds"]
    beside_a_slip = {("steel", "10"), ("stainless", "5"), ("stainless", "21")}
    for row in worked_on:
        key = (row.text("family"), row.text("gauge"))
        assert row.text("read") == ("read" if key in beside_a_slip else "computed"), row.name
        if key not in beside_a_slip:
            assert row.printed == round(inches[key].printed * 25.4, 3), row.name
    by_multiple = [row for row in ROWS if "multiple" in row or row.source.startswith("vee-opening")]
    by_a_run = [row for row in ROWS if row.source.startswith("finite-element")]
    assert (len(worked_on) > 90, len(by_multiple) > 50, len(by_a_run) > 50) == (True, True, True)
    assert {row.text("read") for row in (*by_multiple, *by_a_run)} == {"computed"}


@of_each(SOURCES, named=name_of)
def test_the_rows_of_a_source_are_whole(source: Source) -> None:
    seen = Counter(tuple(row.cells.values()) for row in source.rows)
    assert [cells for cells, times in seen.items() if times > 1] == []
    for row in source.rows:
        assert None not in row.cells, f"{row.name}: more cells than columns"
        assert row.verdict in VERDICTS, row.name
        assert row.text("read") in READ, row.name
        assert row.within >= 0, row.name
        assert row.verdict == "holds" or "remark" in row, f"{row.name}: {row.verdict}, but no reason"


@of_each(SOURCES, named=name_of)
def test_the_functions_a_source_names_are_public(source: Source) -> None:
    looked_at = list(source.head["checks"].split(", "))
    assert looked_at
    for name in looked_at:
        room, attribute = name.rsplit(".", 1)
        judge = room == "tests.published.hand_formulas"
        assert hasattr(hand_formulas if judge else importlib.import_module(room), attribute), name


@of_each(SOURCES, named=name_of)
def test_the_options_a_source_names_exist(source: Source) -> None:
    told = source.head["options"]
    if told.startswith("none: "):
        assert [row.name for row in REACHED if row.source == source.name] == []
        return
    command = cli.get_command(click.Context(cli), told.split()[0].rstrip(",:"))
    assert command is not None, told
    options = {name for each in _parameters(command) for name in each.opts}
    assert set(re.findall(r"--[a-z-]+", told)) <= options


def _parameters(command: click.Command) -> list[click.Parameter]:
    below = command.commands.values() if isinstance(command, click.Group) else ()
    return [*command.params, *(each for child in below for each in _parameters(child))]
