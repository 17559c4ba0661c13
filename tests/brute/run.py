"""Random parts judged: `PYTHONPATH=src python -m tests.brute.run [N] [--first SEED] [--most-bends N]`."""

from __future__ import annotations

import argparse
import time
from collections import Counter

from flangewise.commands.plan import plan_record
from flangewise.faults import Unusable
from flangewise.jobs import worked_out
from flangewise.shop import load_shop

from .compare import judged, told
from .least import TooMuchError
from .parts import drawn, judged_shop


def main() -> None:
    """Prints each part that does not agree, and the count of all."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("parts", type=int, nargs="?", default=500)
    asked.add_argument("--first", type=int, default=0)
    asked.add_argument("--most-bends", type=int, default=4)
    asked.add_argument("--most-seconds", type=float, default=60.0, help="of the judge for one part and one bound")
    asked.add_argument("--whole", action="store_true", help="bend with the whole built-in shop, not with a few tools")
    asked.add_argument("--all", action="store_true", help="print those that agree as well")
    options = asked.parse_args()
    shop, words, seconds = judged_shop(load_shop()), Counter[str](), [0.0, 0.0]
    for seed in range(options.first, options.first + options.parts):
        try:
            part = drawn(seed, shop, most_bends=options.most_bends)
        except Unusable as fault:
            words["no part"] += 1
            print(f"{seed}: no part: {str(fault)[:150]}", flush=True)
            continue
        tools = shop if options.whole else part.shop
        begun = time.process_time()
        record = plan_record(worked_out(part.part, tools))
        seconds[0] += time.process_time() - begun
        try:
            verdict = judged(part.part, tools, record, most_s=options.most_seconds)
        except TooMuchError as much:
            words[str(much)] += 1
            print(f"{seed}: {much} ({part.drawn_for})", flush=True)
            continue
        words[verdict.word] += 1
        seconds[1] += verdict.judge_s
        if options.all or verdict.word != "agrees":
            print(f"{seed} ({part.drawn_for}; judged in {verdict.judge_s:.1f} s) {told(verdict)}", flush=True)
    print(dict(words), f"planner {seconds[0]:.1f} s, judge {seconds[1]:.1f} s of processor time")


if __name__ == "__main__":
    main()
