"""The steps of an order as hits: pairs, swing of the part, what the drawing allows the angle."""

from __future__ import annotations

import math

import pytest

from flangewise.jobs import Job, worked_out
from flangewise.setup import PlannedHit, angle_tolerance, leg_tolerances_mm

from .made import built_in, channel, order, part, steel, toy, zed


def hits_of(job: Job) -> list[PlannedHit]:
    assert job.setup is not None
    return [step.planned for step in job.setup.steps]


def test_the_choice_of_a_step_is_the_option_the_search_took() -> None:
    job = channel()
    assert job.ordered is not None
    for step in job.ordered.solution.steps:
        choice = job.ordered.mounting(step)
        assert choice.pair.tools.punch_name == step.stacks[0].punch and choice.pair.tools.die_name == step.stacks[0].die
        assert choice.turned is step.stacks[0].turned
    assert {bend: each.pair for bend, each in job.ordered.taken.items()} == {bend: job.pairs[bend] for bend in (1, 2)}


def test_hits_stand_in_the_order_made() -> None:
    job = channel()
    assert job.ordered is not None
    hits = hits_of(job)
    assert [hit.bend.number for hit in hits] == list(order(job))
    assert {hit.finished_turn_deg for hit in hits} == {90}
    assert [hit.number for hit in hits] == [1, 2]


def test_a_hem_is_two_hits_of_one_step() -> None:
    job = worked_out(steel([12, 150], [{"hem": "closed"}], thickness=1), built_in())
    assert job.ordered is not None
    first, second = hits_of(job)
    assert first.step is second.step and [hit.pair.kind for hit in (first, second)] == ["hem", "flatten"]
    assert [hit.is_second for hit in (first, second)] == [False, True]
    assert second.finished_turn_deg == 180 and second.tolerance_deg is None


def test_the_swing_is_the_farthest_the_flat_part_reaches_from_the_bend() -> None:
    """One bend of 40 and 60: the longer side of the blank, from the middle of its zone; half a sheet high."""
    job = worked_out(part([40, 60], [90]), toy())
    assert job.ordered is not None and job.pattern is not None
    (hit,) = hits_of(job)
    reach = job.pattern.flats_mm[1] + job.pattern.zones[0].allowance.allowance_mm / 2
    assert hit.step.reach_mm == pytest.approx(math.hypot(reach, 1.5), abs=0.8)
    assert hit.step.reach_mm >= reach - 0.01


@pytest.mark.parametrize(
    ("legs", "allowed"),
    [([8, 60], 1.0), ([40, 60], 0.5), ([60, 40], 0.5), ([80, 90], 20 / 60)],
)  # ISO 2768-1 m by the shorter leg: to 10, to 50, to 120
def test_what_the_standard_allows_an_angle(legs: list[float], allowed: float) -> None:
    wanted = part(legs, [90])
    assert angle_tolerance(wanted, wanted.section.bends[0]) == pytest.approx(allowed)


def test_the_bend_s_own_tolerance_goes_before_the_part_s_and_that_before_the_standard() -> None:
    bends = [{"turn": 90, "tolerance": 0.3}, {"turn": 90}]
    wanted = part([40, 60, 40], bends, tolerances={"angle": 2})
    assert [angle_tolerance(wanted, bend) for bend in wanted.section.bends] == [0.3, 2]


def test_hems_and_offsets_have_no_angle_to_judge() -> None:
    wanted = steel([12, 80, 40], [{"hem": "closed"}, {"offset": 4}], thickness=1, tolerances={"angle": 1})
    assert [angle_tolerance(wanted, bend) for bend in wanted.section.bends] == [None, None]


def test_both_ways_of_a_zed() -> None:
    job = zed()
    assert job.ordered is not None
    assert [hit.step.marked_up for hit in hits_of(job)] == [bend == 1 for bend in order(job)]


def test_a_leg_is_allowed_what_the_part_says_or_the_general_tolerance_of_the_size_drawn() -> None:
    # ISO 2768-1 m: 0.2 up to 30, 0.3 up to 120. Inside sizes of 29 and 60 are drawn sizes, whatever they are outside.
    inside = steel([29, 60], [90], section={"sizes": "inside"})
    assert leg_tolerances_mm(inside) == (0.2, 0.3)
    assert leg_tolerances_mm(steel([29, 60], [90], tolerances={"legs": [0.1, 0.4]})) == (0.1, 0.4)
