"""The changes that would free a part for which there is no order, each verified by planning again.

A leg's change is told as the smallest only where every nearer tenth of a millimetre, longer or shorter, is proven not
to do; else it is called one that works.
"""

import itertools
from collections.abc import Iterator
from dataclasses import replace
from functools import partial

from flangewise.findings import Finding, note, place, sorted_findings
from flangewise.jobs.job import Job
from flangewise.jobs.machines import (
    can_be_bent,
    found_soon,
    is_ruled_out,
    laid_out_on_each,
    looked_through,
    tried,
    worked_out,
)
from flangewise.jobs.near_pairs import found_near
from flangewise.jobs.nearest import Nearest
from flangewise.jobs.plan_part import untooled
from flangewise.jobs.shut import ShutBends
from flangewise.jobs.will import compared, impossible, with_bends
from flangewise.part import Part, machines_wanted
from flangewise.sequence import OF_KNOWN, UNLIMITED, Watch
from flangewise.shop import Shop

# Legs are tried up to half as long again and down to half; beyond that it is another part.
MOST_SHARE = 0.5
# A leg that falls into the die is as a rule much too short: it is tried up to twice as long.
MOST_SHARE_SHORT = 1.0
# So many legs are tried; those the reasons name come first.
MOST_LEGS = 3
LEG = "would-do-leg"
# Of the time left, what all changes may take, and what each of the other plannings may.
MENDS_SHARE, TRIAL_SHARE = 0.5, 0.25
# And what one length of a leg may with pairs near those of another length, and with any on each machine: near the edge
# of what can be bent each takes long, and the edge is told to the tenth only for a sheet that is cut to the tenth
# (judgement). Where pairs near those of another do not bend it, as a rule none are found soon. What was not settled
# counts as not known to do.
LENGTH_SHARE, ANY_SHARE, AGAIN_SHARE = 0.03, 0.015, 0.004


def work_out(part: Part, shop: Shop, watch: Watch = UNLIMITED) -> Job:
    """The part worked out, what the setter asks of it priced against the least.

    Where there is no plan, the smallest changes that would free it are told, if it was looked through in time.
    """
    job, shut = looked_through(part, shop, watch)
    more: list[Finding] = [*compared(job)] if job.feasible else []
    if job.feasible is False:
        more += impossible(job)
    if not job.feasible and not watch.over():
        more += suggestions(job, shut)
    return replace(job, findings=sorted_findings((*job.findings, *more)))


def suggestions(job: Job, shut: ShutBends | None = None) -> tuple[Finding, ...]:
    """Changes that were planned again and work: tools unpinned, the order freed, another machine, legs, the radius.

    They take a share of the time left; what was not looked at in it is not told. `shut`: of the part as it is, where it
    is known.
    """
    job = replace(job, watch=job.watch.share(MENDS_SHARE))
    found = [*_unpinned(job), *_freed_order(job), *_other_machine(job)]
    if job.ordered is not None:
        found += [*_legs(job, shut), *_radius(job)]
    elif job.pattern is not None:
        found += _short_legs(job)
    return tuple(found)


def _trial(job: Job) -> Watch:
    return job.watch.share(TRIAL_SHARE)


def _unpinned(job: Job) -> Iterator[Finding]:
    pinned = [bend.number for bend in job.part.section.bends if bend.punch or bend.die]
    free = with_bends(job.part, lambda bend: replace(bend, punch=None, die=None))
    if pinned and can_be_bent(free, job.shop, _trial(job)):
        yield note("would-do-unpinned", bends=", ".join(map(str, pinned)))


def _freed_order(job: Job) -> Iterator[Finding]:
    if job.part.order is not None:
        freed = worked_out(replace(job.part, order=None), job.shop, _trial(job))
        if freed.feasible:
            order = ", ".join(step.label for step in freed.solution.steps)
            yield note("would-do-order", order=order)


def _other_machine(job: Job) -> Iterator[Finding]:
    asked = machines_wanted(job.part, job.shop)
    for name in job.shop.machines:
        if name not in asked and can_be_bent(replace(job.part, machine=name), job.shop, _trial(job)):
            yield note("would-do-machine", machine=name)
            return


def _leg(job: Job, number: int, shut: tuple[ShutBends, ShutBends] | None = None) -> Nearest:
    """One leg of a part in other lengths; `shut`: of the part as it is, with the usual dies and with every one."""
    section, bent = job.part.section, list[Job]()

    def with_mm(length_mm: float) -> Part:
        legs_mm = (*section.legs_mm[: number - 1], length_mm, *section.legs_mm[number:])
        return replace(job.part, section=replace(section, legs_mm=legs_mm))

    def planned(length_mm: float) -> bool | None:
        part = with_mm(length_mm)
        if shut is not None:
            usual, every_die = shut
            # What all dies shut the usual ones do.
            if every_die.with_leg(number, part, asked=OF_KNOWN) or usual.with_leg(number, part, around=True):
                return None
        # What bends it in another length as a rule does in this one, or with another pair for one bend.
        found = found_near(part, bent[-1], job.watch.share(LENGTH_SHARE)) if bent else None
        found = found or found_soon(part, job.shop, job.watch, AGAIN_SHARE if bent else ANY_SHARE)
        bent.extend([found] if found is not None else [])
        return True if found is not None else None

    def ruled_out(length_mm: float) -> bool:
        part = with_mm(length_mm)
        if shut is not None and shut[1].with_leg(number, part):
            return True
        if is_ruled_out(part, job.shop, job.watch, like=bent[-1] if bent else None):
            return True
        # Where no more than one machine has tools for it a search may tell more.
        laid_out = laid_out_on_each(part, job.shop, job.watch, every_die=True).values()
        is_one = sum(not untooled(each) for each in laid_out) <= 1
        return is_one and tried(part, job.shop, job.watch.share(LENGTH_SHARE))[0] is False

    return Nearest(section.legs_mm[number - 1], planned, job.watch.over, ruled_out_mm=ruled_out)


def _legs(job: Job, every_die: ShutBends | None) -> Iterator[Finding]:
    both = None
    if every_die is not None:
        both = every_die.with_fewer_tools(partial(laid_out_on_each, shop=job.shop, watch=job.watch)), every_die
    in_question = (leg for leg in _legs_in_question(job) if every_die is None or not every_die.whatever_long(leg))
    for number in itertools.islice(in_question, MOST_LEGS):
        leg = _leg(job, number, both)
        then_mm = leg.nearer_of_both_mm(leg.now_mm * MOST_SHARE)
        if then_mm is not None:
            yield leg.finding(LEG, then_mm, place("leg", number), sides=(-1, 1))


def _short_legs(job: Job) -> Iterator[Finding]:
    """Where a leg falls into every die that could make its bend: how long it must be for one of them."""
    short = [finding.where for finding in job.findings if finding.code == "leg-too-short"]
    legs_mm = job.part.section.legs_mm
    for bend in job.part.section.bends:
        if place("bend", bend.number) in short:
            leg = min((bend.number, bend.number + 1), key=lambda number: legs_mm[number - 1])
            tried = _leg(job, leg)
            then_mm = tried.nearest_mm(1, tried.now_mm * MOST_SHARE_SHORT)
            if then_mm is not None:
                yield tried.finding(LEG, then_mm, place("leg", leg), sides=(1,))


def _legs_in_question(job: Job) -> list[int]:
    """The legs that the reasons name, then their neighbours."""
    named = [int(body.split()[1]) for finding in job.findings for body in finding.bodies if body.startswith("leg ")]
    near = [leg + side for leg in named for side in (-1, 1)]
    return [leg for leg in dict.fromkeys((*named, *near)) if 1 <= leg <= len(job.part.section.legs_mm)]


def _radius(job: Job) -> Iterator[Finding]:
    section = job.part.section
    free = replace(job.part, section=replace(section, radius_mm=None))
    if section.radius_mm is not None and can_be_bent(free, job.shop, _trial(job)):
        yield note("would-do-radius", radius_mm=section.radius_mm)
