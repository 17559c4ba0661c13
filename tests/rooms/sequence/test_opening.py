"""Openings of steps."""

from __future__ import annotations

import itertools
from dataclasses import replace

import pytest

from flangewise.sequence import Asked, solve
from flangewise.sequence.candidates import Candidate
from flangewise.sequence.moves import END, START
from flangewise.sequence.opening import caught_by, nose_mm, opening_at
from flangewise.sequence.placing import FLAT, FULL
from flangewise.sequence.regions import Shapes


@pytest.mark.parametrize(
    ("lengths", "way", "lift", "piece"),
    [
        ([40, 100, 40], Candidate(1, 0, True, END), 30, None),
        ([40, 100, 40], Candidate(1, 0, True, START), 85, 0),
        ([15, 40, 100, 40, 15], Candidate(2, 0, True, END), 45, 8),
        ([15, 40, 100, 40, 15], Candidate(2, 0, True, START), 85, 2),
    ],
)
def test_opening_of_the_last_bend(toy, lengths, way, lift, piece):
    problem = toy(lengths, [90] * (len(lengths) - 1))
    others = (1 << len(problem.operations)) - 1 & ~(1 << way.operation)
    opening = opening_at(problem, way, others, shapes=Shapes(problem))
    assert opening.lift_mm == pytest.approx(lift, abs=5.0) and opening.lift_mm >= lift - 1e-9
    assert opening.open_height_mm == pytest.approx(opening.lift_mm - 3.8787, abs=1e-3)
    assert opening.reason == ("this-bend" if piece is None else "stands-behind")


def test_what_decides_is_named(toy):
    problem = toy([30, 40, 60], [-90, 90])
    hanging = opening_at(problem, Candidate(1, 0, True, START), 1, shapes=Shapes(problem))
    assert hanging.reason == "hangs-below" and hanging.piece == 0


def test_no_way_out_within_the_limit(toy, stack):

    short = toy([40, 100, 40], [90, 90], stack=replace(stack(), open_limit_mm=60.0))
    shapes = Shapes(short)
    opening = opening_at(short, Candidate(1, 0, True, START), 1, shapes=shapes)
    assert opening.lift_mm is None and opening.side_exit and opening.reason == "side-exit"
    assert opening_at(short, Candidate(1, 0, True, END), 1, shapes=shapes).lift_mm is not None


def test_nose_heights(toy):
    problem = toy([40, 60], [90])
    way = Candidate(0, 0, True, START)
    assert nose_mm(problem, way, hit=0, share=FLAT) == pytest.approx(1.5)
    assert nose_mm(problem, way, hit=0, share=FULL) == pytest.approx(-3.8787, abs=1e-4)


def test_what_hangs_in_front_of_the_die_decides_nothing(toy):
    """A Z of 30 | 60 | 30, its second bend with the first leg hanging down: in front, or behind the die block."""
    reasons = {}
    for asked in ("start", "end"):
        wish = (Asked(), Asked(datum=asked))
        problem = toy([30, 60, 30], [90, -90], order=(0, 1), asked=wish, check_exits=True)
        step = solve(problem).steps[1]
        behind = min(up for across, up in step.before.outline_mm if across < 0)
        reasons[step.behind] = (behind < -10, step.opening_reason)
    assert reasons == {"start": (True, "hangs-below"), "end": (False, "this-bend")}


def test_what_catches_a_part_catches_every_part_that_has_it(toy, stack):
    """A section with outward lips between tools that open little, in every state, with whatever likely lift."""
    problem = toy([25, 30, 45, 60, 45, 30], [-90, 90, 90, 90, -45], stack=replace(stack(), open_limit_mm=70.0))
    shapes, count = Shapes(problem), len(problem.operations)
    few = others = 0
    for operation, behind in itertools.product(range(1, count), (START, END)):
        way = Candidate(operation, 0, problem.chain.turns_deg[operation] > 0, behind)
        states = [done for done in range(1 << count) if not done >> operation & 1]
        for done in states:
            if opening_at(problem, way, done, shapes=shapes).lift_mm is not None:
                continue
            mask = caught_by(problem, way, done, shapes=shapes, likely_mm=30.0)
            if mask is None:
                continue
            few += 1
            for other in (each for each in states if each & mask == done & mask):
                others += other != done
                for likely_mm in (5.0, 35.0, 65.0):
                    opening = opening_at(problem, way, other, shapes=Shapes(problem), likely_mm=likely_mm)
                    assert opening.lift_mm is None
            break
    assert few and others > few
