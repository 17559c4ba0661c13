"""Which machine makes a part: of those it may be made on, the one that needs the fewest seconds, set-up and cycle."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from flangewise.jobs.by_hand import with_first_piece
from flangewise.jobs.job import Job, OtherMachine
from flangewise.jobs.order import floor_weight
from flangewise.jobs.plan_part import blanked_on, planned, untooled
from flangewise.part import Part, machines_wanted
from flangewise.sequence import SAME_COST
from flangewise.shop import Shop


def worked_out(part: Part, shop: Shop) -> Job:
    """The part worked out with the shop's tools on the machine that needs the fewest seconds for it.

    What forbids it stands in the findings.
    """
    names = machines_wanted(part, shop)
    if len(names) == 1:
        return with_first_piece(planned(blanked_on(part, shop, names[0])))
    return with_first_piece(_on_the_least(part, shop, names))


def can_be_bent(part: Part, shop: Shop) -> bool:
    """Whether a plan is found."""
    return worked_out(part, shop).feasible is True


def _on_the_least(part: Part, shop: Shop, names: Sequence[str]) -> Job:
    """The part on the machine whose plan is the least, the others with what speaks against them.

    A machine is not planned for where its handling and strokes alone, with no tool in the way, already take longer.
    Where none can make the part, the one that comes nearest to it is told: the last that has tools for it.
    """
    taken: Job | None = None
    others: list[OtherMachine] = []
    for name in names:
        job = blanked_on(part, shop, name)
        if taken is not None and taken.feasible and (least := _no_less_than(job, taken)) is not None:
            others.append(OtherMachine(name, at_least_s=least))
            continue
        job = planned(job)
        better, worse = _less(taken, job)
        taken = better
        if worse is not None:
            others.append(_not_taken(worse))
    assert taken is not None
    return replace(taken, others=tuple(others))


def _less(one: Job | None, other: Job) -> tuple[Job, Job | None]:
    """The better of two jobs and the one passed over: a plan before none, then the least; a later try before none."""
    if one is None:
        return other, None
    if not other.feasible:
        return (one, other) if one.feasible or other.ordered is None else (other, one)
    if not one.feasible:
        return other, one
    return (other, one) if _weight(other) < _weight(one) - SAME_COST else (one, other)


def _weight(job: Job) -> float:
    return job.ordered.solution.weight if job.ordered is not None else math.inf


def _no_less_than(job: Job, than: Job) -> float | None:
    """Seconds a part that any plan on this machine takes at least, where that is more than a plan at hand takes."""
    if job.pattern is None or untooled(job):
        return None
    least = floor_weight(job)
    if least < _weight(than) - SAME_COST:
        return None
    broken = 0.0 if than.ordered is None else than.ordered.solution.weight - (than.ordered.solution.cost or 0.0)
    return max(least - broken, 0.0)


def _not_taken(job: Job) -> OtherMachine:
    if not job.feasible:
        return OtherMachine(job.machine.name, why_not=next(iter(job.findings), None))
    return OtherMachine(job.machine.name, cost_s=job.ordered.solution.cost if job.ordered is not None else None)


def blanked(part: Part, shop: Shop) -> Job:
    """The part as far as its blank: tools offered, the best of them taken, no order looked for.

    Of several machines it is the first that has tools for every bend.
    """
    jobs = [blanked_on(part, shop, name) for name in machines_wanted(part, shop)[:1]]
    for name in machines_wanted(part, shop)[1:]:
        if not untooled(jobs[-1]):
            break
        jobs.append(blanked_on(part, shop, name))
    return jobs[-1] if not untooled(jobs[-1]) else jobs[0]
