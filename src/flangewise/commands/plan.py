"""Tools, bend order, stops, forces and handling of part files; and a plan checked again."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from flangewise import jobs
from flangewise.commands import Settings, output
from flangewise.commands.brief import Brief
from flangewise.commands.crews import one_job_option
from flangewise.commands.flat import blank_record
from flangewise.commands.form import form_options
from flangewise.commands.looking_on import Patience, read_seconds, seconds_option
from flangewise.commands.paths import made_ready, measured_thickness_option, paths_argument, spread, with_thickness
from flangewise.commands.plan_gripping import (
    GRIP_COLUMNS,
    grip_records,
    grip_row,
    gripping_record,
    gripping_text,
    gripping_why,
)
from flangewise.commands.plan_text import other_record, plan_text, why_text
from flangewise.faults import Fault, Unusable
from flangewise.jobs import Job, hand_steps, runners_up, work_out
from flangewise.part import FoundPart, Part, read_parts
from flangewise.reading import read_text
from flangewise.shop import Shop, load_shop

if TYPE_CHECKING:
    from flangewise.part import PanelPart

_COLUMNS = (
    *("part", "step", "bends", "marked_face", "gauged_on", "gauged_bend", "moves", "punch", "punch_turned", "die"),
    *("x_mm", "r_mm", "z_mm", "retract_mm", "force_kn", "depth_mm", "bend_to_deg", "finished_deg"),
    *("open_height_mm", "clearance_mm", "seconds"),
    *GRIP_COLUMNS,
)
# Columns that a table has where they are asked for.
_MORE = (
    *("machine", "handler", "material", "thickness_mm", "hit", "open_height_reason", "slow_from_mm"),
    *("ram_speed_mm_per_s", "crowning_mm", "deg_per_mm", "mm_per_deg", "spread_deg", "tolerance_deg"),
)
# The form that is typed in at a control.
KEYS = "keys"
# Columns that a table has beside these where there are panels in it.
PANEL_PLAN_COLUMNS = ("faces", "behind", "row", "row_from_line_mm", "die_from_line_mm", "short_mm", "leaves")


@click.command("plan", short_help="Tools, bend order, stops, forces and handling.")
@paths_argument
@click.option("--replay", "replay_file", metavar="FILE", type=click.Path(path_type=Path), help="Re-check this plan.")
@click.option("--since", metavar="OLD", help="What changed since: a plan's JSON, or the part file as it was.")
@click.option("--draw", metavar="DIR", type=click.Path(path_type=Path), help="Write each step's picture as SVG here.")
@click.option("--why", is_flag=True, help="Also what the next best orders cost, and where.")
@click.option("--cell", is_flag=True, help="The run instead: table, packing, distances, times by hand and robot.")
@seconds_option
@measured_thickness_option
@one_job_option
@form_options(KEYS)
@click.pass_obj
def command(
    settings: Settings, /, paths: tuple[str, ...], fmt: str, replay_file: Path | None, since: str | None, **asked: Any
) -> int:
    """How each part is bent: punch and die, the order with the least handling, stops, depths, forces, moves in words.

    PATH is a part file, a folder of part files, or - for standard input. With --replay one part and one plan in JSON,
    its own or edited by hand, are stepped through by a second, simpler simulator, and the differences are findings.
    With --since only what changed at the machine is told, and the exit status is 3 where anything did.
    """
    if fmt == KEYS and (since is not None or asked["cell"] or asked["why"]):
        raise click.UsageError("--format keys is a plan's own: leave out --since, --cell and --why")
    jobs = asked.pop("jobs")
    # There is one line for what is searched, and many searches.
    patience = Patience(read_seconds(asked.pop("seconds")), replace(settings, quiet=settings.quiet or jobs > 1))
    shop = load_shop(settings.shop_folder)
    found = with_thickness(read_parts(paths, shop), asked.pop("measured_thickness"), settings)
    if asked["draw"] is not None:
        made_ready(asked["draw"], found)
    if replay_file is not None:
        output.Printer(settings, fmt).begun()
        # A replay gives findings, which have no CSV: asked for it, they are told as text.
        replaying, plan = output.Printer(settings, "json" if fmt == "json" else "text"), plan_in(replay_file)
        file = str(replay_file)

        def replay(part: Part | PanelPart, to: output.Printer) -> int:
            return _replay(part, shop, plan, file, to)

        return spread(found, replay, replaying, panel_work=replay)
    has_panels = any(each.panel is not None for each in found)
    columns: tuple[str, ...] = (*_COLUMNS, *PANEL_PLAN_COLUMNS) if has_panels else _COLUMNS
    more: tuple[str, ...] = _MORE
    if asked["cell"]:
        from flangewise.commands.plan_cell import CELL_COLUMNS

        columns, more = CELL_COLUMNS, ()

    def plan_all(parts: Sequence[FoundPart], to: output.Printer, **asked: Any) -> int:
        status = spread(
            parts,
            lambda part, to: _one(part, shop, to, patience, **asked),
            to,
            panel_work=lambda part, to: _panel(part, shop, to, patience, **asked),
            jobs=jobs,
        )
        to.end()
        return status

    if since is None:
        kind = output.Printer
        if fmt == KEYS:
            from flangewise.commands.plan_keys import KeysPrinter

            kind = KeysPrinter
        return plan_all(found, kind(settings, fmt, columns, Brief(settings), more).begun(), **asked)
    from flangewise.commands.plan_since import since_printer

    plain = {"draw": None, "why": False, "cell": False}
    printer = since_printer(since, found, settings, fmt, lambda parts, to: plan_all(parts, to, **plain), shop)
    return plan_all(found, printer.begun(), **plain)


def _panel(
    part: PanelPart,
    shop: Shop,
    printer: output.Printer,
    patience: Patience,
    *,
    draw: Path | None,
    why: bool,
    cell: bool,
) -> int:
    from flangewise.commands.plan_panel import give_panel_plan
    from flangewise.jobs import worked_out_panel

    with patience.watch() as watch:
        plan = worked_out_panel(part, shop, watch)
        if cell and plan.feasible:
            from flangewise.commands.plan_cell import give_panel_cell_plan

            return give_panel_cell_plan(plan, shop, printer, patience.unseen(watch))
        return give_panel_plan(plan, shop, printer, patience.unseen(watch), NO_TOTALS, draw=draw, why=why)


def plan_record(job: Job) -> dict[str, Any]:
    """A plan as JSON carries it: the keys of the published record, in mm, kN, degrees and seconds."""
    solution = job.ordered.solution if job.ordered is not None else None
    setup = job.setup
    return {
        "part": job.part.name,
        "machine": job.machine.name,
        "handler": job.handler.name,
        "material": job.part.material,
        "thickness_mm": job.part.thickness_mm,
        "measured_thickness_mm": job.part.measured_thickness_mm,
        "blank": blank_record(job.pattern),
        "feasible": job.feasible,
        "proven_least": solution.proven_least if solution is not None and job.feasible else False,
        "cost": solution.cost if solution is not None and job.feasible else None,
        "lower_bound": solution.lower_bound if solution is not None else None,
        "steps": _step_records(job),
        "totals": setup.totals_json() if setup is not None and job.feasible else NO_TOTALS,
        "findings": output.finding_records(job.findings, plan=True),
        "leg_errors": [vars(each) for each in job.sizes],
        "other_machines": [other_record(other) for other in job.others],
        "gripping": gripping_record(job, lambda: jobs.handled_ways(job)),
        "racks": _racks(job),
        "job_card": job.part.job_card,
    }


def _racks(job: Job) -> dict[str, dict[str, str]]:
    """Where each punch and each die of the plan is kept, by its name; without those of which the shop does not say."""
    steps = job.setup.steps if job.setup is not None and job.feasible else ()
    pairs = [step.planned.mounting.pair.tools for step in steps]
    punches, dies = [each.punch for each in pairs if each.punch], [each.die for each in pairs if each.die]
    racks = ({tool.name: tool.rack for tool in tools if tool.rack} for tools in (punches, dies))
    return dict(zip(("punches", "dies"), racks, strict=True))


def _step_records(job: Job) -> list[dict[str, Any]]:
    """The steps; of a robot's plan each with how a hand does it for the first piece."""
    if job.setup is None or not job.feasible:
        return []
    by_hand = {each.step: each.as_json() for each in hand_steps(job)}
    grips = grip_records(job)
    own = ({"first_piece": by_hand.get(step.step), "grip": grips.get(step.step)} for step in job.setup.steps)
    return [{**step.as_json(), **each} for step, each in zip(job.setup.steps, own, strict=True)]


NO_TOTALS: dict[str, Any] = dict.fromkeys(("turn_overs", "turns", "regrips", "tool_changes", "cycle_s"))


def _one(
    part: Part, shop: Shop, printer: output.Printer, patience: Patience, *, draw: Path | None, why: bool, cell: bool
) -> int:
    with patience.watch() as watch:
        job = work_out(part, shop, watch)
        if cell and job.feasible:
            from flangewise.commands.plan_cell import give_cell_plan

            return give_cell_plan(replace(job, watch=patience.unseen(watch)), printer)
        others = runners_up(job) if why and printer.fmt != "csv" else []
    record = plan_record(job)

    def text(units: str) -> str:
        blocks = [plan_text(job, units=units), gripping_text(job, record["gripping"], units=units)]
        blocks += [why_text(job, others), gripping_why(job, units=units)] if why else []
        return "\n\n".join(block for block in blocks if block) + "\n"

    told = {**record, "why": others} if why else record
    status = printer.give(told, text, job.findings, rows=_csv_rows(record), part=part.name)
    if draw is not None:
        from flangewise.jobs.printed import step_pictures

        for step, picture in step_pictures(job, units=printer.settings.units):
            output.write_out(draw / f"{part.name}.step-{step}.svg", picture.encode(), printer.settings)
    return status


def _csv_rows(record: dict[str, Any]) -> list[dict[str, Any]]:
    return [{**output.step_row(record, step), **grip_row(step)} for step in record["steps"]]


PLAN_WANTED = "give one plan as `plan --format json` writes it"


def plan_in(file: Path) -> dict[str, Any]:
    """The plan in a JSON file. Raises Unusable, saying where, for what is no plan."""
    text = read_text(file)
    try:
        plan = json.loads(text)
    except json.JSONDecodeError as error:
        fault = Fault(str(file), error.lineno, error.colno, "JSON", error.msg, PLAN_WANTED)
    except (RecursionError, ValueError):  # nested without end, or a number of thousands of digits
        fault = Fault(str(file), None, None, "JSON", "is too deep or too long to be read", PLAN_WANTED)
    else:
        if isinstance(plan, dict) and isinstance(plan.get("steps"), list):
            return plan
        fault = Fault(str(file), None, None, "plan", "has no list of steps", PLAN_WANTED)
    raise Unusable([fault])


def _replay(part: Part | PanelPart, shop: Shop, plan: dict[str, Any], file: str, printer: output.Printer) -> int:
    if not isinstance(part, Part):
        findings = jobs.panel_replayed(part, shop, plan, file=file)
    else:
        findings = jobs.replayed(part, shop, plan, file=file)
    count = len(plan["steps"])
    told = f"{part.name}: {count} steps replayed, {len(findings) or 'no'} findings"
    record = {"part": part.name, "replayed_steps": count, "findings": output.finding_records(findings, plan=True)}
    return printer.give(record, lambda units: told, findings, part=part.name)
