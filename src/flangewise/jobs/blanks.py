"""The blanks that the pairs of a part can make, and how far the part may be from one with another's tools.

Pairs of a bend that form one radius make one blank with any others.
"""

import heapq
import itertools
import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace
from functools import lru_cache

from flangewise.clearance import lines_apart_mm
from flangewise.geometry import Chain, done_angles, section_path
from flangewise.jobs.job import Job, Pairs
from flangewise.jobs.problem import chain_of, mountings, problem_of
from flangewise.jobs.wishes import deductions_mm, radii_mm
from flangewise.pattern import FlatPattern, lay_out
from flangewise.punch_die import Mounting, PunchDie, usable
from flangewise.sequence import SAME_COST, SectionProblem, Slack, ToolOption, more_than_cheapest

# Radii closer than this make the same blank: a thousandth of what a cut can hold.
SAME_RADIUS_MM = 1e-4
# Long enough for a leg with any radius.
LONG_MM = 1000.0

RIGHT_DEG = 90.0

# Pairs of one bend that make the same blank.
Alike = tuple[Mounting, ...]


def blanks_of(job: Job) -> tuple[tuple[Alike, ...], ...]:
    """For each bend its usable pairs, those together that make one blank; the best first."""
    turned = {bend.number: bend.punch_turned for bend in job.part.section.bends}
    found = []
    for bend, offers in job.offers.items():
        alike: dict[object, list[Mounting]] = {}
        for each in mountings(usable(offers), turned[bend]):
            # What of a pair makes the blank: the radius it forms in the sheet as it was cut, a deduction learned.
            radius_mm = as_cut(job, bend, each.pair).formed_radius_mm
            learned = deductions_mm(job.part, job.shop, {bend: each.pair}).get(bend)
            key = None if radius_mm is None else round(radius_mm / SAME_RADIUS_MM), learned
            alike.setdefault(key, []).append(each)
        found.append(tuple(tuple(each) for each in alike.values()))
    return tuple(found)


def as_cut(job: Job, bend: int, pair: PunchDie) -> PunchDie:
    """The same pair bending the sheet as it was ordered."""
    return next((each for each in job.cut_offers[bend] if each.tools.name == pair.tools.name), pair)


def blank_of(job: Job, pairs: Pairs) -> FlatPattern:
    """The blank as it was cut: a measured thickness changes how the piece is bent, not what was cut before."""
    bends = [bend.number for bend in job.part.section.bends]
    cut = [pair if (pair := pairs[bend]) is None else as_cut(job, bend, pair) for bend in bends]
    learned = deductions_mm(job.part, job.shop, pairs)
    return lay_out(job.part, job.shop, radii_mm=radii_mm(job.part, cut), deductions_mm=learned)


def on_all_blanks(job: Job, by_blank: Sequence[Sequence[Alike]]) -> SectionProblem:
    """The question with all pairs, on the blank of the first, with the slack that the others' blanks make."""
    offered = {bend: tuple(itertools.chain(*each)) for bend, each in zip(job.offers, by_blank, strict=True)}
    problem, strips = problem_of(job, offered), _strips(job, by_blank)
    operations = tuple(
        replace(operation, options=tuple(_own_blank(options, each, strip)))
        for operation, each, strip in zip(problem.operations, by_blank, strips, strict=True)
        for options in [iter(operation.options)]
    )
    # Between faces that are all level or upright, no corner lies further out than the face beyond it.
    square = all(turn % RIGHT_DEG == 0 for turn in problem.chain.turns_deg)
    slack = tuple(_slack(strip, square=square) for strip in strips)
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


def _slack(strips: Sequence[Chain], *, square: bool) -> Slack:
    """How far a bend's other blanks put things elsewhere than its first."""
    flat, formed, corner = zip(*(_apart_mm(strips[0], other) for other in strips), strict=True)
    return Slack(
        shape_mm=max(*flat, *formed, *corner),
        flat_mm=max(flat),
        formed_mm=max(formed),
        corner_mm=0.0 if square else max(corner),
        beside_mm=max(abs(_reach_mm(strips[0], end) - _reach_mm(other, end)) for other in strips for end in (0, -1)),
    )


@lru_cache(maxsize=4096)
def _apart_mm(one: Chain, other: Chain) -> tuple[float, float, float]:
    """How far two makings of a bend are apart: what lies beyond it, flat and formed, and its formed corner."""
    drawn = [
        [section_path(chain, done_angles(chain, zones)).points_mm for chain in (one, other)]
        for zones in (set[int](), set(range(one.bends)))
    ]
    flat, formed = (math.dist(mine[-1], its[-1]) for mine, its in drawn)
    return flat, formed, lines_apart_mm(*drawn[1])


def _reach_mm(chain: Chain, end: int) -> float:
    """How far from the middle of a bend a leg beside it ends, flat."""
    return chain.flats_mm[end] + (sum(chain.zones_mm) + sum(chain.flats_mm[1:-1])) / 2


def still_of_use(
    problem: SectionProblem, by_blank: Sequence[Sequence[Alike]], room_s: float
) -> tuple[tuple[Alike, ...], ...]:
    """The pairs that a plan could take which weighs so much more than the least, and the first in any case."""
    extras = [_by_name(each, more) for each, more in zip(by_blank, more_than_cheapest(problem), strict=True)]
    alone = {name: sum(each.get(name, math.inf) for each in extras) for name in extras[0]}
    change = least_change_s(problem)
    return tuple(
        tuple(
            alike
            for nth, alike in enumerate(each)
            if not nth
            or any(min(extra[one.name] + change, alone.get(one.name, math.inf)) < room_s - SAME_COST for one in alike)
        )
        for each, extra in zip(by_blank, extras, strict=True)
    )


def least_change_s(problem: SectionProblem) -> float:
    """What going from one pair to another costs at least."""
    return problem.costs.station_change + problem.costs.tool_change


def _by_name(by_blank: Sequence[Alike], more: Iterable[float]) -> dict[str, float]:
    return dict(zip((one.name for alike in by_blank for one in alike), map(float, more), strict=True))


def other_blanks(
    problem: SectionProblem, by_blank: Sequence[Sequence[Alike]], *, mixed: bool = True
) -> Iterator[tuple[float, float, tuple[int, ...]]]:
    """Every choice of blanks but the first, with what its pairs cost more than the cheapest, and a change of tools.

    Those that some pair makes for all bends need no change; the least of both together first; `mixed` False: no others.
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
    change = least_change_s(problem)
    changed = _by_cost(cost, [len(each) for each in by_blank]) if mixed else iter(())
    both = heapq.merge(
        ((e, 0.0, at) for e, at in alone), ((e, change, at) for e, at in changed), key=lambda each: sum(each[:2])
    )
    for extra, change_s, at in both:
        if at not in told:
            told.add(at)
            yield extra, change_s, tuple(order[place] for order, place in zip(ranked, at, strict=True))


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


def options_of(by_blank: Sequence[Sequence[Alike]], chosen: Sequence[int]) -> list[range]:
    """The numbers of the chosen pairs among all of each bend."""
    starts = [sum(map(len, each[:nth])) for each, nth in zip(by_blank, chosen, strict=True)]
    return [range(at, at + len(each[nth])) for at, each, nth in zip(starts, by_blank, chosen, strict=True)]
