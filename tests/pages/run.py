"""All parts' sheets judged: `PYTHONPATH=src python -m tests.pages.run [PART ...] [--lang L] [--paper P] [--units U]`.

A part is planned once, and kept planned for the next run until the rooms before the sheet change. Every sheet is one
piece of work, on one process or on several, and what was found is told as soon as the sheets of its part are made.
"""

from __future__ import annotations

import argparse
import hashlib
import io
import pickle
import re
import tempfile
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache, partial
from pathlib import Path
from typing import Any, get_args

import pypdf

from flangewise import jobs
from flangewise.commands.plan import plan_record
from flangewise.commands.plan_panel import panel_plan_record
from flangewise.jobs.crew import each_outcome, in_order, processes
from flangewise.jobs.panel_plan import planned_panel
from flangewise.jobs.panel_sheet import printed_panel
from flangewise.jobs.printed import printed as printed_job
from flangewise.part import FoundPart, Part, read_parts
from flangewise.sheet import PAPERS, Identity, PanelSheet, Printing, Record, SheetData, Wording
from flangewise.sheet.leaf import most_pages
from flangewise.sheet.panel_leaf import panel_html, panel_pdf
from flangewise.sheet.render import SHORT_MM, html_of, pdf_of
from flangewise.shop import PaperName, load_shop
from flangewise.words import LANGUAGES

from ..rim.written import lowest_mm
from ..rooms.sheet.measured import faults
from .judge import Defect, defects, opened, seen_defects

ROOT = Path(__file__).parents[2]
SOURCE = ROOT / "src" / "flangewise"
TOY = ROOT / "tests" / "rooms" / "shop" / "toy_shop"
FILES = (
    *sorted((ROOT / "examples" / "parts").glob("*.yaml")),
    *sorted((ROOT / "tests" / "parts").glob("*/part.yaml")),
    *sorted((Path(__file__).parent / "parts").glob("*.yaml")),
    *sorted((ROOT / "examples" / "panels").glob("*.yaml")),
)
AFTER_THE_PLAN = ("sheet", "drawing", "catalogue", "drawn")
"""Rooms that no plan hangs on, but for the records of a sheet."""
IDENTITY = Identity("a1b2c3d4e5f6", "0.1.0")
UNITS = ("mm", "inch")
IN_A_RING = re.compile(r"[A-Z]( [A-Z])* on a line")
"""The letters of a frame stand in a ring, white over what is drawn below."""


@dataclass(frozen=True)
class Planned:
    """A part as it is printed: its file, its sheet, the plan's record, the signed turns of its bends."""

    file: str
    sheet: SheetData | PanelSheet
    plan: dict[str, Any]
    turns_deg: list[float]

    @property
    def name(self) -> str:
        """What the part goes by in tables: its file, or the folder of it."""
        return name_of(Path(self.file))


@dataclass(frozen=True)
class Judged:
    """One sheet judged: its pages, what of them is white at their feet in mm, pages white for a third, defects."""

    pages: int
    white_mm: float
    white_pages: tuple[tuple[int, float], ...]
    found: tuple[Defect, ...]


def name_of(file: Path) -> str:
    """A part by its file, or by the folder of it."""
    return file.parent.name if file.stem == "part" else file.stem


@cache
def rooms_hash() -> str:
    """All that a plan hangs on but the part: the rooms before the sheet and the records of the sheet."""
    files = [
        file
        for file in sorted(SOURCE.rglob("*"))
        if file.suffix in (".py", ".yaml") and file.relative_to(SOURCE).parts[0] not in AFTER_THE_PLAN
    ]
    digest = hashlib.sha256()
    for file in (*files, SOURCE / "sheet" / "data.py", *sorted(TOY.rglob("*.yaml"))):
        digest.update(file.read_bytes())
    return digest.hexdigest()


def planned(file: Path) -> Planned | None:
    """A part planned, or as it was kept; None where it cannot be bent."""
    text = file.read_text(encoding="utf-8")
    key = hashlib.sha256(f"{rooms_hash()} {file.relative_to(ROOT)} {text}".encode()).hexdigest()[:24]
    kept = Path(tempfile.gettempdir(), "flangewise-pages", f"{name_of(file)}-{key}.pickle")
    if kept.exists():
        found: Planned | None = pickle.loads(kept.read_bytes())
        return found
    shop = load_shop(TOY if "material: toy" in text else None)
    (read,) = read_parts([str(file)], shop)
    made: Planned | None = None
    if read.panel is not None:
        panel = planned_panel(read.panel, shop)
        if panel.feasible:
            record = panel_plan_record(panel, {})
            made = Planned(str(file.relative_to(ROOT)), printed_panel(panel, shop), record, [])
    elif (job := jobs.worked_out(_part_of(read), shop)).feasible:
        turns_deg = [-bend.turn_deg if bend.away else bend.turn_deg for bend in job.part.section.bends]
        made = Planned(str(file.relative_to(ROOT)), printed_job(job), plan_record(job), turns_deg)
    kept.parent.mkdir(exist_ok=True)
    kept.write_bytes(pickle.dumps(made))
    return made


def _part_of(read: FoundPart) -> Part:
    """The part with a section of a file that was read."""
    assert read.part is not None, read
    return read.part


def judged(part: Planned, way: tuple[str, str, PaperName], keep: Path | None) -> Judged:
    """One sheet of a part: language, units, paper."""
    lang, units, paper = way
    settings = Printing(lang, units, paper)
    record, wording = Record(IDENTITY.plan_hash), Wording(part.sheet.machine, lang, units)
    if isinstance(part.sheet, PanelSheet):
        first = panel_html(part.sheet, IDENTITY, settings, wording, record=None)
        data = panel_pdf(part.sheet, IDENTITY, settings, wording, record=record)
    else:
        html, *tighter = (partial(html_of, part.sheet, IDENTITY, settings, record=None, short_mm=mm) for mm in SHORT_MM)
        first, most = html(), most_pages(part.sheet)
        data = pdf_of(first, attachments=(), record=record, wording=wording, tighter=tighter, most_pages=most)
    if keep is not None:
        keep.mkdir(parents=True, exist_ok=True)
        (keep / f"{part.sheet.part.name}-{'-'.join(way)}.pdf").write_bytes(data)
    reader = pypdf.PdfReader(io.BytesIO(data))
    own = seen_defects if isinstance(part.sheet, PanelSheet) else partial(defects, turns_deg=part.turns_deg)
    found = (*own(opened(reader, lang, units, paper), part.plan), *in_pictures(first))
    feet = [(number, lowest_mm(page) - PAPERS[paper].bottom_mm) for number, page in enumerate(reader.pages, start=1)]
    white = tuple((number, mm) for number, mm in feet if mm > PAPERS[paper].printed_mm / 3)
    return Judged(len(feet), sum(mm for _, mm in feet), white, found)


def in_pictures(html: str) -> Iterator[Defect]:
    """Words on lines or out of their frames, in every picture of a sheet."""
    for picture in re.findall(r"<svg.*?</svg>", html, re.DOTALL):
        title = (re.findall(r"<title>(.*?)</title>", picture, re.DOTALL) or [""])[0]
        if "<text" in picture:
            found = (fault for fault in faults(picture) if not IN_A_RING.match(fault))
            yield from (Defect("picture", 0, f"{fault}: {title[:50]}") for fault in found)


def _judged(keep: Path | None, work: tuple[Planned, tuple[str, str, PaperName]]) -> Judged:
    return judged(*work, keep)


def main() -> None:
    """Prints each defect, the pages of every part in every way, and counts."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("parts", nargs="*", help="names of part files; all without")
    asked.add_argument("--lang", choices=LANGUAGES, action="append")
    asked.add_argument("--paper", choices=get_args(PaperName), action="append")
    asked.add_argument("--units", choices=UNITS, action="append")
    asked.add_argument("--keep", type=Path, help="a folder that the PDFs are left in")
    asked.add_argument("--jobs", type=int, default=1, help="processes")
    options = asked.parse_args()
    ways = [
        (lang, units, paper)
        for lang in options.lang or LANGUAGES
        for units in options.units or UNITS
        for paper in options.paper or get_args(PaperName)
    ]
    files = [file for file in FILES if not options.parts or name_of(file) in options.parts]
    bent = [part for file in files if (part := planned(file)) is not None]
    works = [(part, way) for part in bent for way in ways]
    print(f"{len(bent)} parts, {len(works)} sheets", flush=True)
    kinds, tally = Counter[str](), dict[tuple[str, tuple[str, ...]], Judged]()
    judged = partial(_judged, options.keep)
    outcomes = in_order(each_outcome(judged, works, hire=processes(options.jobs, len(works))))
    for (part, way), sheet in zip(works, outcomes, strict=True):
        if isinstance(sheet, Exception):
            raise sheet
        tally[part.file, way] = sheet
        told = f"{part.file} {' '.join(way)}"
        for number, mm in sheet.white_pages:
            print(f"  {told}: page {number} is white for {mm:.0f} mm at its foot", flush=True)
        for each in sheet.found:
            kinds[each.kind] += 1
            print(f"{told}: {each}", flush=True)
    _tell_pages(bent, ways, tally)
    print(dict(kinds) or "no defect")


def _tell_pages(
    bent: list[Planned], ways: list[tuple[str, str, PaperName]], tally: dict[tuple[str, tuple[str, ...]], Judged]
) -> None:
    """The pages of every part in every way, their sums, and what is white."""
    heads = [f"{lang} {units[:2]} {paper}" for lang, units, paper in ways]
    print(f"{'':22}hits" + "".join(f"{head:>13}" for head in heads))
    for part in bent:
        pages = "".join(f"{tally[part.file, way].pages:>13}" for way in ways)
        print(f"{part.name:22}{len(part.sheet.steps):>4}{pages}")
    sums = {way: sum(tally[part.file, way].pages for part in bent) for way in ways}
    white = {way: sum(tally[part.file, way].white_mm for part in bent) for way in ways}
    print(f"{'pages':26}" + "".join(f"{sums[way]:>13}" for way in ways))
    shares = (white[way] / (sums[way] * PAPERS[way[2]].printed_mm) for way in ways)
    print(f"{'white at their feet':26}" + "".join(f"{share:>13.1%}" for share in shares))


if __name__ == "__main__":
    main()
