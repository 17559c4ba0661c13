"""The first piece: what was measured, and the corrections; remembered where asked."""

from dataclasses import replace
from typing import Any

import click

from flangewise.commands import Settings
from flangewise.commands.output import Printer, finding_records, format_option, tell_findings
from flangewise.commands.tryout_options import readings
from flangewise.commands.tryout_text import tryout_text
from flangewise.faults import Fault, Unusable
from flangewise.findings import Finding, caution, exit_status, note, place, refuse
from flangewise.jobs import tag_of, tools_of, tried_piece, work_out
from flangewise.part import Part, read_parts
from flangewise.shop import MeasuredBends, Shop, load_shop
from flangewise.tryout import Remembered, correct, is_suspect, place_to_record, remember, rows_of


@click.command("tryout", short_help="The first piece: what was measured, and the corrections.")
@click.argument("part", metavar="PART")
@click.option("--included", multiple=True, metavar="BEND=A", help="Included angle measured, like 1=91.5.")
@click.option("--turn", multiple=True, metavar="BEND=A", help="The same as a turn from flat, like 1=88.5.")
@click.option("--leg", multiple=True, metavar="LEG=MEASURED", help="Leg measured, as the drawing sizes it.")
@click.option("--depth", multiple=True, metavar="BEND=SET", help="Depth that was set; left out: the plan's.")
@click.option("--stop", multiple=True, metavar="BEND=SET", help="Stop X that was set; left out: the plan's.")
@click.option("--developed", metavar="LENGTH", help="Blank measured across the bends, before bending.")
@click.option("--measured-thickness", metavar="T", help="Thickness of this piece.")
@click.option("--lot", default="", metavar="NAME", help="Lot or coil of the sheet.")
@click.option("--piece", default=1, type=int, metavar="N", show_default=True, help="Which piece of the lot it is.")
@click.option("--record", is_flag=True, help="Remember it in the shop's measured.csv.")
@format_option
@click.pass_obj
def command(settings: Settings, /, part: str, record: bool, fmt: str, **given: Any) -> int:
    """What to change after a measured piece: depth, stops and blank, and the deduction and K that it shows.

    PART is a part file, or - for standard input. Bare lengths are in the part file's units. Angles first: what a
    wrong angle does to a leg is taken out before a stop is judged.
    """
    shop = load_shop(settings.shop_folder)
    if record:
        place_to_record(shop)
    wanted = _only_part(part, shop)
    printer = Printer(settings, fmt)
    printer.begin()
    read = readings(given, wanted)
    job = work_out(wanted, without_lot(shop, read.lot))
    if job.pattern is None:
        tell_findings(job.findings, settings, part=wanted.name)
        return exit_status(job.findings)
    piece = tried_piece(job, job.pattern, read)
    told = correct(piece)
    answer: dict[str, Any] = {
        "part": wanted.name,
        "lot": read.lot,
        "piece": read.piece,
        "thickness_mm": wanted.thickness_mm,
        "measured_thickness_mm": read.thickness_mm,
        **told.as_json(piece),
    }
    findings = [*told.findings]
    if job.setup is None:
        findings.append(note("tryout-no-plan"))
    suspect = [bend for bend in piece.bends if is_suspect(bend)]
    if record and suspect:
        findings += [refuse("tryout-not-recorded", place("bend", bend.number)) for bend in suspect]
        answer["recorded"] = 0
    elif record:
        rows = rows_of(piece, told, tag=tag_of(job, read), tools=tools_of(job))
        remembered = remember(place_to_record(shop), rows)
        findings += [note("tryout-no-lot")] if not read.lot else []
        findings += _record_findings(remembered, lot=read.lot, piece=read.piece)
        answer["recorded"] = len(remembered.recorded)
    head = {key: answer[key] for key in ("part", "lot", "piece")}
    printer.give(
        {**answer, "findings": finding_records(findings)},
        lambda units: tryout_text(answer, units) + "\n",
        findings,
        rows=[{**head, **bend} for bend in answer["bends"]],
        part=wanted.name,
    )
    return exit_status(findings)


def without_lot(shop: Shop, lot: str) -> Shop:
    """The shop as it was before this lot taught it anything: the plan that the piece in hand was bent by."""
    rows = tuple(row for row in shop.measured.rows if row.lot != lot)
    return replace(shop, measured=MeasuredBends(rows))


def _only_part(path: str, shop: Shop) -> Part:
    found = read_parts([path], shop)
    if len(found) != 1:
        raise Unusable([Fault(path, None, None, "tryout", f"holds {len(found)} parts", "give the one part measured")])
    if found[0].part is None:
        raise Unusable(found[0].faults)
    return found[0].part


def _record_findings(remembered: Remembered, *, lot: str, piece: int) -> list[Finding]:
    """What became of the rows: written, there before, there before with other figures."""
    file = str(remembered.file)
    if not (remembered.recorded or remembered.kept or remembered.differing):
        return [caution("tryout-nothing", None)]
    found = [note("tryout-recorded", None, count=len(remembered.recorded), file=file)] if remembered.recorded else []
    for code, rows in (("tryout-kept", remembered.kept), ("tryout-differs", remembered.differing)):
        make = note if code == "tryout-kept" else caution
        found += [make(code, place("bend", row.bend), lot=lot or "unnamed", piece=piece, file=file) for row in rows]
    return found
