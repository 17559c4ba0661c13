"""What is told of many operations from stretches of them is no more than what is told of them whole."""

from dataclasses import replace

import numpy as np
import pytest
from tests.brute.parts import drawn
from tests.how_many import one_in

from flangewise.jobs.blanks import blanks_of, on_all_blanks
from flangewise.jobs.plan_part import blanked_on
from flangewise.jobs.problem import problem_of
from flangewise.part import machines_wanted
from flangewise.sequence import Hit, LeastWeight, SectionProblem, arrivals, feasibility, proof, search, solve
from flangewise.sequence.arrays import sets_without
from flangewise.sequence.arrivals import Arrivals
from flangewise.sequence.candidates import Exclusion, Lot, lot_of, made_alike
from flangewise.sequence.feasibility import FeasibilityTable
from flangewise.sequence.least_weight import first_bend_up
from flangewise.shop import load_shop

# Parts of three and four bends, of a rack of few tools; one has a hem.
SEEDS = (0, 20, 9, 24, 25, 4)[:: one_in(3)]


def problems(seed: int) -> list[SectionProblem]:
    """A part of three bends and more on its best pairs' blank, with a gripper too, and on all its blanks with slack."""
    made = drawn(seed, load_shop(), most_bends=5)
    job = blanked_on(made.part, made.shop, machines_wanted(made.part, made.shop)[-1])
    by_blank = blanks_of(job)
    assert len(by_blank) >= 3 and all(by_blank)
    first = problem_of(job, dict(zip(job.offers, (each[0] for each in by_blank), strict=True)))
    found = [first_bend_up(each) for each in (first, gripped(first), on_all_blanks(job, by_blank))]
    assert found[-1].slack
    return found


def gripped(problem: SectionProblem) -> SectionProblem:
    """The same with a gripper that needs room where less than 90 mm lie in front."""

    def held(hit: Hit) -> Hit:
        return replace(hit, time=hit.time and replace(hit.time, gripper_mm=40.0, gripper_reach_mm=90.0))

    operations = (
        replace(each, options=tuple(replace(one, hits=tuple(map(held, one.hits))) for one in each.options))
        for each in problem.operations
    )
    return replace(problem, operations=tuple(operations))


def ways(table: FeasibilityTable) -> list[tuple[feasibility.Presentation, ...]]:
    return [table.presentations(index) for index in range(len(table.problem.operations))]


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize("most", [1, 2, 3])
def test_stretches_never_overrate_what_reaching_a_set_costs(
    seed: int, most: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    found = problems(seed)
    assert found
    for problem in found:
        sets = np.arange(1 << len(problem.operations))
        table = FeasibilityTable(problem, each_held=True)
        whole = Arrivals(table, ways(table)).of(sets)
        monkeypatch.setattr(arrivals, "MOST_IN_STRETCH", most)
        apart = Arrivals(table, ways(table)).of(sets)
        monkeypatch.undo()
        assert (apart <= whole + 1e-9).all()
        assert apart[-1].min() > 5.0


@pytest.mark.parametrize("seed", SEEDS)
def test_a_step_takes_no_less_than_it_takes_at_least(seed: int) -> None:
    """In no state, with no tools: where all is known beside it, where a stretch is, and where nothing is."""
    found = problems(seed)
    assert found
    for problem in found:
        table, count = FeasibilityTable(problem, each_held=True), len(problem.operations)
        every = [made for each in ways(table) for made in each]
        assert every
        for made in every:
            sets = sets_without(made.operation, count)
            handled = table.handled(made, sets)
            each = handled + (made.own_s + table.made_s(made, sets)).min(axis=0)[:, None]
            assert (handled + table.least_alone_s(made) <= each + 1e-9).all()
            assert (next(table.least_near([made], 0, count)) <= each + 1e-9).all()
            for first in range(made.operation + 1):
                (near,) = table.least_near([made], first, made.operation + 1 - first)
                states = (sets & ((1 << made.operation) - 1)) >> first
                assert (near[states] <= each + 1e-9).all()


@pytest.mark.parametrize("seed", SEEDS)
def test_a_lot_is_priced_as_each_of_its_presentations_by_itself(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """To the last digit, some of a lot as well: of other operations, either end behind, and what is learned of them."""
    rng, most, shared = np.random.default_rng(seed), 40, 0
    monkeypatch.setattr(feasibility, "MOST_WHOLE", 0)
    for problem in problems(seed):
        table, count = FeasibilityTable(problem), len(problem.operations)
        for alike in made_alike(made for each in ways(table) for made in each):
            each = [rng.choice(sets_without(made.operation, count), most) for made in alike]
            table.remember(Exclusion(made.operation, 0, 0, is_caught=True) for made in alike[:1])
            whole = Lot(alike, np.array([most] * len(alike)), np.concatenate(each))
            is_picked = rng.random((len(alike), most)) < 0.6
            lot = whole.picked(np.flatnonzero(is_picked))
            some = [sets[own] for sets, own in zip(each, is_picked, strict=True)]
            single = [lot_of(made, own) for made, own in zip(alike, some, strict=True)]
            handled = [table.handled(one.tools, one.sets) for one in single]
            np.testing.assert_array_equal(table.all_handled(lot), np.concatenate(handled))
            for asked, axis in ((table.least_steps, 0), (table.unstruck, 1)):
                apart = [asked(one, own_s) for one, own_s in zip(single, handled, strict=True)]
                np.testing.assert_array_equal(asked(lot, np.concatenate(handled)), np.concatenate(apart, axis=axis))
            near = list(table.least_near(alike, 0, count))
            for made, own_s in zip(alike, near, strict=True):
                np.testing.assert_array_equal(own_s, next(table.least_near([made], 0, count)))
            shared += len(alike) > 1
    assert shared


@pytest.mark.parametrize("seed", SEEDS)
def test_many_operations_are_told_as_few_are(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """The same plan and proof by stretches, nothing kept for all sets, a beam first; floors no higher."""

    def told(problem: SectionProblem) -> tuple[object, ...]:
        found = solve(problem)
        return found.feasible, found.proven_least, round(found.weight, 6), found.steps

    few_problems = problems(seed)[:2]
    assert few_problems
    for problem in few_problems:
        whole, least = told(problem), LeastWeight(problem).of(bodies=True)
        with monkeypatch.context() as few:
            few.setattr(arrivals, "MOST_IN_STRETCH", 2)
            few.setattr(feasibility, "MOST_WHOLE", 2)
            few.setattr(search, "LEAST_ARRIVALS", 2)
            few.setattr(proof, "SMALL", 2)
            assert told(problem) == whole
            assert LeastWeight(problem).of(bodies=True) == pytest.approx(least)
            assert LeastWeight(problem).of() <= least + 1e-9
