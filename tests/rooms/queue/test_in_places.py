"""The least changing of tools where each station keeps its place, against every place tried on a grid."""

from __future__ import annotations

import random
from dataclasses import replace
from types import SimpleNamespace
from typing import cast

import pytest
from tests.how_many import one_in

from flangewise.part import Part
from flangewise.punch_die import off_centre_force_kn
from flangewise.queue import QueueJob, queue_of
from flangewise.queue.changing import Changing
from flangewise.queue.in_places import PlacedSearch
from flangewise.queue.on_bed import Bed
from flangewise.queue.places import placed, stages_of
from flangewise.queue.search import Clock, QueueSearch

from .test_search import SETS, bench, random_jobs
from .tried import MOUNT_S, Job, Shop, as_kinds
from .tried_in_places import least_in_places

# Half lengths and gap lie on the judge's grid.
LENGTHS, GAP_MM, BED_MM = (100, 200, 300), 100, 700
MOST = 20_000
# Of these some leave no places for what their least order keeps standing.
DENSE = (21, 38, 43, 51, 57)
DAYS = ("", "2026-01-05", "2026-01-06")


def _search(jobs: tuple[Job, ...], shop: Shop, ranks: tuple[int, ...]) -> tuple[PlacedSearch, Changing]:
    bed, kinds = as_kinds(jobs, shop, ranks, bench().model_copy(update={"bed_length_mm": float(shop.bed_mm)}))
    changing = Changing(bed, kinds)
    return PlacedSearch(changing), changing


def _on_grid(seed: int) -> tuple[tuple[Job, ...], Shop, tuple[int, ...]]:
    """Up to 8 jobs that lie on the grid, with a rack of one or two rows a length."""
    draw = random.Random(seed)
    pairs = [(f"p{draw.randrange(3)}", f"d{draw.randrange(4)}") for _ in range(5)]
    jobs: list[Job] = []
    for _ in range(draw.randint(3, 8)):
        length, both = (
            draw.choice(LENGTHS),
            tuple(dict.fromkeys(draw.choice(pairs) for _ in range(draw.choice((1, 2))))),
        )
        fits = len(both) * (length + GAP_MM) - GAP_MM <= BED_MM
        alone = len({punch for punch, _ in both}) < len(both) or len({die for _, die in both}) < len(both)
        jobs.append((length, both if fits and not alone else both[:1]))
    tools = [f"p{each}" for each in range(3)] + [f"d{each}" for each in range(4)]
    held = tuple(((tool, length), draw.choice((1, 1, 2))) for tool in tools for length in LENGTHS)
    return tuple(jobs), Shop(BED_MM, GAP_MM, held), tuple(draw.choice((0, 0, 0, 1, 2)) for _ in jobs)


@pytest.mark.parametrize("seed", range(1, SETS + 1, one_in(20)))
def test_no_order_with_places_takes_less(seed: int) -> None:
    asked = _on_grid(seed)
    search, changing = _search(*asked)
    found, least_s = search.least_placed(MOST)
    assert found is not None and found.proven and found.seconds_s == pytest.approx(least_s)
    assert found.seconds_s == pytest.approx(MOUNT_S * least_in_places(*asked))
    assert placed(stages_of(found, changing), changing.bed).moved_s == 0


@pytest.mark.parametrize("seed", [*DENSE, *(each for each in range(1, SETS + 1, one_in(25)) if each not in DENSE)])
def test_an_order_with_places_has_them_and_takes_no_less_than_one_without(seed: int) -> None:
    search, changing = _search(*random_jobs(seed))
    found, _ = search.least_placed(MOST)
    without, least_s = QueueSearch(changing).least()
    assert found is not None and without is not None and found.seconds_s >= least_s
    moved_s = placed(stages_of(without, changing), changing.bed).moved_s
    assert found.seconds_s <= without.seconds_s + moved_s
    assert moved_s or seed not in DENSE
    assert placed(stages_of(found, changing), changing.bed).moved_s == 0
    again, _ = PlacedSearch(changing, order=found.order).least_placed(MOST)
    assert again is not None and again.seconds_s == pytest.approx(found.seconds_s)


# A and B of 100 for the first job, from left to right, B and A for the second. Where three find room A goes from one
# side of B to the other: 4 + 2 rows. Where only two do both are put in again: 4 + 4.
@pytest.mark.parametrize(("bed_mm", "rows"), [(500, 6), (300, 8)])
def test_two_jobs_the_other_way_round_by_hand(bed_mm: int, rows: int) -> None:
    both = (("p0", "d0"), ("p1", "d1"))
    held = tuple(((tool, 100), 1) for tool in ("p0", "p1", "d0", "d1"))
    search, changing = _search(((100, both), (100, both[::-1])), Shop(bed_mm, 100, held), (1, 2))
    found, _ = search.least_placed(MOST)
    without, _ = QueueSearch(changing).least()
    assert found is not None and without is not None
    assert (found.seconds_s, without.seconds_s) == (rows * MOUNT_S, 4 * MOUNT_S)


@pytest.mark.parametrize("seed", DENSE[:3])
def test_a_queue_is_proven_where_the_least_order_leaves_no_places(seed: int) -> None:
    """It is told what it takes with places, and so is the order given."""
    jobs, shop, ranks = random_jobs(seed)
    search, changing = _search(jobs, shop, ranks)
    least, _ = search.least_placed(MOST)
    parts = [cast(Part, SimpleNamespace(name=f"p{nth}", due=DAYS[rank])) for nth, rank in enumerate(ranks)]
    kinds = [replace(kind, due=None) for kind in changing.kinds]
    waiting = [QueueJob(part, 1, kind, 0.0, 0.0, True) for part, kind in zip(parts, kinds, strict=True)]
    queue = queue_of(waiting, changing.bed)
    assert least is not None and queue.proven
    base_s = changing.bed.machine.set_up_s * len(jobs)
    assert queue.set_up_s == pytest.approx(base_s + least.seconds_s)
    dated = [each.job.part.due for each in queue.jobs if each.job.part.due]
    assert dated == sorted(dated)


def test_a_clock_is_kept() -> None:
    """As without places: with no time to spare what has no date comes behind, and where there is too little, none."""
    held = tuple(((tool, 110), 1) for tool in ("p0", "p1", "d0", "d1"))
    jobs: tuple[Job, ...] = ((110, (("p0", "d0"),)), (110, (("p1", "d1"),)))
    _, changing = _search(jobs, Shop(200, 20, held), (0, 1))
    in_time = PlacedSearch(changing, Clock((1000.0, 1000.0), (float("inf"), 1180.0))).least_placed(MOST)[0]
    assert in_time is not None and in_time.order == (1, 0)
    too_late = Clock((1000.0, 1000.0), (float("inf"), 1179.0))
    assert PlacedSearch(changing, too_late).least_placed(MOST) == (None, float("inf"))


def test_after_so_many_states_no_order_takes_less_than_what_is_told() -> None:
    search, _ = _search(*random_jobs(21))
    least, _ = search.least_placed(MOST)
    found, bound_s = search.least_placed(5)
    assert found is None and least is not None and 0 < bound_s <= least.seconds_s


@pytest.mark.parametrize("heavy_kn", [1.0, 200.0, 299.0, 310.0])
def test_a_place_is_as_far_out_as_the_drives_give_the_force(heavy_kn: float) -> None:
    machine = bench()
    bed, (kind,) = as_kinds(((60, (("p0", "d0"),)),), Shop(int(machine.bed_length_mm), 20, ()), (0,), machine)
    station = replace(kind.own[0], heavy_kn=heavy_kn)
    low_mm, high_mm = Bed(machine, 20.0, {}).ends_mm(station)
    middle_mm = machine.bed_length_mm / 2
    assert high_mm - middle_mm == pytest.approx(middle_mm - low_mm)
    on_bed_mm = middle_mm - station.left_mm
    if heavy_kn > machine.force_kn:
        assert low_mm > high_mm
    elif high_mm - middle_mm < on_bed_mm - 1e-6:
        assert off_centre_force_kn(machine, high_mm - middle_mm) == pytest.approx(heavy_kn)
    else:
        assert off_centre_force_kn(machine, on_bed_mm) >= heavy_kn
    assert bed.apart_mm(station, station) == station.right_mm + 20 + station.left_mm
