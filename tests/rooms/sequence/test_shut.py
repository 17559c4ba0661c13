"""What tools shut by themselves, against the search: as the part is, of a run of its bends, with another leg."""

from __future__ import annotations

import itertools
import random
from dataclasses import replace

from tests.how_many import one_in

from flangewise.clearance import Body, ToolStack
from flangewise.sequence import OF_ALL, OF_KNOWN, InTheWay, LeastWeight, SectionProblem, solve

from .conftest import GOOSENECK, bent, sharp_chain, toy_stack

STACKS = (toy_stack(), toy_stack(punch=GOOSENECK), toy_stack(die_half=8.0, die_height=120.0))


def section(seed: int, bends: int = 4) -> SectionProblem:
    """Legs near the limits of collision, three sets of tools; nothing but tools in the way is looked at."""
    drawn = random.Random(seed)
    lengths = [drawn.uniform(15, 75) for _ in range(bends + 1)]
    turns = [drawn.choice((90, 90, -90, 45)) for _ in range(bends)]
    return bent(sharp_chain(lengths, turns, thickness_mm=1.5), STACKS, check_self=False)


def with_leg(problem: SectionProblem, leg: int, longer_mm: float) -> SectionProblem:
    flats_mm = list(problem.chain.flats_mm)
    flats_mm[leg] += longer_mm
    return replace(problem, chain=replace(problem.chain, flats_mm=tuple(flats_mm)))


def test_a_section_is_shut_where_the_search_finds_no_order() -> None:
    """With all tools at once as with each; both come up."""
    told = []
    for seed in range(3, 27, one_in(4)):
        problem = section(seed)
        own = [solve(replace(problem, operations=only(problem, nth))).feasible for nth in range(len(STACKS))]
        shut, possible = InTheWay([problem]).shuts(0, 3), solve(problem).feasible
        assert shut is (possible is False) is LeastWeight(problem).is_shut
        apart = InTheWay([replace(problem, operations=only(problem, nth)) for nth in range(len(STACKS))])
        assert apart.shuts(0, 3) is (not any(own))
        told.append(shut)
    assert len(set(told)) == 2


def only(problem: SectionProblem, nth: int) -> tuple:
    return tuple(replace(each, options=each.options[nth : nth + 1]) for each in problem.operations)


def test_bends_that_are_shut_by_themselves_are_shut_whatever_the_other_legs_are() -> None:
    runs = 0
    for seed in range(0, 12, one_in(4)):
        problem, drawn = section(seed, 5), random.Random(-seed)
        known = InTheWay([problem])
        for first, last in itertools.combinations(range(5), 2):
            if last - first < 4 and known.shuts(first, last):
                runs += 1
                for leg in {0, 5} - set(range(first, last + 2)):
                    other = with_leg(problem, leg, drawn.uniform(-10, 60))
                    assert solve(other).feasible is False and known.shuts(0, 4)
    assert runs


def test_another_leg_is_answered_as_the_section_with_that_leg() -> None:
    """What was found for other lengths is used further where it is the same."""
    told = []
    for seed in range(5, 13, one_in(3)):
        problem, drawn = section(seed), random.Random(-seed)
        known = InTheWay([problem])
        for leg in range(5):
            longer_mm = drawn.uniform(-12, 30)
            shut = known.shuts(0, 3, leg=leg, longer_mm=longer_mm)
            assert shut is (solve(with_leg(problem, leg, longer_mm)).feasible is False)
            told.append(shut)
    assert len(set(told)) == 2


def test_rows_of_operations_share_their_wings() -> None:
    """Asked one after the other, in any order and in other lengths between, each is answered as if asked alone."""
    told = []
    for seed in range(0, 12, one_in(4)):
        problem, drawn = section(seed, 5), random.Random(seed)
        rows = [(first, last) for first, last in itertools.combinations(range(5), 2)]
        drawn.shuffle(rows)
        known = InTheWay([problem])
        for first, last in rows:
            leg, longer_mm = drawn.randint(0, 5), drawn.uniform(-10, 30)
            own = InTheWay([with_leg(problem, leg, longer_mm)]).shuts(first, last)
            assert known.shuts(first, last, leg=leg, longer_mm=longer_mm) is own
            told.append(known.shuts(first, last))
            assert told[-1] is InTheWay([problem]).shuts(first, last)
    assert len(set(told)) == 2


def test_machines_are_answered_together_as_each_question_by_itself() -> None:
    """Each has tools of its own; asked of few choices, of what is known and of all, in any order and length."""
    told = []
    for seed in range(1, 25, one_in(4)):
        problem, drawn = section(seed), random.Random(seed)
        machines = [replace(problem, operations=only(problem, nth)) for nth in drawn.sample(range(3), 2)]
        known, rows = InTheWay(machines), [*itertools.combinations(range(4), 2)] * 2
        drawn.shuffle(rows)
        for first, last in rows:
            leg, longer_mm = drawn.randint(0, 4), drawn.choice((0.0, drawn.uniform(-10, 30)))
            few = known.shuts(first, last, leg=leg, longer_mm=longer_mm, asked=OF_KNOWN)
            shut = known.shuts(first, last, leg=leg, longer_mm=longer_mm)
            own = [with_leg(each, leg, longer_mm) for each in machines]
            assert shut is all(InTheWay([each]).shuts(first, last) for each in own) and (shut or not few)
            told.append(shut)
    assert len(set(told)) == 2


def test_of_bodies_in_one_stroke_the_least_shut_what_all_do() -> None:
    """A machine with a wider ram beside one with a narrow one, and with another that holds neither."""
    told = []
    for seed in range(0, 24, one_in(4)):
        drawn = random.Random(seed)
        lengths = [drawn.uniform(30, 130) for _ in range(4)]
        chain = sharp_chain(lengths, [90, 45, drawn.choice((90, -45))], thickness_mm=1.5)
        stacks = [with_ram(drawn.choice((14.0, 60.0)), drawn.choice((140.0, 170.0))) for _ in range(3)]
        problem = bent(chain, stacks, check_self=False)
        together = InTheWay([problem]).shuts(0, 2)
        assert together is (solve(problem).feasible is False)
        told.append(together)
    assert len(set(told)) == 2


def with_ram(half_mm: float, from_mm: float) -> ToolStack:
    """The first tools with another ram."""
    stack = STACKS[0]
    outline = ((half_mm, from_mm), (half_mm, 640.0), (-half_mm, 640.0), (-half_mm, from_mm))
    bodies = tuple(Body("ram", outline, True) if each.name == "ram" else each for each in stack.bodies)
    return replace(stack, name=f"ram {half_mm} {from_mm}", bodies=bodies)


def test_what_is_asked_of_the_known_alone_shuts_no_more() -> None:
    """Shut with what is known to stand in the way only where it is with all; asked again, as it was answered."""
    told = set()
    for seed in range(3, 27, one_in(4)):
        problem, known = section(seed), InTheWay([section(seed)])
        few = known.shuts(0, 3, asked=OF_KNOWN)
        shut = known.shuts(0, 3)
        assert shut is (solve(problem).feasible is False) and (shut or not few)
        assert known.shuts(0, 3, asked=OF_KNOWN) is known.shuts(0, 3, asked=OF_ALL) is shut
        told.add(shut)
    assert len(told) == 2
