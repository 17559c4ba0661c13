"""The least plan of a part over all its tools, each plan on the blank that its own tools make.

All pairs of the shop are judged for every bend. Those of a bend that form one radius make one blank with any others, so
the search is asked blank by blank: that of the best pairs first, then those of the others while a plan on them could
still weigh less than the best so far. What no plan weighs less than on any of the blanks is reckoned on the first, with
all that lies beyond a bend taken to be anywhere that another blank could put it.
"""

from __future__ import annotations

import heapq
import itertools
import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace
from functools import lru_cache

import numpy as np
import shapely

from flangewise.geometry import Chain, done_angles, section_path
from flangewise.jobs.job import Job, Ordered, Pairs
from flangewise.jobs.problem import chain_of, mountings, problem_of
from flangewise.jobs.wishes import deductions_mm, radii_mm
from flangewise.pattern import FlatPattern, NoBlank, lay_out
from flangewise.punch_die import Mounting, PunchDie, usable
from flangewise.sequence import (
    SAME_COST,
    LeastWeight,
    PricedStep,
    SectionProblem,
    ShapeCache,
    Slack,
    Solution,
    ToolOption,
    least_priced,
    more_than_cheapest,
    solve,
)

# Radii closer than this make the same blank: a thousandth of what a cut can hold.
SAME_RADIUS_MM = 1e-4
# So many blanks are searched; where more could still come in below the best plan, it is not proven.
MOST_BLANKS = 24

# Long enough for a leg with any radius.
LONG_MM = 1000.0
# Two lines may be farther apart between their corners than at them, by less than this.
NEARLY = 1.05

# Pairs of one bend that make the same blank.
Alike = tuple[Mounting, ...]


def floor_weight(job: Job) -> float:
    """What no plan of a laid-out job weighs less than, whatever usable pairs it takes, on its blank or another."""
    return LeastWeight(_on_all_blanks(job, _by_blank(job))).of()


def find_order(job: Job) -> Job:
    """A laid-out job with the least plan, its tools and their blank, or the proof that there is none, or neither.

    Raises ValueError where a bend has no usable pair.
    """
    by_blank = _by_blank(job)
    if not all(by_blank):
        raise ValueError("a bend has no usable pair")
    best = _ordered(job, tuple(each[0] for each in by_blank), below=math.inf)
    return best if all(len(each) == 1 for each in by_blank) else _least_of_all(best, by_blank)


def _least_of_all(best: Job, by_blank: Sequence[Sequence[Alike]]) -> Job:
    """The best job after the other blanks; proven as far as no plan on any of them weighs less than a bound."""
    everything = _on_all_blanks(best, by_blank)
    bare = LeastWeight(everything).of(below=_weight(best))
    left = _still_of_use(everything, by_blank, _weight(best) - bare)
    if all(len(each) == 1 for each in left):
        return best
    everything = _on_all_blanks(best, left)
    least = LeastWeight(everything)
    shut = least.of(bodies=True, below=_weight(best))
    if math.isinf(shut):
        return best if _solution(best).feasible else _impossible(best)
    bare, bound, searched = least.of(), math.inf, 0
    for known, chosen in _rising(_others(everything, left), least, left, floors=(bare, shut), below=_weight(best)):
        if known >= _weight(best) - SAME_COST:
            break
        if searched == MOST_BLANKS:
            bound = min(bound, known)
            break
        searched += 1
        try:
            other = _ordered(best, [each[nth] for each, nth in zip(left, chosen, strict=True)], below=_weight(best))
        except NoBlank:
            continue
        solution = _solution(other)
        if solution.feasible and _weight(other) < _weight(best) - SAME_COST:
            best = other
        if solution.feasible is not False:
            bound = min(bound, solution.least_weight or math.inf)
    solution = _solution(best)
    if solution.feasible:
        return best if bound >= solution.weight - SAME_COST else _not_proven(best, bound)
    return _not_proven(best, bound) if math.isfinite(bound) else _impossible(best)


def _rising(
    others: Iterator[tuple[float, float, tuple[int, ...]]],
    least: LeastWeight,
    by_blank: Sequence[Sequence[Alike]],
    *,
    floors: tuple[float, float],
    below: float,
) -> Iterator[tuple[float, tuple[int, ...]]]:
    """Choices of blanks with what no plan on them weighs less than, the least first; only what is under `below`.

    `floors`: what no plan weighs less than, as if nothing were in the way, and with what all tools shut. What the pairs
    cost more than the cheapest is known at once; what they shut by themselves is asked when it comes to that.
    """
    opened: list[tuple[float, bool, float, tuple[int, ...]]] = []
    coming = next(others, None)
    while opened or coming is not None:
        if coming is not None:
            extra, change, chosen = coming
            known = max(floors[0] + extra, floors[1]) + change
            if not opened or known <= opened[0][0]:
                coming = next(others, None)
                if known < below:
                    heapq.heappush(opened, (known, False, change, chosen))
                elif change:
                    coming = None
                continue
        known, asked, change, chosen = heapq.heappop(opened)
        if asked:
            yield known, chosen
            continue
        shut_own = least.of(_options(by_blank, chosen), bodies=True, below=below) + change
        if math.isfinite(shut_own):
            heapq.heappush(opened, (max(known, shut_own), True, change, chosen))


def _options(by_blank: Sequence[Sequence[Alike]], chosen: Sequence[int]) -> list[range]:
    """The numbers of the chosen pairs among all of each bend."""
    starts = [sum(map(len, each[:nth])) for each, nth in zip(by_blank, chosen, strict=True)]
    return [range(at, at + len(each[nth])) for at, each, nth in zip(starts, by_blank, chosen, strict=True)]


def _solution(job: Job) -> Solution:
    assert job.ordered is not None
    return job.ordered.solution


def _weight(job: Job) -> float:
    return _solution(job).weight


def _by_blank(job: Job) -> tuple[tuple[Alike, ...], ...]:
    """For each bend its usable pairs, those together that make one blank; the best first."""
    turned = {bend.number: bend.punch_turned for bend in job.part.section.bends}
    found = []
    for bend, offers in job.offers.items():
        alike: dict[object, list[Mounting]] = {}
        for each in mountings(usable(offers), turned[bend]):
            alike.setdefault(_blank_key(job, bend, each.pair), []).append(each)
        found.append(tuple(tuple(each) for each in alike.values()))
    return tuple(found)


def _blank_key(job: Job, bend: int, pair: PunchDie) -> object:
    """What of a pair makes the blank: the radius it forms in the sheet as it was cut, and a deduction learned."""
    radius_mm = as_cut(job, bend, pair).formed_radius_mm
    learned = deductions_mm(job.part, job.shop, {bend: pair}) if job.shop.measured.rows else {}
    return None if radius_mm is None else round(radius_mm / SAME_RADIUS_MM), learned.get(bend)


def as_cut(job: Job, bend: int, pair: PunchDie) -> PunchDie:
    """The same pair bending the sheet as it was ordered."""
    return next((each for each in job.cut_offers[bend] if each.tools.name == pair.tools.name), pair)


def blank_of(job: Job, pairs: Pairs) -> FlatPattern:
    """The blank as it was cut: a measured thickness changes how the piece is bent, not what was cut before."""
    bends = [bend.number for bend in job.part.section.bends]
    cut = [pair if (pair := pairs[bend]) is None else as_cut(job, bend, pair) for bend in bends]
    learned = deductions_mm(job.part, job.shop, pairs)
    return lay_out(job.part, job.shop, radii_mm=radii_mm(job.part, cut), deductions_mm=learned)


def _ordered(job: Job, alike: Sequence[Alike], *, below: float) -> Job:
    """The least plan with pairs that make one blank, on it, if it weighs less than that. Raises NoBlank."""
    offered = dict(zip(job.offers, alike, strict=True))
    pairs = dict(job.pairs) | {bend: each[0].pair for bend, each in offered.items()}
    own = replace(job, pairs=pairs, pattern=blank_of(job, pairs))
    problem = problem_of(own, offered)
    ordered = _with_returns(own, Ordered(problem, solve(problem, below=below), offered))
    return replace(own, ordered=ordered, pairs=pairs | {bend: each.pair for bend, each in ordered.taken.items()})


def _on_all_blanks(job: Job, by_blank: Sequence[Sequence[Alike]]) -> SectionProblem:
    """The question with all pairs, on the blank of the first, with the slack that the others' blanks make."""
    offered = {bend: tuple(itertools.chain(*each)) for bend, each in zip(job.offers, by_blank, strict=True)}
    problem, strips = problem_of(job, offered), _strips(job, by_blank)
    operations = tuple(
        replace(operation, options=tuple(_own_blank(options, each, strip)))
        for operation, each, strip in zip(problem.operations, by_blank, strips, strict=True)
        for options in [iter(operation.options)]
    )
    slack = tuple(
        Slack(max(_apart_mm(strip[0], other) for other in strip), max(_beside_mm(strip[0], other) for other in strip))
        for strip in strips
    )
    return replace(problem, operations=operations, slack=slack, tell_blockers=False)


def _own_blank(
    options: Iterator[ToolOption], by_blank: Sequence[Alike], strips: Sequence[Chain]
) -> Iterator[ToolOption]:
    """The options, their hits with the strip that is bent on their own blank."""
    for alike, strip in zip(by_blank, strips, strict=True):
        moved_mm = strip.flats_mm[0] - strips[0].flats_mm[0]
        for option in itertools.islice(options, len(alike)):
            hits = tuple(replace(hit, zone_mm=strip.zones_mm[0], leg_moved_mm=moved_mm) for hit in option.hits)
            yield replace(option, hits=hits)


def _strips(job: Job, by_blank: Sequence[Sequence[Alike]]) -> list[list[Chain]]:
    """Each bend by itself, as each of its blanks has it.

    What a bend takes of the legs beside it does not depend on the others, so every bend is changed at once. The legs
    are made longer for it, so that none is too short for a radius.
    """
    longer = replace(job.part.section, legs_mm=tuple(leg + LONG_MM for leg in job.part.section.legs_mm))
    long = replace(job, part=replace(job.part, section=longer))
    found: list[list[Chain]] = [[] for _ in by_blank]
    for nth in range(max(map(len, by_blank))):
        pairs = {bend: each[min(nth, len(each) - 1)][0].pair for bend, each in zip(job.offers, by_blank, strict=True)}
        pattern = blank_of(long, dict(job.pairs) | pairs)
        for strip, each, bend in zip(found, by_blank, job.offers, strict=True):
            if nth < len(each):
                strip.append(_strip(pattern, bend))
    return found


def _strip(pattern: FlatPattern, bend: int) -> Chain:
    """One bend by itself, with legs of one length each less what it takes of them."""
    whole = chain_of(pattern)
    zones = [index for index, zone in enumerate(pattern.zones) if zone.bend == bend]
    inner = whole.flats_mm[zones[0] + 1 : zones[-1] + 1]
    ends = (LONG_MM - pattern.zones[index].allowance.leg_setback_mm for index in (zones[0], zones[-1]))
    first_mm, last_mm = ends
    return Chain(
        (first_mm, *inner, last_mm),
        tuple(whole.zones_mm[index] for index in zones),
        tuple(whole.turns_deg[index] for index in zones),
        tuple(whole.radii_mm[index] for index in zones),
        whole.thickness_mm,
    )


@lru_cache(maxsize=4096)
def _apart_mm(one: Chain, other: Chain) -> float:
    """How far two makings of a bend are apart beyond it, flat or formed, and at it."""
    found = [0.0]
    for zones in (set(), set(range(one.bends))):
        lines = [section_path(chain, done_angles(chain, zones)).points_mm for chain in (one, other)]
        found.append(float(np.linalg.norm(lines[0][-1] - lines[1][-1])))
        found.append(NEARLY * float(shapely.hausdorff_distance(*map(shapely.LineString, lines))))
    return max(found)


def _beside_mm(one: Chain, other: Chain) -> float:
    """How far from the middle of a bend the legs beside it may end elsewhere than thought, flat."""
    return max(abs(_reach_mm(one, end) - _reach_mm(other, end)) for end in (0, -1))


def _reach_mm(chain: Chain, end: int) -> float:
    return chain.flats_mm[end] + (sum(chain.zones_mm) + sum(chain.flats_mm[1:-1])) / 2


def _still_of_use(
    problem: SectionProblem, by_blank: Sequence[Sequence[Alike]], room: float
) -> tuple[tuple[Alike, ...], ...]:
    """The pairs that a plan could take which weighs so much more than the least, and the first in any case."""
    extras = [_by_name(each, more) for each, more in zip(by_blank, more_than_cheapest(problem), strict=True)]
    alone = {name: sum(each.get(name, math.inf) for each in extras) for name in extras[0]}
    change = problem.costs.station_change + problem.costs.tool_change
    return tuple(
        tuple(
            alike
            for nth, alike in enumerate(each)
            if not nth
            or any(min(extra[one.name] + change, alone.get(one.name, math.inf)) < room - SAME_COST for one in alike)
        )
        for each, extra in zip(by_blank, extras, strict=True)
    )


def _by_name(by_blank: Sequence[Alike], more: Iterable[float]) -> dict[str, float]:
    return dict(zip((one.name for alike in by_blank for one in alike), map(float, more), strict=True))


def _others(
    problem: SectionProblem, by_blank: Sequence[Sequence[Alike]]
) -> Iterator[tuple[float, float, tuple[int, ...]]]:
    """Every choice of blanks but the first, with what its pairs cost more than the cheapest, and a change of tools.

    Those that some pair makes for all bends need no change; the least of both together first.
    """
    extras = [_by_name(each, more) for each, more in zip(by_blank, more_than_cheapest(problem), strict=True)]
    least = [
        [min(extra[one.name] for one in alike) for alike in each] for each, extra in zip(by_blank, extras, strict=True)
    ]
    ranked = [sorted(range(len(each)), key=each.__getitem__) for each in least]

    def cost(at: Sequence[int]) -> float:
        return sum(each[order[place]] for each, order, place in zip(least, ranked, at, strict=True))

    def at_of(name: str) -> tuple[int, ...]:
        where = ([name in {one.name for one in alike} for alike in each].index(True) for each in by_blank)
        return tuple(order.index(nth) for order, nth in zip(ranked, where, strict=True))

    names = set(extras[0]).intersection(*extras[1:])
    alone = sorted((sum(extra[name] for extra in extras), at_of(name)) for name in names)
    told = {tuple(order.index(0) for order in ranked)}
    mixed, change = (
        _by_cost(cost, [len(each) for each in by_blank]),
        problem.costs.station_change + problem.costs.tool_change,
    )
    both = heapq.merge(
        ((e, 0.0, at) for e, at in alone), ((e, change, at) for e, at in mixed), key=lambda each: sum(each[:2])
    )
    for extra, changed, at in both:
        if at not in told:
            told.add(at)
            yield extra, changed, tuple(order[place] for order, place in zip(ranked, at, strict=True))


def _by_cost(cost: Callable[[Sequence[int]], float], counts: Sequence[int]) -> Iterator[tuple[float, tuple[int, ...]]]:
    """Every choice of one place in each row, by a cost that rises with every place."""
    start = (0,) * len(counts)
    opened, seen = [(cost(start), start)], {start}
    while opened:
        found = heapq.heappop(opened)
        yield found
        for row, place in enumerate(found[1]):
            onward = (*found[1][:row], place + 1, *found[1][row + 1 :])
            if place + 1 < counts[row] and onward not in seen:
                seen.add(onward)
                heapq.heappush(opened, (cost(onward), onward))


def _impossible(job: Job) -> Job:
    """No plan on any blank."""
    solution = replace(_solution(job), feasible=False, lower_bound=None, least_weight=None)
    return _with_solution(job, solution)


def _with_solution(job: Job, solution: Solution) -> Job:
    assert job.ordered is not None
    return replace(job, ordered=replace(job.ordered, solution=solution))


def _not_proven(job: Job, bound: float) -> Job:
    """The answer without a proof; `bound` is what any plan weighs at least."""
    solution = _solution(job)
    feasible = True if solution.feasible else None
    broken_s = solution.weight - solution.cost if solution.cost is not None else 0.0
    least = max(0.0, min(solution.lower_bound if solution.lower_bound is not None else math.inf, bound - broken_s))
    return _with_solution(job, replace(solution, feasible=feasible, proven_least=False, lower_bound=least))


def _with_returns(job: Job, found: Ordered) -> Ordered:
    """The answer with plans looked at that come back to tools which still stand beside the others.

    The search pays for putting tools in at every change; such a plan pays for them once. So it is asked again with
    changes that cost the shift alone and one station put in: no plan with two or more stations takes less.
    """
    costs, centre, solution = found.problem.costs, job.centre, found.solution
    put_in = 2 * centre.mount_s
    if not solution.proven_least or costs.tool_change or not put_in:
        return found
    floor = LeastWeight(found.problem).of()
    if floor + 2 * centre.shift_s + put_in >= solution.weight - SAME_COST:
        return found
    cheap = replace(costs, station_change=centre.shift_s, base=costs.base + put_in)
    problem, kept = replace(found.problem, costs=cheap, tell_blockers=False), ShapeCache()
    bound = solve(problem, kept)

    def mounted(made: Iterable[PricedStep]) -> float:
        """Stations after the second are put in as well."""
        taken = (problem.operations[operation].options[option].hits for operation, option, _ in made)
        stations = {(hit.stack.punch, hit.stack.die, hit.stack.turned) for hits in taken for hit in hits}
        return put_in * max(len(stations) - 2, 0)

    if not bound.feasible or bound.cost is None:
        known = replace(solution, proven_least=False, lower_bound=min(solution.lower_bound or floor, floor))
        return found if bound.feasible is False else replace(found, solution=known)
    true = replace(bound, cost=bound.cost + mounted((each.operation, each.option, each.gauged) for each in bound.steps))
    known = true if true.weight < solution.weight - SAME_COST else solution
    return replace(found, solution=least_priced(problem, kept, known, mounted, always_s=0.0, bound=bound))
