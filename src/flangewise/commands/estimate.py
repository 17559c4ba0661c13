"""What parts cost in time: a line for each machine and handler asked."""

from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Any

import click

from flangewise.commands import Settings, output
from flangewise.commands.columns import text_pairs
from flangewise.commands.crews import one_job_option
from flangewise.commands.form import Form
from flangewise.commands.looking_on import Patience, read_seconds, seconds_option
from flangewise.commands.paths import paths_argument, spread
from flangewise.faults import Fault, Unusable, name_fits
from flangewise.jobs import Estimate, estimates, people_first
from flangewise.part import Part, machines_wanted, read_parts
from flangewise.shop import ANY, Shop, load_shop

ALL = "all"
COLUMNS = (
    *("part", "machine", "handler", "persons", "quantity", "feasible", "proven_least", "set_up_min", "cycle_s"),
    *("machine_h", "people_h", "tool_changes", "regrips", "greatest", "greatest_share", "pays_from", "missing"),
)


@click.command("estimate", short_help="What parts cost in time, by machine and handler.")
@paths_argument
@click.option("--machine", metavar="NAME", help="A machine, or any for each of the shop; left out, the part's own.")
@click.option("--handler", metavar="NAME", help="A handler, or all for each of the shop; left out, the part's own.")
@click.option("--why", is_flag=True, help="Also what it rests on: every time entered, by its key in the shop's tables.")
@one_job_option
@seconds_option
@output.format_option
@click.pass_obj
def command(
    settings: Settings,
    paths: tuple[str, ...],
    machine: str | None,
    handler: str | None,
    fmt: Form,
    *,
    why: bool,
    seconds: str,
    jobs: int,
) -> int:
    """Set-up, seconds a part, hours a batch, changes of tools, people, and what most of it is: for quoting a job.

    PATH is a part file, a folder of part files, or - for standard input. Each machine and handler is planned anew. A
    robot's line says from how many parts on it takes less of people than the first person asked. What was not entered
    is named, and what rests on it is not known.
    """
    patience = Patience(read_seconds(seconds), replace(settings, quiet=settings.quiet or jobs > 1))
    shop = load_shop(settings.shop_folder)
    _check(machine, {ANY: "", **dict.fromkeys(shop.machines, "")}, "--machine")
    _check(handler, {ALL: "", **dict.fromkeys(shop.handlers, "")}, "--handler")
    found = read_parts(paths, shop)
    parts = [each.part for each in found if each.part is not None]
    if fmt.totals and any(len(_machines(p, machine, shop)) * len(_handlers(p, handler, shop)) > 1 for p in parts):
        raise click.UsageError("--totals adds up one line a part: name one machine and one handler")
    printer = output.Printer(settings, fmt, COLUMNS).begun()

    def one(part: Part, to: output.Printer) -> int:
        told: list[Estimate] = []
        with patience.watch() as watch:
            asked = {"machines": _machines(part, machine, shop), "handlers": _handlers(part, handler, shop)}
            told.extend(estimates(part, shop, watch, **asked))
        records = [each.as_json() for each in told]
        whole: dict[str, Any] = {"part": part.name, "estimates": records}
        if why:
            whole["rests_on"] = rests_on(told, shop)
        to.give(whole, lambda units: estimate_text(part.name, told, whole.get("rests_on", {})) + "\n", rows=records)
        return 0 if any(each.feasible for each in told) else 1

    status = spread(found, one, printer, jobs=jobs)
    printer.end()
    return status


def _check(name: str | None, known: Iterable[str], option: str) -> None:
    if name is not None and name not in known:
        raise Unusable([Fault(option, None, None, name[:60], "is not in the shop", name_fits(name[:60], known))])


def _machines(part: Part, asked: str | None, shop: Shop) -> tuple[str, ...]:
    return machines_wanted(part, shop) if asked is None else tuple(shop.machines) if asked == ANY else (asked,)


def _handlers(part: Part, asked: str | None, shop: Shop) -> tuple[str, ...]:
    own = part.handler or shop.defaults.handler
    return people_first(shop.handlers if asked == ALL else (asked or own,), shop)


def rests_on(told: Iterable[Estimate], shop: Shop) -> dict[str, dict[str, float]]:
    """The times entered that the estimates rest on, by table and row, then by key."""
    found: dict[str, dict[str, float]] = {}
    for each in told:
        for table, row in (("machines", shop.machines[each.machine]), ("handlers", shop.handlers[each.handler])):
            entered = row.model_dump(exclude_none=True)
            found[f"{table}: {row.name}"] = {
                key: value
                for key, value in entered.items()
                if isinstance(value, (int, float))
                and key.endswith(("_s", "_share", "_mm_per_s", "_mm_per_s2", "people"))
                and not key.endswith("_wish_s")
            }
    return found


def estimate_text(part: str, told: Iterable[Estimate], entered: Mapping[str, Mapping[str, Any]]) -> str:
    """A part's lines, and what they rest on where that was asked."""
    records = [{**each.as_json(), **_said(each)} for each in told]
    quantity = records[0]["quantity"]
    lines = [f"{part}, a batch of {quantity}", output.told_table("estimate.lines", records, "mm")]
    given = [(name, ", ".join(f"{key} {value:g}" for key, value in row.items())) for name, row in entered.items()]
    return "\n".join([*lines, *([text_pairs(given)] if given else [])])


def _said(each: Estimate) -> dict[str, str]:
    """What takes words."""
    greatest, batch, against = each.greatest, each.batch, each.against
    pays = output.NOTHING
    if against is not None and batch is not None:
        missing = ", ".join(batch.missing)
        pays = f"not known, not entered: {missing}" if missing else "never"
        pays = pays if against.people_from is None else f"from {against.people_from} parts on"
    return {
        "verdict": output.NOTHING if each.feasible else "cannot be bent" if each.feasible is False else "not known",
        "mostly": output.NOTHING if greatest is None else f"{greatest[0].replace('_', '-')} {100 * greatest[1]:.0f} %",
        "pays": pays,
        "people": output.NOTHING if each.time is None or each.time.people == 1 else str(each.time.people),
    }
