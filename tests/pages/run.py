"""All parts' sheets judged: `PYTHONPATH=src python -m tests.pages.run [PART ...] [--lang L] [--paper P]`."""

from __future__ import annotations

import argparse
import io
import re
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import get_args

import pypdf

from flangewise import jobs
from flangewise.commands.plan import plan_record
from flangewise.jobs.printed import printed as printed_job
from flangewise.part import read_parts
from flangewise.sheet import PAPERS, Identity, Printing, sheet_bytes
from flangewise.sheet.render import html_of
from flangewise.shop import PaperName, load_shop
from flangewise.words import LANGUAGES

from ..rim.written import lowest_mm
from ..rooms.sheet.measured import faults
from .judge import Defect, defects, opened

ROOT = Path(__file__).parents[2]
TOY = ROOT / "tests" / "rooms" / "shop" / "toy_shop"
FILES = (
    *sorted((ROOT / "examples" / "parts").glob("*.yaml")),
    *sorted((ROOT / "tests" / "parts").glob("*/part.yaml")),
    *sorted((Path(__file__).parent / "parts").glob("*.yaml")),
)
IDENTITY = Identity("a1b2c3d4e5f6", "0.1.0")
UNITS = ("mm", "inch")
IN_A_RING = re.compile(r"[A-Z]( [A-Z])* on a line")
"""The letters of a frame stand in a ring, white over what is drawn below."""


def name_of(file: Path) -> str:
    """A part by its file, or by the folder of it."""
    return file.parent.name if file.stem == "part" else file.stem


def worked_out(wanted: list[str]) -> Iterator[tuple[str, jobs.Job]]:
    """Each part that can be bent."""
    for file in FILES:
        if wanted and name_of(file) not in wanted:
            continue
        shop = load_shop(TOY if "material: toy" in file.read_text(encoding="utf-8") else None)
        (read,) = read_parts([str(file)], shop)
        assert read.part is not None, read
        job = jobs.worked_out(read.part, shop)
        if job.feasible:
            yield str(file.relative_to(ROOT)), job


def in_pictures(html: str) -> Iterator[Defect]:
    """Words on lines or out of their frames, in every picture of a sheet."""
    for picture in re.findall(r"<svg.*?</svg>", html, re.DOTALL):
        title = (re.findall(r"<title>(.*?)</title>", picture, re.DOTALL) or [""])[0]
        if "<text" in picture:
            found = (fault for fault in faults(picture) if not IN_A_RING.match(fault))
            yield from (Defect("picture", 0, f"{fault}: {title[:50]}") for fault in found)


def main() -> None:
    """Prints each defect, and counts."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("parts", nargs="*", help="names of part files; all without")
    asked.add_argument("--lang", choices=LANGUAGES, action="append")
    asked.add_argument("--paper", choices=get_args(PaperName), action="append")
    asked.add_argument("--units", choices=UNITS, action="append")
    asked.add_argument("--keep", type=Path, help="a folder that the PDFs are left in")
    options = asked.parse_args()
    kinds, count, bent = Counter[str](), Counter[tuple[str, ...]](), list(worked_out(options.parts))
    white, high = Counter[tuple[str, ...]](), Counter[tuple[str, ...]]()
    print(f"{len(bent)} parts")
    for file, job in bent:
        sheet, plan = printed_job(job), plan_record(job)
        turns = [-bend.turn_deg if bend.away else bend.turn_deg for bend in job.part.section.bends]
        for lang in options.lang or LANGUAGES:
            for units in options.units or UNITS:
                for paper in options.paper or get_args(PaperName):
                    data = sheet_bytes(sheet, IDENTITY, Printing(lang, units, paper))
                    if options.keep:
                        options.keep.mkdir(parents=True, exist_ok=True)
                        (options.keep / f"{job.part.name}-{lang}-{units}-{paper}.pdf").write_bytes(data)
                    reader, way = pypdf.PdfReader(io.BytesIO(data)), (lang, units, paper)
                    found = list(defects(opened(reader, lang, units, paper), plan, turns))
                    found += in_pictures(html_of(sheet, IDENTITY, Printing(lang, units, paper), record=None))
                    count[way] += len(reader.pages)
                    for number, page in enumerate(reader.pages, start=1):
                        blank_mm = lowest_mm(page) - PAPERS[paper].bottom_mm
                        white[way] += round(blank_mm * 10)
                        high[way] += round(PAPERS[paper].printed_mm * 10)
                        if blank_mm > PAPERS[paper].printed_mm / 3:
                            print(f"  {file} {' '.join(way)}: page {number} is white for {blank_mm:.0f} mm at its foot")
                    for each in found:
                        kinds[each.kind] += 1
                        print(f"{file} {' '.join(way)}: {each}", flush=True)
    for way, pages in count.items():
        print(f"{' '.join(way)}: {pages} pages of {len(bent)} parts, {white[way] / high[way]:.1%} white at their feet")
    print(dict(kinds) or "no defect")


if __name__ == "__main__":
    main()
