"""How long the bend model takes: one bend, many set-ups, ten thousand bends. Prints a table, passes no judgement.

Run: python tests/bench/bench_bend.py
Each time is also given as a multiple of a fixed numpy loop timed in the same run, so that machines can be compared.
"""

import time

import numpy as np

from flangewise.bend import (
    BendSetup,
    Spreads,
    Swift,
    air_bends,
    bend_at_depth,
    bend_to_turn,
    drawn_spread,
    expected_spread,
    stroke,
)
from flangewise.bend.air_bend import bends_of
from flangewise.bend.records import BendBatch

SETUP = BendSetup(2, 16, 1.5, 1)
METAL = Swift(541, 0.0082, 0.207, 210_000)
MANY = 10_000


def yardstick():
    """A fixed loop of plain numpy work: 20 rounds of exp, log and products over 10,000 numbers."""
    values = np.linspace(0.1, 1.0, MANY)
    for _ in range(20):
        values = np.exp(0.2 * np.log(values + 0.01)) * values / values.max()
    return values


def best_s(work, repeats):
    """Shortest of several runs, which disturbances lengthen least."""
    times = []
    for _ in range(repeats):
        begin = time.perf_counter()
        work()
        times.append(time.perf_counter() - begin)
    return min(times)


def random_batch(count, seed=1):
    """Set-ups over the verified range."""
    rng = np.random.default_rng(seed)
    thickness = np.exp(rng.uniform(np.log(0.5), np.log(10), count))
    opening = thickness * rng.uniform(6, 12, count)
    nose = opening * rng.uniform(0.03, 0.15, count)
    setups = [
        BendSetup(*row)
        for row in zip(thickness, opening, 0.09 * opening, nose, rng.uniform(0, 0.2, count), strict=True)
    ]
    return BendBatch.of(setups, [METAL]), rng.uniform(30, 110, count)


def rows():
    """What is timed: name, work, how many bends it is, repeats, goal in microseconds a bend."""
    batch, turns = random_batch(MANY)
    depths = bends_of(batch, "finished", turns).depth_mm
    bend = bend_to_turn(SETUP, METAL, 90)
    setups = [BendSetup(2, opening, 1.5, nose) for opening in np.linspace(10, 32, 50) for nose in (0.5, 1, 3)]
    one_row, ninety = BendBatch.of([SETUP], [METAL]), np.array([90.0])
    return [
        ("one bend, turn to depth, no peak", lambda: bends_of(one_row, "finished", ninety), 1, 100, 1000),
        ("one bend, turn to depth, with peak", lambda: bend_to_turn(SETUP, METAL, 90), 1, 100, 1000),
        ("one bend, depth to turn, with peak", lambda: bend_at_depth(SETUP, METAL, 3.8), 1, 100, 1000),
        ("one stroke of 46 points", lambda: stroke(SETUP, METAL, to_loaded_turn_deg=92), 1, 50, None),
        ("one spread, first order", lambda: expected_spread(SETUP, METAL, bend, Spreads(0.1)), 1, 50, None),
        ("150 set-ups, with peaks", lambda: air_bends(setups, METAL, [90.0] * 150), 150, 10, None),
        ("10,000 bends, turn to depth", lambda: bends_of(batch, "finished", turns), MANY, 5, 25),
        ("10,000 bends, depth to turn", lambda: bends_of(batch, "depth", depths), MANY, 5, 25),
        ("4,000 draws of a spread", lambda: drawn_spread(SETUP, METAL, 90, spreads=Spreads(0.1)), 4000, 1, None),
    ]


def main():
    """Time everything and print the table."""
    loop_s = best_s(yardstick, 20)
    print(f"numpy loop of this run: {loop_s * 1e3:.2f} ms")
    print(f"{'what':38} {'total ms':>10} {'us a bend':>10} {'goal us':>8} {'loops':>8}")
    for name, work, bends, repeats, goal_us in rows():
        work()
        took_s = best_s(work, repeats)
        goal = "" if goal_us is None else str(goal_us)
        print(f"{name:38} {took_s * 1e3:10.2f} {took_s / bends * 1e6:10.1f} {goal:>8} {took_s / loop_s:8.2f}")


if __name__ == "__main__":
    main()
