"""A panel's plan edited by hand, or kept, made a plan that prints just so: checked by the replay, planned as told.

Order, tools, rows and machine are asked of the planner as the file has them; what it then has otherwise is refused,
numbers are taken from the file. Nothing is printed that the replay has not passed.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Any

from flangewise.faults import Fault, Unusable
from flangewise.findings import Finding, note, place, refuse, refused, sorted_findings
from flangewise.jobs.hand_numbers import NUMBERS, Value, Within, step_with_numbers
from flangewise.jobs.panel_plan import PanelPlan, planned_panel
from flangewise.jobs.panel_replay import as_tooled, panel_replayed
from flangewise.jobs.plan_file import judged, same_stations
from flangewise.part import PanelPart
from flangewise.replay import PanelPlanStep, read_panel_steps
from flangewise.sequence import UNLIMITED, Watch
from flangewise.setup import SetupStep, panel_step
from flangewise.shop import Shop
from flangewise.words import phrase

Plan = Mapping[str, Any]
# Numbers under the stops of a step; the others stand in the step itself.
OF_STOPS = ("x_mm", "r_mm", "z_mm", "retract_mm")


def panel_from_plan(
    part: PanelPart, shop: Shop, plan: Plan, *, file: str = "plan", watch: Watch = UNLIMITED
) -> PanelPlan:
    """The panel planned as a plan in its JSON shape says; a plan with refusals where that is not to be printed.

    Raises Unusable where the plan cannot be read.
    """
    steps = read_panel_steps(plan, file)
    numbers = [_numbers(raw, f"steps[{place}]", file) for place, raw in enumerate(plan["steps"])]
    handler, order = plan.get("handler"), tuple(dict.fromkeys(bend for step in steps for bend in step.bends))
    asked = replace(
        as_tooled(part, shop, plan, steps),
        order=order if sorted(order) == [bend.number for bend in part.panel.bends] else part.order,
        handler=handler if isinstance(handler, str) and handler in shop.handlers else part.handler,
    )
    found = judged(panel_replayed(part, shop, plan, file=file))
    made = planned_panel(asked, shop, watch, _rows(plan))
    if made.solution is not None:
        # Of other rows nothing is known.
        made = replace(made, solution=replace(made.solution, proven_least=False))
    if refused(found):
        return replace(made, findings=sorted_findings(found))
    setup = made.setup
    if setup is None or not made.feasible:
        return replace(made, findings=sorted_findings((refuse("by-hand-no-plan"), *made.findings)))
    missed = tuple(_not_taken(plan, steps, setup.steps))
    if missed:
        return replace(made, findings=sorted_findings((*missed, *made.findings)))
    within = Within(made.machine, part.thickness_mm)
    taken = [step_with_numbers(own, told, within) for own, told in zip(setup.steps, numbers, strict=True)]
    # What is printed is what is passed, also where the file leaves a number open.
    printed = {**plan, "steps": [_as_printed(raw, own) for raw, (own, _) in zip(plan["steps"], taken, strict=True)]}
    passed = judged(panel_replayed(part, shop, printed, file=file))
    by_hand = [finding for _, told in taken for finding in told]
    findings = dict.fromkeys((*by_hand, *passed, *found, note("by-hand"), *made.findings))
    return replace(
        made, setup=replace(setup, steps=tuple(step for step, _ in taken)), findings=sorted_findings(findings)
    )


def _rows(plan: Plan) -> dict[tuple[str, str], frozenset[tuple[tuple[str, ...], tuple[str, ...]]]]:
    """The rows of each pair of tools, as the plan has them: of rows that cost the same others might be taken."""
    found: dict[tuple[str, str], frozenset[tuple[tuple[str, ...], tuple[str, ...]]]] = {}
    for step in plan["steps"]:
        station = step["stations"][0]
        punch, die = (tuple(map(str, station.get(key) or ())) for key in ("segments", "die_segments"))
        key = str(step["punch"]), str(step["die"])
        found[key] = found.get(key, frozenset()) | {(punch, die)}
    return found


def _numbers(raw: Plan, at: str, file: str) -> dict[str, Value]:
    """The figures of a step that may be set by hand, None for one that the plan leaves open."""
    stops = raw.get("stops") or {}
    found: dict[str, Value] = {}
    for key in NUMBERS:
        value = stops.get(key) if key in OF_STOPS else raw.get(key)
        if key == "z_mm":
            found[key] = tuple(map(float, value)) if isinstance(value, list) else None
        elif value is None or (isinstance(value, (int, float)) and not isinstance(value, bool)):
            found[key] = None if value is None else float(value)
        else:
            raise Unusable([Fault(file, None, None, f"{at}.{key}", f"{value!r} is no number", "write a number")])
    return found


def _as_printed(raw: Plan, own: SetupStep) -> dict[str, Any]:
    """A step of the plan with the figures that are printed."""
    told = own.as_json()
    return {**raw, "stops": told["stops"], **{key: told[key] for key in NUMBERS if key not in OF_STOPS}}


def _not_taken(plan: Plan, steps: Sequence[PanelPlanStep], made: Sequence[SetupStep]) -> Iterator[Finding]:
    """What the planner has otherwise than the plan, though it was asked for: it cannot be printed as the file says."""
    if len(steps) != len(made):
        yield refuse("by-hand-not-taken", what=phrase("by-hand.steps"))
        return
    for raw, step, own in zip(plan["steps"], steps, made, strict=True):
        hit = panel_step(own.planned)
        pairs = {
            "bend": (set(step.bends), set(own.bends)),
            "face": (step.marked_up, own.marked_face == "up"),
            "gauging": (_gauged(raw), None if hit.gauged is None else (hit.gauged.on, hit.gauged.face_name)),
            "tools": ((step.punch, step.die), (own.pair.tools.punch_name, own.pair.tools.die_name)),
            "moves": ([_turn(each) for each in raw.get("moves") or ()], [_turn(each.as_json()) for each in own.moves]),
        }
        for what, (told, has) in pairs.items():
            if told != has:
                yield refuse("by-hand-not-taken", place("step", step.step), what=phrase(f"by-hand.{what}"))
        if not same_stations(raw.get("stations"), own):
            yield refuse("by-hand-not-taken", place("step", step.step), what=phrase("by-hand.stations"))


def _gauged(raw: Plan) -> tuple[Any, Any] | None:
    gauged = raw.get("gauged_on") or {}
    return None if gauged.get("on") is None else (gauged.get("on"), gauged.get("face"))


def _turn(move: Mapping[str, Any]) -> tuple[Any, Any]:
    return move.get("move"), move.get("axis")
