"""Seconds of strokes: kinematics by hand, the worked strokes of the trade, openings and ram speeds in whole steps."""

from __future__ import annotations

import math

import numpy as np
import pytest

from flangewise.sequence import HitTime, Swing
from flangewise.sequence.seconds import run_s, strokes_of, travel_s
from flangewise.shop import Machine

FAR = np.inf


def hit(ram: Machine, **more: object) -> HitTime:
    """A hit of 8 mm from the sheet's top down, nothing kept in hand, no sheet to be counted."""
    return HitTime(ram, **({"sheet_mm": 0.0, "travel_mm": 8.0, "margin_mm": 0.0} | more))


@pytest.mark.parametrize(("opening_mm", "seconds"), [(40, 2.35), (60, 2.61), (100, 3.15), (150, 3.81)])
def test_the_worked_strokes_of_the_trade(ram, opening_mm, seconds):
    """h_c 6, v_f 150, v_s 10, y_b 8, v_b 10, t_d 0.2, v_r 150, a 1500; the table is rounded to a hundredth."""
    assert hit(ram).stroke_s(opening_mm, 0.0, FAR) == pytest.approx(seconds, abs=0.015)


def test_forty_open_phase_by_phase(ram):
    """34 fast: 34/150 + 150/1500. 6 slow at 10, 8 bending at 10, 0.2 of dwell. 48 back: 48/150 + 0.1."""
    expected = (0.22667 + 0.1) + 0.6 + (0.8 + 0.2) + (0.32 + 0.1)
    assert hit(ram).stroke_s(40.0, 0.0, FAR) == pytest.approx(expected, abs=1e-4)


def test_a_run_too_short_for_its_speed_is_all_acceleration():
    """150 mm/s is reached and left again in 150^2/1500 = 15 mm; there both forms say 0.2 s."""
    candidates = np.array([-1.0, 0.0, 10.0, 15.0, 30.0])
    expected = [0, 0, 2 * math.sqrt(10 / 1500), 0.2, 0.3]
    assert run_s(candidates, 150, 1500).tolist() == pytest.approx(expected)
    assert travel_s(15.0, 150, 1500) == pytest.approx(0.2)


def test_less_open_than_the_change_over_is_slow_all_the_way(ram):
    """4 open: 4 at 10 mm/s, no travel, dwell, and 4 back, never at full speed."""
    made = hit(ram, travel_mm=0.0).stroke_s(4.0, 0.0, FAR)
    assert made == pytest.approx(0.4 + 0.2 + 2 * math.sqrt(4 / 1500))


def test_between_plates_it_is_slow_from_the_top(ram):
    assert hit(ram, slow_all_way=True).stroke_s(40.0, 0.0, FAR) == pytest.approx(4.0 + 1.0 + 48 / 150 + 0.1)


def test_the_sheet_is_not_run_through_fast(ram):
    """An opening of 42 over a sheet of 2 is a gap of 40."""
    assert hit(ram, sheet_mm=2.0).stroke_s(42.0, 0.0, FAR) == pytest.approx(hit(ram).stroke_s(40.0, 0.0, FAR))


@pytest.mark.parametrize(
    ("needs_mm", "opens_mm"),
    [(20.0, 45.0), (20.1, 50.0), (20.0 + 1e-9, 45.0), (24.9, 50.0), (79.0, 105.0), (85.0, 107.5), (400.0, 107.5)],
)
def test_openings_are_rounded_up_to_steps_and_end_with_the_machine(ram, needs_mm, opens_mm):
    """Steps of 5, 25 in hand, 107.5 the most: where a step more does not fit the machine opens all it can."""
    time = hit(ram.model_copy(update={"opening_step_mm": 5.0}), margin_mm=25.0, most_opening_mm=107.5)
    assert time.open_heights_mm(np.array([needs_mm]), np.array([FAR]))[0] == pytest.approx(opens_mm)


def test_a_gripper_s_body_counts_where_it_goes_in_under_the_punch(ram):
    time = hit(ram, margin_mm=10.0, gripper_mm=25.0, gripper_reach_mm=40.0)
    opens = time.open_heights_mm(np.full(3, 20.0), np.array([39.9, 40.0, 80.0]))
    assert opens.tolist() == [55, 30, 30]


def test_no_more_than_the_machine_opens_costs_no_more(ram):
    limited = hit(ram, most_opening_mm=60.0)
    assert limited.stroke_s(150.0, 0.0, FAR) == limited.stroke_s(60.0, 0.0, FAR) == pytest.approx(2.61, abs=0.015)


# --- the speed of the tip

# A sharp bend over V 12 goes at least at 2/V = 1/6 rad of half turn a mm, at 45 degrees half of it.
SWING = Swing(1 / 12, 1 / 6, 250.0)


def test_a_reach_that_keeps_the_limit_leaves_the_machine_s_speed(ram):
    """At 10 mm/s a tip 156 out comes up at 10 (156/6 - 1) = 250."""
    time = hit(ram, swing=SWING)
    assert time.ram_speeds_mm_per_s(np.array([20.0, 156.0])).tolist() == [10, 10]


def test_a_longer_one_slows_the_ram_down_to_whole_steps(ram):
    """300 out: 250 / (300/6 - 1) = 5.10, in tenths 5.1; 301 out: 5.085, so 5.0."""
    speeds = hit(ram, swing=SWING).ram_speeds_mm_per_s(np.array([300.0, 301.0]))
    assert speeds.tolist() == pytest.approx([5.1, 5.0])


def test_on_the_die_side_of_the_bend_the_slow_end_of_the_swing_is_the_faster(ram):
    """Where the least half turn a mm is 0, the tip goes down with the ram: a factor of 1."""
    assert Swing(0.0, 1 / 60, 250.0).factors(np.array([30.0])).tolist() == [1.0]


def test_the_speed_keyed_in_never_takes_the_tip_over_its_limit(ram):
    """Over many reaches: whole steps of the machine, the limit kept, and one step more would break it."""
    reaches = np.linspace(1.0, 1400.0, 4001)
    factors = np.maximum(np.abs(reaches / 12 - 1), np.abs(reaches / 6 - 1))
    for step in (0.05, 0.1, 0.5):
        time = hit(ram.model_copy(update={"speed_step_mm_per_s": step}), swing=SWING)
        speeds = time.ram_speeds_mm_per_s(reaches)
        assert (speeds * factors <= 250.0 * (1 + 1e-6)).all()
        slowed = speeds < 10.0
        assert slowed.any() and not slowed.all()
        steps = speeds[slowed] / step
        assert np.abs(steps - np.round(steps)).max() < 1e-6
        assert ((speeds[slowed] + step) * factors[slowed] > 250.0).all()


def test_a_slowed_ram_takes_longer_by_the_bend_alone(ram):
    """8 mm at 5.1 instead of 10 mm/s."""
    near, far = (hit(ram, swing=SWING).stroke_s(40.0, reach, FAR) for reach in (20.0, 300.0))
    assert far - near == pytest.approx(8 / 5.1 - 0.8)


# --- many hits


def test_many_strokes_reckoned_together_are_each_their_own(ram):
    """One pair is quicker for little reach, the other, deeper one, for much; a third flattens after it has bent."""
    deep, swinging = hit(ram, travel_mm=10.0), hit(ram, swing=SWING)
    flat = hit(ram, travel_mm=2.0, slow_all_way=True, most_opening_mm=30.0)
    reaches, far = np.array([20.0, 600.0]), np.full(2, FAR)
    strokes = strokes_of([[deep], [swinging], [swinging, flat], [None]])
    found = strokes.opened_s(np.full(2, 40.0), far) + strokes.bent_s(reaches)
    for column, reach in enumerate(reaches):
        alone = [each.stroke_s(40.0, reach, FAR) for each in (deep, swinging, flat)]
        assert found[:, column].tolist() == pytest.approx([alone[0], alone[1], alone[1] + alone[2], 0.0])
    assert found[1, 0] < found[0, 0] and found[1, 1] > found[0, 1]
    some = strokes.only(np.array([0, 2, 3]))
    assert (some.opened_s(np.full(2, 40.0), far) + some.bent_s(reaches) == found[[0, 2, 3]]).all()


def test_over_the_sheet_alone_it_is_looked_up_by_the_grippers_reaches(ram):
    """At a gripper's own reach its body goes in no more."""
    short, long = (hit(ram, sheet_mm=1.5, gripper_mm=25.0, gripper_reach_mm=reach) for reach in (40.0, 90.0))
    strokes, fronts = strokes_of([[short], [long], [hit(ram)]]), np.array([-5.0, 39.9, 40.0, 60.0, 90.0, FAR])
    assert (strokes.over_sheet_s(1.5, fronts) == strokes.opened_s(np.full(6, 1.5), fronts)).all()


def test_more_opening_or_reach_never_takes_less_time(ram):
    """What the search drops plans by: the sheet alone and no reach is the least."""
    time = hit(ram, swing=SWING, margin_mm=15.0, most_opening_mm=120.0, sheet_mm=1.5)
    heights, reaches = np.linspace(1.5, 150.0, 200), np.linspace(24.0, 900.0, 200)
    by_height, by_reach = time.opened_s(heights, np.full(200, FAR)), time.bent_s(reaches)
    assert (np.diff(by_height) >= -1e-12).all() and (np.diff(by_reach) >= -1e-12).all()
