"""Start-up: `flangewise bend` as a whole process against a script that only imports the libraries it cannot do without.

    python tests/bench/bench_start.py [runs]

Both are run in turn, so that a busy machine slows both alike; medians of the ratios are printed, by the clock and in
processor time. Modules are compiled before, as they are wherever the command is installed. No pass, no fail.
"""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

BASE = "import click, yaml, numpy\nfrom pydantic import BaseModel\n\nclass A(BaseModel):\n    a: int\n"
BEND = ["bend", "--material", "DC01", "--thickness", "2", "--turn", "90"]
# Some test machines forbid Python to keep what it has compiled; the first run, not counted, leaves it for the rest.
COMPILED = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
CASES = {
    "bend, tools offered": BEND,
    "bend, tools named": [*BEND, "--die", "vee-12-85", "--punch", "straight-80-nose-2"],
    "bend, ideal tools": [*BEND, "--die-opening", "16"],
    "bend, gauge sheet, length, JSON": [
        *BEND[:3],
        "--thickness",
        "16ga",
        *BEND[5:],
        "--length",
        "800",
        "--format",
        "json",
    ],
    "--help": ["--help"],
}


def seconds_of(command: list[str]) -> tuple[float, float]:
    """Seconds by the clock and on the processor of one run of a process whose output is thrown away."""
    start = time.perf_counter()
    process = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, env=COMPILED)
    _, status, used = os.wait4(process.pid, 0)
    process.returncode = os.waitstatus_to_exitcode(status)
    return time.perf_counter() - start, used.ru_utime + used.ru_stime


def ratios(base: list[str], command: list[str], runs: int) -> tuple[list[float], list[float], list[float]]:
    """Times of ours, and the ratios to the base by the clock and on the processor, run by run in turn."""
    pairs = [(seconds_of(base), seconds_of(command)) for _ in range(runs + 1)][1:]
    clock = [ours[0] / one[0] for one, ours in pairs]
    processor = [ours[1] / one[1] for one, ours in pairs]
    return [ours[0] for _, ours in pairs], clock, processor


def main() -> None:
    """Measure and print."""
    runs = int(sys.argv[1]) if len(sys.argv) > 1 else 15
    with tempfile.TemporaryDirectory() as folder:
        script = Path(folder, "base.py")
        script.write_text(BASE)
        print(f"{'case':34} {'ms':>6} {'ratio by clock':>15} {'on processor':>13}")
        for name, args in CASES.items():
            command = [sys.executable, "-m", "flangewise", *args]
            times, clock, processor = ratios([sys.executable, str(script)], command, runs)
            middle = [statistics.median(each) for each in (times, clock, processor)]
            print(f"{name:34} {1000 * middle[0]:6.0f} {middle[1]:15.2f} {middle[2]:13.2f}")


if __name__ == "__main__":
    main()
