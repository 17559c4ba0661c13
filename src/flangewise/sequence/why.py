"""Why an operation cannot be made: what meets what, in which states, by how much."""

from collections.abc import Iterator

import numpy as np

from flangewise.clearance import Region
from flangewise.geometry import Path
from flangewise.sequence.candidates import Candidate
from flangewise.sequence.moves import START
from flangewise.sequence.placing import wing_paths
from flangewise.sequence.plan_check import bits, blocker
from flangewise.sequence.search import Search, Unfolded
from flangewise.sequence.solution import Against, Blocker
from flangewise.sequence.tree import WingTree

MOST_SETS = 12
MOST_BLOCKERS = 80


def blockers_of(search: Search, unfolded: Unfolded) -> tuple[Blocker, ...]:
    """What blocks every order: for the sets nothing can be taken from, why each operation cannot be the last.

    Each reason is said in the fewest operations that decide it, and only once. Reasons at the finished
    part come first, then by overlap, smallest first: the smallest is the nearest to being free. Out of time
    it is those found.
    """
    found: dict[tuple[object, ...], Blocker] = {}
    over = search.feasibility.problem.limits.watch.over
    for done in sorted(unfolded.stuck, key=int.bit_count, reverse=True)[:MOST_SETS]:
        for index in bits(done):
            if over():
                break
            for item in reasons(search, index, done & ~(1 << index)):
                key = (item.operation, item.bent, item.flat, item.against, item.bodies, item.stack, item.behind)
                found.setdefault(key, item)
    ranked = sorted(found.values(), key=lambda item: (-item.step, item.operation, item.overlap_mm or 0.0))
    return tuple(ranked[:MOST_BLOCKERS])


def reasons(search: Search, index: int, done: int) -> Iterator[Blocker]:
    """Why operation `index` cannot be made after `done`, one reason for each way of making it."""
    for way in (made.candidate(row) for made in search.presentations[index] for row in range(len(made.options))):
        if np.isfinite(search.feasibility.prices(way, np.array([done]))).any():
            continue
        struck = list(_tool_reasons(search, way, done))
        yield from struck or [_other_reason(search, way, done)]


def _tool_reasons(search: Search, way: Candidate, done: int) -> Iterator[Blocker]:
    trees = search.feasibility.wings(way)
    paths = wing_paths(search.feasibility.problem, way, done)
    hits = search.feasibility.option(way).hits
    for hit, sides in zip(hits, search.feasibility.sides(way), strict=True):
        wings: tuple[tuple[WingTree, Path, Region, Against], ...] = (
            (trees[0], paths[0], sides.front, "front"),
            (trees[1], paths[1], sides.behind, "behind"),
        )
        for tree, path, region, against in wings:
            depth = tree.first_meeting(done, region)
            if depth is not None:
                yield _struck(
                    search, way, done, path=path, depth=depth, region=region, against=against, stack=hit.stack.name
                )


def _struck(
    search: Search, way: Candidate, done: int, *, path: Path, depth: int, region: Region, against: Against, stack: str
) -> Blocker:
    toward_end = (way.behind == START) == (against == "front")
    levels = search.feasibility.tree(way.operation, toward_end=toward_end, marked_up=way.marked_up).levels[:depth]
    problem = search.feasibility.problem
    last = problem.operations[levels[-1].operation] if levels else problem.operations[way.operation]
    zone = last.zones[-1] if toward_end else last.zones[0]
    piece = 2 * (zone + 1 if toward_end else zone)
    until = int(np.flatnonzero(path.spans == piece)[-1]) + 1
    met = region.struck(path.points_mm[:until])
    mask = sum(1 << level.operation for level in levels)
    bodies = ("part", *(name for name, _ in met))
    overlap = met[0][1] if met else 0.0
    return blocker(way, done, mask, against=against, bodies=bodies, overlap_mm=overlap, piece=piece, stack=stack)


def _other_reason(search: Search, way: Candidate, done: int) -> Blocker:
    """What the closer looks said, or that the stops find nothing to touch."""
    for item in search.feasibility.exclusions.get(way.operation, ()):
        if item.covers(way) and done & item.mask == item.value and item.blocker is not None:
            return item.blocker
    below = (1 << way.operation) - 1
    full = (1 << search.count) - 1
    mask = below if way.behind == START else full & ~below & ~(1 << way.operation)
    return blocker(way, done, mask, against="stop", bodies=("part",), overlap_mm=None)
