"""Inputs by a fuzzer that keeps what reaches something new: `PYTHONPATH=src python -m tests.hard.cover part --count N`.

Needs `pip install atheris`. Prints what `mutate.py` prints; what reached something new stays in its folder.
"""

from __future__ import annotations

import argparse
import sys
import time
from pathlib import Path

import atheris

with atheris.instrument_imports(include=["flangewise"]):
    from .inputs import kinds
    from .mutate import NAMES, Tally

TOLD_EVERY = 2000


def main() -> None:
    """Runs until so many inputs were asked."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("kind", choices=NAMES)
    asked.add_argument("--count", type=int, default=10_000)
    asked.add_argument("--keep", type=Path, default=Path("/tmp/hard-defects"))
    options = asked.parse_args()
    kind, tally, begun = kinds()[options.kind], Tally(options.keep), time.time()
    corpus = options.keep / f"reached-{options.kind}"
    corpus.mkdir(parents=True, exist_ok=True)
    for number, seed in enumerate(kind.seeds):
        (corpus / f"seed-{number}").write_bytes(seed)

    def one(data: bytes) -> None:
        tally.ask(options.kind, kind, data)
        if tally.ended.total() % TOLD_EVERY == 0:
            print(tally.told(begun), flush=True)

    setup = [sys.argv[0], str(corpus), f"-runs={options.count}", "-max_len=8000", "-verbosity=0", "-timeout=200"]
    atheris.Setup(setup, one)
    atheris.Fuzz()


if __name__ == "__main__":
    main()
