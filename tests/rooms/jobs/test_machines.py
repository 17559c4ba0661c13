"""Of several machines the one that needs the fewest seconds is taken, and the others are told with theirs."""

from __future__ import annotations

from dataclasses import replace

import pytest

from flangewise.jobs import Job, machines, worked_out
from flangewise.jobs.plan_part import planned
from flangewise.part import Part
from flangewise.sequence import Watch

from .made import built_in, steel


def of(length_mm: float, *machines: str, quantity: int | None = None) -> Part:
    wanted = steel([30, 80], [90], section={"length": length_mm})
    return replace(wanted, machine=None, machines=machines or ("any",), quantity=quantity)


def cost(job: Job) -> float:
    assert job.ordered is not None and job.ordered.solution.cost is not None
    return job.ordered.solution.cost


def test_the_least_machine_is_the_least_of_all_planned_alone() -> None:
    alone = {name: worked_out(of(200, name), built_in()) for name in built_in().machines}
    costs = {name: cost(job) for name, job in alone.items()}
    job = worked_out(of(200), built_in())
    assert cost(job) == pytest.approx(min(costs.values()))
    assert job.machine.name == min(costs, key=lambda name: costs[name])
    for other in job.others:
        told = other.cost_s if other.cost_s is not None else other.at_least_s
        assert told is not None and cost(job) - 1e-6 <= told <= costs[other.machine] + 1e-6


def test_a_small_clip_is_not_planned_on_the_long_machine() -> None:
    job = worked_out(of(40), built_in())
    assert job.machine.name == "bench-310" and {other.machine for other in job.others} == {"mid-740", "long-1450"}


def test_a_machine_too_short_is_told_with_its_reason() -> None:
    job = worked_out(of(1500), built_in())
    assert job.feasible and job.machine.name == "mid-740"
    reasons = {other.machine: other.why_not for other in job.others}
    short = reasons["bench-310"]
    assert short is not None and short.code == "longer-than-bed" and "900 mm" in short.text()


def test_only_those_named_are_looked_at() -> None:
    job = worked_out(of(200, "mid-740", "long-1450"), built_in())
    assert job.machine.name == "mid-740" and [other.machine for other in job.others] == ["long-1450"]


def test_the_set_up_is_shared_over_the_quantity() -> None:
    """Of one part the set-up is all of it: 900 s and two tools of 90 s on the small machine; of 200 a 200th."""
    one, many = (worked_out(of(200, "bench-310", quantity=quantity), built_in()) for quantity in (1, 200))
    assert one.setup is not None and one.setup.set_up_s == pytest.approx(900 + 2 * 90)
    assert cost(one) - cost(many) == pytest.approx((900 + 180) * (1 - 1 / 200))


def test_no_machine_is_told_by_the_one_that_comes_nearest() -> None:
    job = worked_out(replace(of(200), section=replace(of(200).section, legs_mm=(3.0, 80.0))), built_in())
    assert job.feasible is False and job.findings


def test_a_machine_that_was_planned_quickly_is_told_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """With what it takes as it was looked through, where another turned out to take less."""
    part = of(200.0)

    def on_the_long_one(laid_out: dict[str, Job], watch: Watch) -> tuple[Job, None]:
        return planned(replace(laid_out["long-1450"], watch=replace(watch, quick=True))), None

    monkeypatch.setattr(machines, "_found_quickly", on_the_long_one)
    job = worked_out(part, built_in())
    assert job.machine.name == worked_out(part, built_in()).machine.name != "long-1450"
    told = [each.machine for each in job.others]
    assert sorted(told) == sorted(set(told)) and "long-1450" in told
