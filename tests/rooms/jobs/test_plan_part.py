"""One part worked out: blank and tools that settle on each other, stops for the part as it is, forces, findings."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from flangewise.jobs.job import Job
from flangewise.jobs.machines import worked_out
from flangewise.setup import SetupStep

from .made import (
    CHANNEL,
    box,
    built_in,
    channel,
    codes,
    deep_channel,
    differences,
    order,
    part,
    shop_with_dies,
    steel,
    toy,
    vee,
    with_handler,
    with_machine,
    zed,
)


def steps(job: Job) -> dict[int, SetupStep]:
    """Steps by bend."""
    assert job.setup is not None
    return {step.bends[0]: step for step in job.setup.steps}


def formed(job: Job, bend: int = 1) -> float:
    pair = job.pairs[bend]
    assert pair is not None and pair.formed_radius_mm is not None
    return pair.formed_radius_mm


# --- blank and tools


def test_the_blank_is_that_of_the_radius_formed() -> None:
    """Developed length is legs less a deduction a bend: 2 (r + t) - (r + K t) pi/2."""
    job = worked_out(part(CHANNEL, [{"turn": 90, "k_factor": 0.4}] * 2, None), toy())
    radius = formed(job)
    deduction = 2 * (radius + 1.5) - (radius + 0.4 * 1.5) * math.pi / 2
    assert job.pattern is not None
    assert job.pattern.developed_mm == pytest.approx(100 - 2 * deduction)


def test_other_tools_than_the_first_offered_make_another_blank() -> None:
    """Legs of 14 do not reach across the opening first thought of where one of 10 is pinned beside it."""
    tools = {"turn": 90, "die": "vee-10-86"}
    job = worked_out(steel([14, 60, 14], [90, tools], thickness=1.5), built_in())
    assert job.pattern is not None and job.feasible is True
    assert steps(job)[2].pair.tools.die_name == "vee-10-86"
    for zone in job.pattern.zones:
        assert zone.inside_radius_mm == formed(job, zone.bend)


def test_a_part_that_only_another_blank_lets_pass(tmp_path: Path) -> None:
    """A Z whose web just fails to clear the block on the blank of the wide die, and clears it on that of the narrow.

    The web must be 22.25 + r + c(r) - z/2, c for the corner of the block and z for the zone: 24.15 at a radius of 1.6
    and 23.6 at one of 1.1.
    """
    shop = shop_with_dies(tmp_path, {"block-12": vee(12, 20, 60), "block-8": vee(8, 20, 60)})
    asked = {web: worked_out(part([30.75, web, 30.75], [90, -90], None, shop=shop), shop) for web in (23.3, 23.9, 24.4)}
    assert [job.feasible for job in asked.values()] == [False, True, True]
    middle = asked[23.9]
    assert {step.pair.tools.die_name for step in steps(middle).values()} == {"block-8"}
    assert middle.ordered is not None and middle.ordered.solution.proven_least
    assert differences(middle) == []


def test_a_plan_is_judged_on_the_blank_of_its_own_die(tmp_path: Path) -> None:
    """The wide die bends the middle one on the blank of the narrow die only: a plan with it there would be none."""
    shop = shop_with_dies(tmp_path, {"block-12": vee(12, 20, 60), "tower-8": vee(8, 8, 120)})
    asked = {web: worked_out(part([30.75, web, 30.75], [90, -90], None, shop=shop), shop) for web in (23.3, 23.9, 24.4)}
    dies = [{step.pair.tools.die_name for step in steps(job).values()} for job in asked.values()]
    assert dies == [{"tower-8"}, {"tower-8"}, {"block-12"}]
    solutions = [job.ordered.solution for job in asked.values() if job.ordered is not None]
    assert [solution.proven_least for solution in solutions] == [True] * 3
    assert solutions[0].cost == pytest.approx(solutions[1].cost)
    assert differences(asked[23.9]) == []


# --- stops: the part as it is at that step


def fixed_k(*, stops_to_mm: float, quick: bool) -> Job:
    """The channel with K 0.4, near bend first; stops that reach so far, a turn that takes no time or the handler's."""
    turned = {"turn_s": 0.0, "insert_s": 0.25, "withdraw_s": 0.25} if quick else {}
    shop = with_handler(with_machine(toy(), stop_x_mm=(1.0, stops_to_mm)), **turned)
    wanted = part(CHANNEL, [{"turn": 90, "k_factor": 0.4, "punch": "straight-84", "die": "block-12"}] * 2, order=[1, 2])
    return worked_out(wanted, shop)


def half_deduction(job: Job) -> float:
    radius = formed(job)
    return (radius + 1.5) - (radius + 0.4 * 1.5) * math.pi / 4


def test_a_bend_on_its_own_edge_is_gauged_by_its_leg_less_half_a_deduction() -> None:
    job = fixed_k(stops_to_mm=70, quick=True)
    first, last = steps(job)[1], steps(job)[2]
    assert (first.gauged_on, last.gauged_on) == ("start", "end")
    assert [first.stops.x_mm, last.stops.x_mm] == pytest.approx([20 - half_deduction(job)] * 2)


def test_a_bend_gauged_on_a_flange_stands_by_the_outside_of_that_flange() -> None:
    """Never by the flat coordinate, which is more by the leg that is now up."""
    job = fixed_k(stops_to_mm=70, quick=False)
    last = steps(job)[2]
    assert (last.gauged_on, last.gauged_bend) == ("flange", 1)
    assert last.stops.x_mm == pytest.approx(60 - half_deduction(job))
    assert job.pattern is not None and last.stops.x_mm is not None
    flat = job.pattern.developed_mm - (20 - half_deduction(job))
    assert flat > 74 and last.stops.x_mm < flat - 15
    assert last.stops.r_mm is not None and 0 <= last.stops.r_mm <= 20
    assert differences(job) == []


def test_the_far_bend_of_a_flat_blank_is_gauged_by_its_flat_coordinate() -> None:
    """With nothing bent yet the part is as flat as its drawing of the blank."""
    job = channel()
    assert order(job) == [2, 1] and job.pattern is not None
    far = steps(job)[2]
    zone = job.pattern.zones[1]
    flats = job.pattern.flats_mm
    middle = flats[0] + job.pattern.zones[0].allowance.allowance_mm + flats[1] + zone.allowance.allowance_mm / 2
    assert far.stops.x_mm == pytest.approx(middle)


# --- forces, faces, angles


@pytest.mark.parametrize("length", [50, 300])
def test_force_is_the_limit_force_times_the_length(length: float) -> None:
    job = worked_out(part([20, 60], [90], section={"length": length}), toy())
    pair = job.pairs[1]
    assert pair is not None and pair.limit_force_kn_per_m is not None
    assert steps(job)[1].force_kn == pytest.approx(pair.limit_force_kn_per_m * length / 1000)
    assert pair.limit_force_kn_per_m >= pair.air.force_kn_per_m


def test_marked_face_by_the_sign_of_the_bend() -> None:
    assert {bend: step.marked_face for bend, step in steps(zed()).items()} == {1: "up", 2: "down"}


def test_bent_further_than_finished_by_the_springback() -> None:
    looked_at = list(steps(zed()).items())
    assert looked_at
    for bend, step in looked_at:
        pair = zed().pairs[bend]
        assert pair is not None and step.ram.bend_to_deg is not None
        assert step.finished_deg == 90
        assert step.ram.bend_to_deg == pytest.approx(90 - pair.air.springback_deg)


# --- what the job says of itself


def test_a_plan_has_a_setup_and_nothing_refused() -> None:
    job = channel()
    assert job.feasible is True and job.setup is not None
    assert codes(job.findings, "refuse") == set()
    assert [finding.severity for finding in job.findings] == sorted(
        (finding.severity for finding in job.findings), key=["refuse", "caution", "note"].index
    )
    assert differences(job) == [] and differences(zed()) == []


@pytest.mark.parametrize("job", [box, deep_channel], ids=["box", "deep-channel"])
def test_what_cannot_be_bent_has_reasons_and_no_setup(job: Any) -> None:
    worked = job()
    assert worked.feasible is False and worked.setup is None
    assert codes(worked.findings, "refuse") <= {"blocked-behind", "blocked-front"}
    assert worked.pattern is not None


def test_a_bend_without_tools_keeps_its_blank_and_is_refused() -> None:
    job = worked_out(part([5, 40], [90]), toy())
    assert job.feasible is False and job.ordered is None
    assert job.pattern is not None and codes(job.findings, "refuse") == {"leg-too-short"}


def test_bends_that_use_up_a_leg_leave_no_blank() -> None:
    job = worked_out(part([40, 5, 40], [90, 90]), toy())
    assert job.feasible is False and job.pattern is None
    assert "leg-inside-bends" in codes(job.findings, "refuse")


def test_the_part_names_machine_and_handler_before_the_shop_does() -> None:
    shop = replace(built_in(), defaults=built_in().defaults.model_copy(update={"machine": "long-1450"}))
    named = worked_out(steel([40, 60], [90], machine="bench-310", handler="robot"), shop)
    plain = worked_out(steel([40, 60], [90]), shop)
    assert (named.machine.name, named.handler.name) == ("bench-310", "robot")
    assert (plain.machine.name, plain.handler.name) == ("long-1450", "operator")


def test_a_measured_thickness_changes_depth_and_not_the_blank() -> None:
    """Thicker sheet is turned further at the same depth, so it wants less of it; the blank was cut before."""
    wanted = part([20, 60], [90])
    nominal, measured = worked_out(wanted, toy()), worked_out(replace(wanted, measured_thickness_mm=1.6), toy())
    depths = [steps(job)[1].ram.depth_mm for job in (nominal, measured)]
    assert depths[0] is not None and depths[1] is not None and depths[1] < depths[0]
    assert nominal.pattern is not None
    assert measured.pattern == nominal.pattern
