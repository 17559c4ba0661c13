"""What may be done from a set of done operations."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from flangewise.sequence import Costs, HoldRule
from flangewise.sequence.arrays import alike_in, sets_without
from flangewise.sequence.candidates import Candidate, Exclusion, lot_of
from flangewise.sequence.feasibility import FeasibilityTable
from flangewise.sequence.moves import END, START

ALL = np.arange(4)


def test_every_bend_has_two_ways_its_face_up(toy):
    feasibility = FeasibilityTable(toy([60, 70, 60], [90, -90]))
    assert feasibility.candidates[0] == (Candidate(0, 0, True, START), Candidate(0, 0, True, END))
    assert feasibility.candidates[1] == (Candidate(1, 0, False, START), Candidate(1, 0, False, END))


def test_clear_agrees_with_the_slow_simulator(toy, slow):
    problem = toy([20, 30, 50, 30, 20], [-90, 90, 90, -90])
    feasibility, simulator = FeasibilityTable(problem), slow(problem, angles=25)
    for index in range(4):
        sets = np.array([done for done in range(16) if not done >> index & 1])
        looked_at = list(feasibility.candidates[index])
        assert looked_at
        for way in looked_at:
            expected = [simulator.possible(index, int(done), way.behind == START) for done in sets]
            assert (~feasibility.strikes(way, sets)).tolist() == expected


def test_prices_are_those_of_hit_and_stroke_for_the_opening_it_needs(toy, timed):
    feasibility = FeasibilityTable(timed(toy([40, 70, 60], [90, 90], costs=Costs(hit=2.0, share=1.1))))
    edge, flange = feasibility.prices(Candidate(1, 0, True, START), np.array([0, 1])).T
    # A plain wing behind at 45 degrees slips out as soon as it is off the block, 20 to the front of the centre: it
    # needs 20, 1.5 sqrt 2 of sloping sheet: 22.1, keyed in as 23. Gap 21.5: 15.5 fast, 6 slow; back 29.5.
    plain = 15.5 / 150 + 0.1 + 6 / 10 + 8 / 10 + 0.2 + 29.5 / 150 + 0.1
    # A leg of 40 at 70 behind, risen by 45 degrees: 110 / sqrt 2 = 77.8, the corner's share 0.2 and the sheet 1.5: 80.
    risen = (78.5 - 6) / 150 + 0.1 + 6 / 10 + 8 / 10 + 0.2 + 86.5 / 150 + 0.1
    assert edge == pytest.approx([2.0 + 1.1 * plain, 2.0 + 1.1 * risen])
    assert np.isinf(flange).all()


def test_reach_is_the_farthest_point_from_the_bend_before_it_is_made(toy):
    feasibility = FeasibilityTable(toy([40, 70, 60], [90, 90]))
    # Flat: 110 of sheet behind. Bent before: the tip stands 40 up at 70 behind; the leg in front is 60 either way.
    way = Candidate(1, 0, True, START)
    assert [feasibility.reach_mm(way, done) for done in (0, 1)] == pytest.approx([110, np.hypot(70, 40)])


def test_verdicts_add_their_price_where_they_apply(toy):
    feasibility = FeasibilityTable(toy([60, 70, 60], [20, 20]))
    way, other = feasibility.candidates[1]
    sets = np.array([0, 1])
    feasibility.remember([Exclusion(1, mask=1, value=1, behind=way.behind, price=7.0)])
    assert feasibility.prices(way, sets)[:, 0] == pytest.approx([1.0, 8.0])
    assert feasibility.prices(other, sets)[:, 0] == pytest.approx([1.0, 1.0])
    feasibility.remember([Exclusion(1, mask=0, value=0)])
    assert np.isinf(feasibility.prices(other, sets)).all() and not Exclusion(0, 0, 0).covers(way)


def test_the_same_question_for_other_sets_is_asked_anew(toy):
    feasibility = FeasibilityTable(toy([30, 20.5, 30], [90, -90]))
    way = feasibility.candidates[0][0]
    assert feasibility.strikes(way, np.array([0])).tolist() == [False]
    assert feasibility.strikes(way, np.array([2])).tolist() == [True]
    assert feasibility.strikes(way, np.array([0, 2])).tolist() == [False, True]


def test_what_is_known_twice_not_to_leave_level_is_slid_off_once(toy):
    """Said of one set and of all that agree on a bend: what sliding takes more, once, and where a pull takes less."""
    problem = toy([40, 60, 40], [90, 90], costs=Costs(side_exit=5.0), side_exit_allowed=True)
    sets, way = np.array([0, 1]), Candidate(1, 0, True, START)
    plain = FeasibilityTable(problem).prices(way, sets)[:, 0]
    one, both = FeasibilityTable(problem), FeasibilityTable(problem)
    one.remember([Exclusion(1, mask=1, value=1, behind=START, is_caught=True)])
    both.remember([Exclusion(1, mask=mask, value=1, option=0, is_caught=True) for mask in (1, 1)])
    np.testing.assert_allclose(one.prices(way, sets)[:, 0], plain + np.array([0.0, 5.0]))
    np.testing.assert_allclose(both.prices(way, sets), one.prices(way, sets))


@pytest.mark.parametrize("most_whole", [0, 12])
def test_the_least_of_many_tools_is_that_of_the_kinds_among_them(toy, timed, stack, monkeypatch, most_whole):
    """Strokes and holding of tools that differ in them, and of others that do not, set by set."""
    monkeypatch.setattr("flangewise.sequence.feasibility.MOST_WHOLE", most_whole)
    rule = HoldRule(kg_per_mm=0.01, least_mm=50.0, most_behind_nm=0.05, behind_wish_s=3.0, small_wish_s=2.0)
    problem = timed(toy([30, 45, 60, 45, 60, 30, 30], [90, -90, 60, -45, 90, 90], stack=stack(), hold=rule))
    widths_mm = (20.0, 12.0, 20.0, 34.0, 12.0)
    operations = []
    for operation in problem.operations:
        (option,) = operation.options
        many = [
            replace(
                option,
                cost=float(cost),
                hits=(replace(option.hits[0], stack=stack(die_half=half, die_height=60.0 + cost)),),
            )
            for cost, half in enumerate(widths_mm)
        ]
        operations.append(replace(operation, options=tuple(many)))
    table = FeasibilityTable(replace(problem, operations=tuple(operations)))
    ways, sets = table.presentations(2), sets_without(2, 6)
    assert len(ways) == 2
    for made in ways:
        lot = lot_of(made, sets)
        handled = table.handled(made, sets)
        every = made.own_s.min() + table.made_s(made, sets).min(axis=0)
        assert len(made.apart.options) == 3 and len(np.unique(every)) > 1
        np.testing.assert_allclose(table.least_steps(lot, handled), handled + every[:, None])


def test_columns_of_many_kinds_are_told_apart():
    """As many columns as there are may be more than a number for each kind of them has room for."""
    dice = np.random.default_rng(3)
    columns = [np.repeat([1, 0], 40)] + [dice.integers(0, 2, 5)[np.arange(80) % 5] for _ in range(90)]
    first, kind = alike_in(*columns)
    rows = np.array(columns).T
    assert len({row.tobytes() for row in rows}) == len(first)
    assert (rows[first][kind] == rows).all()
