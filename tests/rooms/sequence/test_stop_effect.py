"""Which leg comes out with a stop, and which way, worked out by hand on the blank."""

import math

import pytest

from flangewise.sequence import Gauged, legs_measured, stop_effects

START, END = Gauged("start"), Gauged("end")


def told(gauged, order):
    """(leg, complete with, rates) of every bend, counted from 0."""
    return [(each.leg, each.complete_with, each.legs_per_mm) for each in stop_effects(gauged, order)]


def test_an_angle_comes_out_on_the_side_of_the_stop():
    assert told((START,), (0,)) == [(0, 0, (1.0, -1.0))]
    assert told((END,), (0,)) == [(1, 0, (-1.0, 1.0))]


def test_a_leg_in_front_of_the_bend_gets_shorter_with_x():
    # Bend 2 first, from the start edge over the flat where bend 1 will be: leg 3 in front is complete, and loses.
    assert told((START, START), (1, 0)) == [(0, 0, (1.0, -1.0, 0.0)), (2, 1, (0.0, 1.0, -1.0))]
    assert told((END, END), (0, 1)) == [(0, 0, (-1.0, 1.0, 0.0)), (2, 1, (0.0, -1.0, 1.0))]


def test_a_bend_gauged_on_a_flange_moves_along_with_it():
    # X of bend 1 moves line 1 and, kept off its flange, line 2: leg 2 stays, leg 3 pays.
    assert told((START, Gauged("flange", 0)), (0, 1)) == [(0, 0, (1.0, 0.0, -1.0)), (1, 1, (0.0, 1.0, -1.0))]


def test_a_bend_in_the_middle_bent_first_has_a_leg_that_is_complete_later():
    # Both legs beside bend 2 wait for their other ends; bends 1 and 3 from their own edges.
    middle = told((START, START, END), (1, 0, 2))[1]
    assert middle == (1, 0, (0.0, 1.0, -1.0, 0.0))
    # Bends 1 and 3 gauged on the flange of bend 2 keep legs 2 and 3 whatever X 2 was: leg 1 follows it.
    on_flange = (Gauged("flange", 1), START, Gauged("flange", 1))
    assert [each[0] for each in told(on_flange, (1, 0, 2))] == [1, 0, 2]
    assert told(on_flange, (1, 0, 2))[1] == (0, 0, (1.0, 0.0, 0.0, -1.0))


def test_past_a_step_x_measures_the_level_legs_only():
    # Bends 1 and 2 stand as a step, the upright leg 2 between: X of bend 3 is leg 3 and leg 1, as far as lines go.
    past = Gauged("start", past_share=((1, 0.0), (0, 1.0)))
    gauged = (START, Gauged("flange", 0), past)
    assert legs_measured(gauged, 2) == {2: 1.0, 1: 0.0, 0: 1.0}
    # X 1 one more: leg 1 one more, leg 2 kept by the flange, so leg 3 is one less for the same X 3; leg 4 is untouched.
    assert told(gauged, (0, 1, 2))[0] == (0, 0, (1.0, 0.0, -1.0, 0.0))
    assert told(gauged, (0, 1, 2))[2] == (2, 2, (0.0, 0.0, 1.0, -1.0))


def test_past_a_slope_only_the_share_along_x_counts():
    # Bend 1 stands at 60 degrees: one more on leg 1 reaches half of one further, so leg 2 gets half of one less.
    gauged = (START, Gauged("start", past_share=((0, math.cos(math.radians(60))),)))
    assert told(gauged, (0, 1))[0] == (0, 0, (1.0, -0.5, -0.5))


def test_no_two_stops_are_told_the_same_leg_where_another_will_do():
    # Bend 2 first, then 3 and 1 on its flange: legs 3 and 2 are theirs.
    effects = stop_effects((Gauged("flange", 1), START, Gauged("flange", 1)), (1, 2, 0))
    assert sorted(each.leg for each in effects) == [0, 1, 2]


def test_a_leg_that_hardly_follows_is_not_the_one_to_correct():
    # Bend 2 stands first, at a slope, and bends 1 and 3 are gauged past it: legs 1 and 4 follow X 2 by a tenth only.
    slope = ((1, 0.9),)
    effects = stop_effects((Gauged("end", past_share=slope), START, Gauged("start", past_share=slope)), (1, 0, 2))
    assert effects[1].legs_per_mm == pytest.approx((0.1, 0.9, -0.9, -0.1))
    assert [each.leg for each in effects] == [1, 1, 2]


def test_going_round_in_a_circle_is_refused():
    with pytest.raises(ValueError, match="on itself"):
        stop_effects((Gauged("flange", 1), Gauged("flange", 0)), (0, 1))
