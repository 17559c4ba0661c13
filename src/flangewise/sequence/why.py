"""Why an operation cannot be made: what meets what, in which states, by how much."""

import itertools
from collections.abc import Iterable, Iterator

import numpy as np

from flangewise.clearance import Region
from flangewise.geometry import Path
from flangewise.sequence.candidates import Candidate
from flangewise.sequence.moves import START
from flangewise.sequence.placing import wing_paths
from flangewise.sequence.plan_check import blocker, wing_mask
from flangewise.sequence.search import Search, Unfolded
from flangewise.sequence.solution import Against, Blocker

MOST_SETS = 12
MOST_BLOCKERS = 80
# So many reasons are read, one an operation and body; more of the same kind follow from these.
MOST_REASONS = 4


def blockers_of(search: Search, unfolded: Unfolded) -> tuple[Blocker, ...]:
    """What blocks every order: for the sets nothing can be taken from, why each operation cannot be the last.

    Each reason is said in the fewest operations that decide it, and only once. Reasons at the finished part come first,
    then by overlap, smallest first: the smallest is the nearest to being free. They end with the operation at which
    as many are known as are read (`Watch.first_reason`: one). Out of time it is those found.
    """
    found: dict[tuple[object, ...], Blocker] = {}
    over, most = (watch := search.feasibility.problem.limits.watch).over, 1 if watch.first_reason else MOST_REASONS
    stuck = sorted(unfolded.stuck, key=int.bit_count, reverse=True)[:MOST_SETS]
    known = itertools.chain.from_iterable(search.feasibility.exclusions.values())
    is_looked_at = any(each.blocker is not None for each in known)
    for _, some in itertools.groupby(stuck, key=int.bit_count):
        sets = tuple(some)
        for index in range(search.count):
            for done in sets:
                if over() or not done >> index & 1:
                    continue
                for item in reasons(search, index, done & ~(1 << index)):
                    key = (item.operation, item.bent, item.flat, item.against, item.bodies, item.stack, item.behind)
                    found.setdefault(key, item)
            # What a closer look found is told of the step at which it was found: it may come before others.
            if not is_looked_at and _count(found.values()) >= most:
                return _ranked(found.values())
    return _ranked(found.values())


def _count(found: Iterable[Blocker]) -> int:
    return len({(each.operation, each.body) for each in found})


def _ranked(found: Iterable[Blocker]) -> tuple[Blocker, ...]:
    ranked = sorted(found, key=lambda item: (-item.step, item.operation, item.overlap_mm or 0.0))
    return tuple(ranked[:MOST_BLOCKERS])


def reasons(search: Search, index: int, done: int) -> Iterator[Blocker]:
    """Why operation `index` cannot be made after `done`, one reason for each way of making it."""
    for way in (made.candidate(row) for made in search.presentations[index] for row in range(len(made.options))):
        struck = list(_tool_reasons(search, way, done))
        if not struck and np.isfinite(search.feasibility.prices(way, np.array([done]))).any():
            continue
        yield from struck or [_other_reason(search, way, done)]


def _tool_reasons(search: Search, way: Candidate, done: int) -> Iterator[Blocker]:
    trees = search.feasibility.wings(way)
    paths: tuple[Path, Path] | None = None
    hits, operations = search.feasibility.option(way).hits, search.feasibility.problem.operations
    for hit, sides in zip(hits, search.feasibility.sides(way), strict=True):
        wings: tuple[tuple[Region, Against], ...] = ((sides.front, "front"), (sides.behind, "behind"))
        for nth, (tree, (region, against)) in enumerate(zip(trees, wings, strict=True)):
            depth = tree.first_meeting(done, *region.parts)
            if depth is None:
                continue
            paths = paths or wing_paths(search.feasibility.problem, way, done)
            path = paths[nth]
            levels = tree.levels[:depth]
            toward_end = (way.behind == START) == (against == "front")
            zones = operations[levels[-1].operation if levels else way.operation].zones
            piece = 2 * (zones[-1] + 1 if toward_end else zones[0])
            until = int(np.flatnonzero(path.spans == piece)[-1]) + 1
            met = region.struck(path.points_mm[:until])
            mask = sum(1 << level.operation for level in levels)
            bodies, overlap = ("part", *(name for name, _ in met)), met[0][1] if met else 0.0
            stack = hit.stack.name
            yield blocker(way, done, mask, against=against, bodies=bodies, overlap_mm=overlap, piece=piece, stack=stack)


def _other_reason(search: Search, way: Candidate, done: int) -> Blocker:
    """What the closer looks said, or that the stops find nothing to touch."""
    for item in search.feasibility.exclusions.get(way.operation, ()):
        if item.covers(way) and done & item.mask == item.value and item.blocker is not None:
            return item.blocker
    mask = wing_mask(search.feasibility.problem, way)
    return blocker(way, done, mask, against="stop", bodies=("part",), overlap_mm=None)
