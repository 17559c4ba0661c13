"""What stands upright behind and is longer than the tools open does not come in level: against the way out itself."""

import itertools
import math
import random
from collections.abc import Iterator
from dataclasses import replace

import pytest
from tests.how_many import one_in

from flangewise.jobs.blanks import Alike, blanks_of, of_box, on_all_blanks, on_blank
from flangewise.jobs.job import Job
from flangewise.jobs.plan_part import blanked_on
from flangewise.jobs.problem import problem_of
from flangewise.part import Part, read_part
from flangewise.pattern import NoBlank
from flangewise.sequence.candidates import Candidate, Exclusion
from flangewise.sequence.opening import opening_at
from flangewise.sequence.problem import SectionProblem, first_bend_up
from flangewise.sequence.regions import Shapes, side_up
from flangewise.sequence.upright import too_tall
from flangewise.shop import load_shop

SHOP = load_shop()
SEEDS = range(60)[:: one_in(4)]
# So near the longest gap legs are drawn.
NEAR_MM = 8.0
MACHINES = ("bench-310", "mid-740")


def _part(legs_mm: list[float], turns_deg: list[float], thickness_mm: float) -> Part:
    bends = ", ".join(f"{{turn: {abs(turn)}, away: {str(turn < 0).lower()}}}" for turn in turns_deg)
    section = f"section: {{length: 200, legs: {legs_mm}, bends: [{bends}]}}"
    return read_part(f"part: tall\nmaterial: DC01\nthickness: {thickness_mm}\n{section}\n", "tall.yaml", SHOP)


def _tall(seed: int) -> Part:
    """A part of four to six bends, some legs of which are about as long as a machine opens."""
    dice = random.Random(seed)
    count, whole_mm = dice.randint(4, 6), dice.choice((152.0, 200.0)) + dice.uniform(-NEAR_MM, NEAR_MM)
    legs_mm = [dice.choice((whole_mm, whole_mm / 2, whole_mm / 3, 45.0)) for _ in range(count + 1)]
    turns_deg = [dice.choice((90.0, 90.0, 90.0, 45.0)) * dice.choice((1, -1)) for _ in range(count)]
    return _part(legs_mm, turns_deg, dice.choice((1.0, 1.5, 2.0)))


def _step(problem: SectionProblem, told: Exclusion, others: int, option: int) -> tuple[Candidate, int]:
    """A step that something told speaks of, with other operations done or not."""
    assert told.behind is not None
    operation = problem.operations[told.operation]
    way = Candidate(told.operation, option, bool(side_up(problem, operation)), told.behind)
    return way, (others & ~told.mask & ~(1 << told.operation)) | told.value


def _is_caught(problem: SectionProblem, told: Exclusion, dice: random.Random, shapes: Shapes) -> bool:
    operation = problem.operations[told.operation]
    numbers = [told.option] if told.option is not None else range(len(operation.options))
    option = dice.choice(list(numbers))
    way, done = _step(problem, told, dice.getrandbits(len(problem.operations)), option)
    return opening_at(problem, way, done, shapes=shapes).lift_mm is None


def _laid_out() -> Iterator[tuple[int, random.Random, Job, tuple[tuple[Alike, ...], ...]]]:
    """The parts that a machine has tools and a blank for, each with its seed, dice and blanks."""
    for seed in SEEDS:
        job = blanked_on(_tall(seed), SHOP, MACHINES[seed % 2])
        if job.pattern is not None and all(by_blank := blanks_of(job)):
            yield seed, random.Random(seed), job, by_blank


def test_a_part_that_is_told_to_be_caught_has_no_level_way_in_and_out() -> None:
    """With any other bends made, and any of the choices of tools that it is told of."""
    asked = 0
    for seed, dice, job, by_blank in _laid_out():
        problem = first_bend_up(
            problem_of(job, {bend: each[0] for bend, each in zip(job.offers, by_blank, strict=True)})
        )
        shapes = Shapes(problem)
        told = list(too_tall(problem, shapes=shapes))
        for each in dice.sample(told, min(len(told), 4)):
            asked += 1
            assert _is_caught(problem, each, dice, shapes), (seed, each)
    assert asked > len(SEEDS)


def test_what_is_told_of_all_blanks_holds_on_each() -> None:
    """Each with pairs of its own, drawn at random from those of the shop."""
    asked = 0
    for seed, dice, job, by_blank in _laid_out():
        every = first_bend_up(on_all_blanks(job, by_blank))
        told = list(too_tall(every, shapes=Shapes(every)))
        for each, _ in itertools.product(dice.sample(told, min(len(told), 3)), range(2)):
            # Of some tools alone: on a blank that they make.
            ends = list(itertools.accumulate(map(len, by_blank[each.operation])))
            made = None if each.option is None else next(nth for nth, end in enumerate(ends) if each.option < end)
            box = tuple(
                (dice.randrange(len(own)) if made is None or bend != each.operation else made,)
                for bend, own in enumerate(by_blank)
            )
            alike = [own for (own,) in of_box(by_blank, box)]
            try:
                other = on_blank(job, [(own,) for own in alike])
            except NoBlank:
                continue
            own = first_bend_up(problem_of(other, dict(zip(other.offers, alike, strict=True))))
            if each.option is not None:
                stack = every.operations[each.operation].options[each.option].hits[0].stack
                same = next(
                    number
                    for number, option in enumerate(own.operations[each.operation].options)
                    if option.hits[0].stack.name == stack.name and option.hits[0].stack.turned == stack.turned
                )
                each = replace(each, option=same)
            asked += 1
            assert _is_caught(own, each, dice, Shapes(own)), (seed, each)
    assert asked > len(SEEDS)


@pytest.mark.parametrize("more_mm, told", [(0.1, False), (0.3, True)])
def test_it_is_told_of_a_leg_that_is_longer_than_the_gap_and_of_none_that_is_shorter(
    more_mm: float, told: bool
) -> None:
    """The gap reaches from the nose at its highest down into the opening, to where the die begins."""

    def problem(leg_mm: float) -> SectionProblem:
        job = blanked_on(_part([leg_mm, 60.0, 60.0], [90.0, -90.0], 1.5), SHOP, "bench-310")
        first = {bend: each[0][:1] for bend, each in zip(job.offers, blanks_of(job), strict=True)}
        return first_bend_up(problem_of(job, first))

    long = problem(400.0)
    shapes, (each, *_) = Shapes(long), too_tall(long, shapes=Shapes(long))
    assert (each.operation, each.mask, each.value) == (1, 1, 1)
    assert list(too_tall(long, shapes=shapes))
    (gap_mm,) = set(shapes.gaps_mm.values())
    stack = long.operations[1].options[0].hits[0].stack
    assert stack.open_limit_mm is not None and 0 < gap_mm - stack.open_limit_mm < stack.opening_mm
    taken_mm = 400.0 - long.chain.flats_mm[0]
    own = problem(gap_mm + taken_mm + more_mm)
    assert bool(list(too_tall(own, shapes=Shapes(own)))) is told
    assert math.isclose(own.chain.flats_mm[0], gap_mm + more_mm, abs_tol=1e-6)
