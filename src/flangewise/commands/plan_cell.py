"""The run of a part as `plan --cell` gives it: the table of brake and robot, in and out, distances, people and time."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from flangewise.commands.columns import folded, text_pairs, text_table
from flangewise.commands.output import (
    NOTHING,
    Printer,
    finding_records,
    sentence,
    told,
    told_lines,
    told_table,
)
from flangewise.findings import Finding, sorted_findings
from flangewise.handling import (
    Batch,
    CellLayout,
    CellPlan,
    Compared,
    Distance,
    Lift,
    alone_line,
    box_lines,
    distance_said,
    entered,
    infeed_lines,
    label_line,
    lacking,
    layout_lines,
    lost_line,
    opened,
    out_lines,
    phase_cells,
    tables,
    without_cell,
)
from flangewise.jobs import Job, PanelPlan, cell_plan, panel_cell_plan
from flangewise.sequence import Watch
from flangewise.shop import Handler, Shop
from flangewise.units import trimmed
from flangewise.words import Phrase, say, word

# One row a part: what a job list, a quotation and a label take from it.
CELL_COLUMNS = (
    *("part", "revision", "machine", "handler", "brake_program", "robot_program", "quantity"),
    *("cycle_s", "ram_s", "set_up_s", "waited_for", "blanks", "refill_min", "pitch_mm", "box", "parts_a_box"),
    *("governs", "gross_kg", "alone_min", "hand_people_s", "robot_people_s", "robot_machine_s"),
    *("people_from", "machine_from", "stop_zone_mm", "slow_zone_mm", "missing"),
)


def give_cell_plan(job: Job, printer: Printer) -> int:
    """The run of a job that has a plan, told; the exit status."""
    return _give(cell_plan(job, compare=True), job.handler, job.centre.quantity, job.findings, printer)


def give_panel_cell_plan(plan: PanelPlan, shop: Shop, printer: Printer, watch: Watch) -> int:
    """The run of a panel that has a plan, told; the exit status."""
    quantity = plan.part.quantity or shop.defaults.quantity
    run = panel_cell_plan(plan, shop, watch, compare=True)
    return _give(run, plan.handler, quantity, plan.findings, printer)


def _give(plan: CellPlan, handler: Handler, quantity: int, told_of: Sequence[Finding], printer: Printer) -> int:
    findings = sorted_findings((*plan.findings, *told_of))
    record = {
        "part": plan.part,
        "revision": plan.revision,
        "machine": plan.machine,
        "handler": handler.name,
        "quantity": quantity,
        "cell": plan.as_json(),
        "notice": word("sheet.notice"),
        "findings": finding_records(findings),
    }
    return printer.give(
        record,
        lambda units: cell_text(plan, handler, units=units) + "\n",
        findings,
        rows=[_row(plan, handler, quantity)],
        part=plan.part,
    )


def _row(plan: CellPlan, handler: Handler, quantity: int) -> dict[str, Any]:
    out, packed, layout = plan.out, plan.out.packed, plan.layout
    robot = plan.compared.robot if plan.compared is not None else None
    at = {each.code: each.distance_mm for each in layout.distances} if layout is not None else {}
    return {
        "part": plan.part,
        "revision": plan.revision,
        "machine": plan.machine,
        "handler": handler.name,
        "brake_program": plan.programs.brake,
        "robot_program": plan.programs.robot,
        "quantity": quantity,
        **{key: getattr(plan.time, key) for key in ("cycle_s", "ram_s", "set_up_s")},
        "waited_for": plan.time.bottleneck,
        "blanks": plan.stack.count,
        "refill_min": plan.stack.refill_min,
        "pitch_mm": out.nest.pitch_mm,
        "box": out.box.name if out.box is not None else None,
        "parts_a_box": out.count,
        "governs": packed.governs if packed is not None else None,
        "gross_kg": packed.gross_kg if packed is not None else None,
        "alone_min": plan.alone_min,
        "hand_people_s": plan.compared.hand.people_s if plan.compared is not None else None,
        "robot_people_s": robot.people_s if robot is not None else None,
        "robot_machine_s": robot.machine_s if robot is not None else None,
        "people_from": plan.compared.people_from if plan.compared is not None else None,
        "machine_from": plan.compared.machine_from if plan.compared is not None else None,
        "stop_zone_mm": at.get("stop-zone"),
        "slow_zone_mm": at.get("slow-zone"),
        "missing": " ".join(layout.missing) if layout is not None else None,
    }


def cell_text(plan: CellPlan, handler: Handler, *, units: str) -> str:
    """The run as text: how it begins, the table, in and out, distances, people and time, and the notice."""

    def said(*phrases: Phrase) -> str:
        return " ".join(say(each, units=units) for each in phrases)

    named = {"part": f"{plan.part} {plan.revision}".strip(), "plan": plan, "handler": handler}
    blocks = [told_lines("cell.lines", named, units)]
    if plan.layout is None:
        blocks.append(word("cell.no-robot"))
    else:
        blocks += [folded(said(*opened(plan))), *_tables(plan, units), folded(word("cell.after"))]
        blocks.append(told_table("cell.hits", [_hit(hit, units) for hit in plan.hits], units))
    lines = [("out", said(*out_lines(plan))), ("box", ", ".join(say(each, units=units) for each in box_lines(plan)))]
    if plan.layout is not None:
        lines.insert(0, ("infeed", "; ".join(say(each, units=units) for each in infeed_lines(plan.stack))))
        lines.append(("alone", said(alone_line(plan))))
    label = label_line(plan)
    lines += [("label", said(label))] if label is not None else []
    blocks.append(text_pairs(lines))
    if plan.layout is not None:
        blocks.append(_layout_text(plan.layout, handler.name, units))
    blocks.append(text_pairs([*_time(plan, units), *_people(plan, units)]))
    blocks.append(folded(word("sheet.notice")))
    return "\n\n".join(blocks)


def _tables(plan: CellPlan, units: str) -> Iterator[str]:
    for hold, steps, phases in tables(plan):
        head = [each.format(steps=", ".join(map(str, steps))) for each in told("cell.phases")]
        yield text_table(
            head, [[say(cell, units=units) for cell in phase_cells(phase, hold, plan.kept)] for phase in phases]
        )


def _hit(hit: Any, units: str) -> dict[str, Any]:
    return {"hit": hit, "bends": "+".join(map(str, hit.bends)), "hold": word(f"cell.hold.{hit.hold}"), "held": hit.held}


def _layout_text(layout: CellLayout, handler: str, units: str) -> str:
    """The distances with formula, edition and inputs; where nothing at all was entered, that once for all of them."""
    told_of = [folded(say(each, units=units)) for each in layout_lines(layout, handler)]
    if not layout.has_cell:
        rows = [("distances", say(without_cell(handler)))]
        return "\n".join((text_pairs(rows), *told_of))
    rows = [(say(distance_said(each)[0]), _distance(each, units)) for each in layout.distances]
    rows.append(("people coming in", say(lost_line(layout), units=units)))
    return "\n".join((text_pairs(rows), *told_of))


def _distance(distance: Distance, units: str) -> str:
    lacks = distance_said(distance)[1]
    if lacks is not None:
        return say(lacks)
    found = sentence("{distance_mm}", {"distance_mm": abs(distance.distance_mm or 0.0)}, units)
    if units == "inch":
        # The formula counts in mm.
        found += sentence(" = {distance_mm}", {"distance_mm": abs(distance.distance_mm or 0.0)}, "mm")
    how = (distance.formula, distance.source, distance.told_terms, entered(distance.inputs))
    return f"{found} = " + "; ".join(filter(None, how))


def _time(plan: CellPlan, units: str) -> Iterator[tuple[str, str]]:
    time = plan.time
    for label, template, *_ in told("cell.time"):
        yield label, sentence(template, {"time": time, "who": word(f"cell.who.{time.bottleneck}")}, units)
    if plan.compared is not None:
        yield from _batch(plan.compared)


def _batch(compared: Compared) -> Iterator[tuple[str, str]]:
    yield "by hand", _hours(compared.hand)
    yield "by robot", _hours(compared.robot)
    if not compared.robot.missing:
        for label, quantity in (("people's time", compared.people_from), ("machine's time", compared.machine_from)):
            found = "never less by robot" if quantity is None else f"no more by robot from {quantity} parts on"
            yield label, found


def _hours(batch: Batch) -> str:
    if batch.missing or batch.machine_s is None or batch.people_s is None:
        return say(lacking(batch.missing))
    machine, people = trimmed(batch.machine_s / 3600, 2), trimmed(batch.people_s / 3600, 2)
    return f"{batch.quantity} parts and set-up: {machine} h of the machine, {people} h of people"


def _people(plan: CellPlan, units: str) -> Iterator[tuple[str, str]]:
    for lift in plan.lifts:
        yield word(f"cell.lift.{lift.what}"), sentence(told("cell.lift"), {"lift": lift, "limit": _limit(lift)}, units)


def _limit(lift: Lift) -> str:
    if lift.missing:
        return say(lacking(lift.missing))
    if not lift.recommended_kg:
        return NOTHING if lift.recommended_kg is None else "0 kg"
    index = trimmed(lift.index or 0.0, 2)
    return f"{trimmed(lift.recommended_kg, 1)} kg recommended (NIOSH 94-110), lifting index {index}, for assessment"
