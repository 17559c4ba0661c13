"""How long the search for the bend order takes, by number of bends: `python tests/bench/bench_sequence.py`.

Each row is a process of its own, imports included, with the toy tools (V 12, sharp middle surface): zigzag
(60|70..70|60, +-90 alternating), random (35-120 mm, random +-90), mild (60-80 mm, random +-20: every order is
possible, the worst case) and cladding (40-90 mm; 30, 45, 90 degrees). `true` is the zigzag with radii, over-bend,
round shoulders, two punches to choose from, stops and openings looked at. Beside it, for few bends, every order
tried one by one with the same gates. Prints a table; nothing passes or fails on time.
"""

from __future__ import annotations

import itertools
import json
import math
import random
import resource
import subprocess
import sys
import time

SIZES = (4, 5, 6, 8, 10, 12, 14, 16, 18, 20)
FAMILIES = ("zigzag", "random", "mild", "cladding", "true")
BRUTE_SIZES = (4, 5)


def section(family: str, n: int) -> tuple[list[float], list[float]]:
    """Lengths and turns of a benchmark section; the same for the same name and size."""
    dice = random.Random(f"{family} {n}")
    if family in ("zigzag", "true"):
        return [60.0, *[70.0] * (n - 1), 60.0], [90.0 * (-1) ** i for i in range(n)]
    low, high = {"random": (35, 120), "mild": (60, 80), "cladding": (40, 90)}[family]
    turns = {"random": (90, -90), "mild": (20, -20), "cladding": (30, 45, 90, -30, -45, -90)}[family]
    return [dice.uniform(low, high) for _ in range(n + 1)], [float(dice.choice(turns)) for _ in range(n)]


def stack(name: str, *, half: float, shoulder: float):
    """Toy tools: a straight punch of that half width over V 12 with shoulders of that radius."""
    from flangewise.clearance import Body, ToolStack

    flank = math.tan(math.radians(42))
    arc = [
        (6 - shoulder * math.sin(a), shoulder * (math.cos(a) - 1)) for a in (math.radians(48 * k / 8) for k in range(9))
    ]
    right = arc if shoulder else [(6.0, 0.0)]
    bottom = right[-1][1] - right[-1][0] / flank
    left = [(-across, up) for across, up in reversed(right)]
    punch = ((0, 0), (half, half / flank), (half, 100), (-half, 100), (-half, half / flank))
    bodies = (
        Body("punch", punch, True),
        Body("holder", ((30, 100), (30, 140), (-30, 140), (-30, 100)), True),
        Body("ram", ((60, 140), (60, 640), (-60, 640), (-60, 140)), True),
        Body("die", ((20, 0), *right, (0, bottom), *left, (-20, 0), (-20, -60), (20, -60)), False),
        Body("bed", ((60, -60), (60, -800), (-60, -800), (-60, -60)), False),
    )
    return ToolStack(name, name, "die", 12.0, shoulder, bodies)


def problem(family: str, n: int):
    """The section with its tools."""
    from flangewise.geometry import Chain
    from flangewise.sequence import Backgauge, Hit, Operation, SectionProblem, ToolOption

    lengths, turns = section(family, n)
    true = family == "true"
    offered = (
        [stack("straight", half=10, shoulder=1.2), stack("narrow", half=6, shoulder=1.2)]
        if true
        else [stack("toy", half=10, shoulder=0)]
    )
    options = [
        tuple(ToolOption((Hit(each, abs(turn) + 2.0 * true, 2.0 * true),)) for each in offered) for turn in turns
    ]
    operations = tuple(Operation(str(i + 1), (i,), option) for i, option in enumerate(options))
    if not true:
        # Sharp corners of the middle surface, no zone widths.
        sharp = Chain(tuple(lengths), (0.0,) * len(turns), tuple(turns), (-0.75,) * len(turns), 1.5)
        return SectionProblem(sharp, operations)
    zones = tuple((2.0 + 0.42 * 1.5) * math.radians(abs(turn)) for turn in turns)
    chain = Chain(tuple(lengths), zones, tuple(turns), (2.0,) * n, 1.5)
    finger = ((0.0, 0.0), (0.0, 12.0), (-40.0, 12.0), (-40.0, 0.0))
    gauge = Backgauge(5.0, 3000.0, -100.0, 200.0, finger)
    return SectionProblem(chain, operations, gauge=gauge, check_exits=True, side_exit_allowed=True)


def one(family: str, n: int) -> dict[str, object]:
    """Solve one section in this process."""
    from flangewise.sequence import solve

    solution = solve(problem(family, n))
    answer = {True: "plan", False: "none", None: "unknown"}[solution.feasible]
    proven = solution.feasible is False or solution.proven_least
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    return {"answer": answer, "proven": proven, "cost": solution.cost, "sets": solution.visited, "mb": peak}


def brute(family: str, n: int) -> float:
    """Seconds to price every order one by one."""
    from dataclasses import replace

    from flangewise.sequence import solve

    asked, start = problem(family, n), time.perf_counter()
    for order in itertools.permutations(range(n)):
        solve(replace(asked, order=order))
    return time.perf_counter() - start


def in_own_process(family: str, n: int) -> tuple[dict[str, object], float]:
    """Answer and seconds of a whole process."""
    start = time.perf_counter()
    command = [sys.executable, __file__, "--one", family, str(n)]
    run = subprocess.run(command, capture_output=True, text=True, check=True)
    return json.loads(run.stdout), time.perf_counter() - start


def main() -> None:
    """Print the table."""
    head = ("family", "bends", "seconds", "answer", "proven", "cost", "sets", "MB", "brute s")
    print("{:9} {:>5} {:>8} {:>8} {:>7} {:>7} {:>7} {:>5} {:>8}".format(*head))
    for family, n in itertools.product(FAMILIES, SIZES):
        answer, seconds = in_own_process(family, n)
        tried = f"{brute(family, n):.2f}" if n in BRUTE_SIZES and family != "true" else ""
        cost = "" if answer["cost"] is None else f"{answer['cost']:.1f}"
        proven = "yes" if answer["proven"] else "no"
        row = (
            family,
            n,
            f"{seconds:.2f}",
            answer["answer"],
            proven,
            cost,
            answer["sets"],
            f"{answer['mb']:.0f}",
            tried,
        )
        print("{:9} {:>5} {:>8} {:>8} {:>7} {:>7} {:>7} {:>5} {:>8}".format(*row), flush=True)


if __name__ == "__main__":
    if sys.argv[1:2] == ["--one"]:
        print(json.dumps(one(sys.argv[2], int(sys.argv[3]))))
    else:
        main()
