"""The orders that come next: priced as if they were fixed, told by what they do more of."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from typing import Any

import pytest

from flangewise.jobs import Job, runners_up, worked_out
from flangewise.jobs.why import MOST_TOLD

from .made import (
    AROUND_S,
    HIT_S,
    NEXT_STOP_S,
    box,
    channel,
    order,
    part,
    risen_mm,
    slips_mm,
    toy,
    toy_stroke_s,
    with_machine,
    zed,
)

HAT = ([20.75, 31.5, 51.5, 31.5, 20.75], [-90, 90, 90, -90])
Told = list[dict[str, Any]]


@cache
def hat() -> tuple[Job, Told]:
    """A hat and its runners-up."""
    job = worked_out(part(*HAT), toy())
    return job, runners_up(job)


def test_the_other_order_of_a_channel() -> None:
    """The least: far bend first, its long wing slipping out over the block's edge at 20, then the short one.

    Near bend first the far one is gauged on the flange, or the part turned.
    """
    job = channel()
    (other,) = runners_up(job)
    assert other["order"] == order(job)[::-1] == [1, 2]
    pair = job.pairs[1]
    assert job.ordered is not None and job.pattern is not None and pair is not None
    assert pair.depth_mm is not None and pair.formed_radius_mm is not None
    radius, travel = pair.formed_radius_mm, pair.depth_mm + 1.5
    far = toy_stroke_s(slips_mm(20, radius, pair), travel)
    near = toy_stroke_s(risen_mm(job.pattern.flats_mm[0], radius, pair), travel)
    best = job.ordered.solution.cost
    assert best == pytest.approx(AROUND_S + 2 * HIT_S + NEXT_STOP_S + far + near)
    assert other["more"] == pytest.approx(other["cost"] - best) and other["more"] >= 0


def test_each_costs_what_the_part_costs_with_that_order_fixed() -> None:
    job, told = hat()
    assert len(told) == MOST_TOLD
    for other in told[1:2]:
        fixed = worked_out(replace(job.part, order=tuple(other["order"])), toy())
        assert fixed.ordered is not None and fixed.ordered.solution.cost == pytest.approx(other["cost"])


def test_they_come_cheapest_first_and_none_is_the_best_or_told_twice() -> None:
    job, told = hat()
    costs = [other["cost"] for other in told]
    assert costs == sorted(costs) and all(other["more"] >= 0 for other in told)
    orders = [tuple(other["order"]) for other in told]
    assert len(set(orders)) == len(orders) and tuple(order(job)) not in orders


def test_only_orders_that_can_be_bent() -> None:
    """Of a hat each outer bend comes before its inner one, in every runner-up too."""
    looked_at = list(hat()[1])
    assert looked_at
    for other in looked_at:
        made = other["order"]
        assert made.index(1) < made.index(2) and made.index(4) < made.index(3)


def test_the_only_order_there_is_has_none_beside_it() -> None:
    assert runners_up(worked_out(part([71, 41.5, 31], [90, -90]), toy())) == []


def test_an_order_of_the_same_cost_is_said_to_cost_the_same() -> None:
    """The other order of a Z has the same one turn-over."""
    (other,) = runners_up(zed())
    assert other["more"] == pytest.approx(0) and other["where"] == "costs the same"


def test_moves_that_are_more_are_counted_in_words() -> None:
    """A zigzag of three turns over once; begun at an end it turns over twice.

    The order 1, 2, 3 goes from face to face each time.
    """
    job = worked_out(part([60.75, 71.5, 71.5, 60.75], [90, -90, 90]), toy())
    told = {tuple(other["order"]): other for other in runners_up(job)}
    assert {(1, 2, 3), (3, 2, 1)} <= set(told)
    for twice in ((1, 2, 3), (3, 2, 1)):
        assert told[twice]["more"] > 0 and told[twice]["where"].startswith("1 more turned over")


def test_dearer_gauging_is_said_where_no_move_is_more() -> None:
    """Near bend first, the far one on the flange: half a second for it, and the ram opens for the flange."""
    shop = with_machine(toy(), stop_x_mm=(1.0, 78.0))
    (other,) = runners_up(worked_out(part([20, 60, 30], [90, 90]), shop))
    assert other["more"] > 0 and other["where"] == "dearer gauging or a wider opening"


def test_no_plan_has_no_runners_up() -> None:
    assert runners_up(box()) == []
    assert runners_up(worked_out(part([5, 40], [90]), toy())) == []
