"""The smallest changes that would free a part for which there is no order, each verified by planning again."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from flangewise.findings import Finding, note, place, sorted_findings
from flangewise.jobs.job import Job
from flangewise.jobs.machines import can_be_bent, worked_out
from flangewise.jobs.will import compared, impossible, with_bends
from flangewise.part import Part
from flangewise.shop import Shop

# Legs are tried up to half as long again and down to half; beyond that it is another part.
MOST_SHARE = 0.5
# A leg is told to the next millimetre that works, as a drawing would be changed.
STEP_MM = 1.0
# A leg that falls into the die is as a rule much too short: it is tried up to twice as long.
MOST_SHARE_SHORT = 1.0
# So many legs are tried; those the reasons name come first.
MOST_LEGS = 3


def work_out(part: Part, shop: Shop) -> Job:
    """The part worked out, what the setter asks of it priced against the least.

    Where it is proven that it cannot be bent, the smallest changes that would free it are told.
    """
    job = worked_out(part, shop)
    more = (*impossible(job), *suggestions(job)) if job.feasible is False else compared(job)
    return replace(job, findings=sorted_findings((*job.findings, *more)))


def suggestions(job: Job) -> tuple[Finding, ...]:
    """Changes that were planned again and work: tools unpinned, the order freed, another machine, legs, the radius."""
    found = [*_unpinned(job), *_freed_order(job), *_other_machine(job)]
    if job.ordered is not None:
        found += [*_legs(job), *_radius(job)]
    elif job.pattern is not None:
        found += _short_legs(job)
    return tuple(found)


def _unpinned(job: Job) -> Iterator[Finding]:
    pinned = [bend.number for bend in job.part.section.bends if bend.punch or bend.die]
    if pinned and can_be_bent(with_bends(job.part, lambda bend: replace(bend, punch=None, die=None)), job.shop):
        yield note("would-do-unpinned", bends=", ".join(map(str, pinned)))


def _freed_order(job: Job) -> Iterator[Finding]:
    if job.part.order is not None:
        freed = worked_out(replace(job.part, order=None), job.shop)
        if freed.feasible is True and freed.ordered is not None:
            order = ", ".join(step.label for step in freed.ordered.solution.steps)
            yield note("would-do-order", order=order)


def _other_machine(job: Job) -> Iterator[Finding]:
    for name in job.shop.machines:
        if name != job.machine.name and can_be_bent(replace(job.part, machine=name), job.shop):
            yield note("would-do-machine", machine=name)
            return


def _legs(job: Job) -> Iterator[Finding]:
    for leg in _legs_in_question(job)[:MOST_LEGS]:
        changed = _least_change_mm(job, leg)
        if changed is not None:
            yield note("would-do-leg", place("leg", leg), now_mm=job.part.section.legs_mm[leg - 1], then_mm=changed)


def _short_legs(job: Job) -> Iterator[Finding]:
    """Where a leg falls into every die that could make its bend: how long it must be for one of them."""
    short = [finding.where for finding in job.findings if finding.code == "leg-too-short"]
    legs_mm = job.part.section.legs_mm
    for bend in job.part.section.bends:
        if place("bend", bend.number) in short:
            leg = min((bend.number, bend.number + 1), key=lambda number: legs_mm[number - 1])
            now = legs_mm[leg - 1]
            then = _towards(job, leg, bad_mm=now, good_mm=now * (1 + MOST_SHARE_SHORT))
            if then is not None:
                yield note("would-do-leg", place("leg", leg), now_mm=now, then_mm=then)


def _legs_in_question(job: Job) -> list[int]:
    """The legs that the reasons name, then their neighbours."""
    named = [int(body.split()[1]) for finding in job.findings for body in finding.bodies if body.startswith("leg ")]
    near = [leg + side for leg in named for side in (-1, 1)]
    return [leg for leg in dict.fromkeys((*named, *near)) if 1 <= leg <= len(job.part.section.legs_mm)]


def _with_leg(part: Part, leg: int, length_mm: float) -> Part:
    legs = list(part.section.legs_mm)
    legs[leg - 1] = length_mm
    return replace(part, section=replace(part.section, legs_mm=tuple(legs)))


def _least_change_mm(job: Job, leg: int) -> float | None:
    """The length nearest the present one that works: shorter or longer, whichever changes less."""
    now = job.part.section.legs_mm[leg - 1]
    found = [_towards(job, leg, bad_mm=now, good_mm=now * (1 + side * MOST_SHARE)) for side in (-1, 1)]
    return min((length for length in found if length is not None), key=lambda length: abs(length - now), default=None)


def _towards(job: Job, leg: int, *, bad_mm: float, good_mm: float) -> float | None:
    """Halves the way from a length that does not work to one that does, to the last whole step that works."""
    good = _whole(good_mm, bad_mm)
    if not can_be_bent(_with_leg(job.part, leg, good), job.shop):
        return None
    bad = bad_mm
    while abs(good - bad) > STEP_MM:
        middle = _whole((good + bad) / 2, bad)
        if middle in (good, bad):
            break
        good, bad = (middle, bad) if can_be_bent(_with_leg(job.part, leg, middle), job.shop) else (good, middle)
    return good


def _whole(length_mm: float, away_from_mm: float) -> float:
    """The length to a whole step, rounded away from the length that does not work."""
    steps = length_mm / STEP_MM
    rounded = -(-steps // 1) if length_mm > away_from_mm else steps // 1
    return rounded * STEP_MM


def _radius(job: Job) -> Iterator[Finding]:
    section = job.part.section
    free = replace(job.part, section=replace(section, radius_mm=None))
    if section.radius_mm is not None and can_be_bent(free, job.shop):
        yield note("would-do-radius", radius_mm=section.radius_mm)
