"""Every order of a few jobs, tried with what may stand on the bed written down anew: own sums, nothing of the room's.

A station is told here by plain numbers: punch, die, the length of either row. What stands is a set of such. Before
each job anything may be taken out, a row may take the place of another beside its counterpart, and what the job needs
is put in, in any length that some job has.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cache

from flangewise.punch_die import SegmentUse
from flangewise.queue import Bed, Kind, Need, Standing, ToolRow
from flangewise.shop import Machine

# Punch, die, length of the punch's row, of the die's.
Stands = tuple[str, str, int, int]
MOUNT_S, SHUT_MM = 90.0, 200.0


@dataclass(frozen=True)
class Shop:
    """A bed, and how many rows of each length the rack holds of each tool."""

    bed_mm: int
    gap_mm: int
    held: tuple[tuple[tuple[str, int], int], ...]


Job = tuple[int, tuple[tuple[str, str], ...]]
"""Its length, and the pairs it is bent with."""


def least_mounts(jobs: tuple[Job, ...], shop: Shop, ranks: tuple[int, ...]) -> int:
    """The fewest rows put in over all orders in which ranks never fall, rank 0 anywhere."""
    return rows_to_put_in(jobs, shop, ranks)(frozenset(), frozenset())


def rows_to_put_in(
    jobs: tuple[Job, ...], shop: Shop, ranks: tuple[int, ...]
) -> Callable[[frozenset[int], frozenset[Stands]], int]:
    """The fewest from some jobs done, and what stands, to the end."""
    held = dict(shop.held)
    lengths = sorted({length for length, _ in jobs})

    def fits(standing: frozenset[Stands]) -> bool:
        used: dict[tuple[str, int], int] = {}
        room = -shop.gap_mm
        for punch, die, long, under in standing:
            room += max(long, under) + shop.gap_mm
            used[punch, long] = used.get((punch, long), 0) + 1
            used[die, under] = used.get((die, under), 0) + 1
        return room <= shop.bed_mm and all(count <= held.get(row, 0) for row, count in used.items())

    def ways(
        standing: frozenset[Stands], needs: tuple[tuple[str, str], ...], length: int
    ) -> Iterator[tuple[int, frozenset[Stands], frozenset[Stands]]]:
        """Rows put in, what is left that was not taken for the job, what the job has."""
        if not needs:
            yield 0, standing, frozenset()
            return
        (punch, die), rest = needs[0], needs[1:]
        long_enough = [each for each in lengths if each >= length]
        own = [each for each in long_enough if (punch, die, each) in made]
        for each in own:
            for put, left, has in ways(standing, rest, length):
                yield put + 2, left, has | {(punch, die, each, each)}
        for there in standing:
            left_over = standing - {there}
            options: list[tuple[int, Stands]] = []
            if there[0] == punch and there[2] >= length:
                options += [(1, (punch, die, there[2], each)) for each in own]
                if there[1] == die and there[3] >= length:
                    options.append((0, there))
            if there[1] == die and there[3] >= length:
                options += [(1, (punch, die, each, there[3])) for each in own]
            for cost, now in options:
                for put, left, has in ways(left_over, rest, length):
                    yield put + cost, left, has | {now}

    made = {(punch, die, length) for length, needs in jobs for punch, die in needs}

    @cache
    def after(standing: frozenset[Stands], job: int) -> dict[frozenset[Stands], int]:
        length, needs = jobs[job]
        found: dict[frozenset[Stands], int] = {}
        for put, left, has in ways(standing, needs, length):
            for count in range(len(left) + 1):
                for stays in itertools.combinations(sorted(left), count):
                    now = has | set(stays)
                    if len(now) == len(has) + count and fits(now):
                        found[now] = min(put, found.get(now, put))
        return found

    # Orders share their beginnings: of one set of jobs and one bed only the least put in counts.
    @cache
    def least(done: frozenset[int], standing: frozenset[Stands]) -> int:
        left = [job for job in range(len(jobs)) if job not in done]
        dated = [ranks[job] for job in left if ranks[job]]
        best = 10**6 if left else 0
        for job in left:
            if not ranks[job] or ranks[job] == min(dated):
                for now, put in after(standing, job).items():
                    best = min(best, put + least(done | {job}, now))
        return best

    return least


def as_kinds(jobs: tuple[Job, ...], shop: Shop, ranks: tuple[int, ...], machine: Machine) -> tuple[Bed, list[Kind]]:
    """The same question as the room is asked it."""
    held: dict[tuple[str, str], dict[SegmentUse, int]] = {}
    for (tool, length), count in shop.held:
        held.setdefault(("punch" if tool.startswith("p") else "die", tool), {})[SegmentUse(float(length))] = count
    kinds = [
        Kind(
            tuple(_need(*pair, float(length), at) for pair, at in _side_by_side(length, needs, shop)), due=rank or None
        )
        for (length, needs), rank in zip(jobs, ranks, strict=True)
    ]
    return Bed(machine, float(shop.gap_mm), held), kinds


def _side_by_side(
    length: int, needs: tuple[tuple[str, str], ...], shop: Shop
) -> Iterator[tuple[tuple[str, str], float]]:
    """Each pair with its place in a set-up of its own, about the middle of the bed."""
    for nth, pair in enumerate(needs):
        yield pair, shop.bed_mm / 2 + (nth - (len(needs) - 1) / 2) * (length + shop.gap_mm)


def _need(punch: str, die: str, length_mm: float, middle_mm: float) -> Need:
    half_mm, segments = length_mm / 2, (SegmentUse(length_mm),)
    rows = ToolRow("punch", punch, False, segments, MOUNT_S), ToolRow("die", die, False, segments, MOUNT_S)
    own = Standing.of(*rows, 0.0, parts_mm=(half_mm, half_mm), shut_height_mm=SHUT_MM)
    return Need(own, length_mm, half_mm, half_mm, middle_mm)
