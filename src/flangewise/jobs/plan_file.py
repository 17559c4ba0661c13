"""A plan checked again by the replay, and one edited by hand made a job that prints just so.

What the plan says goes into the part as what is asked, so that the planner works out the very same steps; numbers that
the file has otherwise are then taken from it. Nothing is printed that the replay has not passed.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Any

from flangewise.findings import Finding, caution, note, place, refuse, refused, sorted_findings
from flangewise.jobs.hand_numbers import with_numbers
from flangewise.jobs.job import Job
from flangewise.jobs.machines import blanked, worked_out
from flangewise.jobs.will import compared
from flangewise.part import Part, WantedBend, WantedGauge
from flangewise.pattern import FlatPattern
from flangewise.replay import NumberedBend, PlanStep, SectionNumbers, bodies_of, read_steps, replay
from flangewise.sequence import UNLIMITED, Watch
from flangewise.setup import SetupStep
from flangewise.shop import Shop
from flangewise.words import phrase

# Tools set further than this from where the plan has them stand elsewhere.
STATION_MM = 0.5
# What is told by the replay of a plan that is not this part's or this shop's: enough not to print it.
OF_ANOTHER = frozenset({"replay-other-part", "replay-machine-unknown"})


def replayed(part: Part, shop: Shop, plan: Mapping[str, Any], *, file: str = "plan") -> tuple[Finding, ...]:
    """What stepping through a plan shows that the plan does not say; empty where they agree.

    Raises Unusable where the plan cannot be read.
    """
    job = blanked(with_tools(part, plan, read_steps(plan, file), shop), shop)
    if job.pattern is None:
        return job.findings
    found = replay(section_numbers(part, job.pattern), plan, bodies_of(shop, job.machine), file=file)
    return (*_of_another(part, plan, shop, used=job.machine.name), *found)


def _of_another(part: Part, plan: Mapping[str, Any], shop: Shop, *, used: str) -> Iterator[Finding]:
    """That the plan is another part's, or another shop's machine's: what it is stepped through with is not its own."""
    name, machine = plan.get("part"), plan.get("machine")
    if isinstance(name, str) and name != part.name:
        yield caution("replay-other-part", told=name, part=part.name)
    if isinstance(machine, str) and machine not in shop.machines:
        yield caution("replay-machine-unknown", told=machine, machine=used)


def section_numbers(part: Part, pattern: FlatPattern) -> SectionNumbers:
    """The blank's section as the plain numbers that the replay folds by itself."""
    zones = pattern.zones
    return SectionNumbers(
        flats_mm=pattern.flats_mm,
        zones_mm=tuple(zone.allowance.allowance_mm for zone in zones),
        turns_deg=tuple(zone.signed_turn_deg for zone in zones),
        radii_mm=tuple(zone.inside_radius_mm for zone in zones),
        thickness_mm=pattern.thickness_mm,
        bends=tuple(
            NumberedBend(bend.number, bend.kind, tuple(i for i, zone in enumerate(zones) if zone.bend == bend.number))
            for bend in part.section.bends
        ),
    )


def _first_hits(steps: Iterable[PlanStep]) -> dict[int, PlanStep]:
    """The first step a bend is hit in, by bend, in the order they are made."""
    first: dict[int, PlanStep] = {}
    for step in steps:
        first |= {bend: step for bend in step.bends if bend not in first}
    return first


def with_tools(part: Part, plan: Mapping[str, Any], steps: Sequence[PlanStep], shop: Shop) -> Part:
    """The part with the plan's own tools pinned, the first a bend is hit with: they decide its radius.

    Tools and machines that the shop has not are passed over here; the replay tells them.
    """
    first = _first_hits(step for step in steps if step.punch in shop.punches and step.die in shop.dies)
    bends = tuple(
        replace(bend, punch=hit.punch, die=hit.die) if (hit := first.get(bend.number)) is not None else bend
        for bend in part.section.bends
    )
    machine = plan.get("machine")
    known = machine if isinstance(machine, str) and machine in shop.machines else part.machine
    return replace(part, machine=known, section=replace(part.section, bends=bends))


def from_plan(part: Part, shop: Shop, plan: Mapping[str, Any], *, file: str = "plan", watch: Watch = UNLIMITED) -> Job:
    """The part worked out as a plan in its JSON shape says; a job with refusals where that is not to be printed.

    Raises Unusable where the plan cannot be read.
    """
    steps = read_steps(plan, file)
    asked = _as_told(part, plan, steps, shop)
    told = replayed(part, shop, plan, file=file)
    found = judged(told)
    if refused(found):
        return replace(blanked(asked, shop), findings=sorted_findings(found))
    job = worked_out(asked, shop, watch)
    if job.setup is None or not job.feasible:
        return replace(job, findings=sorted_findings((refuse("by-hand-no-plan"), *job.findings)))
    missed = tuple(_not_taken(plan, steps, job.setup.steps))
    if missed:
        return replace(job, findings=sorted_findings((*missed, *job.findings)))
    made, by_hand = with_numbers(job, job.setup, steps)
    # What is printed is what is passed, also where the file leaves a number open.
    passed = replayed(part, shop, {**plan, "steps": [step.as_json() for step in made.steps]}, file=file)
    findings = (*by_hand, *passed, *found, *compared(job), note("by-hand"), *job.findings)
    return replace(job, setup=made, findings=sorted_findings(findings))


def judged(told: Iterable[Finding]) -> tuple[Finding, ...]:
    """What the replay tells, a plan of another part or another shop's machine refused."""
    return tuple(replace(each, severity="refuse") if each.code in OF_ANOTHER else each for each in told)


def _as_told(part: Part, plan: Mapping[str, Any], steps: Sequence[PlanStep], shop: Shop) -> Part:
    """The part with everything asked that the plan says: machine, handler, tools, order, faces, gauging.

    What is no part of it - a bend that is not there, one left out - is passed over here; the replay tells it.
    """
    first = _first_hits(steps)
    tooled = with_tools(part, plan, steps, shop)
    handler = plan.get("handler")
    bends = tuple(_as_in(bend, first.get(bend.number)) for bend in tooled.section.bends)
    return replace(
        tooled,
        order=tuple(first) if sorted(first) == [bend.number for bend in bends] else part.order,
        handler=handler if isinstance(handler, str) and handler in shop.handlers else part.handler,
        section=replace(tooled.section, bends=bends),
    )


def _as_in(bend: WantedBend, step: PlanStep | None) -> WantedBend:
    if step is None:
        return bend
    gauge = WantedGauge(step.gauged_on, step.gauged_bend if step.gauged_on == "flange" else None)
    return replace(bend, marked_up=step.marked_up, punch_turned=step.punch_turned, gauge=gauge)


def _not_taken(plan: Mapping[str, Any], steps: Sequence[PlanStep], made: Sequence[SetupStep]) -> Iterator[Finding]:
    """What the job has otherwise than the plan, though it was asked for: such a plan cannot be printed as it is."""
    if len(steps) != len(made):
        yield refuse("by-hand-not-taken", what=phrase("by-hand.steps"))
        return
    for raw, step, own in zip(plan["steps"], steps, made, strict=True):
        pairs = {
            "bend": (step.bends, own.bends),
            "face": (step.marked_up, own.marked_face == "up"),
            "gauging": (_datum(step.gauged_on, step.gauged_bend), _datum(own.gauged_on, own.gauged_bend)),
            "tools": ((step.punch, step.die), (own.pair.tools.punch_name, own.pair.tools.die_name)),
        }
        for what, (told, has) in pairs.items():
            if told != has:
                yield refuse("by-hand-not-taken", place("step", step.step), what=phrase(f"by-hand.{what}"))
        if not same_stations(raw.get("stations"), own):
            yield refuse("by-hand-not-taken", place("step", step.step), what=phrase("by-hand.stations"))


def _datum(on: str | None, bend: int | None) -> tuple[str | None, int | None]:
    return on, bend if on == "flange" else None


def same_stations(told: Any, own: SetupStep) -> bool:
    """Whether the tools stand where the plan has them; a plan may leave that open."""
    if not isinstance(told, list):
        return True
    places = [each for each in told if isinstance(each, Mapping)]
    has = {"from_mm": own.station.from_mm, "to_mm": own.station.to_mm}
    return len(places) == 1 and all(
        isinstance(one := places[0].get(end), (int, float)) and abs(one - other) <= STATION_MM
        for end, other in has.items()
    )
