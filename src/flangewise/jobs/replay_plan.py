"""A plan checked again by the replay: the part's blank as the plan's own tools make it, and the shop's bodies."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from flangewise.findings import Finding, caution
from flangewise.jobs.machines import blanked
from flangewise.part import Part
from flangewise.pattern import FlatPattern
from flangewise.replay import NumberedBend, PlanStep, SectionNumbers, bodies_of, read_steps, replay
from flangewise.shop import Shop


def replayed(part: Part, shop: Shop, plan: Mapping[str, Any], *, file: str = "plan") -> tuple[Finding, ...]:
    """What stepping through a plan shows that the plan does not say; empty where they agree.

    Raises Unusable where the plan cannot be read.
    """
    job = blanked(with_tools(part, plan, read_steps(plan, file), shop), shop)
    if job.pattern is None:
        return job.findings
    found = replay(section_numbers(part, job.pattern), plan, bodies_of(shop, job.machine), file=file)
    return (*_of_another(part, plan, shop, used=job.machine.name), *found)


def _of_another(part: Part, plan: Mapping[str, Any], shop: Shop, *, used: str) -> tuple[Finding, ...]:
    """That the plan is another part's, or another shop's machine's: what it is stepped through with is not its own."""
    found = []
    name, machine = plan.get("part"), plan.get("machine")
    if isinstance(name, str) and name != part.name:
        found.append(caution("replay-other-part", told=name, part=part.name))
    if isinstance(machine, str) and machine not in shop.machines:
        found.append(caution("replay-machine-unknown", told=machine, machine=used))
    return tuple(found)


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


def with_tools(part: Part, plan: Mapping[str, Any], steps: Sequence[PlanStep], shop: Shop) -> Part:
    """The part with the plan's own tools pinned, the first a bend is hit with: they decide its radius.

    Tools and machines that the shop has not are passed over here; the replay tells them.
    """
    first: dict[int, PlanStep] = {}
    for step in steps:
        if step.punch in shop.punches and step.die in shop.dies:
            for bend in step.bends:
                first.setdefault(bend, step)
    bends = tuple(
        replace(bend, punch=hit.punch, die=hit.die) if (hit := first.get(bend.number)) is not None else bend
        for bend in part.section.bends
    )
    machine = plan.get("machine")
    known = machine if isinstance(machine, str) and machine in shop.machines else part.machine
    return replace(part, machine=known, section=replace(part.section, bends=bends))
