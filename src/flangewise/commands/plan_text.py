"""The plan of a section as text, and what the plan of a panel is told with as well."""

from collections.abc import Sequence
from typing import Any

from flangewise.commands.columns import text_pairs
from flangewise.commands.output import NOTHING, sentence, told_lines, told_table
from flangewise.jobs import Job, OtherMachine
from flangewise.setup import Setup, SetupStep, first_piece, words_before
from flangewise.units import trimmed
from flangewise.words import say, word

# Seconds are written to a tenth: less is not told.
SHOWN_S = 0.05
_BLANK = "{developed_mm} × {along_bends_mm}"


def plan_text(job: Job, *, units: str) -> str:
    """The plan: head, a line a step, the totals; of a refused part the head with its verdict of the search."""
    blank = NOTHING if job.pattern is None else sentence(_BLANK, vars(job.pattern), units)
    values = {
        "job": job,
        "blank": blank,
        "order": _proof(job),
        "parts": cost_parts(job.setup) if job.setup is not None and job.feasible else None,
        "others": others_told(job.others) if job.feasible else None,
    }
    blocks = [told_lines("plan.lines", values, units)]
    if job.setup is not None and job.feasible:
        steps = job.setup.steps
        records = [_step(step, before, units) for before, step in zip((None, *steps), steps, strict=False)]
        blocks.append(told_table("plan.steps", records, units))
        blocks.append(text_pairs(_totals(job.setup)))
    return "\n\n".join(blocks)


def cost_parts(setup: Setup) -> str:
    """Of what the cost is made: cycle, the set-up's share, and the wishes priced in seconds by name."""
    told = word("plan.parts").format(
        cycle=trimmed(setup.cycle_s, 1), set_up=trimmed(setup.set_up_s / setup.quantity, 1), quantity=setup.quantity
    )
    wishes = [
        word("plan.wish").format(wish=word(f"wish.{name}"), seconds=trimmed(seconds, 1))
        for name, seconds in setup.wishes_s
        if seconds >= SHOWN_S
    ]
    return ", ".join((told, *wishes))


def cost_and_gap(code: str, cost_s: float, bound_s: float) -> str:
    """What is said of a plan's cost under a word of the catalogue, with what it may be over the least.

    Where no seconds are between them, what is not proven is that no other order breaks fewer rules.
    """
    if code == "plan.gap" and cost_s - bound_s < SHOWN_S:
        code = "plan.gap-of-rules"
    gap, share = trimmed(cost_s - bound_s, 2), trimmed(100 * (cost_s - bound_s) / cost_s, 1)
    return word(code).format(cost=trimmed(cost_s, 2), bound=trimmed(bound_s, 2), gap=gap, share=share)


def counted(number: int, one: str, many: str) -> str:
    """So many of a thing."""
    return f"{number} {one if number == 1 else many}"


def moves_told(step: SetupStep, before: SetupStep | None, units: str) -> str:
    """What is done with the part before a step."""
    return ", ".join(say(words, units=units) for words in words_before(step, before)) or NOTHING


def other_record(other: OtherMachine) -> dict[str, Any]:
    """A machine that was not taken, as JSON has it."""
    reason = other.why_not.text() if other.why_not is not None else None
    return {"machine": other.machine, "cost": other.cost_s, "lower_bound": other.at_least_s, "reason": reason}


def others_told(others: Sequence[OtherMachine]) -> str | None:
    """The machines that were not taken, each with its seconds or with why it cannot."""
    told = []
    for other in others:
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
    code = "plan.least" if solution.proven_least else "plan.gap"
    return cost_and_gap(code, solution.cost, solution.lower_bound or 0.0)


def _step(step: SetupStep, before: SetupStep | None, units: str) -> dict[str, Any]:
    """What a line says of a step: the step itself, its tools, and what takes words."""
    mounting = step.planned.mounting
    return {
        "step": step,
        "mounting": mounting,
        "turned": " turned" if mounting.turned else "",
        "bends": "+".join(map(str, step.bends)),
        "hit": NOTHING if step.hit == "bend" else step.hit,
        "gauged": _gauged(step),
        "held": _held(step, units),
        "moves": moves_told(step, before, units),
    }


def _gauged(step: SetupStep) -> str:
    if step.stops.x_mm is None:
        return "by hand"
    return f"flange of bend {step.gauged_bend}" if step.gauged_on == "flange" else f"{step.gauged_on} edge"


def _held(step: SetupStep, units: str) -> str:
    if step.hold is None:
        return NOTHING
    template = "{front_mm:0/3} " + ("mm" if units == "mm" else "in") + " {by}"
    return sentence(template, {"front_mm": step.hold.told_front_mm, "by": word(f"hold.{step.hold.by}")}, units)


def _totals(setup: Setup) -> list[tuple[str, str]]:
    moves = [
        counted(setup.count("turn-over"), "turn-over", "turn-overs"),
        counted(setup.count("turn-in-plane"), "turn in the plane", "turns in the plane"),
        "regrips not reckoned" if setup.regrips is None else counted(setup.regrips, "regrip", "regrips"),
        counted(setup.count("tool-change"), "tool change", "tool changes"),
    ]
    told = "; ".join(say(each) for each in first_piece(setup.steps))
    return [
        ("handling", ", ".join(moves)),
        ("a part", f"about {trimmed(setup.cycle_s, 0)} s"),
        *([("first piece", told)] if told else []),
    ]


def why_text(job: Job, others: list[dict[str, Any]]) -> str:
    """What the next best orders cost more, and where."""
    if not others:
        return word("plan.no-others")
    orders = [{**other, "order": ", ".join(map(str, other["order"]))} for other in others]
    return told_table("plan.other-orders", orders, "mm")
