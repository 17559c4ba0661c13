"""A part that asks what another before it asked gets that one's answer, told as its own."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import fields, replace
from typing import Any

import pytest

from flangewise.commands.plan import plan_record
from flangewise.jobs.job import Job
from flangewise.jobs.machines import worked_out
from flangewise.jobs.remembered import MOST_KEPT, ONLY_TOLD, RememberedWork
from flangewise.part import Part
from flangewise.pattern import dxf_bytes
from flangewise.sequence import UNLIMITED, Watch
from flangewise.shop import Shop

from .made import part as made, toy

TOLD: dict[str, Any] = {
    **dict.fromkeys(("name", "file", "title", "revision", "drawing", "job", "due"), "other"),
    "notes": ("other",),
    "of_family": True,
}


@pytest.fixture
def worked() -> list[Part]:
    """The parts that were really worked out."""
    return []


@pytest.fixture
def remembered(worked: list[Part]) -> RememberedWork:
    return RememberedWork(_counting(worked))


def _counting(worked: list[Part]) -> Callable[[Part, Shop, Watch], Job]:
    def work(part: Part, shop: Shop, watch: Watch) -> Job:
        worked.append(part)
        return worked_out(part, shop, watch)

    return work


def test_what_is_only_told_is_told_as_it_would_be_anew(worked: list[Part], remembered: RememberedWork) -> None:
    assert TOLD.keys() == ONLY_TOLD.keys() and TOLD.keys() <= {field.name for field in fields(Part)}
    shop, first = toy(), made([20, 40, 20], [90, -90])
    remembered(first, shop, UNLIMITED)
    other = replace(first, **TOLD)
    job, anew = remembered(other, shop, UNLIMITED), worked_out(other, shop)
    assert worked == [first] and job.part == other
    assert plan_record(job) == plan_record(anew)
    assert job.pattern is not None and anew.pattern is not None
    layers = shop.defaults.layers
    assert dxf_bytes(job.pattern, layers) == dxf_bytes(anew.pattern, layers)


def test_what_asks_for_anything_else_is_worked_out(worked: list[Part], remembered: RememberedWork) -> None:
    shop, first = toy(), made([20, 40, 20], [90, -90])
    hole = replace(first, section=replace(first.section, length_mm=first.section.length_mm + 1))
    other_shop = replace(shop, defaults=shop.defaults.model_copy(update={"quantity": 7}))
    for part, own in ((first, shop), (hole, shop), (replace(first, quantity=9), shop), (first, other_shop)):
        assert plan_record(remembered(part, own, UNLIMITED)) == plan_record(worked_out(part, own))
    assert len(worked) == 4


def test_what_was_not_settled_is_not_kept(worked: list[Part], remembered: RememberedWork) -> None:
    shop, part = toy(), made([20, 40, 20], [90, -90])
    remembered(part, shop, replace(UNLIMITED, stopped=lambda: True))
    job = remembered(part, shop, UNLIMITED)
    assert len(worked) == 2 and job.solution.proven_least


def test_no_more_are_kept_than_the_last(worked: list[Part]) -> None:
    shop, first = toy(), made([20, 40, 20], [90, -90])
    job = worked_out(first, shop)

    def quick(part: Part, shop: Shop, watch: Watch) -> Job:
        worked.append(part)
        return replace(job, part=part)

    remembered = RememberedWork(quick)
    sizes = [replace(first, quantity=number) for number in range(1, MOST_KEPT + 2)]
    for part in (*sizes, sizes[-1], sizes[0]):
        remembered(part, shop, UNLIMITED)
    assert worked == [*sizes, sizes[0]]
