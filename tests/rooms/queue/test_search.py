"""The least changing of tools, against every order tried with sums of its own."""

from __future__ import annotations

import random

import pytest
from tests.how_many import one_in

from flangewise.queue.changing import Changing
from flangewise.queue.search import Clock, QueueSearch
from flangewise.shop import Machine, load_shop

from .tried import MOUNT_S, Job, Shop, as_kinds, least_mounts

LENGTHS = (60, 110, 220, 350)
SETS = 100
BED_MM, GAP_MM = 900, 20


def bench() -> Machine:
    """The small machine of the example shop."""
    return load_shop(None).machines["bench-310"]


def random_jobs(seed: int) -> tuple[tuple[Job, ...], Shop, tuple[int, ...]]:
    """Up to 8 jobs of one or two stations, a rack of one or two rows a length, a few due days."""
    draw = random.Random(seed)
    pairs = [(f"p{draw.randrange(3)}", f"d{draw.randrange(4)}") for _ in range(5)]
    jobs = []
    for _ in range(draw.randint(3, 8)):
        length = draw.choice(LENGTHS)
        both = tuple(dict.fromkeys(draw.choice(pairs) for _ in range(draw.choice((1, 1, 2)))))
        jobs.append((length, both[:1] if len({pair[0] for pair in both}) < 2 else both))
    tools = [f"p{each}" for each in range(3)] + [f"d{each}" for each in range(4)]
    held = tuple(((tool, length), draw.choice((1, 1, 2))) for tool in tools for length in LENGTHS)
    jobs = [(length, both if len({pair[1] for pair in both}) == len(both) else both[:1]) for length, both in jobs]
    ranks = tuple(draw.choice((0, 0, 0, 1, 2)) for _ in jobs)
    return tuple(jobs), Shop(BED_MM, GAP_MM, held), ranks


@pytest.mark.parametrize("seed", range(1, SETS + 1, one_in(25)))
def test_no_order_takes_less(seed: int) -> None:
    jobs, shop, ranks = random_jobs(seed)
    bed, kinds = as_kinds(jobs, shop, ranks, bench())
    found, least_s = QueueSearch(Changing(bed, kinds)).least()
    assert found is not None and found.proven and found.least_s == least_s
    assert found.seconds_s == pytest.approx(MOUNT_S * least_mounts(jobs, shop, ranks))
    again = QueueSearch(Changing(bed, kinds)).in_order(found.order)
    assert again.seconds_s == pytest.approx(found.seconds_s)


@pytest.mark.parametrize("seed", range(1, SETS + 1, one_in(25)))
def test_what_is_found_abreast_is_no_less_than_the_least(seed: int) -> None:
    jobs, shop, ranks = random_jobs(seed)
    bed, kinds = as_kinds(jobs, shop, ranks, bench())
    search = QueueSearch(Changing(bed, kinds))
    found, least_s = search.least()
    near = search.abreast(least_s)
    _, bound_s = search.least(3)
    assert found is not None and near is not None
    better = search.bettered(near)
    assert near.seconds_s >= better.seconds_s >= found.seconds_s - 1e-6 and bound_s <= found.seconds_s + 1e-6
    assert sorted(near.order) == list(range(len(jobs))) and search.keeps(near.order, near.changes)


# Three jobs by hand. P on D in rows of 110, Q on E, P on D again: side by side they take 110 + 20 + 110 of the bed, so
# four rows are put in and the third job finds its tools: 4 x 90 s. With one row of P alone in the rack and P on E for
# the second, the third job's D is changed back under P: 2 + 1 + 0 where it comes first, 2 + 1 + 1 as given.
BY_HAND = (
    ([("p0", "d0"), ("p1", "d1"), ("p0", "d0")], 4, 4),
    ([("p0", "d0"), ("p0", "d1"), ("p0", "d0")], 3, 4),
)


@pytest.mark.parametrize(("pairs", "least", "given"), BY_HAND)
def test_three_jobs_by_hand(pairs: list[tuple[str, str]], least: int, given: int) -> None:
    held = tuple(((tool, 110), 1) for tool in ("p0", "p1", "d0", "d1"))
    jobs = tuple((110, (pair,)) for pair in pairs)
    bed, kinds = as_kinds(jobs, Shop(BED_MM, GAP_MM, held), (0, 0, 0), bench())
    search = QueueSearch(Changing(bed, kinds))
    found, _ = search.least()
    assert found is not None
    assert found.seconds_s == least * MOUNT_S
    assert search.in_order((0, 1, 2)).seconds_s == given * MOUNT_S


def test_on_a_bed_too_short_tools_are_put_in_again() -> None:
    """The first of the three above with no room for two stations: each change puts in two rows."""
    held = tuple(((tool, 110), 1) for tool in ("p0", "p1", "d0", "d1"))
    jobs = tuple((110, (pair,)) for pair in BY_HAND[0][0])
    bed, kinds = as_kinds(jobs, Shop(200, GAP_MM, held), (0, 0, 0), bench().model_copy(update={"bed_length_mm": 200.0}))
    search = QueueSearch(Changing(bed, kinds))
    assert search.in_order((0, 1, 2)).seconds_s == 6 * MOUNT_S
    found, _ = search.least()
    assert found is not None and found.seconds_s == 4 * MOUNT_S


def test_a_row_is_put_in_as_long_as_a_later_job_needs_it() -> None:
    """110 first by its day, then 350 of the same tools: the long row at once, two rows and not four."""
    held = tuple(((tool, length), 1) for tool in ("p0", "d0") for length in (110, 350))
    jobs: tuple[Job, ...] = ((110, (("p0", "d0"),)), (350, (("p0", "d0"),)))
    bed, kinds = as_kinds(jobs, Shop(BED_MM, GAP_MM, held), (1, 2), bench())
    found, _ = QueueSearch(Changing(bed, kinds)).least()
    assert found is not None and found.order == (0, 1) and found.seconds_s == 2 * MOUNT_S


def test_a_clock_keeps_what_has_no_date_behind() -> None:
    """P on D without a date would save two rows before P on D that is due; with no time to spare it comes after."""
    held = tuple(((tool, 110), 1) for tool in ("p0", "p1", "d0", "d1"))
    jobs: tuple[Job, ...] = ((110, (("p0", "d0"),)), (110, (("p1", "d1"),)))
    bed, kinds = as_kinds(jobs, Shop(200, GAP_MM, held), (0, 1), bench().model_copy(update={"bed_length_mm": 200.0}))
    in_time = QueueSearch(Changing(bed, kinds), Clock((1000.0, 1000.0), (float("inf"), 1180.0))).least()[0]
    assert in_time is not None and in_time.order == (1, 0)
    assert QueueSearch(Changing(bed, kinds), Clock((1000.0, 1000.0), (float("inf"), 1179.0))).least()[0] is None
