"""The blanks that the pairs of a part can make, and how far the part may be from one with another's tools.

Pairs of a bend that form one radius make one blank with any others.
"""

import itertools
import math
from collections.abc import Iterable, Iterator, Sequence
from functools import lru_cache

from flangewise.bend import Sizes
from flangewise.clearance import lines_apart_mm, point_from_line_mm
from flangewise.geometry import Chain, Points, section_path
from flangewise.jobs.job import Job, Pairs
from flangewise.jobs.problem import chain_of, mountings, problem_of
from flangewise.jobs.standing import returning
from flangewise.jobs.tool_changes import least_change_s
from flangewise.jobs.wishes import deductions_mm, radii_mm, radius_mm
from flangewise.part import WantedBend
from flangewise.pattern import FlatPattern, lay_out, taken_by
from flangewise.punch_die import Mounting, PunchDie, usable
from flangewise.records import altered, replace
from flangewise.sequence import SAME_COST, Operation, SectionProblem, Slack, ToolOption, more_than_cheapest

# Radii closer than this make the same blank: a thousandth of what a cut can hold.
SAME_RADIUS_MM = 1e-4
# Of so many bends' offers it is kept which make one blank.
MOST_GROUPED = 64
# Long enough for a leg with any radius.
LONG_MM = 1000.0

RIGHT_DEG = 90.0

# Pairs of one bend that make the same blank.
Alike = tuple[Mounting, ...]
# Some choices of blanks: for each bend the numbers of those of its own that are among them.
Box = tuple[tuple[int, ...], ...]


def blanks_of(job: Job) -> tuple[tuple[Alike, ...], ...]:
    """For each bend its usable pairs, those together that make one blank; the best first."""
    turned = {bend.number: bend.punch_turned for bend in job.part.section.bends}
    if not job.shop.measured.rows and job.cut_offers is job.offers:
        return tuple(_alike_by_radius(offers, turned[bend]) for bend, offers in job.offers.items())
    found, is_measured = [], bool(job.shop.measured.rows)
    for bend, offers in job.offers.items():
        alike: dict[object, list[Mounting]] = {}
        for each in mountings(usable(offers), turned[bend]):
            # What of a pair makes the blank: the radius it forms in the sheet as it was cut, a deduction learned.
            learned = deductions_mm(job.part, job.shop, {bend: each.pair}).get(bend) if is_measured else None
            alike.setdefault((_radius_key(as_cut(job, bend, each.pair)), learned), []).append(each)
        found.append(tuple(tuple(each) for each in alike.values()))
    return tuple(found)


@lru_cache(maxsize=MOST_GROUPED)
def _alike_by_radius(offers: tuple[PunchDie, ...], turned: bool | None) -> tuple[Alike, ...]:
    """The same of one bend, where no deduction was learned and the sheet is as it was ordered: alike in many parts."""
    alike: dict[int | None, list[Mounting]] = {}
    for each in mountings(usable(offers), turned):
        alike.setdefault(_radius_key(each.pair), []).append(each)
    return tuple(tuple(each) for each in alike.values())


def _radius_key(pair: PunchDie) -> int | None:
    return None if pair.formed_radius_mm is None else round(pair.formed_radius_mm / SAME_RADIUS_MM)


def as_cut(job: Job, bend: int, pair: PunchDie) -> PunchDie:
    """The same pair bending the sheet as it was ordered."""
    if job.cut_offers is job.offers:
        return pair
    return next((each for each in job.cut_offers[bend] if each.tools.name == pair.tools.name), pair)


def blank_of(job: Job, pairs: Pairs) -> FlatPattern:
    """The blank as it was cut: a measured thickness changes how the piece is bent, not what was cut before."""
    bends = [bend.number for bend in job.part.section.bends]
    cut = [pair if (pair := pairs[bend]) is None else as_cut(job, bend, pair) for bend in bends]
    learned = deductions_mm(job.part, job.shop, pairs)
    return lay_out(job.part, job.shop, radii_mm=radii_mm(job.part, cut), deductions_mm=learned)


def on_blank(job: Job, by_blank: Sequence[Sequence[Alike]]) -> Job:
    """A job on the blank of the first pairs of each bend. Raises NoBlank."""
    pairs = dict(job.pairs) | {bend: each[0][0].pair for bend, each in zip(job.offers, by_blank, strict=True)}
    return replace(job, pairs=pairs, pattern=blank_of(job, pairs))


def on_all_blanks(job: Job, by_blank: Sequence[Sequence[Alike]], *, timed: bool = True) -> SectionProblem:
    """The question with all pairs, on the blank of the first, with the slack that the others' blanks make."""
    offered = {bend: tuple(itertools.chain(*each)) for bend, each in zip(job.offers, by_blank, strict=True)}
    problem, strips = problem_of(job, offered, timed=timed), _strips(job, by_blank)
    made: dict[tuple[object, ...], tuple[ToolOption, ...]] = {}
    operations = list[Operation]()
    for operation, each, strip in zip(problem.operations, by_blank, strips, strict=True):
        # Bends that are offered the same, and take the same of their legs, have the same options.
        ends_mm = tuple((own.zones_mm[0], own.flats_mm[0]) for own in strip)
        key = tuple(map(id, operation.options)), tuple(map(len, each)), ends_mm
        if key not in made:
            made[key] = tuple(_own_blank(iter(operation.options), each, strip))
        operations.append(replace(operation, options=made[key]))
    slack = tuple(_slack(strip) for strip in strips)
    cheap = _as_cheap(job, problem) if timed else problem
    return replace(cheap, operations=tuple(operations), slack=slack, tell_blockers=False)


def _as_cheap(job: Job, problem: SectionProblem) -> SectionProblem:
    """The problem with hems at no more than they cost in plans that come back to their tools."""
    hemmed = any(len(option.hits) > 1 for operation in problem.operations for option in operation.options)
    return (returning(job, problem) if hemmed else None) or problem


def _own_blank(
    options: Iterator[ToolOption], by_blank: Sequence[Alike], strips: Sequence[Chain]
) -> Iterator[ToolOption]:
    """The options, their hits with the strip that is bent on their own blank."""
    for alike, strip in zip(by_blank, strips, strict=True):
        moved_mm = strip.flats_mm[0] - strips[0].flats_mm[0]
        for option in itertools.islice(options, len(alike)):
            hits = tuple(altered(hit, zone_mm=strip.zones_mm[0], leg_moved_mm=moved_mm) for hit in option.hits)
            yield altered(option, hits=hits)


def _strips(job: Job, by_blank: Sequence[Sequence[Alike]]) -> list[list[Chain]]:
    """Each bend by itself, as each of its blanks has it.

    What a bend takes of the legs beside it does not depend on the others, so every bend is changed at once. The legs
    are made longer for it, so that none is too short for a radius. But for offsets they are kept, for any part.
    """
    if all(bend.kind != "offset" for bend in job.part.section.bends):
        return [list(_kept_strips(job, bend, each)) for bend, each in zip(job.offers, by_blank, strict=True)]
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


def _kept_strips(job: Job, bend: int, by_blank: Sequence[Alike]) -> Iterator[Chain]:
    part, shop = job.part, job.shop
    wanted = next(each for each in part.section.bends if each.number == bend)
    sheet = part.thickness_mm, part.section.sizes, shop.defaults.rule
    is_measured = bool(shop.measured.rows)
    for alike in by_blank:
        pair = alike[0].pair
        learned_mm = deductions_mm(part, shop, {bend: pair}).get(bend) if is_measured else None
        yield _kept_strip(wanted, radius_mm(part, wanted, as_cut(job, bend, pair)), *sheet, learned_mm)


@lru_cache(maxsize=1024)
def _kept_strip(
    bend: WantedBend, inside_radius_mm: float, thickness_mm: float, sizes: Sizes, rule: str, learned_mm: float | None
) -> Chain:
    """A bend of one zone by itself: what it takes hangs on nothing else of its part."""
    taken = taken_by(bend, inside_radius_mm, thickness_mm=thickness_mm, sizes=sizes, rule=rule, learned_mm=learned_mm)
    flat_mm, turn_deg = LONG_MM - taken.allowance.leg_setback_mm, -bend.turn_deg if bend.away else bend.turn_deg
    return Chain((flat_mm, flat_mm), (taken.allowance.allowance_mm,), (turn_deg,), (taken.radius_mm,), thickness_mm)


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


def middle_first(job: Job, by_blank: Sequence[Sequence[Alike]]) -> tuple[tuple[Alike, ...], ...]:
    """The same blanks, of each bend that first from which the others differ least in what they leave of the legs."""
    found = []
    for each, strips in zip(by_blank, _strips(job, by_blank), strict=True):
        flats_mm = [strip.flats_mm[0] for strip in strips]
        middle_mm = (min(flats_mm) + max(flats_mm)) / 2
        at = min(range(len(each)), key=lambda nth: abs(flats_mm[nth] - middle_mm))
        found.append((each[at], *each[:at], *each[at + 1 :]))
    return tuple(found)


def beside_mm(job: Job, by_blank: Sequence[Sequence[Alike]], bend: int) -> float:
    """How far the flat of a leg beside a bend, as its first blank has it, may lie from the sheet of the others.

    Where another leaves less of it, its zone goes on from there, flat or formed.
    """
    strips = _strips(job, by_blank)[bend]
    ways = (strips, [_from_other_end(each) for each in strips])
    return max(_departs_mm(first, other) for first, *others in ways for other in (first, *others))


def _from_other_end(strip: Chain) -> Chain:
    turned = {key: getattr(strip, key)[::-1] for key in ("flats_mm", "zones_mm", "turns_deg", "radii_mm")}
    return Chain(**turned, thickness_mm=strip.thickness_mm)


@lru_cache(maxsize=4096)
def _departs_mm(first: Chain, other: Chain) -> float:
    """How far the end of the first flat of one making of a bend lies from another, formed."""
    end_mm = (first.flats_mm[0], 0.0)
    if other.flats_mm[0] >= end_mm[0]:
        return 0.0
    return point_from_line_mm(end_mm, _formed_mm(other))


@lru_cache(maxsize=1024)
def _formed_mm(strip: Chain) -> Points:
    return section_path(strip, strip.turns_deg).points_mm


def _slack(strips: Sequence[Chain]) -> Slack:
    """How far a bend's other blanks put things elsewhere than its first."""
    # Bent down it is the mirror image of what it is bent up, and as far apart.
    drawn = [each if each.turns_deg[0] > 0 else each.mirrored() for each in strips]
    flat, formed, corner = zip(*(_apart_mm(drawn[0], other) for other in drawn), strict=True)
    more_mm = [each.developed_mm - strips[0].developed_mm for each in strips]
    return Slack(
        shape_mm=max(*flat, *formed, *corner),
        flat_mm=max(flat),
        formed_mm=max(formed),
        corner_mm=max(corner),
        beside_mm=max(abs(_reach_mm(strips[0], end) - _reach_mm(other, end)) for other in strips for end in (0, -1)),
        longer_mm=max(more_mm),
        shorter_mm=-min(more_mm),
        is_square=all(turn % RIGHT_DEG == 0 for turn in strips[0].turns_deg),
    )


@lru_cache(maxsize=4096)
def _apart_mm(one: Chain, other: Chain) -> tuple[float, float, float]:
    """How far two makings of a bend are apart: what lies beyond it, flat and formed, and its formed corner."""
    mine_mm, its_mm = _formed_mm(one), _formed_mm(other)
    formed = math.dist(mine_mm[-1], its_mm[-1])
    return abs(one.developed_mm - other.developed_mm), formed, lines_apart_mm(mine_mm, its_mm)


def _reach_mm(chain: Chain, end: int) -> float:
    """How far from the middle of a bend a leg beside it ends, flat."""
    return chain.flats_mm[end] + (sum(chain.zones_mm) + sum(chain.flats_mm[1:-1])) / 2


def still_of_use(
    problem: SectionProblem, by_blank: Sequence[Sequence[Alike]], room_s: float
) -> tuple[tuple[Alike, ...], ...]:
    """The pairs that a plan could take which weighs so much more than the least, and the first in any case."""
    extras = [_by_name(each, more) for each, more in zip(by_blank, more_than_cheapest(problem), strict=True)]
    alone = {name: sum(each.get(name, math.inf) for each in extras) for name in extras[0]}
    change = least_change_s(problem.costs)
    return tuple(
        tuple(
            alike
            for nth, alike in enumerate(each)
            if not nth
            or any(min(extra[one.name] + change, alone.get(one.name, math.inf)) < room_s - SAME_COST for one in alike)
        )
        for each, extra in zip(by_blank, extras, strict=True)
    )


def _by_name(by_blank: Sequence[Alike], more: Iterable[float]) -> dict[str, float]:
    return dict(zip((one.name for alike in by_blank for one in alike), map(float, more), strict=True))


def _numbers_by_name(by_blank: Sequence[Alike]) -> dict[str, list[int]]:
    """The numbers of the blanks that each pair makes."""
    found: dict[str, list[int]] = {}
    for nth, alike in enumerate(by_blank):
        for name in {one.name for one in alike}:
            found.setdefault(name, []).append(nth)
    return found


def alone(problem: SectionProblem, by_blank: Sequence[Sequence[Alike]]) -> list[tuple[float, Box]]:
    """The blanks that some pair makes for all bends, with what such pairs cost more than the cheapest; least first."""
    extras = [_by_name(each, more) for each, more in zip(by_blank, more_than_cheapest(problem), strict=True)]
    numbers = [_numbers_by_name(each) for each in by_blank]
    found: dict[Box, float] = {}
    for name in set(extras[0]).intersection(*extras[1:]):
        box = tuple(tuple(each[name]) for each in numbers)
        found[box] = min(found.get(box, math.inf), sum(extra[name] for extra in extras))
    return sorted((extra, box) for box, extra in found.items())


def options_of(by_blank: Sequence[Sequence[Alike]], box: Box) -> list[list[int]]:
    """The numbers of the pairs that make some blanks among all of each bend."""
    starts = [list(itertools.accumulate(map(len, each), initial=0)) for each in by_blank]
    return [
        [number for nth in kept for number in range(at[nth], at[nth + 1])] for at, kept in zip(starts, box, strict=True)
    ]


def of_box(by_blank: Sequence[Sequence[Alike]], box: Box) -> list[tuple[Alike, ...]]:
    """The pairs that make some blanks."""
    return [tuple(each[nth] for nth in kept) for each, kept in zip(by_blank, box, strict=True)]


def halves(problem: SectionProblem, by_blank: Sequence[Sequence[Alike]], box: Box) -> Iterator[Box]:
    """Some choices of blanks in two: the bend whose blanks differ most in its strip of sheet, the wide and the narrow.

    `problem`: the question with all of `by_blank`.
    """
    strips_mm = []
    for operation, each in zip(problem.operations, by_blank, strict=True):
        starts = itertools.accumulate(map(len, each[:-1]), initial=0)
        strips_mm.append([operation.options[at].hits[0].zone_mm or 0.0 for at in starts])
    most = max(
        (bend for bend, kept in enumerate(box) if len(kept) > 1),
        key=lambda bend: max(width := [strips_mm[bend][nth] for nth in box[bend]]) - min(width),
    )
    ranked = sorted(box[most], key=strips_mm[most].__getitem__)
    for half in (ranked[: len(ranked) // 2], ranked[len(ranked) // 2 :]):
        yield (*box[:most], tuple(sorted(half)), *box[most + 1 :])
