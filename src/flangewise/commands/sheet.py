"""Setup sheets as PDF or HTML, for files and whole folders."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from flangewise.commands import Settings, tell_faults
from flangewise.commands.brief import Brief
from flangewise.commands.crews import executor_option, hired, jobs_option
from flangewise.commands.looking_on import read_seconds, seconds_option
from flangewise.commands.output import Printer, finding_records, format_option, json_line, tell_link
from flangewise.commands.paths import (
    counted,
    faults_of,
    made_ready,
    measured_thickness_option,
    paths_argument,
    with_thickness,
)
from flangewise.commands.plan import plan_in, plan_record
from flangewise.faults import Fault, Unusable
from flangewise.jobs import Job, crew, families, sheets
from flangewise.part import FoundPart, Part, read_parts
from flangewise.pattern import dxf_bytes
from flangewise.records import dataclass
from flangewise.sheet import WITHDRAWN, Attachment, MissingPangoError, Printing, load_pdf_maker
from flangewise.shop import Shop, load_shop
from flangewise.words import LANGUAGES, phrase, say, word

if TYPE_CHECKING:
    from flangewise.part import PanelPart

_COLUMNS = ("part", "file", "sheet", "pages", "status", "superseded", "findings", "leaf", "differs")


@click.command("sheet", short_help="Setup sheets as PDF or HTML.")
@paths_argument
@click.option("-o", "--out", "folder", metavar="DIR", required=True, type=click.Path(path_type=Path), help="Into here.")
@jobs_option
@executor_option
@click.option("--paper", type=click.Choice(["a4", "letter"]), help="Else as the shop says.")
@click.option("--lang", type=click.Choice(list(LANGUAGES)), help="Language of the sheet; else as the shop says.")
@click.option("--html", is_flag=True, help="One self-contained HTML file a part; needs no text library.")
@click.option("--all", "anew", is_flag=True, help="Also make sheets anew whose inputs have not changed.")
@click.option("--plan", "plan_file", metavar="FILE", type=click.Path(path_type=Path), help="Print this plan in JSON.")
@click.option("--date", "date", metavar="TEXT", default="", help="A date to print; left out, none is.")
@click.option("--timing", is_flag=True, help="Tell how long planning and printing took.")
@seconds_option
@measured_thickness_option
@format_option
@click.pass_obj
def command(settings: Settings, /, paths: tuple[str, ...], plan_file: Path | None, fmt: str, **given: Any) -> int:
    """The setup sheet of each part as DIR/PART.pdf: blank and loading, tools, every step, first piece, run record.

    Sizes of a file with `family: one-leaf` that are made alike stand on one leaf, DIR/FAMILY.pdf, with a table.
    PATH is a part file, a folder of part files, or - for standard input. A sheet made from the same inputs is kept. A
    part that is now refused has its old sheet renamed PART.superseded.pdf. A sheet is in the units of its part, unless
    --units says others. With --plan one part is printed as a plan
    has it that was edited by hand, once the replay has passed it.
    """
    seconds = read_seconds(given["seconds"])
    shop = load_shop(settings.shop_folder)
    found = with_thickness(read_parts(paths, shop), given["measured_thickness"], settings)
    if plan_file is not None and len(found) != 1:
        raise click.UsageError("--plan prints one part at a time: give one part file with it")
    plan = None if plan_file is None else plan_in(plan_file)
    own = shop.defaults
    printing = Printing(given["lang"] or own.language, settings.told_units, given["paper"] or own.paper, given["html"])
    printer = Printer(settings, fmt, _COLUMNS, Brief(settings, printing.lang)).begun()
    wanted = sheets.Wanted(given["folder"], printing, given["date"], seconds)
    made_ready(wanted.folder, found, leaves=not printing.html)
    for code, is_so in (("no-leaf", printing.html), ("no-leaf-panel", any(each.leaf and each.panel for each in found))):
        if is_so and any(each.leaf for each in found):
            settings.say(say(phrase(f"sheet.told.{code}")))
    run, groups = _Run(shop, wanted, plan), _groups(found, leaves=not printing.html)
    hire = hired(given["jobs"], given["executor"], len(groups))
    outcomes = _outcomes(groups, run, shop, anew=given["anew"], hire=hire, shown=settings.is_watched)
    status = max((_tell_one(file, row, printer, timing=given["timing"]) for file, row in outcomes), default=0)
    printer.end()
    return status


def _groups(found: Sequence[FoundPart], *, leaves: bool) -> tuple[tuple[FoundPart, ...], ...]:
    """What is worked out together: the sizes of a family that is to have one leaf, any other part by itself.

    What gets no leaf, a panel or a file that cannot be used, stands by itself before its family.
    """
    groups: list[tuple[FoundPart, ...]] = []
    for each in found:
        if leaves and each.leaf and each.part is not None and groups and _leaf_of(groups[-1]) == (each.file, each.leaf):
            groups[-1] = (*groups[-1], each)
        else:
            place = len(groups) - (
                each.part is None and bool(groups) and _leaf_of(groups[-1]) == (each.file, each.leaf)
            )
            groups.insert(place, (each,))
    return tuple(groups)


def _leaf_of(group: tuple[FoundPart, ...]) -> tuple[str, str] | None:
    first = group[0]
    return (first.file, first.leaf) if first.leaf and first.part is not None else None


def _outcomes(
    groups: Sequence[tuple[FoundPart, ...]], run: _Run, shop: Shop, *, anew: bool, hire: crew.Hire | None, shown: bool
) -> Iterator[tuple[FoundPart, sheets.SheetRow | Exception]]:
    """For each file, in order, the row of its sheet, kept or made and written, or why there is none."""
    shared = sheets.shop_inputs(shop, run.wanted)

    def order_of(group: tuple[FoundPart, ...]) -> sheets.Order | tuple[sheets.SheetRow, ...]:
        if len(group) > 1:
            parts = [each.part for each in group if each.part is not None]
            _check_names([(part.name, part.file) for part in parts] + [(group[0].leaf, group[0].file)])
            return families.family_ordered(group[0].leaf, parts, shared, run.wanted, anew=anew)
        part = _printable(group[0])
        if part is None:
            raise Unusable(group[0].faults)
        _check_names([(part.name, part.file)])
        order = sheets.ordered(part, sheets.hash_of(part, shared, run.plan), run.wanted, anew=anew)
        return (order,) if isinstance(order, sheets.SheetRow) else order

    def orders() -> Iterator[sheets.Order | crew.KnownWork[tuple[sheets.Draft, ...]]]:
        can_print = run.wanted.settings.html
        for group in groups:
            order = crew.attempted(order_of, group)
            if isinstance(order, Exception):
                yield crew.KnownWork(order)
                continue
            if isinstance(order, tuple):
                yield crew.KnownWork(tuple(map(sheets.Draft, order)))
                continue
            if not can_print:
                # Loaded here once, so that forked workers have it, and so that what is missing is told before any work.
                _load_pdf_maker(run.wanted.settings.lang)
                can_print = True
            yield order

    def written() -> Iterator[tuple[int, tuple[sheets.SheetRow, ...] | Exception]]:
        for number, drafts in crew.each_outcome(run, orders(), hire=hire):
            yield number, drafts if isinstance(drafts, Exception) else crew.attempted(run.settle, drafts)

    outcomes = crew.in_order(counted(written(), len(groups), shown=shown))
    for group, rows in zip(groups, outcomes, strict=True):
        if isinstance(rows, Exception):
            yield from ((each, rows) for each in group)
        else:
            yield from zip(group, rows, strict=True)


def _check_names(names: Sequence[tuple[str, str]]) -> None:
    """Raises Unusable where a sheet would lie where the withdrawn one of another part belongs."""
    kept = [_kept_name(name, file) for name, file in names if name.casefold().endswith(WITHDRAWN)]
    if kept:
        raise Unusable(kept)


def _kept_name(name: str, file: str) -> Fault:
    wrong = f"the name {name!r} ends like that of a sheet that was withdrawn"
    return Fault(file, None, None, "part", wrong, f"leave {WITHDRAWN} off its end")


def _load_pdf_maker(lang: str) -> None:
    try:
        load_pdf_maker()
    except MissingPangoError:
        wrong, fits = (word(f"sheet.pango-{code}", lang) for code in ("missing", "install"))
        raise Unusable([Fault("flangewise", None, None, "sheet", wrong, fits)]) from None


def _printable(found: FoundPart) -> Part | PanelPart | None:
    """The part of a file that a sheet is made of."""
    return found.part or found.panel


@dataclass(frozen=True)
class _Run:
    """What the sheets of a run have in common; called with an order it drafts its sheets, wherever the work is done."""

    shop: Shop
    wanted: sheets.Wanted
    plan: sheets.Plan | None

    def __call__(self, order: sheets.Order) -> tuple[sheets.Draft, ...]:
        def told(job: Job) -> list[dict[str, Any]]:
            return finding_records(job.findings, plan=True, lang=self.wanted.settings.lang)

        if isinstance(order, families.FamilyOrder):
            return families.family_drafted(order, self.shop, self.wanted, attach=attachments, told=told)
        if not isinstance(order.part, Part):
            from flangewise.commands.sheet_panel import draft_panel

            return (draft_panel(order, self.shop, self.wanted, self.plan),)
        return (sheets.drafted(order, self.shop, self.wanted, attach=attachments, told=told, plan=self.plan),)

    def settle(self, drafts: Sequence[sheets.Draft]) -> tuple[sheets.SheetRow, ...]:
        """Write what was made; what was kept is as it was. Raises OSError."""
        return tuple(sheets.settled(draft, self.wanted) for draft in drafts)


def attachments(job: Job) -> tuple[Attachment, ...]:
    """What rides inside a sheet: the plan as `plan --format json` gives it, the blank as `flat --dxf` writes it."""
    assert job.pattern is not None
    plan = (json_line(plan_record(job)) + "\n").encode()
    blank = dxf_bytes(job.pattern, job.shop.defaults.layers)
    return (
        Attachment(f"{job.part.name}.plan.json", plan, phrase("sheet.attached.plan")),
        Attachment(f"{job.part.name}.dxf", blank, phrase("sheet.attached.blank")),
    )


def _tell_one(found: FoundPart, row: sheets.SheetRow | Exception, printer: Printer, *, timing: bool) -> int:
    failed = isinstance(row, Exception)
    if isinstance(row, Exception):
        status, name = (
            tell_faults(faults_of(found.file, "sheet", row)),
            found.part.name if found.part is not None else "",
        )
        row = sheets.SheetRow(name, found.file, None, None, "failed", None, ())
    else:
        status = 1 if row.refused else 0
    record = {column: getattr(row, column) for column in _COLUMNS} | {
        "part": row.part or None,
        "leaf": row.leaf or None,
    }
    printer.give(record, lambda units: "" if failed else _line(row))
    if row.sheet is not None:
        tell_link(row.sheet, row.in_place_of, printer.settings)
    if printer.fmt == "text" and printer.brief is not None:
        for finding in row.findings:
            told = ": ".join(each for each in (finding["where"], finding["text"]) if each)
            printer.brief.tell(row.part, finding["severity"], told)
    if row.differs:
        differs = ", ".join(word(f"sheet.differs.{name}") for name in row.differs)
        printer.settings.say(say(phrase("sheet.told.differs", part=row.part, differs=differs)))
    if timing and row.plan_s is not None and row.sheet_s is not None:
        seconds = {"plan": f"{row.plan_s:.2f}", "sheet": f"{row.sheet_s:.2f}"}
        printer.settings.say(say(phrase("sheet.told.timing", part=row.part, **seconds)))
    return status


def _line(row: sheets.SheetRow) -> str:
    """A sheet's fate in one line, in English like all text of the command line."""
    if row.status == "failed":
        gone = say(phrase("sheet.told.superseded", file=str(row.superseded))) if row.superseded else ""
        code = "sheet.told.failed-plan" if row.by_hand else "sheet.told.failed"
        return say(phrase(code, part=row.part)) + gone
    counted = "one-page" if row.pages == 1 else "pages"
    pages = "" if row.pages is None else say(phrase(f"sheet.told.{counted}", pages=str(row.pages)))
    leaf = say(phrase("sheet.told.leaf", leaf=row.leaf)) if row.leaf else ""
    gone = say(phrase("sheet.told.superseded", file=str(row.superseded))) if row.superseded else ""
    return say(phrase(f"sheet.told.{row.status}", part=row.part, file=str(row.sheet))) + pages + leaf + gone
