"""Setup sheets as PDF or HTML, for files and whole folders."""

from __future__ import annotations

import os
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any

import click

from flangewise.commands import Settings
from flangewise.commands.output import (
    csv_text,
    finding_records,
    format_option,
    json_line,
    put,
    put_json,
    tell_example_shop,
)
from flangewise.commands.paths import Bar, paths_argument, tell_faults
from flangewise.commands.plan import plan_in, plan_record
from flangewise.commands.thickness import measured_thickness_option, with_thickness
from flangewise.faults import Fault, Unusable
from flangewise.jobs import Job
from flangewise.jobs.many import Outcome, each_outcome, processes
from flangewise.jobs.sheets import SheetRow, Wanted, hash_of, kept_row, made_row, shop_inputs
from flangewise.part import FoundPart, Part, read_parts
from flangewise.pattern import dxf_bytes
from flangewise.sheet import Attachment, MissingPangoError, Settings as Printing, load_pdf_maker
from flangewise.shop import Shop, load_shop
from flangewise.words import LANGUAGES, phrase, say, word

_COLUMNS = ("part", "file", "sheet", "pages", "status", "superseded", "findings")


@click.command("sheet", short_help="Setup sheets as PDF or HTML.")
@paths_argument
@click.option("-o", "--out", "folder", metavar="DIR", required=True, type=click.Path(path_type=Path), help="Into here.")
@click.option("--jobs", "jobs", metavar="N", type=click.IntRange(1), help="Processes; else one for each core.")
@click.option("--paper", type=click.Choice(["a4", "letter"]), help="Else as the shop says.")
@click.option("--lang", type=click.Choice(list(LANGUAGES)), help="Language of the sheet; else as the shop says.")
@click.option("--html", is_flag=True, help="One self-contained HTML file a part; needs no text library.")
@click.option("--all", "anew", is_flag=True, help="Also make sheets anew whose inputs have not changed.")
@click.option("--plan", "plan_file", metavar="FILE", type=click.Path(path_type=Path), help="Print this plan in JSON.")
@click.option("--date", "date", metavar="TEXT", default="", help="A date to print; left out, none is.")
@measured_thickness_option
@format_option
@click.pass_obj
def command(
    settings: Settings,
    paths: tuple[str, ...],
    folder: Path,
    jobs: int | None,
    paper: Any,
    lang: str | None,
    html: bool,
    anew: bool,
    plan_file: Path | None,
    date: str,
    measured_thickness: str | None,
    fmt: str,
) -> int:
    """The setup sheet of each part as DIR/PART.pdf: blank and loading, tools, every step, first piece, run record.

    PATH is a part file, a folder of part files, or - for standard input. A sheet made from the same inputs is kept. A
    part that is now refused has its old sheet renamed PART.superseded.pdf. With --plan one part is printed as a plan
    has it that was edited by hand, once the replay has passed it.
    """
    shop = load_shop(settings.shop_folder)
    found = with_thickness(read_parts(paths, shop), measured_thickness, settings)
    if plan_file is not None and len(found) != 1:
        raise click.UsageError("--plan prints one part at a time: give one part file with it")
    plan = None if plan_file is None else plan_in(plan_file)
    tell_example_shop(settings, fmt=fmt)
    printing = Printing(lang or shop.defaults.language, settings.units, paper or shop.defaults.paper, html)
    run = _Run(shop, Wanted(folder, printing, date), anew=anew, jobs=jobs or os.cpu_count() or 1, plan=plan)
    if fmt == "csv":
        put(csv_text(_COLUMNS, ()))
    return _told(run, found, settings=settings, fmt=fmt)


@dataclass(frozen=True)
class _Run:
    """One run: what all its sheets share."""

    shop: Shop
    wanted: Wanted
    anew: bool
    jobs: int
    plan: dict[str, Any] | None


@dataclass(frozen=True)
class _Order:
    """One sheet to be made, whole enough to be handed to another process."""

    part: Part
    hashed: str


def _told(run: _Run, found: Sequence[FoundPart], *, settings: Settings, fmt: str) -> int:
    """Make the sheets, tell a line a part in the order given, and give the highest status."""
    bar = Bar(len(found), shown=not settings.quiet and os.isatty(2))
    status = 0
    for file, outcome in _outcomes(run, found):
        bar.clear()
        status = max(status, _tell_one(file, outcome, settings=settings, fmt=fmt, lang=run.wanted.settings.lang))
        bar.step()
    bar.clear()
    return status


def _outcomes(run: _Run, found: Sequence[FoundPart]) -> Iterator[tuple[FoundPart, Outcome[Any, SheetRow] | None]]:
    """For each file the row of its sheet, kept or made; None where the file cannot be used."""
    shared = shop_inputs(run.shop, run.wanted)
    hashes = {each.file: hash_of(each.part, shared, run.plan) for each in found if each.part is not None}
    kept: dict[str, SheetRow] = {}
    orders: list[_Order] = []
    for each in found:
        if each.part is None:
            continue
        row = None if run.anew else kept_row(each.part, hashes[each.file], run.wanted)
        if row is not None:
            kept[each.file] = row
        else:
            orders.append(_Order(each.part, hashes[each.file]))
    if orders and not run.wanted.settings.html:
        # Loaded here once, so that forked workers have it, and so that what is missing is told before any work.
        _need_pdf_maker(run.wanted.settings.lang)
    with processes(run.jobs, len(orders)) as executor:
        made = each_outcome(partial(_make, run.shop, run.wanted, run.plan), orders, executor=executor)
        for each in found:
            if each.part is None:
                yield each, None
            elif each.file in kept:
                yield each, Outcome(each.part, kept[each.file])
            else:
                yield each, next(made)


def _need_pdf_maker(lang: str) -> None:
    try:
        load_pdf_maker()
    except MissingPangoError:
        raise Unusable([_pango_fault(lang)]) from None


def _pango_fault(lang: str) -> Fault:
    wrong, fits = (word(f"sheet.pango-{code}", lang) for code in ("missing", "install"))
    return Fault("flangewise", None, None, "sheet", wrong, fits)


def _make(shop: Shop, wanted: Wanted, plan: dict[str, Any] | None, order: _Order) -> SheetRow:
    lang = wanted.settings.lang
    return made_row(
        order.part,
        shop,
        wanted,
        hashed=order.hashed,
        attach=attachments,
        told=lambda job: finding_records(job.findings, plan=True, lang=lang),
        plan=plan,
    )


def attachments(job: Job) -> tuple[Attachment, ...]:
    """What rides inside a sheet: the plan as `plan --format json` gives it, the blank as `flat --dxf` writes it."""
    assert job.pattern is not None
    plan = (json_line(plan_record(job)) + "\n").encode()
    blank = dxf_bytes(job.pattern, job.shop.defaults.layers)
    return (
        Attachment(f"{job.part.name}.plan.json", plan, phrase("sheet.attached.plan")),
        Attachment(f"{job.part.name}.dxf", blank, phrase("sheet.attached.blank")),
    )


def _tell_one(
    found: FoundPart, outcome: Outcome[Any, SheetRow] | None, *, settings: Settings, fmt: str, lang: str
) -> int:
    if outcome is None:
        status, row = tell_faults(found.faults), _unusable_row(found)
    elif outcome.result is None:
        status, row = tell_faults(_faults_of(found, outcome.error)), _unusable_row(found)
    else:
        row = outcome.result
        status = 1 if row.refused else 0
    if fmt == "json":
        put_json(_record(row))
    elif fmt == "csv":
        put(csv_text(_COLUMNS, [_record(row)], head=False))
    elif row.part:
        put(_line(row))
        for finding in row.findings:
            settings.say(_finding_words(row, finding, lang))
    return status


def _finding_words(row: SheetRow, finding: dict[str, Any], lang: str) -> str:
    places = [row.part, finding["where"], finding["text"]]
    return f"{word('severity.' + finding['severity'], lang)}: " + ": ".join(place for place in places if place)


def _faults_of(found: FoundPart, error: Exception | None) -> Sequence[Fault]:
    """What is told of a part whose work failed: its own faults, or what went wrong, in one line."""
    if isinstance(error, Unusable):
        return error.faults
    told = f"{type(error).__name__}: {error}".splitlines()[0]
    if isinstance(error, OSError):
        return [Fault(found.file, None, None, "sheet", told, "check the folder, its rights and the disk")]
    return [Fault(found.file, None, None, "sheet", told, "please report it with the part file")]


def _unusable_row(found: FoundPart) -> SheetRow:
    name = found.part.name if found.part is not None else ""
    return SheetRow(name, found.file, None, None, "failed", None, ())


def _record(row: SheetRow) -> dict[str, Any]:
    return {
        "part": row.part or None,
        "file": row.file,
        "sheet": str(row.sheet) if row.sheet else None,
        "pages": row.pages,
        "status": row.status,
        "superseded": str(row.superseded) if row.superseded else None,
        "findings": list(row.findings),
    }


def _line(row: SheetRow) -> str:
    """A sheet's fate in one line, in English like all text of the command line."""
    if row.status == "failed":
        gone = say(phrase("sheet.told.superseded", file=str(row.superseded))) if row.superseded else ""
        code = "sheet.told.failed-plan" if row.by_hand else "sheet.told.failed"
        return say(phrase(code, part=row.part)) + gone
    pages = "" if row.pages is None else say(phrase("sheet.told.pages", pages=str(row.pages)))
    return say(phrase(f"sheet.told.{row.status}", part=row.part, file=str(row.sheet))) + pages
