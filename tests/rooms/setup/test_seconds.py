"""Stroke and cycle against the worked example of the trade: O 40, 60, 100, 150 take 2.35, 2.61, 3.15, 3.81 s."""

from __future__ import annotations

from dataclasses import replace

import pytest

from flangewise.punch_die import Mounting, Station, place_stations
from flangewise.sequence import Gauging
from flangewise.setup import PlannedHit
from flangewise.setup.seconds import cycle_s, hit_s, hit_times, moves_s, set_up_s, stops_s
from flangewise.setup.step import Instruction
from flangewise.words import phrase

from .made import chosen, handler, hit, machine, pair, work

BRAKE = {
    "fast_mm_per_s": 150.0,
    "slow_mm_per_s": 10.0,
    "return_mm_per_s": 150.0,
    "acceleration_mm_per_s2": 1500.0,
    "dwell_s": 0.2,
}
TURN = Instruction("turn-in-plane", None, phrase("move.turn-in-plane"))
OVER = Instruction("turn-over", "the bed", phrase("move.turn-over-bed"))
ACROSS = Instruction("turn-over", "front to back", phrase("move.turn-over-front"))
SHIFT = Instruction("shift", None, phrase("move.side-exit"))
SIDEWAYS = Instruction("side-exit", None, phrase("move.side-exit"))
CHANGE = Instruction("tool-change", None, phrase("move.side-exit"))


@pytest.mark.parametrize(("opening_mm", "seconds"), [(40, 2.35), (60, 2.61), (100, 3.15), (150, 3.81)])
def test_the_worked_strokes_by_the_machines_figures(opening_mm: float, seconds: float) -> None:
    """O over the sheet, kept in hand by no margin, bending 8 mm at 10 mm/s; a part that reaches 20 swings slowly."""
    brake = machine("long-1450", **BRAKE, bend_mm_per_s=10.0, change_over_mm=6.0)
    none = handler(load_margin_mm=0.0, unload_margin_mm=0.0, tilt_margin_mm=0.0)
    made = replace(pair(), depth_mm=6.0)
    (time,) = hit_times([made], brake, none, sheet_mm=2.0, reach_mm=20.0)
    assert (time.travel_mm, time.swing, time.margin_mm) == (8.0, None, 0.0)
    assert time.stroke_s(opening_mm + 2.0, 20.0, 100.0) == pytest.approx(seconds, abs=0.015)


def test_between_the_plates_of_a_hem_it_is_slow_all_the_way() -> None:
    hem = pair("hem", 1.0)
    assert hem.then is not None
    first, second = hit_times((hem, hem.then), machine(), handler(), sheet_mm=1.0, reach_mm=20.0)
    assert (first.slow_all_way, second.slow_all_way) == (False, True)


def test_a_move_takes_the_part_out_and_in_again() -> None:
    """Out 1 and in 2, and the move itself; with nothing to be moved the part is drawn to the next stop."""
    who = handler(
        withdraw_s=1.0,
        insert_s=2.0,
        turn_s=3.0,
        turn_over_bed_s=4.0,
        turn_over_front_s=5.0,
        shift_s=6.0,
        next_stop_s=0.8,
    )
    assert moves_s((), who) == 0.8
    assert moves_s((TURN,), who) == 6
    assert moves_s((OVER, TURN), who) == 10
    assert moves_s((ACROSS,), who) == 8
    assert moves_s((SHIFT,), who) == 9


def test_over_a_change_of_tools_the_part_is_put_down_and_fetched_again() -> None:
    """Out 1, down 6, fetched 1.5 and squared 0.5, in 2; the change itself is counted with the set-up."""
    who = handler(withdraw_s=1.0, insert_s=2.0, place_s=6.0, pick_s=1.5, square_s=0.5, turn_s=3.0)
    assert moves_s((CHANGE,), who) == 11
    assert moves_s((CHANGE, TURN), who) == 14


def at(x_mm: float) -> PlannedHit:
    """A hit with the stops at a depth."""
    return hit(chosen(gauged=Gauging("start", None, x_mm, 0.0, 0.0, 0.0)))


def test_stops_travel_while_the_part_is_handled_and_the_longer_counts() -> None:
    """300 mm at 100 mm/s: 3 s, and acceleration too short to count."""
    brake = machine(stop_speed_mm_per_s=100.0, acceleration_mm_per_s2=1e6)
    assert stops_s(hit(chosen(gauged=None)), at(20.0), brake) == 0
    near, far = at(20.0), at(320.0)
    assert stops_s(near, far, brake) == pytest.approx(3.0, abs=0.001)
    who = handler(gauge_s=1.0, next_stop_s=0.8, turn_s=10.0, withdraw_s=0.0, insert_s=0.0)
    shared = work(brake, who)
    assert hit_s(far, None, shared, moves=(), stroke_s=2.5) == 3.5
    assert hit_s(near, near, shared, moves=(), stroke_s=2.5) == pytest.approx(3.5 + 0.8)
    assert hit_s(far, near, shared, moves=(), stroke_s=2.5) == pytest.approx(3.5 + 3.0, abs=0.001)
    # Drawing to the next stop is less than a turn: out and in are no less than it.
    assert hit_s(far, near, shared, moves=(TURN,), stroke_s=2.5) == pytest.approx(3.5 + 10.0 + 0.8)


def test_sliding_off_along_the_bed_comes_after_the_hit_and_waits_for_no_stop() -> None:
    brake = machine(stop_speed_mm_per_s=100.0, acceleration_mm_per_s2=1e6)
    shared = work(brake, handler(gauge_s=1.0, next_stop_s=0.8, side_exit_s=4.0))
    assert hit_s(at(20.0), None, shared, moves=(SIDEWAYS,), stroke_s=2.5) == 7.5
    slid = hit_s(at(320.0), at(20.0), shared, moves=(SIDEWAYS,), stroke_s=2.5)
    assert slid == pytest.approx(3.0 + 1.0 + 2.5 + 4.0, abs=0.001)


def test_each_tilt_in_and_out_takes_its_seconds_and_no_turn() -> None:
    shared = work(machine(), handler(gauge_s=1.0, next_stop_s=0.8, side_exit_s=4.0, tilt_out_s=6.0))
    both = tuple(Instruction(move, None, phrase("move.tilt-out")) for move in ("tilt-in", "tilt-out"))
    assert hit_s(at(20.0), None, shared, moves=both, stroke_s=2.5) == 1.0 + 2.5 + 12.0
    assert hit_s(at(20.0), at(20.0), shared, moves=both[1:], stroke_s=2.5) == 0.8 + 1.0 + 2.5 + 6.0


def stations(*names: str, set_ups: tuple[int, ...] = ()) -> list[Station]:
    """Stations of a set-up from names like "a/x": punch a on die x."""
    (first,) = place_stations([Mounting(pair())], machine=machine(), length_mm=180.0)
    numbers = set_ups or (1,) * len(names)
    return [
        replace(first, punch=name.split("/")[0], die=name.split("/")[1], from_mm=10.0 * number, set_up=number)
        for name, number in zip(names, numbers, strict=True)
    ]


def test_tools_that_stay_mounted_are_put_in_once() -> None:
    """900 s for all else and 90 for each punch and die: one station two, two stations four, however often used."""
    brake = machine(set_up_s=900.0, mount_s=90.0)
    assert set_up_s(stations("a/x"), brake) == 900 + 2 * 90
    assert set_up_s(stations("a/x", "a/x", "a/x"), brake) == 900 + 2 * 90
    assert set_up_s(stations("a/x", "b/x", "a/x"), brake) == 900 + 4 * 90


def test_where_they_do_not_stand_beside_each_other_each_change_puts_in_what_is_not_there() -> None:
    brake = machine(set_up_s=900.0, mount_s=90.0)
    assert set_up_s(stations("a/x", "b/x", set_ups=(1, 2)), brake) == 900 + 3 * 90
    assert set_up_s(stations("a/x", "b/y", "a/x", set_ups=(1, 2, 1)), brake) == 900 + 6 * 90
    # A punch that is only turned round is put in again.
    one, other = stations("a/x", "a/x", set_ups=(1, 2))
    assert set_up_s([one, replace(other, turned=True)], brake) == 900 + 3 * 90


def test_a_cycle_is_load_hits_unload_and_the_allowance() -> None:
    who = handler(
        pick_s=1.0, square_s=2.0, insert_s=3.0, withdraw_s=4.0, inspect_s=5.0, place_s=6.0, allowance_share=0.1
    )
    assert cycle_s([10.0, 20.0], who) == pytest.approx((21 + 30) * 1.1)
    assert cycle_s([], who) == pytest.approx(21 * 1.1)
