"""Tools, bend order, stops, forces and handling of part files; and a plan checked again."""

import json
from pathlib import Path
from typing import Any

import click

from flangewise import jobs
from flangewise.commands import Settings, output
from flangewise.commands.flat import blank_record
from flangewise.commands.looking_on import Patience, read_seconds, seconds_option
from flangewise.commands.paths import for_each_part, measured_thickness_option, paths_argument, with_thickness
from flangewise.commands.plan_gripping import (
    GRIP_COLUMNS,
    grip_records,
    grip_row,
    gripping_record,
    gripping_text,
    gripping_why,
)
from flangewise.faults import Fault, Unusable
from flangewise.jobs import Job, OtherMachine, hand_steps, runners_up, work_out
from flangewise.part import PanelPart, Part, read_parts
from flangewise.reading import read_text
from flangewise.setup import Setup, SetupStep, first_piece, words_before
from flangewise.shop import Shop, load_shop
from flangewise.units import trimmed
from flangewise.words import say, word

_COLUMNS = (
    *("part", "step", "bends", "marked_face", "gauged_on", "gauged_bend", "moves", "punch", "punch_turned", "die"),
    *("x_mm", "r_mm", "z_mm", "retract_mm", "force_kn", "depth_mm", "bend_to_deg", "finished_deg"),
    *("open_height_mm", "clearance_mm", "seconds"),
    *GRIP_COLUMNS,
)
# Columns that a table has beside these where there are panels in it.
PANEL_PLAN_COLUMNS = ("faces", "behind", "row", "row_from_line_mm", "die_from_line_mm", "short_mm", "leaves")
# Seconds are written to a tenth: less is not told.
SHOWN_S = 0.05
_BLANK = "{developed_mm} × {along_bends_mm}"


@click.command("plan", short_help="Tools, bend order, stops, forces and handling.")
@paths_argument
@click.option("--replay", "replay_file", metavar="FILE", type=click.Path(path_type=Path), help="Re-check this plan.")
@click.option("--draw", metavar="DIR", type=click.Path(path_type=Path), help="Write each step's picture as SVG here.")
@click.option("--why", is_flag=True, help="Also what the next best orders cost, and where.")
@click.option("--cell", is_flag=True, help="The run instead: table, packing, distances, times by hand and robot.")
@seconds_option
@measured_thickness_option
@output.format_option
@click.pass_obj
def command(settings: Settings, /, paths: tuple[str, ...], fmt: str, replay_file: Path | None, **asked: Any) -> int:
    """How each part is bent: punch and die, the order with the least handling, stops, depths, forces, moves in words.

    PATH is a part file, a folder of part files, or - for standard input. With --replay one part and one plan in JSON,
    its own or edited by hand, are stepped through by a second, simpler simulator, and the differences are findings.
    """
    patience = Patience(read_seconds(asked.pop("seconds")), settings)
    shop = load_shop(settings.shop_folder)
    found = with_thickness(read_parts(paths, shop), asked.pop("measured_thickness"), settings)
    if replay_file is not None:
        output.Printer(settings, fmt).begun()
        # A replay gives findings, which have no CSV: asked for it, they are told as text.
        replaying, plan = output.Printer(settings, "json" if fmt == "json" else "text"), plan_in(replay_file)
        file = str(replay_file)

        def replay(part: Part | PanelPart) -> int:
            return _replay(part, shop, plan, file, replaying)

        return for_each_part(found, replay, settings=settings, panel_work=replay)
    has_panels = any(each.panel is not None for each in found)
    columns: tuple[str, ...] = (*_COLUMNS, *PANEL_PLAN_COLUMNS) if has_panels else _COLUMNS
    if asked["cell"]:
        from flangewise.commands.plan_cell import CELL_COLUMNS

        columns = CELL_COLUMNS
    printer = output.Printer(settings, fmt, columns).begun()
    return for_each_part(
        found,
        lambda part: _one(part, shop, printer, patience, **asked),
        settings=settings,
        panel_work=lambda part: _panel(part, shop, printer, patience, **asked),
    )


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

    for option in (*(["--why"] if why else []), *(["--cell"] if cell else [])):
        printer.settings.say(f"{part.name}: {option} tells nothing of panels yet")
    with patience.watch() as watch:
        return give_panel_plan(part, shop, printer, watch, NO_TOTALS, draw=draw)


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
        "findings": output.finding_records(job.findings, plan=True),
        "leg_errors": [vars(each) for each in job.sizes],
        "other_machines": [_other_record(other) for other in job.others],
        "gripping": gripping_record(job),
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


def _other_record(other: OtherMachine) -> dict[str, Any]:
    reason = other.why_not.text() if other.why_not is not None else None
    return {"machine": other.machine, "cost": other.cost_s, "lower_bound": other.at_least_s, "reason": reason}


NO_TOTALS: dict[str, Any] = dict.fromkeys(("turn_overs", "turns", "regrips", "tool_changes", "cycle_s"))


def _one(
    part: Part, shop: Shop, printer: output.Printer, patience: Patience, *, draw: Path | None, why: bool, cell: bool
) -> int:
    with patience.watch() as watch:
        job = work_out(part, shop, watch)
        if cell and job.feasible:
            from flangewise.commands.plan_cell import give_cell_plan

            return give_cell_plan(job, printer)
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
    return [{**output.step_row(record["part"], step), **grip_row(step)} for step in record["steps"]]


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
    if isinstance(part, PanelPart):
        findings = jobs.panel_replayed(part, shop, plan, file=file)
    else:
        findings = jobs.replayed(part, shop, plan, file=file)
    count = len(plan["steps"])
    told = f"{part.name}: {count} steps replayed, {len(findings) or 'no'} findings"
    record = {"part": part.name, "replayed_steps": count, "findings": output.finding_records(findings, plan=True)}
    return printer.give(record, lambda units: told, findings, part=part.name)


def plan_text(job: Job, *, units: str) -> str:
    """The plan: head, a line a step, the totals; of a refused part the head with its verdict of the search."""
    blank = output.NOTHING if job.pattern is None else output.sentence(_BLANK, vars(job.pattern), units)
    values = {"job": job, "blank": blank, "order": _proof(job), "parts": _cost_parts(job), "others": _others(job)}
    blocks = [output.told_lines("plan.lines", values, units)]
    if job.setup is not None and job.feasible:
        steps = job.setup.steps
        records = [_step(step, before, units) for before, step in zip((None, *steps), steps, strict=False)]
        blocks.append(output.told_table("plan.steps", records, units))
        blocks.append(output.text_pairs(_totals(job.setup)))
    return "\n\n".join(blocks)


def _cost_parts(job: Job) -> str | None:
    """Of what the cost is made: cycle, the set-up's share, and the wishes priced in seconds by name."""
    setup = job.setup
    if setup is None or not job.feasible:
        return None
    told = word("plan.parts").format(
        cycle=trimmed(setup.cycle_s, 1), set_up=trimmed(setup.set_up_s / setup.quantity, 1), quantity=setup.quantity
    )
    wishes = [
        word("plan.wish").format(wish=word(f"wish.{name}"), seconds=trimmed(seconds, 1))
        for name, seconds in setup.wishes_s
        if seconds >= SHOWN_S
    ]
    return ", ".join((told, *wishes))


def _others(job: Job) -> str | None:
    """The machines that were not taken, each with its seconds or with why it cannot."""
    told = []
    for other in job.others if job.feasible else ():
        if other.why_not is not None:
            told.append(word("plan.machine-not").format(machine=other.machine, reason=other.why_not.text()))
        else:
            code, cost = ("cost", other.cost_s) if other.cost_s is not None else ("least", other.at_least_s)
            told.append(word(f"plan.machine-{code}").format(machine=other.machine, cost=trimmed(cost or 0.0, 1)))
    return "; ".join(told) or None


def _proof(job: Job) -> str:
    """What the search says of the order, never more than it proved."""
    if job.ordered is None:
        return word("plan.no-tools")
    solution = job.ordered.solution
    if job.feasible is False:
        return word("plan.none")
    if solution.cost is None:
        return word("plan.unknown")
    cost, bound = solution.cost, solution.lower_bound or 0.0
    told = word("plan.least") if solution.proven_least else word("plan.gap")
    gap, share = trimmed(cost - bound, 2), trimmed(100 * (cost - bound) / cost, 1)
    return told.format(cost=trimmed(cost, 2), bound=trimmed(bound, 2), gap=gap, share=share)


def _step(step: SetupStep, before: SetupStep | None, units: str) -> dict[str, Any]:
    """What a line says of a step: the step itself, its tools, and what takes words."""
    mounting = step.planned.mounting
    return {
        "step": step,
        "mounting": mounting,
        "turned": " turned" if mounting.turned else "",
        "bends": "+".join(map(str, step.bends)) + ("" if step.hit == "bend" else f" {step.hit}"),
        "gauged": _gauged(step),
        "held": _held(step, units),
        "moves": ", ".join(say(words, units=units) for words in words_before(step, before)) or output.NOTHING,
    }


def _gauged(step: SetupStep) -> str:
    if step.stops.x_mm is None:
        return "by hand"
    return f"flange of bend {step.gauged_bend}" if step.gauged_on == "flange" else f"{step.gauged_on} edge"


def _held(step: SetupStep, units: str) -> str:
    if step.hold is None:
        return output.NOTHING
    template = "{front_mm:0/3} " + ("mm" if units == "mm" else "in") + " {by}"
    return output.sentence(template, {"front_mm": step.hold.front_mm, "by": word(f"hold.{step.hold.by}")}, units)


def _totals(setup: Setup) -> list[tuple[str, str]]:
    moves = [
        _counted(setup.count("turn-over"), "turn-over", "turn-overs"),
        _counted(setup.count("turn-in-plane"), "turn in the plane", "turns in the plane"),
        "regrips not reckoned" if setup.regrips is None else _counted(setup.regrips, "regrip", "regrips"),
        _counted(setup.count("tool-change"), "tool change", "tool changes"),
    ]
    told = "; ".join(say(each) for each in first_piece(setup.steps))
    return [
        ("handling", ", ".join(moves)),
        ("a part", f"about {trimmed(setup.cycle_s, 0)} s"),
        *([("first piece", told)] if told else []),
    ]


def _counted(number: int, one: str, many: str) -> str:
    return f"{number} {one if number == 1 else many}"


def why_text(job: Job, others: list[dict[str, Any]]) -> str:
    """What the next best orders cost more, and where."""
    if not others:
        return word("plan.no-others")
    orders = [{**other, "order": ", ".join(map(str, other["order"]))} for other in others]
    return output.told_table("plan.other-orders", orders, "mm")
