"""What would free a part: each change planned again here, and the next smaller one seen not to do."""

from __future__ import annotations

import re
from dataclasses import replace
from functools import cache
from pathlib import Path

from flangewise.findings import Finding
from flangewise.jobs import work_out, worked_out
from flangewise.jobs.machines import laid_out_on_each, looked_through, tried
from flangewise.jobs.nearest import STEP_MM
from flangewise.jobs.suggest import suggestions
from flangewise.part import Part
from flangewise.punch_die import usable
from flangewise.sequence import UNLIMITED, Watch

from .made import (
    STRAIGHT,
    built_in,
    channel,
    codes,
    deep_channel,
    differences,
    part,
    shop_with_dies,
    toy,
    vee,
)


@cache
def deep_mends() -> tuple[Finding, ...]:
    return suggestions(deep_channel())


def with_leg(wanted: Part, leg: int, length_mm: float) -> Part:
    legs = list(wanted.section.legs_mm)
    legs[leg - 1] = length_mm
    return replace(wanted, section=replace(wanted.section, legs_mm=tuple(legs)))


def values(finding: Finding) -> dict[str, object]:
    return dict(finding.phrase.values)


def test_a_part_with_a_plan_is_left_as_it_is() -> None:
    job = work_out(channel().part, toy())
    assert job.feasible is True and not any(code.startswith("would-do") for code in codes(job.findings))


def test_every_leg_offered_can_be_bent_and_the_next_nearer_one_cannot() -> None:
    """To the tenth of a millimetre; the nearer ones are too many to be proven, so it is called one that works."""
    legs = [each for each in deep_mends() if each.code == "would-do-leg-edge"]
    assert {each.place() for each in legs} == {"leg 1", "leg 2", "leg 3"}
    for each in legs:
        leg, then_mm, now_mm = int(each.place().split()[1]), values(each)["then_mm"], values(each)["now_mm"]
        assert isinstance(then_mm, float) and isinstance(now_mm, float) and then_mm == round(then_mm, 1)
        mended = worked_out(with_leg(deep_channel().part, leg, then_mm), toy())
        assert mended.feasible is True and differences(mended) == []
        nearer = round(then_mm + (STEP_MM if then_mm < now_mm else -STEP_MM), 1)
        assert values(each)["not_mm"] == nearer and each.text().startswith("one that works: ")
        assert worked_out(with_leg(deep_channel().part, leg, nearer), toy()).feasible is False


def test_a_leg_too_long_is_offered_as_its_limit_allows() -> None:
    """A leg of l passes the punch where w cos a - l sin a, the web w, leaves its half width of 10.7 free."""
    (first,) = [each for each in deep_mends() if each.place() == "leg 1"]
    assert first.text() == (
        "one that works: with this leg 42.6 mm instead of 52 mm it can be bent. With 42.7 mm it cannot"
    )


def test_a_leg_that_falls_into_every_die_is_told_how_long_it_must_be() -> None:
    wanted = part([6, 50], [90])
    job = work_out(wanted, toy())
    assert job.feasible is False and job.ordered is None
    (suggestion,) = [each for each in job.findings if each.code == "would-do-leg-edge"]
    then_mm = values(suggestion)["then_mm"]
    assert suggestion.place() == "leg 1" and isinstance(then_mm, float)
    assert worked_out(with_leg(wanted, 1, then_mm), toy()).feasible is True
    assert worked_out(with_leg(wanted, 1, then_mm - STEP_MM), toy()).feasible is False


def test_lengths_for_which_no_machine_has_tools_are_proven_to_fail() -> None:
    """Of three machines none has a die for so short a leg: the first length that one has is the smallest change."""
    wanted = part([5, 50, 40], [90, 90], None, shop=built_in(), material="DC01", thickness=2, section={"length": 200})
    (told,) = [each for each in work_out(wanted, built_in()).findings if each.code.startswith("would-do-leg")]
    assert told.code == "would-do-leg-smallest" and values(told)["then_mm"] == 5.3
    assert worked_out(with_leg(wanted, 1, 5.3), built_in()).feasible is True
    assert worked_out(with_leg(wanted, 1, 5.2), built_in()).ordered is None


def test_pinned_tools_are_let_go() -> None:
    wanted = part([40.75, 31.5, 40.75], [90, 90], STRAIGHT)
    assert worked_out(wanted, toy()).feasible is False
    job = work_out(wanted, toy())
    assert "would-do-unpinned" in codes(job.findings, "note")
    free = tuple(replace(bend, punch=None, die=None) for bend in wanted.section.bends)
    assert worked_out(replace(wanted, section=replace(wanted.section, bends=free)), toy()).feasible is True


def test_tools_are_not_let_go_where_that_does_not_help() -> None:
    assert worked_out(part([52, 60, 52], [90, 90], None), toy()).feasible is False
    assert {each.code for each in deep_mends()} == {"would-do-leg-edge"}


def test_a_wrong_order_is_answered_with_one_that_works() -> None:
    wanted = part([100.75, 81.5, 41.5, 12.75], [90] * 3, order=[1, 2, 3])
    job = work_out(wanted, toy())
    assert job.feasible is False and "blocked-behind" in codes(job.findings, "refuse")
    (offered,) = [each for each in job.findings if each.code == "would-do-order"]
    told = tuple(int(number) for number in re.findall(r"\d+", offered.text()))
    assert told == (3, 2, 1)
    severities = [each.severity for each in job.findings]
    assert severities == sorted(severities, key=["refuse", "caution", "note"].index)
    assert {each.severity for each in job.findings if each.code.startswith("would-do")} == {"note"}
    assert worked_out(replace(wanted, order=told), toy()).feasible is True


def test_another_machine_is_offered() -> None:
    wanted = part(
        [80, 120], [90], None, shop=built_in(), material="S355MC", thickness=8, machine="bench-310",
        section={"length": 600},
    )  # fmt: skip
    job = work_out(wanted, built_in())
    assert codes(job.findings, "refuse") == {"over-machine-force"}
    (offered,) = [each for each in job.findings if each.code == "would-do-machine"]
    name = str(values(offered)["machine"])
    assert name != "bench-310" and worked_out(replace(wanted, machine=name), built_in()).feasible is True


def test_a_radius_asked_for_steers_and_does_not_forbid(tmp_path: Path) -> None:
    """A radius of 1.6 puts the wide die first; the part that only the narrow die lets pass is bent with that."""
    shop = shop_with_dies(tmp_path, {"block-12": vee(12, 20, 60), "block-8": vee(8, 20, 60)})
    wanted = part([30.75, 23.9, 30.75], [90, -90], None, shop=shop, section={"radius": 1.6})
    job = work_out(wanted, shop)
    assert job.feasible is True and "radius-off" in codes(job.findings, "caution")


def test_a_bend_sharper_than_all_tools_has_no_leg_to_try() -> None:
    job = worked_out(part([40, 40], [120], None), toy())
    assert job.feasible is False and job.ordered is None
    assert suggestions(job) == ()


def test_a_small_change_is_proven_the_smallest() -> None:
    """Every nearer tenth, longer or shorter, is proven impossible: here each of them is planned again."""
    wanted = part([43.5, 60, 43.5], [90, 90])
    told = [each for each in work_out(wanted, toy()).findings if each.code == "would-do-leg-smallest"]
    assert told
    for each in told:
        leg, then_mm, now_mm = int(each.place().split()[1]), values(each)["then_mm"], values(each)["now_mm"]
        assert isinstance(then_mm, float) and isinstance(now_mm, float)
        assert worked_out(with_leg(wanted, leg, then_mm), toy()).feasible is True
        steps = range(1, round(abs(then_mm - now_mm) / STEP_MM))
        nearer = [round(now_mm + side * step * STEP_MM, 1) for step in steps for side in (-1, 1)]
        assert nearer and all(worked_out(with_leg(wanted, leg, each_mm), toy()).feasible is False for each_mm in nearer)


def test_without_time_no_change_is_told() -> None:
    job = replace(deep_channel(), watch=Watch(until=-1.0, clock=lambda: 0.0))
    assert suggestions(job) == ()


def test_a_leg_beside_bends_that_are_shut_is_not_tried() -> None:
    """A deep channel at the end of a section: no length of the legs before it frees it, and none is told."""
    wanted = part([20, 40, 30, 52, 30, 52], [45, -45, 30, 90, 90], None)
    job, shut = looked_through(wanted, toy())
    assert job.feasible is False and shut is not None and shut.is_all
    beside = [leg for leg in range(1, 7) if not shut.whatever_long(leg)]
    assert beside and min(beside) > 2
    for leg, length_mm in ((1, 12.0), (1, 30.0), (2, 25.0), (2, 60.0)):
        assert tried(with_leg(wanted, leg, length_mm), toy())[0] is False
    legs = {each.place() for each in work_out(wanted, toy()).findings if each.code.startswith("would-do-leg")}
    assert legs <= {f"leg {leg}" for leg in beside}


def test_a_length_that_only_a_die_far_from_the_usual_opening_bends_is_not_proven_to_fail(tmp_path: Path) -> None:
    """Narrow blocks let a leg hang beside them that the usual block of the thickness does not."""
    dies = {"block-12": vee(12, 40, 60), "block-16": vee(16, 40, 60), "block-40": vee(40, 22, 60)}
    shop = shop_with_dies(tmp_path, dies)
    wanted = part([60, 36, 60], [90, -90], None, shop=shop)
    usual, every = (laid_out_on_each(wanted, shop, UNLIMITED, every_die=each) for each in (False, True))
    assert any(
        len(usable(all_of)) > len(usable(some))
        for some, all_of in zip(
            next(iter(usual.values())).offers.values(), next(iter(every.values())).offers.values(), strict=True
        )
    )
    assert tried(wanted, shop)[0] is None
