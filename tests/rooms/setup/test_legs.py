"""Errors of legs through gauging, against the worked channel: dx 0.10, cut 0.10, half a deduction 0.05."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from flangewise.jobs import worked_out
from flangewise.part import Part, read_part
from flangewise.setup import LegError, leg_errors_of, size_findings, tolerances_of
from flangewise.shop import Shop, load_shop

CHANNEL = """
part: worked-channel
material: DC01
thickness: 1.5
section: {length: 100, legs: [25, 60, 25], bends: [90, 90]}
"""


@pytest.fixture(scope="module")
def shop() -> Shop:
    return load_shop(None)


@pytest.fixture(scope="module")
def channel(shop: Shop) -> Part:
    return read_part(CHANNEL, "worked-channel.yaml", shop)


@pytest.fixture(scope="module")
def from_the_start(shop: Shop) -> Part:
    """The same with both bends gauged on the start edge."""
    both = "[{turn: 90, gauge: start}, {turn: 90, gauge: start}]"
    return read_part(CHANNEL.replace("[90, 90]", both), "worked-channel.yaml", shop)


def test_both_bends_from_one_edge_have_the_errors_of_the_worked_channel(shop: Shop, from_the_start: Part) -> None:
    # Worked by hand, both bends gauged on the start edge: leg 1 0.15, web two stops and two half deductions 0.30,
    # leg 2 the cut and its stop and half a deduction 0.25.
    job = worked_out(from_the_start, shop)
    assert job.ordered is not None and job.pattern is not None and job.setup is not None
    assert {step.gauged_on for step in job.setup.steps} == {"start"}
    machine = job.machine.model_copy(update={"stop_repeat_mm": 0.05})
    tolerances = tolerances_of(machine, cut_mm=0.1)
    errors = leg_errors_of(job.ordered.problem, job.ordered.solution, from_the_start, job.pattern, tolerances)
    assert [each.worst_mm for each in errors] == pytest.approx([0.15, 0.30, 0.25])
    assert [each.statistical_mm for each in errors] == pytest.approx([0.1118, 0.1581, 0.15], abs=2e-4)
    assert [each.allowed_mm for each in errors] == [0.2, 0.3, 0.2]


def test_a_stop_is_taken_at_twice_its_standard_deviation(shop: Shop) -> None:
    machine = shop.machines["bench-310"]
    assert tolerances_of(machine, cut_mm=0.1).stop_mm == pytest.approx(2 * machine.stop_repeat_mm)


def test_only_the_worst_case_is_a_note_the_likely_case_a_caution() -> None:
    held = LegError(1, 0.10, 0.08, 0.2)
    worst = LegError(2, 0.25, 0.15, 0.2)
    likely = LegError(3, 0.40, 0.25, 0.2)
    unsaid = LegError(4, 9.0, 9.0, None)
    found = size_findings((held, worst, likely, unsaid))
    assert [(each.severity, each.place()) for each in found] == [("note", "leg 2"), ("caution", "leg 3")]
    assert found[0].text().startswith("allowed 0.2 mm. It is likely within 0.15 mm, at worst 0.25 mm.")
    assert [each.code for each in found] == ["leg-worst-case", "leg-not-held"]


def test_a_tight_web_is_gauged_so_that_it_holds(shop: Shop) -> None:
    # Each bend from its own edge the web is likely off by 0.187, the root of two stops of 0.10, two half deductions of
    # 0.05 and the cut of 0.10, squared. A web of 0.17 is held only from the outer face of a formed flange: one stop,
    # half a deduction, and the angle of the flange at the height touched. Web and last leg are long enough for the
    # hand, and who tends the machine likes no formed faces.
    channel = read_part(CHANNEL.replace("[25, 60, 25]", "[25, 70, 70]"), "worked-channel.yaml", shop)
    machine = shop.machines["mid-740"].model_copy(update={"stop_repeat_mm": 0.05})
    handler = shop.handlers["operator"].model_copy(update={"formed_gauge_wish_s": 10.0})
    sloppy = replace(shop, machines={"mid-740": machine}, handlers={"operator": handler})
    free = replace(channel, machine="mid-740", handler="operator")
    tight = replace(free, tolerances=replace(free.tolerances, legs_mm=(1.0, 0.17, 1.0)))
    plain, job = worked_out(free, sloppy), worked_out(tight, sloppy)
    assert [each.statistical_mm for each in plain.sizes][1] == pytest.approx(
        math.sqrt(2 * 0.1**2 + 0.1**2 + 2 * 0.05**2)
    )
    assert job.sizes[1].statistical_mm < 0.17
    assert job.setup is not None and "flange" in {step.gauged_on for step in job.setup.steps}
    assert job.ordered is not None and plain.ordered is not None and plain.ordered.solution.cost is not None
    # Another die might hold it for less: of the other blanks it is known that they take the plain plan's time at least.
    assert not job.ordered.solution.proven_least
    assert job.ordered.solution.lower_bound == pytest.approx(plain.ordered.solution.cost)
    assert job.ordered.solution.cost is not None
    assert 0 < job.ordered.solution.cost - plain.ordered.solution.cost < handler.loose_leg_wish_s
