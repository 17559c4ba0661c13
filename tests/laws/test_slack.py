"""What no plan weighs less than on any blank, against plans on blanks of other tools."""

import itertools
import math
import random
from dataclasses import replace

import numpy as np
import pytest
from tests.brute.parts import drawn

from flangewise.jobs.blanks import (
    LONG_MM,
    _strip,
    _strips,
    blank_of,
    blanks_of,
    on_all_blanks,
    options_of,
)
from flangewise.jobs.order import _ordered
from flangewise.jobs.plan_part import blanked_on
from flangewise.jobs.problem import problem_of
from flangewise.jobs.tool_changes import Changes, least_change_s
from flangewise.part import machines_wanted, read_part
from flangewise.pattern import NoBlank
from flangewise.sequence import LeastWeight, weights_s
from flangewise.sequence.arrays import sets_without
from flangewise.sequence.feasibility import FeasibilityTable
from flangewise.sequence.least_weight import first_bend_up
from flangewise.sequence.step_prices import StepPrices
from flangewise.sequence.stroke_prices import FEW_STROKES
from flangewise.shop import load_shop

# Parts whose sizes lie near where a wing strikes, with a few tools each.
SEEDS = (82, 1001, 3059)
# Parts with a hem, whose two hits take tools of their own.
HEMMED = (48, 29, 179)
TRIES = 3


@pytest.mark.parametrize("each_held", [False, True])
@pytest.mark.parametrize("seed", SEEDS)
def test_no_blank_s_plan_weighs_less_than_the_bound_for_all(seed: int, each_held: bool) -> None:
    """With the tools of each blank alone the bound may be lower still, and says "none" only where there is none."""
    made = drawn(seed, load_shop(), most_bends=3)
    job = blanked_on(made.part, made.shop, machines_wanted(made.part, made.shop)[0])
    by_blank = blanks_of(job)
    assert all(by_blank)
    everything = LeastWeight(on_all_blanks(job, by_blank), each_held=each_held)
    bare, shut = everything.of(), everything.of(bodies=True)
    assert bare <= shut + 1e-6
    dice, compared = random.Random(seed), 0
    for _ in range(TRIES):
        chosen = [dice.randrange(len(each)) for each in by_blank]
        own = everything.of(options_of(by_blank, tuple((nth,) for nth in chosen)), bodies=True)
        try:
            one = _ordered(job, [each[nth] for each, nth in zip(by_blank, chosen, strict=True)], below_s=math.inf)
        except NoBlank:
            continue
        assert one.ordered is not None
        compared += 1
        assert shut <= own + 1e-6
        assert own <= one.ordered.solution.weight + 1e-6
    assert compared


@pytest.mark.parametrize("seed", (*SEEDS, *HEMMED))
def test_a_plan_weighs_no_less_than_the_bound_with_the_changes_that_it_must_make(seed: int) -> None:
    """Nor than without one; none that takes several pairs less than with one. Each choice at its own price."""
    made = drawn(seed, load_shop(), most_bends=3)
    job = blanked_on(made.part, made.shop, machines_wanted(made.part, made.shop)[0])
    by_blank = blanks_of(job)
    problem = on_all_blanks(job, by_blank)
    least, changes = LeastWeight(problem, each_held=True), Changes(job, by_blank, problem.costs)
    dice, compared, most = random.Random(seed), 0, 0
    for _ in range(3 * TRIES):
        # Few blanks of each bend leave few tools that bends could share.
        few = dice.choice((1, 2, 100))
        box = tuple(
            tuple(sorted(dice.sample(range(len(each)), dice.randint(1, min(few, len(each)))))) for each in by_blank
        )
        options = options_of(by_blank, box)
        change_s, (often, more_s) = changes.least_s(options), changes.counted(options)
        most = max(most, often + (more_s > 0))
        bounds_s = least.leasts(options, below_s=math.inf, changes=max(often, 1), change_s=change_s)
        assert change_s >= least_change_s(problem.costs)
        assert least.of(options) - 1e-6 <= bounds_s[0]
        for fewer_s, once_more_s in itertools.pairwise(bounds_s):
            assert fewer_s <= once_more_s - change_s + 1e-6 or math.isinf(once_more_s)
        chosen = [each[dice.choice(kept)] for each, kept in zip(by_blank, box, strict=True)]
        try:
            one = _ordered(job, chosen, below_s=math.inf)
        except NoBlank:
            continue
        assert one.ordered is not None
        compared += 1
        is_mixed = len({each.name for each in one.ordered.taken.values()}) > 1
        assert bounds_s[max(often, is_mixed)] + more_s <= one.weight + 1e-6
    assert compared and (most or seed not in HEMMED)


@pytest.mark.parametrize("off_mm", [-0.6, 0.0, 0.3])
def test_near_the_length_a_hand_needs_no_blank_s_plan_weighs_less_than_with_each_choice_held_by_itself(
    off_mm: float,
) -> None:
    """Where a hair of sheet decides whether a rule of holding is kept; and no less is bound than with the easiest."""
    shop = load_shop()
    made = drawn(SEEDS[0], shop, most_bends=3).part
    section = made.section
    bends = tuple(
        replace(section.bends[0], number=number, turn_deg=turn_deg, away=False)
        for number, turn_deg in ((1, 45.0), (2, 90.0))
    )
    legs_mm = (35.6 + off_mm, 36.1, 56.1)
    part = replace(made, thickness_mm=1.0, section=replace(section, length_mm=200.0, legs_mm=legs_mm, bends=bends))
    job = blanked_on(part, shop, "bench-310")
    by_blank = blanks_of(job)
    every, least_hold_mm = on_all_blanks(job, by_blank), job.handler.least_hold_mm
    assert abs(36.1 + 35.6 * math.cos(math.radians(45)) - least_hold_mm) < 3
    loose, tight = LeastWeight(every), LeastWeight(every, each_held=True)
    dice, compared = random.Random(round(10 * off_mm)), 0
    for _ in range(6):
        chosen = [dice.randrange(len(each)) for each in by_blank]
        box = options_of(by_blank, tuple((nth,) for nth in chosen))
        try:
            one = _ordered(job, [each[nth] for each, nth in zip(by_blank, chosen, strict=True)], below_s=math.inf)
        except NoBlank:
            continue
        compared += 1
        assert loose.of(box) <= tight.of(box) + 1e-6
        assert tight.of(box, bodies=True) <= one.weight + 1e-6
    assert compared > 3


@pytest.mark.parametrize("turns_deg", [(45.0, 90.0), (90.0, 90.0), (75.0, 90.0), (30.0, 60.0)])
@pytest.mark.parametrize("legs_mm", [(35.6, 36.1, 56.1), (20.3, 46.4, 37.7), (25.0, 38.0, 24.0)])
def test_on_no_blank_is_a_part_held_better_than_at_best(
    turns_deg: tuple[float, ...], legs_mm: tuple[float, ...]
) -> None:
    """Every pose of each bend, flat and formed, near the length a hand needs: by each choice, and by any of them."""
    shop = load_shop()
    made = drawn(SEEDS[0], shop, most_bends=3).part
    bend = made.section.bends[0]
    bends = tuple(
        replace(bend, number=number, turn_deg=turn_deg, away=number == 2)
        for number, turn_deg in enumerate(turns_deg, 1)
    )
    section = replace(made.section, length_mm=200.0, legs_mm=legs_mm, bends=bends)
    job = blanked_on(replace(made, thickness_mm=2.0, section=section), load_shop(), "bench-310")
    by_blank = blanks_of(job)
    every = first_bend_up(on_all_blanks(job, by_blank))
    bound, dice, compared, rule = StepPrices(every, {}), random.Random(round(sum(legs_mm))), 0, every.hold
    assert rule is not None and len(by_blank[0]) > 3
    starts = [list(itertools.accumulate(map(len, each), initial=0)) for each in by_blank]
    for _ in range(10):
        chosen = [dice.randrange(len(each)) for each in by_blank]
        alike = {bend: (each[nth][0],) for bend, each, nth in zip(job.offers, by_blank, chosen, strict=True)}
        pairs = dict(job.pairs) | {bend: each[0].pair for bend, each in alike.items()}
        try:
            own = StepPrices(
                first_bend_up(problem_of(replace(job, pairs=pairs, pattern=blank_of(job, pairs)), alike)), {}
            )
        except NoBlank:
            continue
        for index, nth in enumerate(chosen):
            sets = sets_without(index, len(chosen))
            for pose, mine in zip(bound.presentations(index), own.presentations(index), strict=True):
                assert pose.pose == mine.pose
                true_s = weights_s(rule, own._lying(mine, own.at(mine, sets), rule))
                one = pose.only((starts[index][nth],))
                told_s = weights_s(rule, bound._lying(one, bound.at(one, sets), rule))
                any_s = weights_s(rule, bound._lying(pose.easiest, bound.at(pose, sets), rule, of_any=True))
                assert (told_s <= true_s + 1e-9).all() and (any_s <= true_s + 1e-9).all()
                compared += len(sets)
    assert compared


@pytest.mark.parametrize("few", [0, FEW_STROKES])
@pytest.mark.parametrize("seed", SEEDS)
def test_tools_priced_together_cost_what_each_costs_alone(seed: int, few: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """For every set, with slack and without; all sets together, or one wing after the other, as one by one."""
    monkeypatch.setattr("flangewise.sequence.stroke_prices.FEW_STROKES", few)
    made = drawn(seed, load_shop(), most_bends=3)
    job = blanked_on(made.part, made.shop, machines_wanted(made.part, made.shop)[0])
    by_blank = blanks_of(job)
    every = on_all_blanks(job, by_blank)
    compared = 0
    for problem in (every, replace(every, slack=())):
        together, alone = FeasibilityTable(problem), StepPrices(problem, {})
        for index in range(len(problem.operations)):
            sets = sets_without(index, len(problem.operations))
            for pose in together.presentations(index):
                whole = together.made_s(pose, sets)
                for row, number in enumerate(pose.options):
                    one = pose.only((int(number),))
                    each = np.concatenate([alone.made_s(one, sets[at : at + 1]) for at in range(len(sets))], axis=1)
                    assert whole[row].tolist() == pytest.approx(each[0].tolist(), abs=1e-9)
                    compared += 1
    assert compared


@pytest.mark.parametrize("seed", SEEDS)
def test_the_best_of_all_tools_takes_no_more_than_any_of_them(seed: int) -> None:
    """For every set, with slack and without; without it is what the best of them takes alone."""
    made = drawn(seed, load_shop(), most_bends=3)
    job = blanked_on(made.part, made.shop, machines_wanted(made.part, made.shop)[0])
    every = on_all_blanks(job, blanks_of(job))
    compared = 0
    for problem in (every, replace(every, slack=())):
        together, alone = FeasibilityTable(problem), StepPrices(problem, {})
        for index in range(len(problem.operations)):
            sets = sets_without(index, len(problem.operations))
            for pose in together.presentations(index):
                least = together.least_made_s(pose)
                each = np.min([alone.made_s(pose.only((int(number),)), sets) for number in pose.options], axis=0)[0]
                assert (least <= each + 1e-9).all()
                assert problem.slack or least.tolist() == pytest.approx(each.tolist(), abs=1e-9)
                compared += len(sets)
    assert compared


@pytest.mark.parametrize("seed", SEEDS)
def test_a_bend_by_itself_is_on_its_own_as_a_whole_blank_with_long_legs_has_it(seed: int) -> None:
    made = drawn(seed, load_shop(), most_bends=3)
    job = blanked_on(made.part, made.shop, machines_wanted(made.part, made.shop)[0])
    by_blank, section = blanks_of(job), job.part.section
    long = replace(section, legs_mm=tuple(leg_mm + LONG_MM for leg_mm in section.legs_mm))
    compared = 0
    for strips, each, bend in zip(_strips(job, by_blank), by_blank, job.offers, strict=True):
        for strip, alike in zip(strips, each, strict=True):
            pattern = blank_of(replace(job, part=replace(job.part, section=long)), {**job.pairs, bend: alike[0].pair})
            assert strip == _strip(pattern, bend)
            compared += 1
    assert compared >= len(section.bends)


@pytest.mark.parametrize("legs_mm", ["52, 30, 52", "48.74, 60, 48.74, 30", "25, 48, 60, 30"])
def test_all_tools_shut_what_each_of_them_does(legs_mm: str) -> None:
    """Asked of all at once as of one after the other: on one blank exactly, on all what they surely meet."""
    count, shop = legs_mm.count(","), load_shop()
    section = f"section: {{length: 100, legs: [{legs_mm}], bends: [{', '.join(['90'] * count)}]}}"
    part = read_part(f"part: deep\nmaterial: DC01\nthickness: 1\n{section}\n", "deep.yaml", shop)
    job = blanked_on(part, shop, "mid-740")
    by_blank = blanks_of(job)
    own = problem_of(job, {bend: each[0] for bend, each in zip(job.offers, by_blank, strict=True)})
    answers = set()
    for problem in (own, on_all_blanks(job, by_blank)):
        table, alone = (FeasibilityTable(first_bend_up(problem)) for _ in range(2))
        for operation in range(count):
            sets = sets_without(operation, count)
            for each in table.presentations(operation):
                struck = [alone.strikes(each.candidate(row), sets) for row in range(len(each.options))]
                assert np.array_equal(table.shut(each, sets), np.all(struck, axis=0))
                assert np.array_equal(table._shut_with_each(each, table._wings_of(each, sets)), np.all(struck, axis=0))
                # With the first tools shut, with others not.
                answers |= set(np.any(struck, axis=0)[~np.all(struck, axis=0)].tolist())
    assert True in answers
