"""Which machine makes a part: of those it may be made on, the one that needs the fewest seconds, set-up and cycle."""

import itertools
import math
from collections.abc import Mapping
from dataclasses import replace
from functools import partial

from flangewise.jobs.blanks import Alike, blanks_of, on_all_blanks, still_of_use
from flangewise.jobs.by_hand import with_first_piece
from flangewise.jobs.job import Job, OtherMachine
from flangewise.jobs.near_pairs import any_near
from flangewise.jobs.order import FEW_BENDS
from flangewise.jobs.pairs_by_price import cheapest_weight
from flangewise.jobs.plan_part import blanked_on, planned, untooled
from flangewise.jobs.shut import ShutBends, all_is_shut, has_no_blank, least_shut
from flangewise.part import Part, machines_wanted
from flangewise.punch_die import usable
from flangewise.sequence import SAME_COST, UNLIMITED, LeastWeight, Shapes, Watch
from flangewise.shop import Shop

# Beyond so many bends a plan is looked for on all machines before any is searched through.
MANY = 12
# A section that winds so far one way is as a rule shut: it is asked before any order is searched (judgement).
WINDS_DEG = 270.0
# Of the time left, what may be spent on dies far from the usual opening.
LAST_SHARE = 0.1


def worked_out(part: Part, shop: Shop, watch: Watch = UNLIMITED) -> Job:
    """The part worked out with the shop's tools on the machine that needs the fewest seconds for it.

    What forbids it stands in the findings. `watch`: how long may be searched, for all machines together.

    Dies far from the usual opening, or sharper than is needed, are taken only where no other bends the part: a setter
    who names one may have it, so no part that it bends is one that cannot be bent.
    """
    return looked_through(part, shop, watch)[0]


def looked_through(part: Part, shop: Shop, watch: Watch = UNLIMITED) -> tuple[Job, ShutBends | None]:
    """The same, and what is known of the bends that no die of the shop makes, where it was asked."""
    shut = ShutBends(part, partial(laid_out_on_each, shop=shop, watch=watch, every_die=True))
    job = _worked_out(laid_out_on_each(part, shop, watch), watch, shut)
    if job.feasible is False and not watch.over():
        jobs = {} if shut.is_all else _with_more_dies(job, shut.by_machine)
        if jobs:
            other = _worked_out(jobs, watch.share(LAST_SHARE))
            job = job if other.feasible is False else other
    return with_first_piece(job), shut if job.feasible is False else None


def laid_out_on_each(part: Part, shop: Shop, watch: Watch, *, every_die: bool = False) -> dict[str, Job]:
    """The part as far as its blank on each of the machines it may be made on."""
    return {name: blanked_on(part, shop, name, watch, every_die=every_die) for name in machines_wanted(part, shop)}


def _with_more_dies(job: Job, every_die: Mapping[str, Job]) -> dict[str, Job]:
    """The machines on which there are more dies than were looked at, and not all of them are shut with any tools."""
    return {name: each for name, each in every_die.items() if _may_with_every_die(job, each)}


def _may_with_every_die(job: Job, laid_out: Job) -> bool:
    """Whether there are more dies on a machine than were looked at, and not all of them are shut with any tools."""
    if not _has_more_dies(job, laid_out):
        return False
    return laid_out.pattern is None or bool(untooled(laid_out)) or not all_is_shut(laid_out)


def _has_more_dies(job: Job, laid_out: Job) -> bool:
    """Whether there are more dies on a machine than were looked at; True: on another one it is not known."""
    return job.machine.name != laid_out.machine.name or any(
        len(usable(laid_out.offers[bend])) > len(usable(each)) for bend, each in job.offers.items()
    )


def _worked_out(laid_out: Mapping[str, Job], watch: Watch, shut: ShutBends | None = None) -> Job:
    if len(laid_out) > 1:
        return _on_the_least(laid_out, watch, shut)
    ((name, job),) = laid_out.items()
    watch.tell(machine=name)
    return planned(replace(job, watch=watch), shut=shut)


def tried(part: Part, shop: Shop, watch: Watch = UNLIMITED) -> tuple[bool | None, Job]:
    """Whether there is a plan, and the part with the first that is found: False where it is proven that there is none.

    Dies that are taken only where no other bends the part are not tried: where there are such, it is not known (None).
    """
    any_plan = replace(watch, any_plan=True)
    laid_out = partial(laid_out_on_each, shop=shop, watch=any_plan)
    job = with_first_piece(_worked_out(laid_out(part), any_plan, ShutBends(part, laid_out, every_die=False)))
    if job.feasible is not False:
        return job.feasible, job
    more = (each for each in laid_out(part, every_die=True).values() if _has_more_dies(job, each))
    return None if any(each.pattern is not None and not untooled(each) for each in more) else False, job


def found_soon(part: Part, shop: Shop, watch: Watch, share: float) -> Job | None:
    """A plan of a part, looked for first on the machines that stand in its way least; None: none is found.

    What tools and bodies of these shut, those of the others do: where that was not settled in time, no other is asked.
    Where these have no plan another may, with stops of its own. `share`: of the time left, what each machine may take.
    """
    any_plan = replace(watch, any_plan=True)
    laid_out = laid_out_on_each(part, shop, any_plan).values()
    jobs = [job for job in laid_out if not has_no_blank(job)]
    roomiest = least_shut(jobs)
    for job in (*roomiest, *(job for job in jobs if not any(job is each for each in roomiest))):
        if (found := planned(replace(job, watch=any_plan.share(share)))).feasible:
            return with_first_piece(found)
        if found.feasible is None:
            break
    return None


def is_ruled_out(part: Part, shop: Shop, watch: Watch = UNLIMITED, *, like: Job | None = None) -> bool:
    """Whether no die of the shop bends a part, seen without a search.

    `like`: a plan of the part in another length: where tools leave room with pairs near its, not all of them shut it.
    """
    shut = ShutBends(part, partial(laid_out_on_each, shop=shop, watch=watch, every_die=True))
    jobs = shut.by_machine
    is_open = like is not None and any_near(jobs[like.machine.name], like.pairs)
    return (not is_open and shut.is_all) or all(
        each.pattern is not None and not untooled(each) and all_is_shut(each) for each in jobs.values()
    )


def can_be_bent(part: Part, shop: Shop, watch: Watch = UNLIMITED) -> bool:
    """Whether a plan is found."""
    return tried(part, shop, watch)[0] is True


def _on_the_least(laid_out: Mapping[str, Job], watch: Watch, shut: ShutBends | None) -> Job:
    """The part on the machine whose plan is the least, the others with what speaks against them.

    A machine is not planned for where its handling and strokes alone, with no tool in the way, already take longer.
    Where none can make the part, the one that comes nearest to it is told: the last that has tools for it.

    Each may take a share of the time left, what it does not use goes to the next. Where it is over and there is a plan,
    the others are told with what they take at least, and the plan is not proven if that is less.
    """
    taken, shapes = _found_quickly(laid_out, watch)
    first, tooled = next(iter(laid_out.values())), [name for name, job in laid_out.items() if not has_no_blank(job)]
    if shut is not None and len(first.part.section.bends) > FEW_BENDS and _winds_deg(first.part) > WINDS_DEG:
        shut.is_seen(first)
    others: list[OtherMachine] = []
    least_s = math.inf
    for share, (name, blank) in zip(_shares(len(laid_out)), laid_out.items(), strict=True):
        watch.tell(machine=name)
        # Of machines without a plan the last that has tools is told, of the others why they are not taken.
        is_shut = shut is not None and shut.is_known
        own = replace(watch.share(share), is_shut=is_shut, first_reason=is_shut and name in tooled[:-1])
        job = replace(blank, watch=own)
        mine = taken is not None and name == taken.machine.name
        left = None
        if taken is not None and taken.feasible and not mine and job.pattern is not None and not untooled(job):
            floor, left = _floor_weight(job, taken.weight)
            if floor >= taken.weight - SAME_COST or job.watch.over():
                others.append(OtherMachine(name, at_least_s=max(floor - taken.solution.broken_s, 0.0)))
                least_s = min(least_s, others[-1].at_least_s or 0.0)
                continue
        if taken is not None and taken.feasible is None and watch.over():
            others.append(OtherMachine(name))
            continue
        than_s = taken.weight if taken is not None and taken.feasible else math.inf
        job = planned(job, below_s=than_s, shut=shut, shapes=shapes if mine else None, left=left)
        if watch.any_plan and (job.feasible or (job.feasible is False and shut is not None and shut.is_all)):
            return job
        if taken is not None and _is_no_better(job, than_s):
            others += [OtherMachine(name, at_least_s=taken.solution.cost)] if name != taken.machine.name else []
            continue
        better, worse = _less(taken, job)
        taken = better
        if worse is not None:
            others += [_not_taken(worse, better)] if worse.machine.name != better.machine.name else []
            passed = worse if worse.machine.name != name else job
            least_s = min(least_s, _least_s(passed, than=better))
    assert taken is not None
    # One that was planned quickly and then looked through is told as it was looked through.
    taken = replace(taken, others=tuple({each.machine: each for each in others}.values()), watch=watch)
    if not taken.feasible or least_s >= (taken.solution.cost or 0.0) - SAME_COST:
        return taken
    # No more is proven of the plan than that no other machine takes less.
    bound_s = min(taken.solution.lower_bound or 0.0, least_s)
    return taken.with_solution(replace(taken.solution, proven_least=False, lower_bound=bound_s))


def _floor_weight(job: Job, than_s: float) -> tuple[float, tuple[tuple[Alike, ...], ...]]:
    """What no plan of a laid-out job weighs less than, whatever usable pairs it takes, on its blank or another.

    Looked for no further than to see that it is more than `than_s`; and the pairs that a plan takes which weighs less.
    """
    by_blank = blanks_of(job)
    cheapest = cheapest_weight(job, by_blank)
    if cheapest >= than_s:
        return cheapest, by_blank
    least = LeastWeight(on_all_blanks(job, by_blank))
    if (floor := least.of()) < than_s:
        floor = max(floor, min(than_s, least.of(bodies=True, below_s=than_s)))
    return floor, still_of_use(least.problem, by_blank, than_s - floor) if floor < than_s else by_blank


def _winds_deg(part: Part) -> float:
    """How far the bends of a section turn one way, from one of them to another."""
    turns_deg = (bend.signed_turn_deg for bend in part.section.bends)
    sums_deg = list(itertools.accumulate(turns_deg, initial=0.0))
    return max(abs(one - other) for one, other in itertools.combinations(sums_deg, 2))


def _found_quickly(laid_out: Mapping[str, Job], watch: Watch) -> tuple[Job | None, Shapes | None]:
    """A plan of many bends on the first machine for which beams find one, before any machine is searched through.

    It stands as the least until the machines, its own among them, are looked through; None where time has no end. With
    it what was found of its shapes, for when its own machine is.
    """
    if math.isinf(watch.until) or any(len(job.part.section.bends) <= MANY for job in laid_out.values()):
        return None, None
    for share, (name, blank) in zip(_shares(len(laid_out)), laid_out.items(), strict=True):
        watch.tell(machine=name)
        job = planned(replace(blank, watch=replace(watch.share(share), quick=True)))
        if job.feasible and job.ordered is not None:
            cost, shapes = job.solution.cost, job.ordered.shapes
            watch.tell(best_s=cost)
            job = replace(job, ordered=replace(job.ordered, shapes=None))
            return job.with_solution(replace(job.solution, proven_least=True, lower_bound=cost)), shapes
    return None, None


def _shares(count: int) -> list[float]:
    """Of the time left, what each machine may take: all alike, the last twice, as a rule the largest."""
    return [1 / (left + 1) for left in range(count, 1, -1)] + [1.0]


def _less(one: Job | None, other: Job) -> tuple[Job, Job | None]:
    """The better of two jobs and the one passed over: a plan before none, then the least; a later try before none."""
    if one is None:
        return other, None
    if not other.feasible:
        known_less = other.ordered is None or (one.feasible is None and other.feasible is False)
        return (one, other) if one.feasible or known_less else (other, one)
    if not one.feasible:
        return other, one
    return (other, one) if other.weight < one.weight - SAME_COST else (one, other)


def _is_no_better(job: Job, than_s: float) -> bool:
    """Whether no plan of a job without one weighs less than one at hand."""
    return job.ordered is not None and job.feasible is None and job.solution.open_bound >= than_s - SAME_COST


def _least_s(job: Job, *, than: Job) -> float:
    """What a plan of a job that was passed over takes at least, beside the seconds of a better plan."""
    if job.feasible is False:
        return math.inf
    if job.feasible and job.solution.breach == than.solution.breach:
        # What was not found weighs no less than was looked for.
        known_s = min(job.weight, job.solution.open_bound) - than.solution.broken_s
        return max(job.solution.lower_bound or 0.0, known_s)
    if job.feasible:
        # A step that no grip holds, or that a rule of holding is against, weighs more than seconds do.
        weight = job.weight if job.solution.proven_least else job.solution.least_weight or 0.0
        return math.inf if weight >= than.weight - SAME_COST else job.solution.lower_bound or 0.0
    return max(job.solution.open_bound - than.solution.broken_s, 0.0)


def _not_taken(job: Job, than: Job) -> OtherMachine:
    if not job.feasible:
        return OtherMachine(job.machine.name, why_not=next(iter(job.findings), None))
    by_hand, others = (sum(each.grip is None for each in one.grips) for one in (job, than))
    if by_hand > others:
        return OtherMachine(job.machine.name, why_not=next(each for each in job.findings if each.code == "no-grip"))
    return OtherMachine(job.machine.name, cost_s=job.solution.cost)


def blanked(part: Part, shop: Shop) -> Job:
    """The part as far as its blank: tools offered, the best of them taken, no order looked for.

    Of several machines it is the first that has tools for every bend.
    """
    jobs = (blanked_on(part, shop, name) for name in machines_wanted(part, shop))
    first = next(jobs)
    return next((job for job in itertools.chain([first], jobs) if not untooled(job)), first)
