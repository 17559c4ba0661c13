"""A plan as text for the person at the machine: one line a step, the moves in words."""

from typing import Any

from flangewise.commands.output import NOTHING, sentence, text_pairs, told_pairs, told_table
from flangewise.jobs import Job
from flangewise.setup import Setup, SetupStep, first_piece, words_before
from flangewise.units import trimmed
from flangewise.words import say, word

# Seconds are written to a tenth: less is not told.
SHOWN_S = 0.05
# Label, what is said, and the value without which the line is left out.
_HEAD = (
    ("part", "{job.part.name}", ""),
    ("machine", "{job.machine.name}, tended by {job.handler.name}", ""),
    ("blank", "{blank} (across the bends × along them), {job.material.name} {job.part.thickness_mm}", ""),
    ("computed with", "thickness {job.part.measured_thickness_mm}, measured", "job.part.measured_thickness_mm"),
    ("order", "{order}", ""),
    ("made of", "{parts}", "parts"),
    ("not on", "{others}", "others"),
)
_BLANK = "{developed_mm} × {along_bends_mm}"
_STEPS = (
    ("step", "{step.step}"),
    ("bend", "{bends}"),
    ("face", "marked face {step.marked_face}"),
    ("on the stops", "{gauged}"),
    ("X", "{step.stops.x_mm}"),
    ("R", "{step.stops.r_mm}"),
    ("tools", "{mounting.pair.tools.punch_name}{turned} on {mounting.pair.tools.die_name}"),
    ("depth", "{step.ram.depth_mm}"),
    ("bend to", "{step.ram.bend_to_deg}"),
    ("for", "{step.finished_deg}"),
    ("force", "{step.force_kn}"),
    ("open", "{step.ram.opening.open_height_mm}"),
    ("hold in front", "{held}"),
    ("do first", "{moves}"),
)
_OTHER_ORDERS = (("order", "{order}"), ("cost", "{cost:2}"), ("more", "+{more:2}"), ("where", "{where}"))


def plan_text(job: Job, *, units: str) -> str:
    """The plan: head, a line a step, the totals; of a refused part the head with its verdict of the search."""
    blank = NOTHING if job.pattern is None else sentence(_BLANK, vars(job.pattern), units)
    values = {"job": job, "blank": blank, "order": _proof(job), "parts": _cost_parts(job), "others": _others(job)}
    blocks = [text_pairs(told_pairs(_HEAD, values, units))]
    if job.setup is not None and job.feasible:
        steps = job.setup.steps
        records = [_step(step, before, units) for before, step in zip((None, *steps), steps, strict=False)]
        blocks.append(told_table(_STEPS, records, units, right=(4, 5, 7, 8, 9, 10, 11)))
        blocks.append(text_pairs(_totals(job.setup)))
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
    cost, bound = trimmed(solution.cost, 2), trimmed(solution.lower_bound or 0.0, 2)
    told = word("plan.least") if solution.proven_least else word("plan.gap")
    return told.format(cost=cost, bound=bound)


def _step(step: SetupStep, before: SetupStep | None, units: str) -> dict[str, Any]:
    """What a line says of a step: the step itself, its tools, and what takes words."""
    mounting = step.planned.mounting
    return {
        "step": step,
        "mounting": mounting,
        "turned": " turned" if mounting.turned else "",
        "bends": "+".join(map(str, step.bends)) + ("" if step.hit == "bend" else f" {step.hit}"),
        "gauged": f"flange of bend {step.gauged_bend}" if step.gauged_on == "flange" else f"{step.gauged_on} edge",
        "held": _held(step, units),
        "moves": ", ".join(say(words, units=units) for words in words_before(step, before)) or NOTHING,
    }


def _held(step: SetupStep, units: str) -> str:
    if step.hold is None:
        return NOTHING
    template = "{front_mm:0/3} " + ("mm" if units == "mm" else "in") + " {by}"
    return sentence(template, {"front_mm": step.hold.front_mm, "by": word(f"hold.{step.hold.by}")}, units)


def _totals(setup: Setup) -> list[tuple[str, str]]:
    moves = [
        _counted(setup.turn_overs, "turn-over", "turn-overs"),
        _counted(setup.turns, "turn in the plane", "turns in the plane"),
        "regrips not reckoned" if setup.regrips is None else _counted(setup.regrips, "regrip", "regrips"),
        _counted(setup.tool_changes, "tool change", "tool changes"),
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
    return told_table(_OTHER_ORDERS, orders, "mm", right=(1, 2))
