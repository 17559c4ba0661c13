"""Jobs in the order with the least changing of tools, machine by machine, with the stations that stand for them."""

from __future__ import annotations

import datetime
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from flangewise import __version__
from flangewise.commands import Settings, output
from flangewise.commands.form import Form
from flangewise.commands.looking_on import Patience, read_seconds, seconds_option
from flangewise.commands.paths import paths_argument, spread
from flangewise.faults import Fault, Unusable
from flangewise.findings import refused
from flangewise.jobs import Waiting, queues, waiting
from flangewise.part import Part, read_parts
from flangewise.punch_die import segment_texts
from flangewise.queue import LaidStation, Queue, WorkingDays, job_records, queue_record
from flangewise.sheet import Identity, MissingPangoError, Printing, plan_hash, queue_pdf
from flangewise.shop import load_shop
from flangewise.units import in_units, trimmed
from flangewise.words import LANGUAGES, word

if TYPE_CHECKING:
    from flangewise.part import PanelPart

COLUMNS = (
    *("machine", "order", "part", "quantity", "due", "ends", "late", "layout", "stations", "put_in"),
    *("changes_inside", "set_up_min", "alone_min", "run_h"),
)
MOST_HOURS, HOUR_S, WEEK, MONDAY_TO_FRIDAY = 24.0, 3600.0, 7, 5


@click.command("queue", short_help="Jobs in the order with the least changing of tools.")
@paths_argument
@click.option("--from", "first", metavar="DAY", help="The first working day, as 2031-04-30; with --hours.")
@click.option("--hours", metavar="H", help="Worked a day, Monday to Friday; or seven from Monday on, 8,8,8,8,6,0,0.")
@click.option("-o", "--out", "out", metavar="FILE", type=click.Path(path_type=Path), help="Also a page to pin up, PDF.")
@click.option("--paper", type=click.Choice(["a4", "letter"]), help="Of that page; else as the shop says.")
@click.option("--lang", type=click.Choice(list(LANGUAGES)), help="Of that page; else as the shop says.")
@click.option("--date", "date", metavar="TEXT", default="", help="A date to print there; left out, none is.")
@seconds_option
@output.format_option
@click.pass_obj
def command(settings: Settings, /, paths: tuple[str, ...], out: Path | None, fmt: Form, **given: Any) -> int:
    """Which job after which, so that the fewest tools are put in; and where the stations stand that serve several.

    PATH is a part file, a folder of part files, or - for standard input. Each job is planned on its machine by itself;
    each machine has a queue of its own. Jobs with a due day keep the order of the days, those of one day may change
    places, and those without one fill in. With --from and --hours it is told on which day each ends; none without a
    date then makes one late that could be in time.
    """
    patience, days = Patience(read_seconds(given["seconds"]), settings), _days(given["first"], given["hours"])
    shop = load_shop(settings.shop_folder)
    found = read_parts(paths, shop)
    printer = output.Printer(settings, fmt, COLUMNS).begun()
    worked: list[Waiting] = []

    def one(part: Part | PanelPart, _: output.Printer) -> int:
        with patience.watch() as watch:
            worked.append(waiting(part, shop, watch))
        last = worked[-1]
        if last.job is None:
            settings.say(f"{part.name}: left out, {_why_not(last)}")
        return 0 if last.job is not None else 1

    status = spread(found, one, printer, panel_work=one)
    told = queues(worked, shop, days)
    for queue in told:
        rows = list(job_records(queue))
        printer.give(queue_record(queue), partial(queue_text, queue), queue.findings, rows=rows)
    printer.end()
    if out is not None and not told:
        settings.say(f"no job has a plan: no page is written, {out} is left as it is")
    if out is not None and told:
        printing = Printing(
            given["lang"] or shop.defaults.language, settings.told_units, given["paper"] or shop.defaults.paper
        )
        records = {queue.bed.machine.name: output.json_line(queue_record(queue)).encode() for queue in told}
        identity = Identity(plan_hash(records), __version__, date=given["date"])
        try:
            output.write_out(out, queue_pdf(told, identity, printing), settings)
        except MissingPangoError:
            wrong, fits = (word(f"sheet.pango-{code}", printing.lang) for code in ("missing", "install"))
            raise Unusable([Fault("flangewise", None, None, "queue", wrong, fits)]) from None
    return status


def _why_not(each: Waiting) -> str:
    told = [finding for finding in each.findings if finding.severity == "refuse"]
    known = "it cannot be bent" if each.feasible is False or refused(each.findings) else "no plan is known"
    return f"{known}: {output.finding_told(told[0])}" if told else known


def _days(first: str | None, hours: str | None) -> WorkingDays | None:
    """The working days asked for. Raises Unusable where one of the two is missing or makes no sense."""
    if first is None and hours is None:
        return None
    faults = []
    if first is None or hours is None:
        missing, other = ("--from", "--hours") if first is None else ("--hours", "--from")
        raise click.UsageError(f"{other} says nothing without {missing}: give both, or none")
    day = datetime.date.min
    try:
        day = datetime.date.fromisoformat(first)
    except ValueError:
        faults.append(Fault("--from", None, None, first[:40], "is no date", "write it as 2031-04-30"))
    each = _hours(hours)
    if each is None:
        fits = "give one figure above 0 up to 24, or seven from Monday to Sunday, 8,8,8,8,6,0,0"
        faults.append(Fault("--hours", None, None, hours[:40], "are no hours of a working day", fits))
    if faults or each is None:
        raise Unusable(faults)
    return WorkingDays(day, each)


def _hours(text: str) -> tuple[float, ...] | None:
    """Seconds worked each day from Monday on; None where the text says none."""
    try:
        each = [float(one) for one in text.split(",")]
    except ValueError:
        return None
    if len(each) == 1:
        each = each * MONDAY_TO_FRIDAY + [0.0] * (WEEK - MONDAY_TO_FRIDAY)
    if len(each) != WEEK or not all(0 <= one <= MOST_HOURS for one in each) or not any(each):
        return None
    return tuple(HOUR_S * one for one in each)


def queue_text(queue: Queue, units: str) -> str:
    """A machine's queue: what it takes and saves, then layout by layout its stations and the jobs that they serve."""
    record = queue_record(queue)
    said = {**record, "count": len(queue.jobs), "layouts": len(queue.layouts), **_said(queue)}
    blocks = [output.told_lines("queue.lines", said, units)]
    jobs = list(job_records(queue))
    table = "queue.dated" if any(job["due"] or job["ends"] for job in jobs) else "queue.jobs"
    for number, layout in enumerate(queue.layouts):
        stations = [_station_row(each, units) for each in layout.stations]
        blocks.append(f"\nlayout {number + 1}\n" + output.told_table("queue.stations", stations, units))
        own = [job | _job_row(job, units) for job in jobs if job["layout"] == number + 1]
        if own:
            blocks.append("\n" + output.told_table(table, own, units))
        else:
            blocks.append("\nthe last set-up of the job before, as its sheet says")
    return "\n".join(blocks) + "\n"


def _said(queue: Queue) -> dict[str, str | None]:
    """What takes words."""
    gap_min, saved_min = (queue.set_up_s - queue.least_s) / 60, queue.saved_s / 60
    saved = f"{saved_min:.1f} min against the given order"
    if saved_min < 0:
        saved = f"none: the given order takes {-saved_min:.1f} min less, but not by the due days"
    proof = "no order by the due days takes less" if any(each.job.due for each in queue.jobs) else "no order takes less"
    if not queue.proven:
        proof = f"not proven: none takes less than {queue.least_s / 60:.1f} min, a gap of {gap_min:.1f} min"
    return {"saved": saved, "proof": proof, "dates": _dates(queue)}


def _dates(queue: Queue) -> str | None:
    if not any(each.job.due for each in queue.jobs):
        return None
    last = max(at for at, each in enumerate(queue.jobs) if each.job.due is not None)
    count = sum(each.job.due is None for each in queue.jobs[:last])
    fill = f"; {count} without a date fill in before the last of them" if count else ""
    if queue.days is None:
        return f"kept in order{fill}; in time or late is not computed without --from and --hours"
    late = sum(each.is_late for each in queue.jobs)
    return f"kept in order{fill}; " + (f"{late} late, as early as it can be" if late else "none late")


def _station_row(each: LaidStation, units: str) -> dict[str, Any]:
    punch, die = each.standing.rows
    from_mm, to_mm = each.ends_mm(punch)
    segments = "; ".join(f"{row.kind} " + " + ".join(segment_texts(row.segments)) for row in (punch, die))
    rows = [row.kind for row in each.put_in]
    return {
        "letter": each.letter,
        "punch": punch.tool + (" turned" if punch.turned else ""),
        "die": die.tool,
        "from": _length(from_mm, units),
        "to": _length(to_mm, units),
        "put_in": " and ".join(rows) or "stands",
        "segments": segments,
    }


def _job_row(job: dict[str, Any], units: str) -> dict[str, Any]:
    places = [each["station"] + _moved(each["moved_mm"], units) for each in job["stations"]]
    return {
        "due": job["due"] or "",
        "ends": (job["ends"] or "") + (" late" if job["late"] else ""),
        "stations": ", ".join(places),
    }


def _moved(moved_mm: float, units: str) -> str:
    text = _length(abs(moved_mm), units)
    return "" if float(text) == 0 else f" {'+' if moved_mm > 0 else '-'}{text}"


def _length(length_mm: float, units: str) -> str:
    """A place on the bed: whole mm, hundredths of an inch."""
    return trimmed(in_units(length_mm, units), 2 if units == "inch" else 0)
