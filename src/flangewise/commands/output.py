"""How results leave: text aligned for people, JSON one object a line, CSV that a spreadsheet cannot misread.

Results go to standard output and nothing else does; findings in text form go to standard error. Numbers of JSON and
CSV are in mm, kN, N/mm2, degrees, kg and s whatever the display units.
"""

from __future__ import annotations

import csv
import io
import json
import math
import os
import sys
from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Any, TypeAlias, TypeVar

import click

from flangewise.commands import Settings
from flangewise.findings import Finding, sorted_findings
from flangewise.words import say, word

SCHEMA_VERSION = 1
# Far finer than any machine sets, coarse enough that rounding noise never shows.
PLACES = 6
# What a spreadsheet takes for a formula when a cell begins with it.
FORMULA_SIGNS = ("=", "+", "-", "@", "\t", "\r")

Record: TypeAlias = Mapping[str, Any]
_Command = TypeVar("_Command", bound=Callable[..., Any])


def format_option(command: _Command) -> _Command:
    """The option --format text|json|csv of a command, handed over as `fmt`."""
    choice = click.Choice(["text", "json", "csv"])
    shown = "Text for people, JSON Lines or CSV for scripts (always mm, kN, degrees)."
    return click.option("--format", "fmt", type=choice, default="text", show_default=True, help=shown)(command)


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


def text_table(head: Sequence[str], rows: Sequence[Sequence[str]], *, right: Sequence[int] = ()) -> str:
    """Rows under a head in aligned columns, two spaces apart; the columns numbered in `right` stand to the right."""
    lines = [list(head), *(list(row) for row in rows)]
    widths = [max(len(line[column]) for line in lines) for column in range(len(head))]
    return "\n".join(_aligned(line, widths, right) for line in lines)


def _aligned(line: Sequence[str], widths: Sequence[int], right: Sequence[int]) -> str:
    cells = (
        text.rjust(width) if column in right else text.ljust(width)
        for column, (text, width) in enumerate(zip(line, widths, strict=True))
    )
    return "  ".join(cells).rstrip()


def text_pairs(pairs: Sequence[tuple[str, str]], *, indent: int = 0) -> str:
    """Names and values in two aligned columns, one pair a line."""
    width = max((len(name) for name, _ in pairs), default=0)
    return "\n".join(f"{' ' * indent}{name.ljust(width)}  {value}".rstrip() for name, value in pairs)


def put(text: str) -> None:
    """Text to standard output, a line end after it where it has none.

    Where the reader has gone away the rest goes nowhere, quietly: the work is done and the exit status stays its own.
    """
    try:
        click.echo(text, nl=not text.endswith("\n"))
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def put_json(record: Record) -> None:
    """One record to standard output as a line of JSON."""
    put(json_line(record))


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
    places = [part, finding.place(lang), say(finding.phrase, lang, units)]
    if finding.step is not None and finding.where is None:
        places.insert(1, f"{word('word.step', lang)} {finding.step}")
    return f"{word('severity.' + finding.severity, lang)}: " + ": ".join(piece for piece in places if piece)


def tell_findings(findings: Iterable[Finding], settings: Settings, *, lang: str = "en", part: str = "") -> None:
    """Findings to standard error, a line each, the gravest first."""
    for finding in sorted_findings(findings):
        settings.say(finding_line(finding, units=settings.units, lang=lang, part=part))


def tell_example_shop(settings: Settings, *, fmt: str) -> None:
    """Say once, on standard error, that the built-in example shop is used; scripts reading JSON or CSV are spared."""
    if settings.shop_folder is None and fmt == "text":
        settings.say(word("word.example-shop"))
