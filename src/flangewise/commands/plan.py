"""Tools, bend order, stops, forces and handling of part files; and a plan checked again."""

import json
from pathlib import Path
from typing import Any

import click

from flangewise.commands import Settings
from flangewise.commands.flat import blank_record
from flangewise.commands.output import Printer, finding_records, format_option
from flangewise.commands.paths import for_each_part, measured_thickness_option, paths_argument, with_thickness
from flangewise.commands.plan_text import plan_text, why_text
from flangewise.faults import Fault, Unusable
from flangewise.findings import exit_status
from flangewise.jobs import Job, OtherMachine, hand_steps, replayed, runners_up, work_out
from flangewise.part import Part, read_parts
from flangewise.reading import read_text
from flangewise.shop import Shop, load_shop

_COLUMNS = (
    *("part", "step", "bends", "marked_face", "gauged_on", "gauged_bend", "moves", "punch", "punch_turned", "die"),
    *("x_mm", "r_mm", "z_mm", "retract_mm", "force_kn", "depth_mm", "bend_to_deg", "finished_deg"),
    *("open_height_mm", "clearance_mm", "seconds"),
)


@click.command("plan", short_help="Tools, bend order, stops, forces and handling.")
@paths_argument
@click.option("--replay", "replay_file", metavar="FILE", type=click.Path(path_type=Path), help="Re-check this plan.")
@click.option("--draw", metavar="DIR", type=click.Path(path_type=Path), help="Write each step's picture as SVG here.")
@click.option("--why", is_flag=True, help="Also what the next best orders cost, and where.")
@measured_thickness_option
@format_option
@click.pass_obj
def command(settings: Settings, /, paths: tuple[str, ...], fmt: str, replay_file: Path | None, **asked: Any) -> int:
    """How each part is bent: punch and die, the order with the least handling, stops, depths, forces, moves in words.

    PATH is a part file, a folder of part files, or - for standard input. With --replay one part and one plan in JSON,
    its own or edited by hand, are stepped through by a second, simpler simulator, and the differences are findings.
    """
    shop = load_shop(settings.shop_folder)
    found = with_thickness(read_parts(paths, shop), asked.pop("measured_thickness"), settings)
    if replay_file is not None:
        Printer(settings, fmt).begin()
        # A replay gives findings, which have no CSV: asked for it, they are told as text.
        replaying, plan = Printer(settings, "json" if fmt == "json" else "text"), plan_in(replay_file)
        return for_each_part(
            found, lambda part: _replay(part, shop, plan, str(replay_file), replaying), settings=settings
        )
    printer = Printer(settings, fmt, _COLUMNS)
    printer.begin()
    return for_each_part(found, lambda part: _one(part, shop, printer, **asked), settings=settings)


def plan_record(job: Job) -> dict[str, Any]:
    """A plan as JSON carries it: the keys of the published record, in mm, kN, degrees and seconds."""
    solution = job.ordered.solution if job.ordered is not None else None
    setup = job.setup
    return {
        "part": job.part.name,
        "machine": job.machine.name,
        "handler": job.handler.name,
        "measured_thickness_mm": job.part.measured_thickness_mm,
        "blank": blank_record(job.pattern),
        "feasible": job.feasible,
        "proven_least": solution.proven_least if solution is not None and job.feasible else False,
        "cost": solution.cost if solution is not None and job.feasible else None,
        "lower_bound": solution.lower_bound if solution is not None else None,
        "steps": _step_records(job),
        "totals": setup.totals_json() if setup is not None and job.feasible else NO_TOTALS,
        "findings": finding_records(job.findings, plan=True),
        "leg_errors": [vars(each) for each in job.sizes],
        "other_machines": [_other_record(other) for other in job.others],
        "job_card": job.part.job_card,
    }


def _step_records(job: Job) -> list[dict[str, Any]]:
    """The steps; of a robot's plan each with how a hand does it for the first piece."""
    if job.setup is None or not job.feasible:
        return []
    by_hand = {each.step: each.as_json() for each in hand_steps(job)}
    return [{**step.as_json(), "first_piece": by_hand.get(step.step)} for step in job.setup.steps]


def _other_record(other: OtherMachine) -> dict[str, Any]:
    return {
        "machine": other.machine,
        "cost": other.cost_s,
        "lower_bound": other.at_least_s,
        "reason": other.why_not.text() if other.why_not is not None else None,
    }


NO_TOTALS: dict[str, Any] = dict.fromkeys(("turn_overs", "turns", "regrips", "tool_changes", "cycle_s"))


def _one(part: Part, shop: Shop, printer: Printer, *, draw: Path | None, why: bool) -> int:
    job = work_out(part, shop)
    record = plan_record(job)
    others = runners_up(job) if why and printer.fmt != "csv" else []

    def text(units: str) -> str:
        told = plan_text(job, units=units) + "\n"
        return told + why_text(job, others) + "\n" if why else told

    told = {**record, "why": others} if why else record
    printer.give(told, text, job.findings, rows=_csv_rows(record), part=part.name)
    if draw is not None:
        _draw(job, draw, units=printer.settings.units)
    return exit_status(job.findings)


def _csv_rows(record: dict[str, Any]) -> list[dict[str, Any]]:
    return [
        {
            **step,
            **step["stops"],
            "part": record["part"],
            "gauged_on": step["gauged_on"]["on"],
            "gauged_bend": step["gauged_on"]["bend"],
            "moves": "; ".join(move["words"] for move in step["moves"]),
        }
        for step in record["steps"]
    ]


def _draw(job: Job, folder: Path, *, units: str) -> None:
    from flangewise.jobs.pictures import step_pictures
    from flangewise.writing import write_whole

    for step, picture in step_pictures(job, units=units):
        write_whole(folder / f"{job.part.name}.step-{step}.svg", picture.encode())


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


def _replay(part: Part, shop: Shop, plan: dict[str, Any], file: str, printer: Printer) -> int:
    findings, count = replayed(part, shop, plan, file=file), len(plan["steps"])
    told = f"{part.name}: {count} steps replayed, {len(findings) or 'no'} findings"
    record = {"part": part.name, "replayed_steps": count, "findings": finding_records(findings, plan=True)}
    printer.give(record, lambda units: told, findings, part=part.name)
    return exit_status(findings)
