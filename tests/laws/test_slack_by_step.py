"""What a step takes at least on many blanks, against what it takes on each of them: legs near what a stop needs."""

import itertools
import math
import random
from dataclasses import replace

import numpy as np
import pytest

from flangewise.jobs.blanks import blank_of, blanks_of, on_all_blanks
from flangewise.jobs.machines import worked_out
from flangewise.jobs.plan_part import blanked_on
from flangewise.jobs.problem import problem_of
from flangewise.part import Part, machines_wanted, read_part
from flangewise.pattern import NoBlank
from flangewise.sequence.arrays import sets_without
from flangewise.sequence.candidates import lot_of
from flangewise.sequence.feasibility import FeasibilityTable
from flangewise.sequence.least_weight import first_bend_up
from flangewise.shop import load_shop

SHOP = load_shop()
SHEETS = (("DC01", 1.0), ("DC01", 2.0), ("S235JR", 1.5), ("S235JR", 3.0), ("DX51D", 2.0), ("1.4301", 1.0))
TURNS_DEG = (90, 90, 90, 90, 30, 45, 60, 69.5, 70.5, 85, 100, 110, 120, 135)
# Where a corner of a formed face, or how much of it is flat, was once taken to be as on the first blank.
FOUND = (155, 464)


def drawn(seed: int) -> tuple[Part, random.Random]:
    dice = random.Random(seed)
    (material, thickness), bends = dice.choice(SHEETS), dice.randint(2, 4)
    legs = [
        round(5 + thickness + dice.uniform(0.5, 6) if dice.random() < 0.5 else dice.uniform(12, 110), 2)
        for _ in range(bends + 1)
    ]
    turns = [
        f"{{turn: {dice.choice(TURNS_DEG)}, away: {'true' if dice.random() < 0.45 else 'false'}}}" for _ in range(bends)
    ]
    text = (
        f"part: made-up\nmaterial: {material}\nthickness: {thickness}\nsection:\n"
        f"  length: {dice.choice((60, 100, 200, 300))}\n  legs: {legs}\n  bends: [{', '.join(turns)}]\n"
    )
    return read_part(text, "made-up.yaml", SHOP), dice


@pytest.mark.parametrize("seed", (*FOUND, *range(24)))
def test_no_step_is_dearer_on_all_blanks_together_than_on_one_of_them(seed: int) -> None:
    """Handling, strokes, holding and what strikes, of each choice of tools by itself and of the cheapest of them."""
    part, dice = drawn(seed)
    job = blanked_on(part, SHOP, dice.choice(machines_wanted(part, SHOP)), every_die=dice.random() < 0.3)
    by_blank = blanks_of(job)
    if job.pattern is None or not all(by_blank):
        pytest.skip("no blank")
    few = [tuple(dice.sample(each, min(len(each), dice.choice((2, 4, 12, 40))))) for each in by_blank]
    starts = [list(itertools.accumulate(map(len, each), initial=0)) for each in few]

    def table(chosen: list[int]) -> FeasibilityTable:
        some = [each[nth] for each, nth in zip(few, chosen, strict=True)]
        pairs = dict(job.pairs) | {bend: alike[0].pair for bend, alike in zip(job.offers, some, strict=True)}
        own = replace(job, pairs=pairs, pattern=blank_of(job, pairs))
        return FeasibilityTable(first_bend_up(problem_of(own, dict(zip(job.offers, some, strict=True)))))

    try:
        first = table([0] * len(few)).problem.chain
        pairs = dict(job.pairs) | {bend: each[0][0].pair for bend, each in zip(job.offers, few, strict=True)}
        every = first_bend_up(on_all_blanks(replace(job, pairs=pairs, pattern=blank_of(job, pairs)), few))
    except NoBlank:
        pytest.skip("no blank")
    assert every.chain == first
    wide = FeasibilityTable(every, each_held=True)
    compared = 0
    for _ in range(3):
        chosen = [dice.randrange(len(each)) for each in few]
        try:
            own = table(chosen)
        except NoBlank:
            continue
        for index, sets in ((index, sets_without(index, len(few))) for index in range(len(few))):
            poses = {made.pose: made for made in wide.presentations(index)}
            for made in own.presentations(index):
                on_all = poses[made.pose]
                handled_s, own_s = wide.handled(on_all, sets), own.handled(made, sets)
                unstruck_s = own.unstruck(lot_of(made, sets), own_s)
                rows = np.flatnonzero(np.isin(on_all.options, made.options + starts[index][chosen[index]]))
                assert np.all(handled_s <= own_s + 1e-6)
                assert np.all(wide.unstruck(lot_of(on_all, sets), handled_s)[rows] <= unstruck_s + 1e-6)
                assert np.all(wide.least_steps(lot_of(on_all, sets), handled_s) <= unstruck_s.min(axis=0) + 1e-6)
                for row, at in enumerate(rows.tolist()):
                    struck = wide.strikes(on_all.candidate(at), sets)
                    assert not np.any(struck & ~own.strikes(made.candidate(row), sets))
                    compared += len(sets)
    assert compared


def test_a_short_flange_between_stops_is_told_its_least() -> None:
    """On the first blank the flange of 8 is too low for the stops, on those of other tools it is not."""
    text = (
        "part: shelf\nmaterial: DC01\nthickness: 2\nsection:\n"
        "  length: 100\n  legs: [8, 200, 1000]\n  bends: [90, 90]\n"
    )
    free = worked_out(read_part(text, "shelf.yaml", SHOP), SHOP)
    assert free.solution.proven_least
    for tools in (("narrow-86", "vee-8-86", "straight-80-nose-3", "vee-25-80"), ("narrow-86", "vee-8-86") * 2):
        bends = ", ".join(f"{{turn: 90, punch: {punch}, die: {die}}}" for punch, die in (tools[:2], tools[2:]))
        pinned = worked_out(read_part(text.replace("90, 90", bends), "shelf.yaml", SHOP), SHOP)
        assert pinned.feasible and math.isfinite(pinned.weight)
        assert free.weight <= pinned.weight + 1e-6
