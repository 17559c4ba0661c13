"""Inputs spoilt at random, or as hypothesis draws them; `cover.py` has a fuzzer that looks at what is covered.

    PYTHONPATH=src python -m tests.hard.mutate random --count 1000000 [--kind part] [--first SEED]
    PYTHONPATH=src python -m tests.hard.mutate hypothesis --count 20000

Prints how many ended in an answer, how many in a fault, and every one that did neither, which is also kept as a file.
"""

from __future__ import annotations

import argparse
import random
import sys
import time
import traceback
from collections import Counter
from pathlib import Path

from .inputs import Kind, TooLongError, kinds, outcome, spoilt, worst_s

NAMES = ("part", "shop", "measured", "plan", "dxf")


class Tally:
    """What became of the inputs so far."""

    def __init__(self, keep: Path) -> None:
        self.ended: Counter[tuple[str, str]] = Counter()
        self.slowest: dict[str, float] = {}
        self._keep, self._seen, self.defects = keep, set[str](), 0

    def ask(self, name: str, kind: Kind, data: bytes) -> None:
        """Ask one input, and keep it where it shows a defect that no other has shown."""
        try:
            how, took_s = worst_s(kind, data)
        except (Exception, TooLongError) as error:
            self.ended[name, "defect"] += 1
            last = traceback.extract_tb(error.__traceback__)[-1]
            where = f"{type(error).__name__} {Path(last.filename).name}:{last.lineno}"
            if where not in self._seen:
                self._seen.add(where)
                self.defects += 1
                self._keep.mkdir(parents=True, exist_ok=True)
                file = self._keep / f"{name}-{self.defects}"
                file.write_bytes(data)
                print(f"DEFECT {where}: {str(error)[:150]!r}: {file}", flush=True)
            return
        self.ended[name, how] += 1
        self.slowest[name] = max(self.slowest.get(name, 0.0), took_s)

    def told(self, begun: float) -> str:
        """All of it in a line."""
        counts = ", ".join(f"{name} {how} {count}" for (name, how), count in sorted(self.ended.items()))
        slow = ", ".join(f"{name} {took:.2f} s" for name, took in self.slowest.items())
        return f"{self.ended.total()} inputs in {time.time() - begun:.0f} s: {counts}; slowest {slow}"


def by_chance(names: tuple[str, ...], count: int, first: int, tally: Tally) -> None:
    """So many inputs, spoilt by a generator of which the seeds are told."""
    ready, begun = kinds(), time.time()
    for seed in range(first, first + count):
        chance = random.Random(seed)
        name = names[seed % len(names)]
        tally.ask(name, ready[name], spoilt(ready[name].seeds, chance))
        if (seed - first) % 5000 == 4999:
            print(tally.told(begun), flush=True)
    print(tally.told(begun), flush=True)


def by_hypothesis(names: tuple[str, ...], count: int, tally: Tally) -> None:
    """So many inputs, drawn and made small where one shows a defect."""
    from hypothesis import HealthCheck, given, settings, strategies as st

    ready, begun = kinds(), time.time()

    @settings(max_examples=count, deadline=None, database=None, suppress_health_check=list(HealthCheck))
    @given(name=st.sampled_from(names), chance=st.randoms(use_true_random=False), cut=st.binary(max_size=40))
    def one(name: str, chance: random.Random, cut: bytes) -> None:
        data = spoilt((*ready[name].seeds, cut), chance)
        tally.ended[name, outcome(ready[name], data)] += 1

    one()
    print(tally.told(begun), flush=True)


def main() -> None:
    """Runs one of the ways; the exit status is 1 where an input ended neither in an answer nor in a fault."""
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("way", choices=["random", "hypothesis"])
    asked.add_argument("--count", type=int, default=1000)
    asked.add_argument("--first", type=int, default=0)
    asked.add_argument("--kind", choices=NAMES)
    asked.add_argument("--keep", type=Path, default=Path("/tmp/hard-defects"))
    options = asked.parse_args()
    names, tally = (options.kind,) if options.kind else NAMES, Tally(options.keep)
    if options.way == "random":
        by_chance(names, options.count, options.first, tally)
    else:
        by_hypothesis(names, options.count, tally)
    sys.exit(1 if tally.defects else 0)


if __name__ == "__main__":
    main()
