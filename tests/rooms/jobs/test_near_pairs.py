"""Pairs near those of a plan, for the part in another length of a leg: what is found is planned, what is open is so."""

from __future__ import annotations

from dataclasses import replace
from functools import cache, partial

import pytest

from flangewise.jobs.blanks import blanks_of
from flangewise.jobs.job import Job
from flangewise.jobs.machines import found_soon, is_ruled_out, laid_out_on_each
from flangewise.jobs.near_pairs import any_near, found_near, near_pairs
from flangewise.jobs.plan_part import blanked_on, planned
from flangewise.jobs.shut import ShutBends
from flangewise.part import Part
from flangewise.sequence import UNLIMITED

from .made import built_in, differences, steel

ANY_PLAN = replace(UNLIMITED, any_plan=True)
FULL = 1.0


def away(turn: float) -> dict[str, object]:
    return {"turn": turn, "away": True}


@cache
def angled(legs_mm: tuple[float, ...] = (88, 42, 100)) -> Part:
    """Two bends one way of legs so long that one of them meets the punch, whichever is bent first."""
    return steel(legs_mm, [away(60), away(90)], 1, section={"length": 436})


def lean(legs_mm: tuple[float, ...]) -> Part:
    return steel(legs_mm, [away(45), 120, 90, away(45)], 1, section={"length": 381})


@cache
def plan_beside() -> Job:
    found = found_soon(angled((88, 42, 80.5)), built_in(), UNLIMITED, FULL)
    assert found is not None
    return found


def names(job: Job) -> dict[int, str]:
    return {bend: pair.tools.name for bend, pair in job.pairs.items() if pair is not None}


def radii(job: Job) -> dict[int, float | None]:
    return {bend: pair.formed_radius_mm for bend, pair in job.pairs.items() if pair is not None}


def test_another_pair_for_one_bend_makes_a_length_that_the_plan_beside_it_does_not() -> None:
    part = angled((88, 42, 80.9))
    own = blanked_on(part, built_in(), plan_beside().machine.name, ANY_PLAN)
    offers = {
        bend: tuple(pair for pair in each if pair.tools.name == names(plan_beside())[bend])
        for bend, each in own.offers.items()
    }
    assert all(offers.values()) and planned(replace(own, offers=offers, cut_offers=offers)).feasible is False
    found = found_near(part, plan_beside())
    assert found is not None and found.feasible and differences(found) == []
    assert sum(radii(found)[bend] != radii(plan_beside())[bend] for bend in (1, 2)) == 1


def test_pairs_near_others_are_of_one_blank_each_and_no_other_for_more_than_one_bend() -> None:
    job, like = blanked_on(angled((88, 42, 79.0)), built_in(), "bench-310"), plan_beside().pairs
    every, found = blanks_of(job), list(near_pairs(job, like))
    assert len(found) > 2 and len(set(found)) == len(found)
    for choice in found:
        assert all(len(each) == 1 and each[0] in own for each, own in zip(choice, every, strict=True))
        others = [like[bend] not in [one.pair for one in alike] for bend, (alike,) in enumerate(choice, start=1)]
        assert sum(others) <= 1


@pytest.mark.parametrize("length_mm", [43.4, 43.3, 43.1, 42.4])
def test_where_tools_leave_room_near_a_plan_not_all_shut_the_part(length_mm: float) -> None:
    like = found_soon(angled((88, 43.6, 100)), built_in(), UNLIMITED, FULL)
    assert like is not None
    part = angled((88, length_mm, 100))
    laid_out = partial(laid_out_on_each, shop=built_in(), watch=UNLIMITED, every_die=True)
    shut = ShutBends(part, laid_out)
    assert not (any_near(shut.by_machine[like.machine.name], like.pairs) and shut.is_all)
    assert is_ruled_out(part, built_in(), like=like) == is_ruled_out(part, built_in())


def test_of_hems_it_is_not_known_whether_tools_leave_room() -> None:
    part = steel([30, 40, 60], [{"hem": "closed"}, 90], 1, section={"length": 200})
    job = blanked_on(part, built_in(), "long-1450")
    assert planned(job).feasible and not any_near(job, planned(job).pairs)


def test_where_the_roomiest_machine_has_no_plan_another_may_have_one() -> None:
    """No tools are in its way: it is settled that none of its plans is one, and the others are asked."""
    part = lean((35, 37, 103, 19, 49.4))
    by_machine = laid_out_on_each(part, built_in(), ANY_PLAN)
    assert planned(by_machine["bench-310"]).feasible is False
    found = found_soon(part, built_in(), UNLIMITED, FULL)
    assert found is not None and found.machine.name == "long-1450" and differences(found) == []
