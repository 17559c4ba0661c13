"""Parts a second in one process: `flat` and `check` on two-bend parts, beside a bare read-and-validate of their files.

    python tests/bench/bench_rates.py [parts]

Files of one sheet are told apart by their sizes, once all by others and once as a shop has them: some sizes, each under
several names. Processor seconds, start of the process and the first few parts left out. No pass, no fail.
"""

from __future__ import annotations

import contextlib
import os
import sys
import tempfile
import time
from collections.abc import Callable
from functools import partial
from pathlib import Path

from flangewise import commands
from flangewise.part import read_parts
from flangewise.shop import load_shop

PART = """\
part: part-{number}
title: Foot of a rain gauge, size {number}
revision: A
material: DC01
thickness: 2
section:
  length: {length}
  legs: [{leg}, {web}, 25]
  bends: [90, {second}]
"""
# Each size stands in so many files, where it stands in more than one.
ALIKE = 20
WARM = 5
COMMANDS = ("flat", "check")


def files_in(folder: Path, count: int, *, alike: int) -> list[str]:
    """So many part files, `alike` of each size."""
    folder.mkdir()
    for number in range(count):
        size = number // alike
        sizes = {"length": 100 + 13 * (size % 29), "leg": 22 + size % 7, "web": 50 + size % 61}
        text = PART.format(number=number, second=(-90, 90)[size % 2], **sizes)
        (folder / f"part-{number}.yaml").write_text(text)
    return [str(file) for file in sorted(folder.iterdir())]


def seconds(work: Callable[[], object]) -> float:
    """Processor seconds of one call."""
    begun = time.process_time()
    work()
    return time.process_time() - begun


def run(name: str, files: list[str]) -> None:
    """One command over files, its output thrown away."""
    with Path(os.devnull).open("w") as nowhere, contextlib.redirect_stdout(nowhere):
        commands.run(["--quiet", name, *files, "--format", "json", "--jobs", "1"])


def rates(files: list[str]) -> dict[str, float]:
    """Seconds a part of a bare read and of each command."""
    shop, few, rest = load_shop(), files[:WARM], files[WARM:]
    read_parts(few, shop)
    took = {"read and validated": seconds(lambda: read_parts(rest, shop)) / len(rest)}
    for name in COMMANDS:
        run(name, few)
        took[name] = seconds(partial(run, name, rest)) / len(rest)
    return took


def main() -> None:
    """Measure and print."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 100
    print(f"{'':34}{'parts/s':>9}{'of bare':>9}")
    for told, alike in (("no two alike", 1), (f"{ALIKE} of each size", ALIKE)):
        with tempfile.TemporaryDirectory() as place:
            took = rates(files_in(Path(place) / "parts", count, alike=alike))
        bare_s = next(iter(took.values()))
        for name, each_s in took.items():
            print(f"{told + ': ' + name:34}{1 / each_s:9.0f}{bare_s / each_s:9.3f}")


if __name__ == "__main__":
    main()
