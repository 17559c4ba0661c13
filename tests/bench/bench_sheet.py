"""Sheets: one against a bare rendering of the same HTML, and a folder of parts on one process and on two.

    python tests/bench/bench_sheet.py [parts]

One sheet is its pictures, its page, tags and attachments; the bare one is what the PDF library alone takes for the
same HTML, in the same run, in turn. The folder is made new each time. No pass, no fail.
"""

from __future__ import annotations

import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import weasyprint

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
    """Processor seconds of one call."""
    start = time.process_time()
    work()  # type: ignore[operator]
    return time.process_time() - start


def one_sheet() -> None:
    """Ratio of a whole sheet to the bare rendering, for each example."""
    shop = load_shop(None)
    print(f"{'one sheet':24}{'ours, s':>10}{'bare, s':>10}{'ratio':>8}")
    for found in read_parts([str(ROOT / "examples" / "parts")], shop):
        job = work_out(found.part, shop) if found.part is not None else None
        if job is None or not job.feasible:
            continue
        sheet, settings = printed(job), Printing()
        html = html_of(sheet, IDENTITY, settings, record=None)
        pairs = [
            (
                timed_s(lambda: sheet_bytes(sheet, IDENTITY, settings)),  # noqa: B023
                timed_s(lambda: weasyprint.HTML(string=html).write_pdf()),  # noqa: B023
            )
            for _ in range(RUNS)
        ]
        ours, bare = (statistics.median(column) for column in zip(*pairs, strict=True))
        ratio = statistics.median(one / other for one, other in pairs)
        print(f"{job.part.name:24}{ours:>10.3f}{bare:>10.3f}{ratio:>8.2f}")


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
    folder(int(sys.argv[1]) if len(sys.argv) > 1 else 100)


if __name__ == "__main__":
    main()
