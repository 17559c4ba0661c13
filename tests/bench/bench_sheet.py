"""Sheets: one against a bare rendering of the same HTML, and a folder of parts on one process and on two.

    python tests/bench/bench_sheet.py [parts]     0 parts: no folder

One sheet is its pictures, its page, tags and attachments, apart from the plan that it prints; the bare one is what the
PDF library alone takes for the same HTML, in the same run, in turn: processor seconds.
The folder is made new each time. No pass, no fail.
"""

from __future__ import annotations

import gc
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import weasyprint

from flangewise.commands.sheet import attachments
from flangewise.jobs import work_out
from flangewise.jobs.printed import printed
from flangewise.part import read_parts
from flangewise.sheet import Identity, Printing, sheet_bytes
from flangewise.sheet.render import html_of
from flangewise.shop import load_shop

ROOT = Path(__file__).parents[2]
IDENTITY = Identity("000000000000", "0")
RUNS = 7
PART = """\
part: part-{number}
revision: A
material: DC01
thickness: 2
section:
  length: {length}
  legs: [25, {web}, 25]
  bends: [90, -90]
"""


def timed_s(work: object) -> float:
    """Processor seconds of one call, which begins with nothing left over to be collected."""
    gc.collect()
    start = time.process_time()
    work()  # type: ignore[operator]
    return time.process_time() - start


def one_sheet() -> None:
    """Seconds of plan, sheet and bare rendering for each example, and the sheet by the bare rendering."""
    print(f"\n{'one sheet':24}{'plan s':>10}{'sheet s':>10}{'bare s':>10}{'sheet/bare':>12}")
    ratios = []
    for file in sorted((ROOT / "examples" / "parts").glob("*.yaml")):
        shop = load_shop(None)
        (read,) = read_parts([str(file)], shop)
        assert read.part is not None
        start = time.process_time()
        job = work_out(read.part, shop)
        planned_s = time.process_time() - start
        sheet, settings = printed(job, attachments(job)), Printing()
        html = html_of(sheet, IDENTITY, settings, record=None)
        pairs = [
            (
                timed_s(lambda: sheet_bytes(sheet, IDENTITY, settings)),  # noqa: B023
                timed_s(lambda: weasyprint.HTML(string=html).write_pdf()),  # noqa: B023
            )
            for _ in range(RUNS)
        ]
        ours, bare = (statistics.median(column) for column in zip(*pairs, strict=True))
        ratios.append(statistics.median(one / other for one, other in pairs))
        print(f"{job.part.name:24}{planned_s:>10.3f}{ours:>10.3f}{bare:>10.3f}{ratios[-1]:>12.2f}", flush=True)
    print(f"{'most':24}{max(ratios):>42.2f}")


def folder(count: int) -> None:
    """Seconds by the clock for a folder of parts, on one process and on two."""
    print(f"\nfolder of {count} parts")
    seconds = {}
    with tempfile.TemporaryDirectory() as place:
        parts = Path(place, "parts")
        parts.mkdir()
        for number in range(count):
            text = PART.format(number=number, length=120 + number % 40, web=50 + number % 30)
            (parts / f"part-{number}.yaml").write_text(text)
        for jobs in (1, 2):
            out = Path(place, f"out-{jobs}")
            command = [
                sys.executable,
                "-m",
                "flangewise",
                "--quiet",
                "sheet",
                str(parts),
                "-o",
                str(out),
                "--jobs",
                str(jobs),
            ]
            start = time.perf_counter()
            subprocess.run(command, check=True, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
            seconds[jobs] = time.perf_counter() - start
            print(f"{jobs} process{'es' if jobs > 1 else '':12}{seconds[jobs]:>10.1f} s")
    print(f"two are {seconds[1] / seconds[2]:.2f} times as fast as one")


def main() -> None:
    """Measure and print."""
    print(f"weasyprint {weasyprint.__version__}")
    one_sheet()
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 100
    if count:
        folder(count)


if __name__ == "__main__":
    main()
