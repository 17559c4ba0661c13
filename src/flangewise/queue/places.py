"""Where the stations stand while a queue runs: each at one place from the job it is put in for to the last it serves.

Those that hang together in time stand side by side about the middle of the bed where there is room for all of them.
Else each takes a place that is free as long as it stands. Where there is none, what stands on is put in anew, and the
seconds of that count: `in_places.py` looks for the least that takes.
"""

import itertools
import math
from collections.abc import Mapping, Sequence

from flangewise.queue.changing import Changing
from flangewise.queue.on_bed import SAME_MM, Bed, Need, Standing
from flangewise.queue.search import FoundOrder
from flangewise.records import dataclass, replace

# Ways to place the stations of one stretch that are tried before it is given up.
MOST_TRIES = 20_000

Ends = Mapping[int, tuple[float, float]]
"""Between which places a station has its middle."""


@dataclass(frozen=True)
class Use:
    """A station of a job as it stands for it; `station` numbers what stays at one place from 0."""

    station: int
    need: Need
    standing: Standing


@dataclass(frozen=True)
class Stage:
    """One set-up of a job: what it uses, all that stands, and which stations were put in, or in part, for it.

    `put_in` are the rows that did not stand.
    """

    kind: int
    uses: tuple[Use, ...]
    standing: tuple[tuple[int, Standing], ...]
    put_in: tuple[int, ...]
    seconds_s: float


@dataclass(frozen=True)
class StationPlace:
    """The stages of a queue in their order, the middle of each station's punch row, and what it takes to move some."""

    stages: tuple[Stage, ...]
    middles_mm: tuple[float, ...]
    moved_s: float = 0.0

    @property
    def seconds_s(self) -> float:
        """All changes, with what it takes to move some."""
        return math.fsum(stage.seconds_s for stage in self.stages)


def stages_of(found: FoundOrder, changing: Changing) -> tuple[Stage, ...]:
    """The set-ups of an order one after the other, its stations numbered as they are put in.

    A job whose set-ups have the bed one after the other makes two stages: its first station, and what it leaves.
    """
    number_of: dict[int, int] = {}
    count, stages = 0, []
    for kind, change in zip(found.order, found.changes, strict=True):
        wanted = changing.kinds[kind]
        before, number_of = number_of, {}
        for was, now in change.stayed:
            number_of[now] = before[was]
        # Those of the job itself in the order of their use, from left to right on the bed.
        own = {need: changing.serving(need, change.stations) for need in wanted.needs}
        put_in = []
        for now in (*own.values(), *change.stations):
            if now not in number_of:
                number_of[now] = count
                count += 1
        changed = {now for was, now in change.stayed if changing.standing[was].rows != changing.standing[now].rows}
        kept = {now for _, now in change.stayed} - changed
        put_in = [number_of[now] for now in change.stations if now not in kept]
        uses = tuple(Use(number_of[now], need, changing.standing[now]) for need, now in own.items())
        stands = tuple((number_of[now], changing.standing[now]) for now in change.stations)
        stages.append(Stage(kind, uses, stands, tuple(put_in), change.seconds_s))
        if wanted.leaves is not None:
            (last,) = change.after
            number_of = {last: count}
            left = wanted.leaves
            stages.append(Stage(kind, (Use(count, left, left.own),), ((count, left.own),), (count,), 0.0))
            count += 1
    return tuple(stages)


def placed(stages: Sequence[Stage], bed: Bed) -> StationPlace:
    """The stages with what is used no more left out, and a place for each station.

    Where no places are found for all, one is put in anew at the first stage for which there are none, the cheapest that
    helps; where one is not enough, all.
    """
    given_s = sum(stage.seconds_s for stage in stages)
    stages = _while_used(stages)
    middles_mm: dict[int, float] = {}
    count = 1 + max((number for stage in stages for number, _ in stage.standing), default=-1)
    at = 0
    while at < len(stages):
        end = _stretch_end(stages, at)
        found = _places(stages[at:end], bed)
        while found is None:
            least = next(upto for upto in range(at + 1, end + 1) if _places(stages[at:upto], bed) is None) - 1
            stages, count = _with_one_anew(stages, at, least, count, bed)
            end = _stretch_end(stages, at)
            found = _places(stages[at:end], bed)
        middles_mm |= found
        at = end
    every = tuple(middles_mm.get(number, 0.0) for number in range(count))
    return StationPlace(tuple(stages), every, sum(stage.seconds_s for stage in stages) - given_s)


def _stretch_end(stages: Sequence[Stage], at: int) -> int:
    """The stage from which on nothing stands of those from `at` on."""
    end = at + 1
    while end < len(stages):
        last, now = ({number for number, _ in stage.standing} for stage in stages[end - 1 : end + 1])
        if not last & now:
            break
        end += 1
    return end


def _places(stretch: Sequence[Stage], bed: Bed) -> dict[int, float] | None:
    return _side_by_side(stretch, bed) or _where_free(stretch, bed)


def _with_one_anew(stages: Sequence[Stage], at: int, stage: int, count: int, bed: Bed) -> tuple[list[Stage], int]:
    """The stages with one station put in anew at a stage, so that it finds room; with all where one does not do."""
    before = {number for number, _ in stages[stage - 1].standing} if stage > at else set()
    stood = sorted(((standing.put_in_s, number) for number, standing in stages[stage].standing if number in before))
    for _, number in stood:
        tried = _renumbered(stages, stage, {number: count})
        if _places(tried[at : stage + 1], bed) is not None:
            return tried, count + 1
    if not stood:
        raise ValueError("a set-up of its own has no place")
    return _renumbered(stages, stage, {number: count + nth for nth, (_, number) in enumerate(stood)}), count + len(
        stood
    )


def _renumbered(stages: Sequence[Stage], first: int, numbers: Mapping[int, int]) -> list[Stage]:
    """The stages with stations that go by other numbers from one on, and are put in whole for it."""
    made = list(stages)
    for at in range(first, len(stages)):
        stage = stages[at]
        put_in = set(stage.put_in)
        again_s = 0.0
        if at == first:
            # What was changed of it for this stage is paid for already.
            last = dict(stages[first - 1].standing)
            stays = [(each, last[number].rows) for number, each in stage.standing if number in numbers]
            again_s = sum(row.put_in_s for each, rows in stays for row in each.rows if row in rows)
            put_in |= set(numbers)
        made[at] = replace(
            stage,
            uses=tuple(replace(use, station=numbers.get(use.station, use.station)) for use in stage.uses),
            standing=tuple((numbers.get(number, number), each) for number, each in stage.standing),
            put_in=tuple(numbers.get(number, number) for number in sorted(put_in)),
            seconds_s=stage.seconds_s + again_s,
        )
    return made


def _while_used(stages: Sequence[Stage]) -> list[Stage]:
    last = {use.station: at for at, stage in enumerate(stages) for use in stage.uses}
    return [
        replace(stage, standing=tuple(each for each in stage.standing if last.get(each[0], at) >= at))
        for at, stage in enumerate(stages)
    ]


def _widest(stretch: Sequence[Stage]) -> dict[int, Standing]:
    """Each station of a stretch as broad as it is at its broadest, in the order in which they are put in."""
    found: dict[int, Standing] = {}
    for number, standing in (each for stage in stretch for each in stage.standing):
        known = found.get(number, standing)
        found[number] = replace(
            standing,
            left_mm=max(known.left_mm, standing.left_mm),
            right_mm=max(known.right_mm, standing.right_mm),
            heavy_kn=max(known.heavy_kn, standing.heavy_kn),
        )
    return found


def _side_by_side(stretch: Sequence[Stage], bed: Bed) -> dict[int, float] | None:
    """All of a stretch about the middle of the bed; stations of a job's own set-up alone where it has them."""
    widest = _widest(stretch)
    if len(stretch) == 1 and _as_own(stretch[0]):
        return {use.station: use.need.middle_mm for use in stretch[0].uses}
    if bed.room_mm(tuple(widest.values())) > bed.machine.bed_length_mm + SAME_MM:
        return None
    at = {number: place for place, number in enumerate(widest)}
    free = _within(stretch)
    middles_mm = bed.in_a_block(
        tuple(widest.values()),
        [(at[one], at[other]) for one, other in _in_order(stretch)],
        [free[number] for number in widest],
    )
    return None if middles_mm is None else dict(zip(widest, middles_mm, strict=True))


def _within(stretch: Sequence[Stage]) -> dict[int, tuple[float, float]]:
    """Between which places each station has its middle, so that the stops of all its jobs can follow."""
    found = {number: (-math.inf, math.inf) for stage in stretch for number, _ in stage.standing}
    for use in (use for stage in stretch for use in stage.uses):
        least_mm, most_mm = found[use.station]
        low_mm, high_mm = (use.need.middle_mm + play_mm for play_mm in use.need.play_mm)
        found[use.station] = max(least_mm, low_mm), min(most_mm, high_mm)
    return found


def _in_order(stretch: Sequence[Stage]) -> frozenset[tuple[int, int]]:
    """Which station stands to the left of which: as a job's own sheet has them, so that its words of moves hold."""
    pairs = set()
    for stage in stretch:
        along = sorted(stage.uses, key=lambda use: use.need.middle_mm)
        pairs |= {(one.station, other.station) for one, other in itertools.pairwise(along)}
    return frozenset(pairs)


def _as_own(stage: Stage) -> bool:
    return len(stage.uses) == len(stage.standing) and all(use.standing == use.need.own for use in stage.uses)


def _where_free(stretch: Sequence[Stage], bed: Bed) -> dict[int, float] | None:
    """A place for each station that is free while it stands; None where there are none, or not in so many tries.

    Of two that ever stand beside each other one is to the left, all the while: what that asks of both is carried on to
    all others. Each then stands in the middle of where it could.
    """
    ends, apart = _within(stretch), dict[tuple[int, int], float]()
    for stage in stretch:
        for number, standing in stage.standing:
            (low_mm, high_mm), (least_mm, most_mm) = ends[number], bed.ends_mm(standing)
            ends[number] = max(low_mm, least_mm), min(high_mm, most_mm)
        for (one, its), (other, others) in itertools.permutations(stage.standing, 2):
            apart[one, other] = max(apart.get((one, other), 0.0), bed.apart_mm(its, others))
    left_of = set(_in_order(stretch))
    if any((other, one) in left_of for one, other in left_of):
        return None
    open_pairs = [pair for pair in apart if pair[0] < pair[1] and not {pair, pair[::-1]} & left_of]
    tries = 0

    def onward(at: int, ends: Ends, left: frozenset[tuple[int, int]]) -> Ends | None:
        nonlocal tries
        tries += 1
        pushed = _pushed(ends, {pair: apart[pair] for pair in left})
        if pushed is None or tries > MOST_TRIES or at == len(open_pairs):
            return pushed if at == len(open_pairs) else None
        one, other = open_pairs[at]
        tried = (onward(at + 1, pushed, left | {pair}) for pair in ((one, other), (other, one)))
        return next((found for found in tried if found is not None), None)

    found = onward(0, ends, frozenset(left_of))
    return None if found is None else {number: (low_mm + high_mm) / 2 for number, (low_mm, high_mm) in found.items()}


def _pushed(ends: Ends, apart: Mapping[tuple[int, int], float]) -> Ends | None:
    """Between which places each station has its middle with so much between it and others; None where one has none."""
    pushed, moved = dict(ends), True
    while moved:
        moved = False
        for (one, other), least_mm in apart.items():
            (low_mm, before_mm), (after_mm, high_mm) = pushed[one], pushed[other]
            if low_mm + least_mm > after_mm + SAME_MM:
                pushed[other], moved = (low_mm + least_mm, high_mm), True
            if high_mm - least_mm < before_mm - SAME_MM:
                pushed[one], moved = (low_mm, high_mm - least_mm), True
            if any(low > high + SAME_MM for low, high in (pushed[one], pushed[other])):
                return None
    return None if any(low > high + SAME_MM for low, high in pushed.values()) else pushed
