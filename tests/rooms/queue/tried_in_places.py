"""The fewest rows put in where each station keeps its place: every place on a grid tried, with sums of its own.

With its lengths, gap and bed every middle lies on the grid, all pushed to the left: what fits anywhere fits there.
States are taken by what they lead to at least, which is what `tried.py` says of them without places.
"""

from __future__ import annotations

import heapq
import itertools
from collections.abc import Iterator

from .tried import Job, Shop, rows_to_put_in

GRID_MM = 50
# Punch, die, the length of the punch's row and of the die's, the middle of both.
Placed = tuple[str, str, int, int, int]


def least_in_places(jobs: tuple[Job, ...], shop: Shop, ranks: tuple[int, ...]) -> int:
    """The same question as `least_mounts`; of the pairs of a job the first stands to the left."""
    to_put_in = rows_to_put_in(jobs, shop, ranks)
    lengths = sorted({length for length, _ in jobs})
    made = {(punch, die, length) for length, needs in jobs for punch, die in needs}
    held = dict(shop.held)

    def fits(standing: frozenset[Placed]) -> bool:
        used: dict[tuple[str, int], int] = {}
        ends = []
        for punch, die, long, under, middle in standing:
            ends.append((middle - max(long, under) // 2, middle + max(long, under) // 2))
            used[punch, long] = used.get((punch, long), 0) + 1
            used[die, under] = used.get((die, under), 0) + 1
        ends.sort()
        apart = all(high + shop.gap_mm <= low for (_, high), (low, _) in itertools.pairwise(ends))
        on_bed = not ends or (ends[0][0] >= 0 and ends[-1][1] <= shop.bed_mm)
        return apart and on_bed and all(count <= held.get(row, 0) for row, count in used.items())

    def ways(
        standing: frozenset[Placed], needs: tuple[tuple[str, str], ...], length: int
    ) -> Iterator[tuple[int, frozenset[Placed], tuple[Placed, ...]]]:
        """Rows put in, what is left that was not taken for the job, what the job has from left to right."""
        if not needs:
            yield 0, standing, ()
            return
        (punch, die), rest = needs[0], needs[1:]
        own = [each for each in lengths if each >= length and (punch, die, each) in made]
        new = [(punch, die, each, each, at) for each in own for at in range(GRID_MM, shop.bed_mm, GRID_MM)]
        options: list[tuple[int, Placed | None, Placed]] = [(2, None, each) for each in new]
        for there in standing:
            if there[0] == punch and there[2] >= length:
                options += [(1, there, (punch, die, there[2], each, there[4])) for each in own]
                if there[1] == die and there[3] >= length:
                    options.append((0, there, there))
            if there[1] == die and there[3] >= length:
                options += [(1, there, (punch, die, each, there[3], there[4])) for each in own]
        for cost, there, now in options:
            for put, left, has in ways(standing - {there}, rest, length):
                if not has or now[4] < has[0][4]:
                    yield put + cost, left, (now, *has)

    def onward(done: frozenset[int], standing: frozenset[Placed]) -> Iterator[tuple[int, int, frozenset[Placed]]]:
        open_jobs = [job for job in range(len(jobs)) if job not in done]
        dated = [ranks[job] for job in open_jobs if ranks[job]]
        for job in open_jobs:
            if not ranks[job] or ranks[job] == min(dated):
                for put, left, has in ways(standing, jobs[job][1], jobs[job][0]):
                    for count in range(len(left) + 1):
                        for stays in itertools.combinations(sorted(left), count):
                            now = frozenset((*has, *stays))
                            if len(now) == len(has) + count and fits(now):
                                yield put, job, now

    begun = frozenset[int](), frozenset[Placed]()
    reached = {begun: 0}
    opened = [(to_put_in(*begun), 0, 0, *begun)]
    numbers = itertools.count(1)
    while opened:
        bound, _, _, done, standing = heapq.heappop(opened)
        spent = reached[done, standing]
        if len(done) == len(jobs):
            return spent
        if spent + to_put_in(done, frozenset(each[:4] for each in standing)) < bound:
            continue
        for put, job, now in onward(done, standing):
            key = done | {job}, now
            if spent + put < reached.get(key, 10**6):
                reached[key] = spent + put
                least = spent + put + to_put_in(key[0], frozenset(each[:4] for each in now))
                heapq.heappush(opened, (least, -len(key[0]), next(numbers), *key))
    raise ValueError("no order")
