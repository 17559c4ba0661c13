"""Bends in a row that no pairs make, whatever blank these form: against the search on single blanks."""

from __future__ import annotations

import math
import random

from flangewise.jobs.blanks import blanks_of
from flangewise.jobs.job import Job
from flangewise.jobs.order import _ordered, find_order
from flangewise.jobs.plan_part import blanked_on
from flangewise.jobs.shut import ShutBends, is_shut_on_all, shut_run

from .made import built_in, steel

MACHINE = "long-1450"


def laid_out(legs: list[float], bends: list[float], thickness: float, *, every_die: bool = False) -> Job:
    return blanked_on(steel(legs, bends, thickness), built_in(), MACHINE, every_die=every_die)


def test_bends_shut_on_all_blanks_are_shut_on_each_and_shut_the_part() -> None:
    """A hook of three bends at the end of a section, with every die; single blanks are drawn."""
    job, drawn = laid_out([60, 96, 43, 36, 48, 105], [30, -30, 60, 90, 90], 1.5, every_die=True), random.Random(4)
    by_blank = blanks_of(job)
    run = shut_run(job, by_blank)
    assert run is not None and run[0] >= 2 and is_shut_on_all(job, by_blank, run)
    for _ in range(4):
        alike = [drawn.choice(each) for each in by_blank]
        assert _ordered(job, alike, below_s=math.inf).solution.feasible is False
    assert ShutBends({MACHINE: job}).is_all and ShutBends({MACHINE: job}).whatever_long(1)
    assert find_order(laid_out([60, 96, 43, 36, 48, 105], [30, -30, 60, 90, 90], 1.5)).solution.feasible is False


def test_bends_that_another_pair_makes_are_not_shut() -> None:
    """The channel 52 | 30 | 52 of 2 mm: shut on the blank of the first die, made with another."""
    job = laid_out([52, 30, 52], [90, 90], 2)
    by_blank = blanks_of(job)
    run = shut_run(job, by_blank)
    assert run == (0, 1) and not is_shut_on_all(job, by_blank, run)
    assert find_order(job).solution.feasible is True
