"""Where stations stand while a queue runs: apart, on the bed, at one place as long as they stand."""

from __future__ import annotations

import itertools

from tests.how_many import one_in

from flangewise.queue.changing import Changing, Kind
from flangewise.queue.layouts import layouts_of
from flangewise.queue.on_bed import Bed
from flangewise.queue.places import StationPlace, placed, stages_of
from flangewise.queue.search import QueueSearch

from .test_search import SETS, bench, random_jobs
from .tried import MOUNT_S, Job, Shop, as_kinds


def _placed(bed: Bed, kinds: list[Kind]) -> tuple[StationPlace, float]:
    changing = Changing(bed, kinds)
    found, _ = QueueSearch(changing).least()
    assert found is not None
    return placed(stages_of(found, changing), bed), found.seconds_s


def test_stations_stand_apart_on_the_bed_and_cost_what_is_put_in() -> None:
    seeds = range(1, SETS + 1, one_in(5))
    assert len(seeds) >= 20
    for seed in seeds:
        jobs, shop, ranks = random_jobs(seed)
        bed, kinds = as_kinds(jobs, shop, ranks, bench())
        queue, seconds_s = _placed(bed, kinds)
        assert sum(stage.seconds_s for stage in queue.stages) == seconds_s + queue.moved_s
        before: dict[int, tuple[object, object]] = {}
        put_in = 0
        for stage in queue.stages:
            ends = sorted(
                (queue.middles_mm[number] - each.left_mm, queue.middles_mm[number] + each.right_mm)
                for number, each in stage.standing
            )
            assert ends[0][0] >= -1e-6 and ends[-1][1] <= 900 + 1e-6, seed
            assert all(low - high >= 20 - 1e-6 for (_, high), (low, _) in itertools.pairwise(ends)), seed
            rows = {number: each.rows for number, each in stage.standing}
            put_in += sum(row not in before.get(number, ()) for number, both in rows.items() for row in both)
            before = dict(rows)
        assert put_in * MOUNT_S == seconds_s + queue.moved_s, seed


def test_three_jobs_by_hand() -> None:
    """A of 220 and B of 110 beside each other: 350 of 900 from 275, A to 495, B from 515; one layout for all three."""
    held = tuple(((tool, length), 1) for tool in ("p0", "p1", "d0", "d1") for length in (110, 220))
    jobs: tuple[Job, ...] = ((220, (("p0", "d0"),)), (110, (("p1", "d1"),)), (220, (("p0", "d0"),)))
    bed, kinds = as_kinds(jobs, Shop(900, 20, held), (0, 1, 2), bench())
    queue, _ = _placed(bed, kinds)
    (layout,) = layouts_of(queue, kinds, bed)
    assert [(each.letter, each.ends_mm(each.standing.punch)) for each in layout.stations] == [
        ("A", (275.0, 495.0)),
        ("B", (515.0, 625.0)),
    ]
    assert layout.stages == (0, 1, 2)
