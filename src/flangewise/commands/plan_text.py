"""A plan as text for the person at the machine: one line a step, the moves in words."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from flangewise.commands.output import text_pairs, text_table
from flangewise.jobs import Job
from flangewise.setup import Setup, SetupStep, first_piece, words_before
from flangewise.units import format_length, trimmed, written
from flangewise.words import say, word

NOTHING = "–"
# Seconds are written to a tenth: less is not told.
SHOWN_S = 0.05
_HEAD = (
    "step",
    "bend",
    "face",
    "on the stops",
    "X",
    "R",
    "tools",
    "depth",
    "bend to",
    "for",
    "force",
    "open",
    "hold in front",
    "do first",
)


def plan_text(job: Job, *, units: str) -> str:
    """The plan: head, a line a step, the totals; of a refused part the head with its verdict of the search."""
    blocks = [text_pairs(_head(job, units))]
    if job.setup is not None and job.feasible:
        blocks.append(text_table(_HEAD, _rows(job.setup.steps, units), right=(4, 5, 7, 8, 9, 10, 11)))
        blocks.append(text_pairs(_totals(job.setup)))
    return "\n\n".join(blocks)


def _head(job: Job, units: str) -> list[tuple[str, str]]:
    pattern = job.pattern
    blank, sheet = NOTHING, f"{job.material.name} {format_length(job.part.thickness_mm, units)}"
    if pattern is not None:
        blank = f"{format_length(pattern.developed_mm, units)} × {format_length(pattern.along_bends_mm, units)}"
    measured_mm = job.part.measured_thickness_mm
    return [
        ("part", job.part.name),
        ("machine", f"{job.machine.name}, tended by {job.handler.name}"),
        (
            "blank",
            f"{blank} (across the bends × along them), {sheet}",
        ),
        *(
            []
            if measured_mm is None
            else [("computed with", f"thickness {format_length(measured_mm, units)}, measured")]
        ),
        ("order", _proof(job)),
        *_cost_parts(job),
        *_others(job),
    ]


def _cost_parts(job: Job) -> list[tuple[str, str]]:
    """Of what the cost is made: cycle, the set-up's share, and the wishes priced in seconds by name."""
    setup = job.setup
    if setup is None or not job.feasible:
        return []
    told = word("plan.parts").format(
        cycle=trimmed(setup.cycle_s, 1), set_up=trimmed(setup.set_up_s / setup.quantity, 1), quantity=setup.quantity
    )
    wishes = [
        word("plan.wish").format(wish=word(f"wish.{name}"), seconds=trimmed(seconds, 1))
        for name, seconds in setup.wishes_s
        if seconds >= SHOWN_S
    ]
    return [("made of", ", ".join((told, *wishes)))]


def _others(job: Job) -> list[tuple[str, str]]:
    """The machines that were not taken, each with its seconds or with why it cannot."""
    if not job.feasible:
        return []
    told = []
    for other in job.others:
        if other.why_not is not None:
            told.append(word("plan.machine-not").format(machine=other.machine, reason=other.why_not.text()))
        else:
            code, cost = ("cost", other.cost_s) if other.cost_s is not None else ("least", other.at_least_s)
            told.append(word(f"plan.machine-{code}").format(machine=other.machine, cost=trimmed(cost or 0.0, 1)))
    return [("not on", "; ".join(told))] if told else []


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


def _rows(steps: Sequence[SetupStep], units: str) -> list[tuple[str, ...]]:
    return [_row(step, before, units) for before, step in zip((None, *steps), steps, strict=False)]


def _row(step: SetupStep, before: SetupStep | None, units: str) -> tuple[str, ...]:
    return (
        str(step.step),
        "+".join(map(str, step.bends)) + ("" if step.hit == "bend" else f" {step.hit}"),
        f"marked face {step.marked_face}",
        _gauged(step),
        _length(step.stops.x_mm if step.stops else None, units),
        _length(step.stops.r_mm if step.stops else None, units),
        _tools(step),
        _length(step.ram.depth_mm, units),
        _say("angle_deg", step.ram.bend_to_deg),
        _say("angle_deg", step.finished_deg),
        _say("force_kn", step.force_kn),
        _length(step.ram.opening.open_height_mm, units),
        _held(step, units),
        ", ".join(say(words, units=units) for words in words_before(step, before)) or NOTHING,
    )


def _tools(step: SetupStep) -> str:
    mounting = step.planned.mounting
    tools = mounting.pair.tools
    return f"{tools.punch_name}{' turned' if mounting.turned else ''} on {tools.die_name}"


def _held(step: SetupStep, units: str) -> str:
    if step.hold is None:
        return NOTHING
    front_mm = round(step.hold.front_mm) if units == "mm" else step.hold.front_mm
    return f"{format_length(front_mm, units)} {word(f'hold.{step.hold.by}')}"


def _gauged(step: SetupStep) -> str:
    if step.gauged_on == "flange":
        return f"flange of bend {step.gauged_bend}"
    return f"{step.gauged_on} edge"


def _length(length_mm: float | None, units: str) -> str:
    return NOTHING if length_mm is None else format_length(length_mm, units)


def _say(name: str, value: float | None) -> str:
    return NOTHING if value is None else written(name, value)


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
    rows = [
        (
            ", ".join(map(str, other["order"])),
            trimmed(other["cost"], 2),
            f"+{trimmed(other['more'], 2)}",
            other["where"],
        )
        for other in others
    ]
    return text_table(("order", "cost", "more", "where"), rows, right=(1, 2))
