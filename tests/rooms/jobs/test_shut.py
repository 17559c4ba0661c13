"""Bends in a row that no pairs make, whatever blank these form: against the search on single blanks."""

from __future__ import annotations

import itertools
import math
import random
from dataclasses import replace

import shapely

from flangewise.geometry import done_angles, section_path
from flangewise.jobs import machines, worked_out
from flangewise.jobs.blanks import beside_mm, blanks_of, on_blank
from flangewise.jobs.job import Job
from flangewise.jobs.order import _ordered, find_order
from flangewise.jobs.plan_part import blanked_on
from flangewise.jobs.problem import chain_of, mountings, problem_of
from flangewise.jobs.shut import ShutBends, is_shut_on_all, least_shut, shut_runs
from flangewise.punch_die import usable
from flangewise.sequence import UNLIMITED, InTheWay
from flangewise.sequence.shut import _with_leg

from .made import built_in, steel

MACHINE = "long-1450"
ANY_PLAN = replace(UNLIMITED, any_plan=True)
OFFSET = {"offset": 4, "radius": 1}


def laid_out(legs: list[float], bends: list[float], thickness: float, *, every_die: bool = False) -> Job:
    return blanked_on(steel(legs, bends, thickness), built_in(), MACHINE, every_die=every_die)


def test_bends_shut_on_all_blanks_are_shut_on_each_and_shut_the_part() -> None:
    """A hook of three bends at the end of a section, with every die; single blanks are drawn."""
    job, drawn = laid_out([60, 96, 43, 36, 48, 105], [30, -30, 60, 90, 90], 1.5, every_die=True), random.Random(4)
    by_blank = blanks_of(job)
    run = next(shut_runs(job, by_blank))
    assert run[0] >= 2 and is_shut_on_all(job, by_blank, run)
    for _ in range(4):
        alike = [drawn.choice(each) for each in by_blank]
        assert _ordered(job, alike, below_s=math.inf).solution.feasible is False
    assert ShutBends(job.part, lambda _: {MACHINE: job}).is_all and ShutBends(
        job.part, lambda _: {MACHINE: job}
    ).whatever_long(1)
    assert find_order(laid_out([60, 96, 43, 36, 48, 105], [30, -30, 60, 90, 90], 1.5)).solution.feasible is False


def test_the_sheet_of_every_blank_lies_near_the_leg_beside_a_bend_as_the_first_has_it() -> None:
    """Folded on blanks of either end of the rack: no point of the first's flat lies further from them than is told."""
    job = laid_out([60, 96, 43], [-90, 60], 1.5, every_die=True)
    by_blank, away = blanks_of(job), []
    for bend in (0, 1):
        told_mm = beside_mm(job, by_blank, bend)
        for nth in (0, len(by_blank[bend]) // 2, len(by_blank[bend]) - 1):
            drawn = []
            for chosen in (0, nth):
                alike = [(each[chosen if own == bend else 0],) for own, each in enumerate(by_blank)]
                chain = chain_of(on_blank(job, alike).pattern)
                path = section_path(chain, done_angles(chain, {bend}))
                drawn.append(path.levelled(2, by_last=bend == 0))
            flat = shapely.LineString(drawn[0].ends_mm(2))
            off_mm = shapely.distance(shapely.points(list(flat.coords)), shapely.LineString(drawn[1].points_mm)).max()
            assert off_mm <= told_mm + 1e-6, (bend, nth)
            away.append(told_mm)
    assert min(away) > 0.3


def test_a_leg_beside_the_next_bend_counts_no_further_than_all_its_dies_leave_it() -> None:
    """What is shut by the end of a leg with the first die of the next bend alone is not told to be shut: each length
    up to there is bent or refused on single blanks as it is told."""
    told = []
    for leg_mm in (30.0, 55.0, 80.0):
        job = laid_out([52, leg_mm, 52, 40], [90, 90, -60], 2, every_die=True)
        by_blank = blanks_of(job)
        shut = is_shut_on_all(job, by_blank, (0, 1), most=1)
        possible = find_order(replace(job, watch=ANY_PLAN)).solution.feasible
        assert not (shut and possible), leg_mm
        told.append(shut)
    assert not all(told)


def test_a_part_with_another_leg_is_shut_only_where_no_plan_is_found() -> None:
    """Shorter and longer legs, with tools the part itself is not offered and with fewer."""
    shop, wanted = built_in(), steel([60, 96, 43, 36, 48, 105], [30, -30, 60, 90, 90], 1.5)
    shut = ShutBends(wanted, lambda part: {MACHINE: blanked_on(part, shop, MACHINE)}, every_die=False)
    assert shut.is_all
    answers = set()
    for leg, length_mm in ((5, 20.0), (5, 60.0), (5, 170.0), (6, 9.0), (6, 80.0), (4, 90.0), (4, 12.0), (3, 5.0)):
        legs = [*wanted.section.legs_mm[: leg - 1], length_mm, *wanted.section.legs_mm[leg:]]
        other = replace(wanted, section=replace(wanted.section, legs_mm=tuple(legs)))
        job = blanked_on(other, shop, MACHINE)
        is_shut = shut.with_leg(leg, other)
        if job.pattern is not None and all(map(usable, job.offers.values())):
            assert not (is_shut and find_order(replace(job, watch=ANY_PLAN)).solution.feasible), (leg, length_mm)
        answers.add(is_shut)
    assert answers == {True, False}


def test_an_offset_before_a_leg_does_not_hide_which_leg_is_longer() -> None:
    """The legs of a section with an offset are not its flats: a bend of two zones has one between."""
    job = blanked_on(steel([40, 60, 60, 30, 70], [OFFSET, 90, 90, 45], 1.5), built_in(), MACHINE)
    problem = problem_of(job, {bend: mountings(usable(each))[:1] for bend, each in job.offers.items()})
    chain = problem.chain
    for leg in range(5):
        other = _with_leg(problem, leg, 7.0)
        moved = [n for n, (a, b) in enumerate(zip(chain.flats_mm, other.flats_mm, strict=True)) if a != b]
        assert moved == [leg if leg == 0 else leg + 1]
    assert _with_leg(problem, 3, -chain.flats_mm[4]) is None


def test_bends_that_another_pair_makes_are_not_shut() -> None:
    """The channel 52 | 30 | 52 of 2 mm: shut on the blank of the first die, made with another."""
    job = laid_out([52, 30, 52], [90, 90], 2)
    by_blank = blanks_of(job)
    run = next(shut_runs(job, by_blank))
    assert run == (0, 1) and not is_shut_on_all(job, by_blank, run)
    assert find_order(job).solution.feasible is True


def test_of_runs_as_short_the_one_with_the_most_sheet_comes_first() -> None:
    """A spiral: what is shut by itself with the first pairs on its wide turns is asked before its narrow ones."""
    job = laid_out([20, 34, 48, 62, 76, 90, 104], [60] * 6, 1.5)
    runs = list(shut_runs(job, blanks_of(job)))
    assert runs
    for bends in {last - first for first, last in runs}:
        starts = [first for first, last in runs if last - first == bends]
        assert starts == sorted(starts, reverse=True)


def test_runs_are_the_fewest_bends_of_all_rows_that_are_shut() -> None:
    """Every row asked by itself, an offset among the bends or none; both come up."""
    counts, legs = [], [60, 96, 43, 36, 48, 105]
    for bends in ([30, -30, 60, 90, 90], [30, OFFSET, 60, 90, 90], [30, 90, -90, 30, OFFSET]):
        job = laid_out(legs, bends, 1.5)
        by_blank = blanks_of(job)
        own = on_blank(job, by_blank)
        some = dict(zip(job.offers, (each[0] for each in by_blank), strict=True))
        known = InTheWay([problem_of(own, some, timed=False)])
        every = [row for row in itertools.combinations(range(len(bends)), 2) if known.shuts(*row)]
        least = [(a, b) for a, b in every if not any((c, d) != (a, b) and a <= c and d <= b for c, d in every)]
        assert sorted(shut_runs(job, by_blank, most=4)) == sorted(row for row in least if row[1] - row[0] < 4)
        counts.append(len(least))
    assert min(counts) == 0 < max(counts)


def test_machines_whose_bodies_hold_anothers_with_no_more_pairs_are_not_asked() -> None:
    """What is left shuts as all of them do; one with a pair more, or with a narrower ram, stays."""
    wanted, shop = steel([60, 96, 43, 36, 48, 105], [30, -30, 60, 90, 90], 1.5), built_in()
    jobs = [blanked_on(wanted, shop, name) for name in shop.machines]
    (left,) = least_shut(jobs)
    assert least_shut(jobs[::-1]) == (left,) and len(jobs) > 2
    each = [ShutBends(wanted, lambda _, job=job: {job.machine.name: job}, every_die=False).is_all for job in jobs]
    assert ShutBends(wanted, lambda _: {job.machine.name: job for job in jobs}, every_die=False).is_all is all(each)
    fewer = {**left.offers, 3: usable(left.offers[3])[1:]}
    fewer = replace(left, offers=fewer, cut_offers=fewer)
    assert len(least_shut([fewer, *(job for job in jobs if job is not left)])) == 2
    narrow = left.machine.model_copy(update={"ram_outline_mm": left.machine.ram_outline_mm.shifted(0.0, 30.0)})
    assert len(least_shut([left, replace(left, machine=narrow)])) == 2


def test_a_part_that_winds_is_told_the_same_whether_it_is_asked_first_or_last(monkeypatch) -> None:
    """Shut or not: findings, plan and what is said of the other machines."""
    feasible = set()
    for legs, bends in (
        ([60, 96, 43, 36, 48, 105], [30, -30, 60, 90, 90]),
        ([40, 60, 90, 60, 40, 30], [60, 60, 60, 60, 60]),
    ):
        told = []
        for winds_deg in (math.inf, 0.0):
            monkeypatch.setattr(machines, "WINDS_DEG", winds_deg)
            job = worked_out(steel(legs, bends, 1.5), built_in())
            told.append((job.feasible, job.machine.name, job.findings, job.others, job.solution.cost))
        assert told[0] == told[1]
        feasible.add(told[0][0])
    assert feasible == {True, False}


def test_a_longer_leg_is_held_against_the_tools_that_any_length_up_to_twice_its_own_is_offered() -> None:
    """With every die; what is told to be shut no plan makes."""
    shop, wanted = built_in(), steel([40, 14, 36, 16, 60], [60, 90, 90, 30], 1.5)
    shut = ShutBends(wanted, lambda part: {MACHINE: blanked_on(part, shop, MACHINE, every_die=True)})
    assert shut.is_all
    answers = set()
    for leg, length_mm in ((3, 44.0), (3, 90.0), (4, 20.0), (4, 31.0), (4, 60.0), (2, 20.0), (2, 60.0)):
        legs = [*wanted.section.legs_mm[: leg - 1], length_mm, *wanted.section.legs_mm[leg:]]
        other = replace(wanted, section=replace(wanted.section, legs_mm=tuple(legs)))
        answers.add(is_shut := shut.with_leg(leg, other))
        job = blanked_on(other, shop, MACHINE, every_die=True)
        assert not (is_shut and find_order(replace(job, watch=ANY_PLAN)).solution.feasible), (leg, length_mm)
    assert answers == {True, False}
