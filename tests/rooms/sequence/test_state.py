"""Gates."""

from __future__ import annotations

import numpy as np
import pytest

from flangewise.sequence import Costs
from flangewise.sequence.moves import END, START
from flangewise.sequence.state import Gates, Verdict, Way

ALL = np.arange(4)


def test_every_bend_has_two_ways_its_face_up(toy):
    gates = Gates(toy([60, 70, 60], [90, -90]))
    assert gates.ways[0] == (Way(0, 0, True, START), Way(0, 0, True, END))
    assert gates.ways[1] == (Way(1, 0, False, START), Way(1, 0, False, END))


def test_clear_agrees_with_the_slow_simulator(toy, slow):
    problem = toy([20, 30, 50, 30, 20], [-90, 90, 90, -90])
    gates, simulator = Gates(problem), slow(problem, angles=25)
    for index in range(4):
        sets = np.array([done for done in range(16) if not done >> index & 1])
        looked_at = list(gates.ways[index])
        assert looked_at
        for way in looked_at:
            expected = [simulator.possible(index, int(done), way.behind == START) for done in sets]
            assert gates.clear(way, sets).tolist() == expected


def test_prices_are_those_of_hit_and_stroke_for_the_opening_it_needs(toy, timed):
    gates = Gates(timed(toy([40, 70, 60], [90, 90], costs=Costs(hit=2.0, share=1.1))))
    edge, flange = gates.prices(Way(1, 0, True, START), np.array([0, 1])).T
    # A plain wing behind at 45 degrees slips out as soon as it is off the block, 20 to the front of the centre: it
    # needs 20, 1.5 sqrt 2 of sloping sheet: 22.1, keyed in as 23. Gap 21.5: 15.5 fast, 6 slow; back 29.5.
    plain = 15.5 / 150 + 0.1 + 6 / 10 + 8 / 10 + 0.2 + 29.5 / 150 + 0.1
    # A leg of 40 at 70 behind, risen by 45 degrees: 110 / sqrt 2 = 77.8, the corner's share 0.2 and the sheet 1.5: 80.
    risen = (78.5 - 6) / 150 + 0.1 + 6 / 10 + 8 / 10 + 0.2 + 86.5 / 150 + 0.1
    assert edge == pytest.approx([2.0 + 1.1 * plain, 2.0 + 1.1 * risen])
    assert np.isinf(flange).all()


def test_reach_is_the_farthest_point_from_the_bend_before_it_is_made(toy):
    gates = Gates(toy([40, 70, 60], [90, 90]))
    # Flat: 110 of sheet behind. Bent before: the tip stands 40 up at 70 behind; the leg in front is 60 either way.
    assert gates.reaches_mm(Way(1, 0, True, START), np.array([0, 1])) == pytest.approx([110, np.hypot(70, 40)])


def test_verdicts_add_their_price_where_they_apply(toy):
    gates = Gates(toy([60, 70, 60], [20, 20]))
    way, other = gates.ways[1]
    sets = np.array([0, 1])
    gates.remember(Verdict(1, mask=1, value=1, behind=way.behind, price=7.0))
    assert gates.prices(way, sets)[:, 0] == pytest.approx([1.0, 8.0])
    assert gates.prices(other, sets)[:, 0] == pytest.approx([1.0, 1.0])
    gates.remember(Verdict(1, mask=0, value=0))
    assert np.isinf(gates.prices(other, sets)).all() and not Verdict(0, 0, 0).covers(way)


def test_the_same_question_for_other_sets_is_asked_anew(toy):
    gates = Gates(toy([30, 20.5, 30], [90, -90]))
    way = gates.ways[0][0]
    assert gates.clear(way, np.array([0])).tolist() == [True]
    assert gates.clear(way, np.array([2])).tolist() == [False]
    assert gates.clear(way, np.array([0, 2])).tolist() == [True, False]
