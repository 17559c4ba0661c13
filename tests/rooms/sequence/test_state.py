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
        for way in gates.ways[index]:
            expected = [simulator.possible(index, int(done), way.behind == START) for done in sets]
            assert gates.clear(way, sets).tolist() == expected


def test_prices_are_those_of_hit_option_and_opening(toy):
    gates = Gates(toy([40, 70, 60], [90, 90], costs=Costs(hit=2.0, opening_per_mm=0.1)))
    far = Way(1, 0, True, START)
    edge, flange = gates.prices(far, np.array([0, 1])).T
    # nothing stands behind: the sheet only; a leg of 40 at 70 behind, risen by 45 degrees: 110 / sqrt 2
    assert edge == pytest.approx([2.0 + 0.15, 2.0 + 0.1 * (110 / np.sqrt(2) + 1.5)])
    assert np.isinf(flange).all()


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
