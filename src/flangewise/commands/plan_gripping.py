"""How a robot's plan is held, told: as a record, as columns of a table, in words, and with its formulas."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any

from flangewise import handling
from flangewise.commands import output
from flangewise.commands.columns import folded
from flangewise.jobs import Job
from flangewise.units import trimmed
from flangewise.words import phrase, say, word

if TYPE_CHECKING:
    from flangewise.jobs import HandledWay, PanelPlan

# Columns that a table of steps has of a robot's plan; empty where a person tends the machine.
GRIP_COLUMNS = ("grip", "grip_after", "before", "while_bending", "held_more_s", "holding_needed_n", "holding_n")


def gripping_record(job: Job | PanelPlan, ways: Callable[[], Sequence[HandledWay]]) -> dict[str, Any] | None:
    """The plan's grips as JSON carries them, and the same part handled otherwise; None where no gripper holds it."""
    gripper = job.handler.gripper
    if gripper is None:
        return None
    return {
        "kind": gripper.kind,
        "defaults": list(gripper.defaults_taken),
        "cannot_be_computed_without": list(handling.missing_inputs(job.handler)),
        "ways": [way.as_json() for way in ways()],
    }


def grip_records(job: Job | PanelPlan) -> dict[int, dict[str, Any]]:
    """How each hit is held, by its number."""
    return {each.step: each.as_json() for each in job.grips}


def grip_row(step: dict[str, Any]) -> dict[str, Any]:
    """The columns of a step."""
    held = step.get("grip")
    if held is None:
        return {}
    needs = [each["needs_n"]["worst_n"] for each in held["holding"] if each["needs_n"] is not None]
    return {
        "grip": _column(held["grip"]),
        "grip_after": _column(held["grip_out"]),
        "before": held["between"],
        "while_bending": held["within"],
        "held_more_s": held["more_s"],
        "holding_needed_n": max(needs, default=None),
        "holding_n": held["holding"][0]["holding_n"] if held["holding"] else None,
    }


def _column(grip: dict[str, Any] | None) -> str:
    if grip is None:
        return "by hand"
    if "leg" in grip:
        return f"{grip['kind']}, leg {grip['leg']} at {trimmed(grip['at_mm'], 1)} mm"
    along, across = (trimmed(mm, 1) for mm in grip["at_mm"])
    return f"{grip['kind']}, {grip['face']} at {along} / {across} mm"


def gripping_text(job: Job | PanelPlan, record: dict[str, Any] | None, *, units: str) -> str | None:
    """The grips step by step, the three ways side by side, the defaults; None where no gripper holds the part."""
    if record is None or not job.grips:
        return None
    grips = [
        {
            "step": each.step,
            "held": say(each.words, units=units),
            "middle": _middle(each, units),
            **_while_held(each, units),
            "needs": _needs(each),
            "push": _push(each),
        }
        for each in job.grips
    ]
    ways = [
        {
            **way,
            "name": word(f"grip.way.{way['way']}"),
            "bends": ", ".join(map(str, way["order"])) or output.NOTHING,
            "regrips": output.NOTHING if way["regrips"] is None else way["regrips"],
            "steps_by_hand": ", ".join(map(str, way["steps_by_hand"])) or "0",
            "differs": ", ".join(map(str, way["differs_at"])) or output.NOTHING,
            "proven": word("grip.least" if way["proven_least"] else "grip.not-proven"),
        }
        for way in record["ways"]
    ]
    tables = [output.told_table("plan.grips", grips, units), output.told_table("plan.ways", ways, units)]
    defaults = ", ".join(record["defaults"])
    told = folded(say(phrase("grip.defaults", keys=defaults))) if defaults else None
    return "\n\n".join([*tables, *([told] if told else [])])


def _while_held(held: handling.HeldAt, units: str) -> dict[str, str]:
    """What is done before a hit and in it, and what that takes; of one by hand no more than is not plain."""
    before = word(f"grip.before.{held.held.between}")
    if held.grip is None:
        return {
            "before": output.NOTHING if held.held.between == "by-hand" else before,
            "doing": output.NOTHING,
            "more": "",
        }
    more = output.sentence("{more_s:1} s", {"more_s": held.more_s}, units)
    return {"before": before, "doing": say(held.doing, units=units), "more": more}


def _middle(held: handling.HeldAt, units: str) -> str:
    """Where the pads' middle lies on the flat blank."""
    if held.on_blank_mm is None or held.grip is None:
        return output.NOTHING
    along_mm, across_mm = held.on_blank_mm
    return say(phrase(f"grip.middle-{held.grip.blank_said}", along_mm=along_mm, across_mm=across_mm), units=units)


def _needs(held: handling.HeldAt) -> str:
    needs = [each.needs.worst_n for each in held.strengths if each.needs is not None]
    if not held.strengths:
        return output.NOTHING
    if not needs or held.strengths[0].holding_n is None:
        return word("grip.not-computed")
    return f"{trimmed(max(needs), 0)} / {trimmed(held.strengths[0].holding_n, 0)} N"


def _push(held: handling.HeldAt) -> str:
    seated = held.seated
    if seated is None or seated.push_n is None:
        return output.NOTHING
    return f"{trimmed(seated.push_n, 0)} / {trimmed(seated.most_n, 0)} N"


def gripping_why(job: Job | PanelPlan, *, units: str) -> str | None:
    """The formulas of forces, following and buckling, and the held points' ways; None where no gripper holds it."""
    if not job.grips or job.handler.gripper is None:
        return None
    # Pads over a panel's edge are as wide as that lets them be, whatever the panel's own length.
    length_mm = job.pattern.along_bends_mm if isinstance(job, Job) and job.pattern is not None else math.inf
    lines = [say(line, units=units) for line in handling.why_lines(job.grips, job.handler.gripper, length_mm)]
    points = [{"step": each.step, **vars(point)} for each in job.grips for point in each.path]
    paths = [output.told_table("plan.paths", points, units)] if points else []
    return "\n\n".join(["\n".join(lines), *paths])
