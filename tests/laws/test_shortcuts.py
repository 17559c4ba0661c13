"""What spares the search a long answer gives the same as the long answer, or says nothing."""

import itertools
import math
import random
from dataclasses import replace

import numpy as np
import pytest
from tests.brute.parts import drawn

from flangewise.clearance import folding
from flangewise.jobs.blanks import alone, blanks_of, halves, of_box, on_all_blanks
from flangewise.jobs.boxes import BOUNDED, Boxes
from flangewise.jobs.job import Job
from flangewise.jobs.machines import _floor_weight
from flangewise.jobs.order import _ordered
from flangewise.jobs.plan_part import blanked_on, planned
from flangewise.jobs.problem import problem_of
from flangewise.part import machines_wanted
from flangewise.pattern import NoBlank
from flangewise.sequence import LeastWeight, SectionProblem, Watch, search, shapes_of, solve
from flangewise.sequence.arrays import sets_without
from flangewise.sequence.feasibility import FeasibilityTable
from flangewise.sequence.least_weight import first_bend_up
from flangewise.sequence.opening import least_opening_mm, opening_at, pulls_straight, straight_opening
from flangewise.sequence.placing import wing_paths
from flangewise.sequence.regions import Shapes, stroke_of
from flangewise.sequence.strikes import MANY_OPTIONS
from flangewise.shop import load_shop

SEEDS = (14, 23, 44)


def laid_out(seed: int) -> Job:
    made = drawn(seed, load_shop(), most_bends=3)
    return blanked_on(made.part, made.shop, machines_wanted(made.part, made.shop)[0])


def on_one_blank(job: Job) -> SectionProblem:
    by_blank = blanks_of(job)
    return first_bend_up(problem_of(job, dict(zip(job.offers, (each[0] for each in by_blank), strict=True))))


@pytest.mark.parametrize("seed", SEEDS)
def test_what_all_tools_shut_is_what_each_shuts(seed: int) -> None:
    """On all blanks and on one; the machine's bodies asked at once shut nothing that some tools leave open."""
    job = laid_out(seed)
    every = first_bend_up(on_all_blanks(job, blanks_of(job)))
    open_too = 0
    for problem in (every, on_one_blank(job)):
        table = FeasibilityTable(problem)
        for index in range(len(problem.operations)):
            sets = sets_without(index, len(problem.operations))
            for made in table.presentations(index):
                each = [table.strikes(made.candidate(row), sets) for row in range(len(made.options))]
                np.testing.assert_array_equal(table.shut(made, sets), np.all(each, axis=0))
                at_once = table._surely_shut(made, table._wings_of(made, sets))
                assert not (at_once & ~np.all(each, axis=0)).any()
                open_too += int((~at_once).sum())
    assert len(every.operations[0].options) >= MANY_OPTIONS
    assert open_too


def test_what_stands_in_every_way_is_found_at_once() -> None:
    """A channel so deep that its leg meets the ram with any tools of the rack."""
    job = laid_out(4)
    table = FeasibilityTable(first_bend_up(on_all_blanks(job, blanks_of(job))))
    count = len(table.problem.operations)
    found = sum(
        int(table._surely_shut(made, table._wings_of(made, sets_without(index, count))).sum())
        for index in range(count)
        for made in table.presentations(index)
    )
    assert found


@pytest.mark.parametrize("seed", SEEDS)
def test_a_plain_way_out_needs_no_more_than_the_straight_pull(seed: int) -> None:
    problem = on_one_blank(laid_out(seed))
    table, shapes = FeasibilityTable(problem), Shapes(problem)
    plain = 0
    for index, candidates in enumerate(table.candidates):
        for way, done in itertools.product(candidates, sets_without(index, len(problem.operations)).tolist()):
            pulled_mm = table.straight_pull_mm(way, done)
            if pulls_straight(problem, way, done, shapes=shapes, straight_pull_mm=pulled_mm):
                told = straight_opening(problem, way, done, straight_pull_mm=pulled_mm)
                assert least_opening_mm(told, pulled_mm) == pulled_mm
                opening = opening_at(problem, way, done, shapes=shapes, likely_mm=pulled_mm)
                assert opening.lift_mm is not None and opening.reason == told.reason
                assert least_opening_mm(opening, pulled_mm) == pulled_mm
                plain += 1
    assert plain


@pytest.mark.parametrize("seed", SEEDS)
def test_wings_that_keep_clear_in_few_steps_do_so_in_many(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    problem = on_one_blank(laid_out(seed))
    asked = [
        (*wing_paths(problem, way, done), stroke_of(problem.chain, operation, operation.options[way.option].hits[0]))
        for index, operation in enumerate(problem.operations)
        for way in FeasibilityTable(problem).candidates[index]
        if operation.options[way.option].hits[0].kind == "swing"
        for done in sets_without(index, len(problem.operations)).tolist()
    ]
    quick = [folding.wings_meet(*each) for each in asked]
    monkeypatch.setattr(folding, "FEW_STEPS", folding.MOST_STEPS)
    assert quick == [folding.wings_meet(*each) for each in asked]
    assert quick


@pytest.mark.parametrize("seed", SEEDS)
def test_halves_hold_all_choices_and_bound_their_plans(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """Sets dropped, as of many bends, by what reaching them costs on all the blanks together."""
    monkeypatch.setattr(search, "LEAST_ARRIVALS", 1)
    job = laid_out(seed)
    by_blank = blanks_of(job)
    everything = on_all_blanks(job, by_blank)
    boxes = Boxes(job, by_blank, LeastWeight(everything), below_s=math.inf)
    box, dice = tuple(tuple(range(len(each))) for each in by_blank), random.Random(seed)
    compared = 0
    while compared < 2 and any(len(kept) > 1 for kept in box):
        one, other = halves(everything, by_blank, box)
        both = set(itertools.product(*one)), set(itertools.product(*other))
        assert both[0] | both[1] == set(itertools.product(*box))
        assert not both[0] & both[1]
        box = dice.choice((one, other))
        alone_s, mixed_s = boxes._bound(box, BOUNDED)
        own = boxes._by_itself(box)
        assert own is not None
        each_paid = [boxes._paid(asked, box) for asked in (boxes._every, own)]
        assert all(set(kept) <= set(some) for _, aim in each_paid for kept, some in zip(aim, box, strict=True))
        chosen = tuple((dice.choice(kept),) for kept in box)
        try:
            made = _ordered(job, [each for (each,) in of_box(by_blank, chosen)], below_s=math.inf)
        except NoBlank:
            continue
        is_mixed = made.ordered is not None and len({one.name for one in made.ordered.taken.values()}) > 1
        assert (mixed_s if is_mixed else alone_s) <= made.solution.weight + 1e-6
        assert all(paid_s <= made.solution.weight + 1e-6 for paid_s, _ in each_paid)
        compared += 1
    assert compared
    for _, found in alone(everything, by_blank):
        names = [{one.name for one in alike} for (alike,) in of_box(by_blank, found)]
        assert set.intersection(*names)


@pytest.mark.parametrize("seed", SEEDS)
def test_tables_kept_of_a_problem_like_it_give_what_its_own_give(seed: int) -> None:
    """Asked quickly first, then other prices of changes and other datums preferred, each with what the first left."""
    problem = on_one_blank(laid_out(seed))
    costs = problem.costs
    wished = tuple(("start",) for _ in problem.operations)
    like = [
        replace(problem, limits=replace(problem.limits, watch=Watch(quick=True))),
        problem,
        replace(problem, costs=replace(costs, station_change=0.5, tool_change=0.0, base=costs.base + 20)),
        replace(problem, preferred=wished),
        replace(problem, preferred=tuple(("flange", "end") for _ in problem.operations)),
        problem,
    ]
    shapes = shapes_of(problem)

    def told(each: SectionProblem, kept: Shapes | None) -> tuple[object, ...]:
        found, least = solve(each, kept), LeastWeight(each, kept)
        near = tuple((step.done, step.option, step.clearance_mm, step.open_height_mm) for step in found.steps)
        return found.feasible, found.proven_least, round(found.weight, 6), near, least.of(), least.of(bodies=True)

    assert [told(each, shapes) for each in like] == [told(each, None) for each in like]


@pytest.mark.parametrize("seed", (*SEEDS, 3, 8))
def test_a_plan_is_found_below_more_than_it_weighs_and_no_other_below_less(seed: int) -> None:
    """What a machine is asked once another has a plan: the same least, or the proof that none weighs less."""
    job = laid_out(seed)
    free = planned(job)
    if free.feasible is not True:
        assert planned(job, below_s=1000.0).feasible is not True
        return
    above, below = (planned(job, below_s=free.solution.weight + more) for more in (0.5, -0.5))
    if free.solution.proven_least:
        assert above.feasible and above.solution.weight == pytest.approx(free.solution.weight)
        # What tools cost as they stand comes on top: a plan may be found that is none too light after all.
        assert below.feasible is not False and below.solution.weight >= free.solution.weight - 1e-6
        assert below.solution.open_bound == pytest.approx(free.solution.weight - 0.5)
    else:
        assert above.solution.weight <= free.solution.weight + 0.5


@pytest.mark.parametrize("seed", (*SEEDS, 3, 8))
def test_with_the_pairs_that_the_floor_leaves_the_same_is_found(seed: int) -> None:
    """A machine asked for less than another takes: none of the pairs left out is in such a plan."""
    job = laid_out(seed)
    free = planned(job)
    weight, fewer = free.solution.weight if free.feasible else 1000.0, 0
    for more_s in (-2.0, -0.5, 0.5, 4.0):
        floor, left = _floor_weight(job, weight + more_s)
        assert floor <= weight + max(more_s, 0.0) + 1e-6
        if floor >= weight + more_s:
            continue
        fewer += sum(map(len, left)) < sum(map(len, blanks_of(job)))
        few, all_of = (planned(job, below_s=weight + more_s, left=each) for each in (left, None))
        assert few.feasible is not False and bool(few.feasible) is bool(all_of.feasible)
        if free.solution.proven_least and few.feasible:
            assert few.weight == pytest.approx(all_of.weight)
    assert fewer or seed not in SEEDS
