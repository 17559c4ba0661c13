"""Stroke and cycle against the worked example of the trade: O 40, 60, 100, 150 take 2.35, 2.61, 3.15, 3.81 s."""

from __future__ import annotations

import math

import pytest

from flangewise.setup.seconds import cycle_s, hit_s, moves_s, run_s, stops_s, stroke_s
from flangewise.setup.step import Move
from flangewise.words import phrase

from .made import chosen, handler, hit, machine, step, work

BRAKE = {
    "fast_mm_per_s": 150.0,
    "slow_mm_per_s": 10.0,
    "return_mm_per_s": 150.0,
    "acceleration_mm_per_s2": 1500.0,
    "dwell_s": 0.2,
}
TURN = Move("turn-in-plane", None, phrase("move.turn-in-plane"))
OVER = Move("turn-over", "the bed", phrase("move.turn-over-bed"))
ACROSS = Move("turn-over", "front to back", phrase("move.turn-over-front"))
SHIFT = Move("shift", None, phrase("move.side-exit"))
CHANGE = Move("tool-change", None, phrase("move.side-exit"))


@pytest.mark.parametrize(("gap_mm", "seconds"), [(40, 2.35), (60, 2.61), (100, 3.15), (150, 3.81)])
def test_the_worked_strokes(gap_mm: float, seconds: float) -> None:
    made = stroke_s(machine(**BRAKE), gap_mm=gap_mm, slow_mm=6, travel_mm=8, ram_speed_mm_per_s=10)
    assert made == pytest.approx(seconds, abs=0.015)


def test_a_run_too_short_for_its_speed_is_all_acceleration() -> None:
    assert run_s(10, 150, 1500) == pytest.approx(2 * math.sqrt(10 / 1500))
    # Where the speed is just reached both forms agree.
    assert run_s(15, 150, 1500) == pytest.approx(2 * math.sqrt(15 / 1500))
    assert run_s(0, 150, 1500) == run_s(-1, 150, 1500) == 0


def test_a_gap_below_the_change_over_is_all_slow() -> None:
    made = stroke_s(machine(**BRAKE), gap_mm=4, slow_mm=6, travel_mm=0, ram_speed_mm_per_s=10)
    assert made == pytest.approx(0.4 + 0.2 + 2 * math.sqrt(4 / 1500))


def test_a_move_takes_the_part_out_and_in_again() -> None:
    who = handler(withdraw_s=1.0, insert_s=2.0, turn_s=3.0, turn_over_bed_s=4.0, turn_over_front_s=5.0, shift_s=6.0)
    assert moves_s((), who) == 0
    assert moves_s((TURN,), who) == 6
    assert moves_s((OVER, TURN), who) == 10
    assert moves_s((ACROSS,), who) == 8
    assert moves_s((SHIFT,), who) == 9


def test_a_change_of_tools_is_no_part_of_the_cycle() -> None:
    assert moves_s((CHANGE,), handler()) == 0


def test_stops_travel_while_the_part_is_turned_and_the_longer_counts() -> None:
    brake = machine(stop_speed_mm_per_s=100.0, acceleration_mm_per_s2=1e6)
    first, second = hit(chosen(gauged=None)), hit()
    assert stops_s(first, second, brake) == 0
    near, far = hit(), hit(chosen(gauged=step().gauged.__class__("start", None, 320.0, 0.0, 0.0, 0.0)))
    assert stops_s(near, far, brake) == pytest.approx(3.0, abs=0.001)
    common = {"open_height_mm": 40.0, "slow_from_mm": 8.0, "ram_speed_mm_per_s": 10.0}
    idle = hit_s(far, None, work(brake), moves=(), **common)
    assert hit_s(far, near, work(brake), moves=(), **common) == pytest.approx(idle + 3.0, abs=0.001)
    slow = handler(turn_s=10.0, withdraw_s=0.0, insert_s=0.0)
    turned = hit_s(far, near, work(brake, slow), moves=(TURN,), **common)
    assert turned == pytest.approx(idle + 10.0, abs=0.001)


def test_a_cycle_is_load_hits_unload_and_the_allowance() -> None:
    who = handler(
        pick_s=1.0, square_s=2.0, insert_s=3.0, withdraw_s=4.0, inspect_s=5.0, place_s=6.0, allowance_share=0.1
    )
    assert cycle_s([10.0, 20.0], who) == pytest.approx((21 + 30) * 1.1)
    assert cycle_s([], who) == pytest.approx(21 * 1.1)
