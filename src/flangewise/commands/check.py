"""Only the findings of part files: for use before a drawing is released."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from typing import TYPE_CHECKING

import click

from flangewise import jobs
from flangewise.commands import Settings
from flangewise.commands.crews import one_job_option
from flangewise.commands.looking_on import USUAL_S
from flangewise.commands.output import Printer, finding_records, format_option
from flangewise.commands.paths import on_each_part, paths_argument
from flangewise.findings import Finding, sorted_findings
from flangewise.jobs import RememberedWork, work_out
from flangewise.part import Part
from flangewise.sequence import watch_for
from flangewise.shop import Shop

if TYPE_CHECKING:
    from flangewise.part import PanelPart

_COLUMNS = ("part", "severity", "code", "where", "text", "step")
_COUNTED = (("refuse", "refusal", "refusals"), ("caution", "caution", "cautions"), ("note", "note", "notes"))


@click.command("check", short_help="Only the findings of part files.")
@paths_argument
@one_job_option
@format_option
@click.pass_obj
def command(settings: Settings, paths: tuple[str, ...], fmt: str, jobs: int) -> int:
    """What must be known of each part before its drawing is released: what cannot be bent, and what needs a look.

    PATH is a part file, a folder of part files, or - for standard input. The findings themselves go to standard error
    as text, to standard output as JSON or CSV.
    """
    work = RememberedWork(work_out)

    def one(part: Part, shop: Shop, printer: Printer) -> int:
        return _told(part.name, work(part, shop, watch_for(USUAL_S)).findings, printer)

    return on_each_part(paths, settings, lambda panels: Printer(settings, fmt, _COLUMNS), one, _panel, jobs=jobs)


def _panel(part: PanelPart, shop: Shop, printer: Printer) -> int:
    return _told(part.name, jobs.panel_worked_out(part, shop).findings, printer)


def _told(name: str, found: Iterable[Finding], printer: Printer) -> int:
    findings = sorted_findings(found)
    records = finding_records(findings, plan=True)
    counts: Counter[str] = Counter(finding.severity for finding in findings)
    told = [f"{counts[kind]} {one if counts[kind] == 1 else many}" for kind, one, many in _COUNTED if counts[kind]]
    counted = f"{name}: {', '.join(told) or 'no findings'}"
    rows = [{"part": name, **record} for record in records]
    record = {"part": name, "findings": records}
    return printer.give(record, lambda units: counted, findings, rows=rows, part=name)
