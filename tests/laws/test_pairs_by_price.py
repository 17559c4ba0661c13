"""Pairs passed over by their price alone are in no plan that weighs less than what they were passed over for."""

import itertools

import pytest
from tests.brute.parts import drawn
from tests.how_many import one_in

from flangewise.jobs.blanks import Alike, blank_of, blanks_of, on_all_blanks
from flangewise.jobs.job import Job
from flangewise.jobs.order import _narrowed, _ordered
from flangewise.jobs.pairs_by_price import cheapest_weight, near_enough
from flangewise.jobs.plan_part import blanked_on
from flangewise.jobs.problem import problem_of
from flangewise.jobs.tool_changes import least_change_s
from flangewise.part import machines_wanted
from flangewise.pattern import NoBlank
from flangewise.punch_die import Mounting
from flangewise.sequence import SAME_COST, LeastWeight, cheapest_of_each
from flangewise.shop import load_shop

SEEDS = (14, 23, 44, 61, 62)[:: one_in(3)]


def laid_out(seed: int) -> Job:
    """A random part with all the tools of the shop."""
    shop = load_shop()
    part = drawn(seed, shop, most_bends=3).part
    return blanked_on(part, shop, machines_wanted(part, shop)[0])


def every_pair(by_blank: tuple[tuple[Alike, ...], ...]) -> list[list[Mounting]]:
    return [list(itertools.chain(*each)) for each in by_blank]


def least_with(job: Job, choices: dict[int, tuple[Mounting, ...]]) -> float:
    """What no plan with those pairs weighs less than, on the blank of the first of each, nothing in the way.

    With the change between two of them, where not all bends are made with one.
    """
    pairs = dict(job.pairs) | {bend: each[0].pair for bend, each in choices.items()}
    own = Job(**vars(job) | {"pairs": pairs, "pattern": blank_of(job, pairs)})
    problem = problem_of(own, choices)
    mixed = not set.intersection(*({one.name for one in each} for each in choices.values()))
    return LeastWeight(problem).of() + least_change_s(problem.costs) * mixed


@pytest.mark.parametrize("seed", SEEDS)
def test_the_cheapest_of_few_pairs_is_that_of_all(seed: int) -> None:
    job = laid_out(seed)
    by_blank = blanks_of(job)
    offered = dict(zip(job.offers, map(tuple, every_pair(by_blank)), strict=True))
    assert cheapest_weight(job, by_blank) == cheapest_of_each(problem_of(job, offered))


@pytest.mark.parametrize("seed", SEEDS)
def test_no_plan_with_a_pair_passed_over_weighs_less(seed: int) -> None:
    """Neither with the best pairs for the other bends, nor with that pair for all; for a plan at hand and for less."""
    job = laid_out(seed)
    by_blank = blanks_of(job)
    first = tuple(each[0] for each in by_blank)
    cheapest = cheapest_weight(job, by_blank)
    looked_at = 0
    for below_s in (_ordered(job, first, below_s=float("inf")).weight, cheapest + 2.0, cheapest + 6.0):
        near = every_pair(near_enough(job, by_blank, below_s))
        for bend, every, kept in zip(job.offers, every_pair(by_blank), near, strict=True):
            for gone in [one for one in every if one not in kept][:12]:
                for others in (dict(zip(job.offers, first, strict=True)), alone(job, gone)):
                    try:
                        least = least_with(job, others | {bend: (gone,)})
                    except NoBlank:
                        continue
                    looked_at += 1
                    assert least >= below_s - SAME_COST
    assert looked_at > 20


@pytest.mark.parametrize("seed", SEEDS)
def test_no_plan_with_a_pair_left_out_by_what_all_shut_weighs_less(seed: int) -> None:
    """Plans with their shapes looked at, on their own blanks: the pair in one bend, or in all of them."""
    job = laid_out(seed)
    by_blank = blanks_of(job)
    first = tuple(each[0] for each in by_blank)
    least = LeastWeight(on_all_blanks(job, by_blank), each_held=True)
    shut, looked_at = least.of(bodies=not least.is_each_apart), 0
    for below_s in (_ordered(job, first, below_s=float("inf")).weight, shut + 1.0, shut + 4.0):
        _, left, floor = _narrowed(job, least, by_blank, below_s)
        assert floor >= min(shut, below_s) - SAME_COST
        for bend, every, kept in zip(job.offers, every_pair(by_blank), every_pair(left), strict=True):
            for gone in [one for one in every if one not in kept][::7]:
                for others in (dict(zip(job.offers, first, strict=True)), alone(job, gone)):
                    try:
                        plan = _ordered(job, list((others | {bend: (gone,)}).values()), below_s=below_s)
                    except NoBlank:
                        continue
                    looked_at += 1
                    assert not plan.solution.feasible or plan.weight >= below_s - SAME_COST
    assert looked_at > 5


def alone(job: Job, pair: Mounting) -> dict[int, tuple[Mounting, ...]]:
    """That pair for all bends, as far as it is offered for them."""
    every = dict(zip(job.offers, every_pair(blanks_of(job)), strict=True))
    return {bend: tuple(one for one in each if one.name == pair.name) or (each[0],) for bend, each in every.items()}


@pytest.mark.parametrize("seed", SEEDS)
def test_the_first_blank_is_always_among_them_and_more_room_leaves_more(seed: int) -> None:
    job = laid_out(seed)
    by_blank = blanks_of(job)
    cheapest = cheapest_weight(job, by_blank)
    rising = [near_enough(job, by_blank, cheapest + room_s) for room_s in (0.0, 1.0, 4.0, 16.0, 1e6)]
    assert len(rising[0]) == len(by_blank)
    assert [each[0] for each in rising[0]] == [each[0] for each in by_blank]
    counts = [sum(map(len, every_pair(each))) for each in rising]
    assert counts == sorted(counts)
    assert rising[-1] == by_blank
