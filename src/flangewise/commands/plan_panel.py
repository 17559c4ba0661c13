"""The plan of a panel as `plan` gives it: steps with their rows, moves with their angles, what is proven of it."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from flangewise.commands.columns import folded
from flangewise.commands.flat_panel import panel_blank_record
from flangewise.commands.output import NOTHING, Printer, finding_records, sentence, step_row, told_lines, told_table
from flangewise.commands.plan_gripping import grip_records, grip_row, gripping_record, gripping_text, gripping_why
from flangewise.commands.plan_panel_why import why_told
from flangewise.commands.plan_text import cost_and_gap, cost_parts, counted, moves_told, other_record, others_told
from flangewise.jobs import PanelPlan, panel_handled_ways, panel_why
from flangewise.panel_order import PanelStep
from flangewise.pattern import BendZone
from flangewise.punch_die import Placed
from flangewise.sequence import Watch
from flangewise.setup import PanelSize, Setup, SetupStep, panel_step, side_stop_mm
from flangewise.shop import Shop
from flangewise.words import word


def give_panel_plan(
    plan: PanelPlan,
    shop: Shop,
    printer: Printer,
    watch: Watch,
    others: dict[str, Any],
    *,
    draw: Path | None = None,
    why: bool = False,
) -> int:
    """The panel's plan told, its hits drawn into a folder where one is given; the exit status.

    `others`: what a record says where there is no set-up, by key.
    """
    if draw is not None:
        from flangewise.commands.plan_panel_draw import draw_steps

        draw_steps(plan, draw, printer.settings)
    ways = {} if printer.fmt == "csv" else {"gripping": lambda: panel_handled_ways(plan, shop, watch)}
    record = panel_plan_record(plan, others)
    record |= {key: gripping_record(plan, made) for key, made in ways.items()}
    reasons = panel_why(plan, shop, watch) if why and printer.fmt != "csv" else None

    def text(units: str) -> str:
        blocks = [panel_plan_text(plan, units=units), gripping_text(plan, record.get("gripping"), units=units)]
        if plan.grips and plan.solution is not None and not plan.solution.proven_least:
            blocks.append(folded(word("grip.panel-least")))
        blocks += [] if reasons is None else [why_told(reasons), gripping_why(plan, units=units)]
        return "\n\n".join(block for block in blocks if block) + "\n"

    return printer.give(
        record if reasons is None else {**record, "why": reasons},
        text,
        plan.findings,
        rows=_rows(record),
        part=plan.part.name,
    )


def panel_plan_record(plan: PanelPlan, totals: dict[str, Any]) -> dict[str, Any]:
    """A plan as JSON carries it: the keys of a section's, and of each step what only a panel has besides."""
    solution, setup = plan.solution, plan.setup
    has_plan = plan.feasible is True and solution is not None and setup is not None
    return {
        "part": plan.part.name,
        "machine": plan.job.machine.name,
        "handler": plan.handler.name,
        "material": plan.part.material,
        "thickness_mm": plan.part.thickness_mm,
        "measured_thickness_mm": None,
        "blank": panel_blank_record(plan.blank),
        "feasible": plan.feasible,
        "proven_least": solution.proven_least if has_plan and solution is not None else False,
        "cost": solution.cost if has_plan and solution is not None else None,
        "lower_bound": solution.lower_bound if solution is not None else None,
        "steps": [step_record(plan, step) for step in setup.steps] if has_plan and setup is not None else [],
        "totals": _totals(setup) if has_plan and setup is not None else totals,
        "findings": finding_records(plan.findings, plan=True),
        "leg_errors": [{"leg": number, **_error(size)} for number, size in enumerate(plan.sizes, start=1)],
        "other_machines": [other_record(other) for other in plan.others],
        "job_card": plan.part.job_card,
        "tools_looked_at": list(plan.looked_at),
    }


def _error(size: PanelSize) -> dict[str, Any]:
    """What a size may be off by, as a leg's of a section; `face` names it."""
    keys = ("worst_mm", "statistical_mm", "allowed_mm")
    return {"face": size.name, **{key: getattr(size, key) for key in keys}}


def _totals(setup: Setup) -> dict[str, Any]:
    return {**setup.totals_json(), "stations": len(setup.stations)}


def step_record(plan: PanelPlan, keyed: SetupStep) -> dict[str, Any]:
    """A step with the keys of a section's, and those of a panel after them."""
    step, names = panel_step(keyed.planned), _names(plan)
    gauged = step.gauged
    return {
        **keyed.as_json(),
        "gauged_on": {
            "on": None if gauged is None else gauged.on,
            "bend": None if gauged is None or gauged.on == "edge" else _bend_to(plan, gauged.face),
            "face": None if gauged is None else gauged.face_name,
        },
        **_side_stop(keyed),
        "moves": [{**told.as_json(), **_angles(step, told.move)} for told in keyed.moves],
        "faces": [names[face] for face in step.operation.faces],
        "behind": names[_behind(step)],
        "row_from_line_mm": step.punch.from_mm,
        "die_from_line_mm": step.die.from_mm,
        "short_mm": step.short_mm,
        "gap_mm": step.gap_mm,
        "leaves": None if step.leaving is None else step.leaving.way,
        "leaves_turned_deg": None
        if step.leaving is None or step.leaving.turn_deg is None
        else list(step.leaving.turn_deg),
        "part_from_mm": keyed.part_from_mm,
        "first_piece": next((each.as_json() for each in plan.by_hand if each.step == keyed.step), None),
        "grip": grip_records(plan).get(keyed.step),
    }


def _side_stop(keyed: SetupStep) -> dict[str, Any]:
    """Where the side stop stands, of hits that use it."""
    gauged, z_mm = panel_step(keyed.planned).gauged, side_stop_mm(keyed)
    if gauged is None or gauged.side is None or z_mm is None:
        return {}
    side = gauged.side
    told = {"side": side.side, "z_mm": z_mm, "face": side.face_name, "touched_mm": list(side.touched_mm)}
    return {"side_stop": told}


def _angles(step: PanelStep, move: str) -> dict[str, float | None]:
    """By how much the part is turned or tilted; of a tilt also how its axis lies, counterclockwise from the bed."""
    own = next((each for each in step.moves if each.move == move), None)
    if own is None:
        return {"angle_deg": None}
    return {"angle_deg": own.angle_deg, **({"axis_deg": own.axis_deg} if move == "tilt" else {})}


def _behind(step: PanelStep) -> int:
    """The face beside the bend that lies behind: the one it hangs on, or the flange itself."""
    return step.operation.parents[0] if step.parent_behind else step.operation.faces[0]


def _bend_to(plan: PanelPlan, face: int) -> int | None:
    zones: tuple[BendZone, ...] = () if plan.blank is None else plan.blank.zones
    return next((zone.bend for zone in zones if zone.face_to == face), None)


def _names(plan: PanelPlan) -> dict[int, str]:
    return {} if plan.blank is None else {face.number: face.name for face in plan.blank.faces}


def _rows(record: dict[str, Any]) -> list[dict[str, Any]]:
    return [
        {
            **step_row(record, step),
            "faces": ", ".join(step["faces"]),
            "row": " + ".join(step["stations"][0]["segments"]),
            **grip_row(step),
        }
        for step in record["steps"]
    ]


def panel_plan_text(plan: PanelPlan, *, units: str) -> str:
    """The plan: head, a line a step, where the rows stand, the totals; of a refused panel the head with its verdict."""
    setup = plan.setup
    values = {
        "plan": plan,
        "order": _proof(plan),
        "tools": "; ".join(plan.looked_at) or None,
        "others": others_told(plan.others) if plan.feasible else None,
        "parts": None if setup is None or not plan.feasible else cost_parts(setup),
        "size": None if plan.blank is None else sentence("{along_mm} × {across_mm}", _size(plan), units),
    }
    blocks = [told_lines("plan.panel.lines", values, units)]
    if setup is not None and plan.feasible:
        steps = setup.steps
        records = [_told(plan, step, before, units) for before, step in zip((None, *steps), steps, strict=False)]
        blocks.append(told_table("plan.panel.steps", records, units))
        blocks.append(told_table("plan.panel.rows", records, units))
        blocks.append(told_lines("plan.panel.totals", {"setup": setup, "handling": _handling(plan, setup)}, units))
    return "\n\n".join(blocks)


def _size(plan: PanelPlan) -> dict[str, float]:
    assert plan.blank is not None
    return {"along_mm": plan.blank.along_mm, "across_mm": plan.blank.across_mm}


def _proof(plan: PanelPlan) -> str:
    """What the search says of the order, never more than it proved."""
    solution = plan.solution
    if solution is None:
        return word("plan.no-tools")
    if plan.feasible is False:
        return word("plan.none-offered")
    if solution.cost is None:
        return word("plan.unknown")
    code = "plan.gap"
    if solution.proven_least:
        code = "plan.kept" if plan.part.order else "plan.least-offered"
    return cost_and_gap(code, solution.cost, solution.lower_bound or 0.0)


# What of a bend is uncovered by less than this is not told.
SHOWN_MM = 0.05


def _told(plan: PanelPlan, keyed: SetupStep, before: SetupStep | None, units: str) -> dict[str, Any]:
    """What a line says of a step."""
    step, names = panel_step(keyed.planned), _names(plan)
    return {
        "step": keyed,
        "made": step,
        "turned": " turned" if step.mounting.turned else "",
        "bends": ", ".join(f"{zone.bend} ({names[zone.face_to]})" for zone in step.operation.zones),
        "behind": names[_behind(step)],
        "gauged": _gauged(keyed, units),
        "row": _row(step.punch, step.operation.length_mm, units),
        "die_row": _row(step.die, step.operation.length_mm, units),
        "leaves": NOTHING if step.leaving is None else step.leaving.way,
        "z": " / ".join(sentence("{z_mm:1/3}", {"z_mm": z_mm}, units) for z_mm in keyed.stops.z_mm) or NOTHING,
        "moves": moves_told(keyed, before, units),
    }


def _gauged(keyed: SetupStep, units: str) -> str:
    """What is at the stops, and at the side stop."""
    gauged = panel_step(keyed.planned).gauged
    if gauged is None:
        return "by hand"
    told = f"{gauged.on} of {gauged.face_name}"
    if gauged.side is None:
        return told
    at = sentence("{z_mm:1/3}", {"z_mm": side_stop_mm(keyed)}, units)
    return f"{told}; side stop at {at} on the {gauged.side.side}, against {gauged.side.face_name}"


def _row(placed: Placed, line_mm: float, units: str) -> str:
    """A row by its length and segments, and by how much it is short of the line, at which end."""
    left_mm, right_mm = max(placed.from_mm, 0.0), max(line_mm - placed.to_mm, 0.0)
    told = sentence("{length_mm:1/3} = ", {"length_mm": placed.row.length_mm}, units) + placed.row.text
    short = {"short_mm": max(left_mm, right_mm)}
    if short["short_mm"] <= SHOWN_MM:
        return told
    ends = "each end" if abs(left_mm - right_mm) <= SHOWN_MM else f"the {'left' if left_mm > right_mm else 'right'} end"
    return told + sentence(", {short_mm} short at ", short, units) + ends


def _handling(plan: PanelPlan, setup: Setup) -> str:
    tilts = setup.count("tilt")
    counts = (
        (setup.count("turn-over"), "turn-over", "turn-overs"),
        (setup.count("turn-in-plane"), "turn in the plane", "turns in the plane"),
        *([(tilts, "tilt onto another face", "tilts onto other faces")] if tilts else []),
        (len(setup.stations), "station", "stations"),
    )
    told = ", ".join(counted(*each) for each in counts)
    if setup.regrips is None:
        return f"{told}, regrips not reckoned"
    return f"{told}, {counted(setup.regrips, 'regrip', 'regrips')}" if plan.grips else told
