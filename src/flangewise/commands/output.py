"""How results leave: text aligned for people, JSON one object a line, CSV that a spreadsheet cannot misread.

Results go to standard output and nothing else does; findings in text form go to standard error. Numbers of JSON and
CSV are in mm, kN, N/mm2, degrees, kg and s whatever the display units.
"""

import csv
import io
import json
import math
import os
import re
import string
import sys
from collections.abc import Callable, Iterable, Mapping, Sequence
from functools import cache
from pathlib import Path
from typing import Any, TypeAlias

import click

from flangewise.commands import Settings, visible
from flangewise.commands.brief import Brief
from flangewise.commands.columns import aligned, text_pairs
from flangewise.commands.form import Form, Totals, form_options
from flangewise.findings import Finding, exit_status, sorted_findings
from flangewise.reading import read_entries
from flangewise.records import dataclass, field
from flangewise.units import in_units, trimmed, written
from flangewise.words import Phrase, look_up, phrase, say, word
from flangewise.writing import write_whole

SCHEMA_VERSION = 1
# Far finer than any machine sets, coarse enough that rounding noise never shows.
PLACES = 6
# What a spreadsheet takes for a formula when a cell begins with it.
FORMULA_SIGNS = ("=", "+", "-", "@", "\t", "\r")

# What stands under a row of a table is so far from the left.
BELOW = 6

# What cannot be said.
NOTHING = "–"

Record: TypeAlias = Mapping[str, Any]

# Handed over as `fmt`.
format_option = form_options()


def tidy(value: Any) -> Any:
    """A value as JSON can carry it: floats rounded to PLACES, what is not finite as None, tuples as lists."""
    if isinstance(value, bool) or value is None or isinstance(value, (int, str)):
        return value
    if isinstance(value, float):
        return (round(value, PLACES) + 0.0) if math.isfinite(value) else None
    if isinstance(value, Mapping):
        return {str(key): tidy(each) for key, each in value.items()}
    if isinstance(value, Iterable):
        return [tidy(each) for each in value]
    return str(value)


def json_line(record: Record) -> str:
    """One record as one line of JSON, `schema_version` first."""
    return json.dumps({"schema_version": SCHEMA_VERSION, **tidy(record)}, ensure_ascii=False, allow_nan=False)


def csv_text(columns: Sequence[str], rows: Iterable[Record], *, head: bool = True) -> str:
    """Rows as CSV after RFC 4180: the columns named, in that order, text quoted, a missing value an empty cell."""
    out = io.StringIO()
    writer = csv.writer(out, quoting=csv.QUOTE_NONNUMERIC, lineterminator="\r\n")
    if head:
        writer.writerow(columns)
    writer.writerows([_cell(row.get(column)) for column in columns] for row in rows)
    return out.getvalue()


def _cell(value: Any) -> str | int | float:
    tidied = tidy(value)
    if isinstance(tidied, bool):
        return "true" if tidied else "false"
    if isinstance(tidied, (int, float)):
        return tidied
    if isinstance(tidied, (list, dict)):
        return json.dumps(tidied, ensure_ascii=False)
    return spreadsheet_text(tidied or "")


def spreadsheet_text(text: str) -> str:
    """Text as a cell that no spreadsheet runs: one that begins like a formula gets an apostrophe in front."""
    return "'" + text if text.startswith(FORMULA_SIGNS) else text


class _Sentence(string.Formatter):
    """Fills a template whose fields are paths, each value written as the unit at the end of its name asks.

    `{depth_mm}` is written with its unit, `{depth_mm:2/4}` bare with two digits in mm and four in inch, `{depth_mm:+2}`
    with its sign, `{turn_deg:2°}` with that unit; any other ending is Python's own. What is None is a dash.
    """

    OWN = re.compile(r"(\+?)(\d)(?:/(\d))?([^\d]*)")

    def __init__(self, units: str) -> None:
        self._units = units

    def get_field(self, field_name: str, args: Any, kwargs: Any) -> Any:
        return (field_name, look_up(kwargs, field_name)), field_name

    def format_field(self, value: Any, format_spec: str) -> str:
        name, found = value
        if found is None:
            return NOTHING
        if isinstance(found, Phrase):
            return say(found, units=self._units)
        own = self.OWN.fullmatch(format_spec)
        if own is not None:
            return self._bare(name, found, *own.groups())
        if format_spec or not isinstance(found, float):
            return format(found, format_spec)
        return written(name.rpartition(".")[2], found, self._units)

    def _bare(self, name: str, found: float, sign: str, digits: str, inch_digits: str | None, ending: str) -> str:
        is_inch = name.endswith("_mm") and self._units == "inch"
        number = in_units(found, self._units) if name.endswith("_mm") else found
        text = trimmed(number, int(inch_digits if is_inch and inch_digits else digits))
        return ("+" if sign and found >= 0 and text != "0" else "") + text + ending


def sentence(template: str, values: Record, units: str) -> str:
    """The template filled with what stands at its paths in `values`, lengths in `units`."""
    return _Sentence(units).vformat(template, (), values)


@cache
def _all_told() -> Mapping[str, Any]:
    return read_entries(Path(__file__).with_name("told.yaml"))


def told(name: str) -> Any:
    """What `told.yaml` has of that name: a template, words by their code, or the rows of a list or a table."""
    return _all_told()[name]


BENT = {True: "toward", False: "away"}
"""Which way a bend goes, of the marked face."""


def told_lines(name: str, values: Record, units: str) -> str:
    """A list of `told.yaml` filled: label, template, perhaps a path; a line whose path leads to None is left out."""
    lines = (line for line in told(name) if not line[2:] or look_up(values, line[2]) is not None)
    return text_pairs([(line[0], sentence(line[1], values, units)) for line in lines])


def told_table(name: str, records: Iterable[Record], units: str) -> str:
    """A table of `told.yaml`: a line a record under the headings of its columns, as `text_table` aligns them.

    A column marked `below` stands under its row, a line of its own with its heading, where it has something to say.
    """
    columns = told(name)
    across = [column for column in columns if column[2:] != ["below"]]
    below = [column for column in columns if column[2:] == ["below"]]
    records = list(records)
    rows = [[sentence(column[1], record, units) for column in across] for record in records]
    right = [place for place, column in enumerate(across) if column[2:]]
    sign = {"units": units, "sign": "in" if units == "inch" else units}
    head, *lines = aligned([column[0].format(**sign) for column in across], rows, right=right)
    blocks = [head]
    for line, record in zip(lines, records, strict=True):
        said = [(column[0].format(**sign), sentence(column[1], record, units)) for column in below]
        blocks.append(line)
        if any(text not in ("", NOTHING) for _, text in said):
            blocks.append(text_pairs([each for each in said if each[1] not in ("", NOTHING)], indent=BELOW))
    return "\n".join(blocks)


def bare(lengths_mm: Iterable[float], units: str, between: str = ", ") -> str:
    """Lengths in the units of a heading, without their sign."""
    digits = 3 if units == "inch" else 2
    return between.join(trimmed(in_units(each, units), digits) for each in lengths_mm)


def put(text: str) -> None:
    """Text to standard output, a line end after it where it has none.

    Where the reader has gone away the rest goes nowhere, quietly: the work is done and the exit status stays its own.
    """
    try:
        click.echo(visible(text), nl=not text.endswith("\n"))
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def write_out(path: Path, content: bytes, settings: Settings) -> None:
    """A result into its file, whole; where a link stood there, that is said. Raises OSError."""
    tell_link(path, write_whole(path, content), settings)


def tell_link(path: Path, led_to: Path | None, settings: Settings) -> None:
    """That a file now stands where a link led elsewhere; nothing where there was none."""
    if led_to is not None:
        told = say(phrase("written.in-place-of-link", file=str(path), led_to=str(led_to)))
        settings.say(f"{word('severity.note')}: {told}")


def step_row(plan: Record, step: Record) -> dict[str, Any]:
    """A step of a plan's record as a row of a table: what is nested stands in columns of its own."""
    return {
        **{key: plan.get(key) for key in ("machine", "handler", "material", "thickness_mm")},
        **step,
        **step["stops"],
        "part": plan["part"],
        "gauged_on": step["gauged_on"]["on"],
        "gauged_bend": step["gauged_on"]["bend"],
        "moves": "; ".join(move["words"] for move in step["moves"]),
    }


def finding_record(finding: Finding, *, plan: bool = False, lang: str = "en") -> dict[str, Any]:
    """A finding as the contract writes it; in a plan with the step, the two bodies and their overlap."""
    record: dict[str, Any] = {
        "severity": finding.severity,
        "code": finding.code,
        "where": finding.place(lang) or None,
        "text": finding.text(lang),
    }
    if plan:
        record |= {"step": finding.step, "bodies": finding.bodies, "overlap_mm": finding.overlap_mm}
    return record


def finding_records(findings: Iterable[Finding], *, plan: bool = False, lang: str = "en") -> list[dict[str, Any]]:
    """Findings as the contract writes them, the gravest first and none twice."""
    return [finding_record(finding, plan=plan, lang=lang) for finding in sorted_findings(findings)]


def finding_line(finding: Finding, *, units: str = "mm", lang: str = "en", part: str = "") -> str:
    """A finding as one line of text: how grave, where, the sentence."""
    told = finding_told(finding, units=units, lang=lang)
    return ": ".join(piece for piece in (word("severity." + finding.severity, lang), part, told) if piece)


def finding_told(finding: Finding, *, units: str = "mm", lang: str = "en") -> str:
    """Where a finding is, and its sentence."""
    places = [finding.place(lang), say(finding.phrase, lang, units)]
    if finding.step is not None and finding.where is None:
        places.insert(0, f"{word('word.step', lang)} {finding.step}")
    return ": ".join(piece for piece in places if piece)


def tell_findings(findings: Iterable[Finding], settings: Settings, *, part: str = "") -> None:
    """Findings to standard error, a line each, the gravest first."""
    for finding in sorted_findings(findings):
        settings.say(finding_line(finding, units=settings.units, part=part))


@dataclass(frozen=True)
class Printer:
    """One command's results on their way out, in the form that was asked for: text, json or csv.

    With `brief` the findings of a run are told shortly, and what was only counted by `end`. A table has `columns`, and
    may have those in `more` where they are asked for.
    """

    settings: Settings
    fmt: str
    columns: Sequence[str] = ()
    brief: Brief | None = None
    more: Sequence[str] = ()
    totals: Totals = field(default_factory=Totals)

    def begun(self) -> "Printer":
        """With what comes before any result said: that the built-in shop is used, for people; the head of the CSV."""
        if self.settings.shop_folder is None and self.fmt == "text":
            self.settings.say(word("word.example-shop"))
        self.head()
        return self

    def end(self) -> None:
        """What is told at the end of a run: what its lines add up to where that is asked, and what was only counted."""
        if self._form.totals and self.totals.lines:
            shown = self._shown(self.columns)
            put(csv_text(shown, [self.totals.row(shown)], head=False))
            for column, count in self.totals.missing.items():
                told = say(phrase("csv.not-added-up", column=column, count=count, lines=self.totals.lines))
                self.settings.say(f"{word('severity.note')}: {told}")
        if self.brief is not None:
            self.brief.end()

    def head(self) -> None:
        """The head of the CSV, where that is what was asked for. Raises Unusable for columns it does not have."""
        if self.fmt == "csv" and self.columns:
            put(csv_text(self._shown(self.columns), ()))

    @property
    def _form(self) -> Form:
        return self.fmt if isinstance(self.fmt, Form) else Form(self.fmt)

    def _shown(self, usual: Sequence[str]) -> tuple[str, ...]:
        return self._form.checked((*usual, *self.more), usual)

    def give(
        self,
        record: Record,
        text: Callable[[str], str],
        findings: Iterable[Finding] = (),
        *,
        rows: Iterable[Record] | None = None,
        part: str = "",
    ) -> int:
        """One result: the record as JSON, its rows (left out: itself) as CSV, or its text in the units asked for.

        The findings go with the text to standard error; the record holds its own. Gives the exit status they mean.
        """
        findings = tuple(findings)
        if self.fmt == "json":
            put(json_line(record))
        elif self.fmt == "csv":
            # Under the head that `begun` has written, or with a head of their own.
            listed = [record] if rows is None else list(rows)
            if listed:
                columns = self._shown(self.columns or list(listed[0]))
                self.totals.add(listed, columns)
                put(csv_text(columns, listed, head=not self.columns))
        else:
            shown = self.text_of(record, text)
            if shown:
                put(shown)
            if self.brief is None:
                tell_findings(findings, self.settings, part=part)
            else:
                for each in sorted_findings(findings):
                    told = finding_told(each, units=self.settings.units)
                    self.brief.tell(part, each.severity, told, mends=each.code.startswith("would-do"))
        return exit_status(findings)

    def text_of(self, record: Record, text: Callable[[str], str]) -> str:
        """What is told of a record, in the units asked for."""
        return text(self.settings.units)

    def give_all(self, records: Iterable[Record], text: Callable[[str], str]) -> None:
        """Many results of one kind: a line of JSON or CSV each, or one text for all."""
        if self.fmt == "json":
            for record in records:
                put(json_line(record))
        else:
            self.give({}, text, rows=records)
