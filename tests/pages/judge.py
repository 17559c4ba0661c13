"""A printed sheet judged by what is written on its pages: each defect with its page and its place."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

import pypdf

from flangewise.sheet import PAPERS
from flangewise.shop import PaperName
from flangewise.words import catalogue

from ..rim.job_read_out import Reader, differences
from ..rim.panel_read_out import PanelReader, panel_differences
from ..rim.reading_order import Line, lines_of
from ..rim.written import Run, runs_of

POINT_MM = 25.4 / 72
KEYED_PT, LARGE_PT = 11.0, 20.0
SLACK_PT = 0.6
"""What two boxes may share, or one stand over: the roundings of a page."""
BINDER_MM, PRINTED_MM = 20.0, 180.0
HOLE = re.compile(r"h\d+")
"""A hole's name, which is no size."""
SMALL = ("step.slow", "step.speed", "step.retract", "step.crowning")
"""Words in the running text before a number that is keyed in."""


@dataclass(frozen=True)
class Defect:
    """What is wrong, on which page, where in mm from its upper left corner, and the words there."""

    kind: str
    page: int
    told: str
    across_mm: float = 0.0
    down_mm: float = 0.0

    def __str__(self) -> str:
        return f"{self.kind}: page {self.page} at {self.across_mm:.0f}, {self.down_mm:.0f} mm: {self.told}"


@dataclass(frozen=True)
class Printed:
    """One sheet as it is judged: its lines in reading order, its runs, and with which words it was printed."""

    reader: pypdf.PdfReader
    lang: str
    units: str
    paper: PaperName
    lines: list[Line] = field(default_factory=list)
    runs: list[Run] = field(default_factory=list)

    def word(self, code: str) -> str:
        """A label of the sheet."""
        return catalogue(self.lang)[f"sheet.{code}"]

    def written(self, line: Line) -> list[Run]:
        """The runs of a line."""
        return [run for run in self.runs if (run.page, run.mark) in line.marks]


def opened(reader: pypdf.PdfReader, lang: str, units: str, paper: PaperName) -> Printed:
    """A sheet read."""
    runs = [run for number, page in enumerate(reader.pages, start=1) for run in runs_of(page, number)]
    return Printed(reader, lang, units, paper, lines_of(reader), [run for run in runs if run.words.strip()])


def defects(printed: Printed, plan: dict[str, Any], turns_deg: list[float]) -> Iterator[Defect]:
    """All defects of one sheet."""
    yield from cut_off(printed)
    yield from overlaps(printed)
    yield from rows(printed, plan)
    yield from labels(printed, plan)
    yield from sizes(printed)
    yield from told_otherwise(printed, plan, turns_deg)


def seen_defects(printed: Printed, plan: dict[str, Any]) -> Iterator[Defect]:
    """The defects of a panel's sheet: its pictures have their own tests."""
    yield from cut_off(printed)
    yield from overlaps(printed)
    yield from rows(printed, plan)
    yield from sizes(printed)
    yield from in_order(printed)
    job = PanelReader(told_words(printed), printed.lang, printed.units).job()
    yield from (Defect("read out", 1, each) for each in panel_differences(job, plan))


def at(kind: str, run: Run, told: str) -> Defect:
    """A defect where a run stands."""
    return Defect(kind, run.page, told, run.box[0] * POINT_MM, run.box[3] * POINT_MM)


def cut_off(printed: Printed) -> Iterator[Defect]:
    """Letters that leave their window, or stand beside what is printed on."""
    paper, inside = PAPERS[printed.paper], {mark for line in printed.lines for mark in line.marks}
    for run in printed.runs:
        left_mm = BINDER_MM if run.page % 2 else paper.right_mm
        limits = (left_mm / POINT_MM, 0.0, (left_mm + PRINTED_MM) / POINT_MM, paper.height_mm / POINT_MM)
        if (run.page, run.mark) in inside:
            limits = (*limits[:3], (paper.height_mm - paper.bottom_mm) / POINT_MM)
        for window, said in ((run.window, "its window"), (limits, "the margins")):
            over = max(window[0] - run.box[0], window[1] - run.box[1], run.box[2] - window[2], run.box[3] - window[3])
            if over > SLACK_PT:
                yield at("cut off", run, f"{run.words!r} stands {over * POINT_MM:.1f} mm out of {said}")


def overlaps(printed: Printed) -> Iterator[Defect]:
    """Two runs that share ground."""
    by_page: dict[int, list[Run]] = defaultdict(list)
    for run in printed.runs:
        by_page[run.page].append(run)
    for runs in by_page.values():
        runs.sort(key=lambda run: run.box[1])
        for place, one in enumerate(runs):
            for other in runs[place + 1 :]:
                if other.box[1] > one.box[3]:
                    break
                wide = min(one.box[2], other.box[2]) - max(one.box[0], other.box[0])
                high = min(one.box[3], other.box[3]) - other.box[1]
                if wide > SLACK_PT and high > SLACK_PT:
                    yield at("overlap", one, f"{one.words!r} and {other.words!r}")


def step_lines(printed: Printed) -> list[list[Line]]:
    """The lines of each step, from its heading to the next."""
    first = [place for place, line in enumerate(printed.lines) if line.kind == "H3"]
    record = next(
        place for place, line in enumerate(printed.lines) if line.words == printed.word("section.first-piece")
    )
    return [printed.lines[start:end] for start, end in zip(first, [*first[1:], record], strict=True)]


def rows(printed: Printed, plan: dict[str, Any]) -> Iterator[Defect]:
    """Rows of figures whose labels or values do not stand on one base line each, or are broken."""
    steps = step_lines(printed)
    if len(steps) != len(plan["steps"]):
        yield Defect("row", 1, f"{len(steps)} steps of {len(plan['steps'])}")
    for lines in steps:
        start = next(place for place, line in enumerate(lines) if line.kind == "NonStruct")
        cells = lines[start : start + 14]
        for row in (cells[0:6:2], cells[1:6:2], cells[6::2], cells[7::2]):
            runs = [run for line in row for run in printed.written(line)]
            bases = {round(run.base_pt) for run in runs}
            if len(runs) != len(row) or max(bases) - min(bases) > 1:
                yield at("row", runs[0], f"{' | '.join(run.words for run in runs)} is no one row")


def labels(printed: Printed, plan: dict[str, Any]) -> Iterator[Defect]:
    """What a picture must say and does not: legs and bends of the section, figures of the blank, bends of a frame."""
    legs = len(plan["leg_errors"])
    bends = sorted({bend for step in plan["steps"] for bend in step["bends"]})
    marks = [chr(ord("A") + bend - 1) for bend in bends]
    steps = step_lines(printed)
    figures = [next(line.words for line in lines if line.kind == "Span") for lines in steps]
    x = [lines[[line.words for line in lines].index(printed.word("step.x")) + 1].words for lines in steps]
    assert len(figures) == len(x)
    for line in printed.lines:
        if line.kind != "Figure":
            continue
        runs = [run.words for run in printed.written(line)]
        wanted: list[str] = []
        if line.said_of == printed.word("alt.section"):
            wanted = [f"L{leg}" for leg in range(1, legs + 1)] + marks
        elif line.said_of.startswith(printed.word("alt.blank").split("{")[0]):
            wanted = [
                *marks,
                f"X{x[0]}",
                *(f"Z{at}" for at, _ in enumerate(plan["steps"][0]["stops"]["z_mm"], start=1)),
            ]
        elif line.said_of.startswith(printed.word("alt.frame").split("{")[0]):
            number = int(re.findall(r"\d+", line.said_of)[0])
            wanted = [chr(ord("A") + bend - 1) for bend in plan["steps"][number - 1]["bends"]]
        for each in wanted:
            if not any(words.startswith(each) for words in runs):
                yield Defect("label", line.page, f"{each} is not in the picture: {line.said_of[:60]}")


def sizes(printed: Printed) -> Iterator[Defect]:
    """Numbers keyed in or measured that are printed too small."""
    large = {printed.word(code) for code in ("step.depth", "step.bend-to", "step.x")}
    touched = [printed.word(f"touch-off.{code}").split("{height}")[0].rpartition("}")[2] for code in ("seats", "pair")]
    words = [line.words for line in printed.lines]
    log = words.index(printed.word("run.piece"))
    for place, line in enumerate(printed.lines):
        runs = printed.written(line)
        least = KEYED_PT
        if line.kind == "Figure":
            runs = _measured(printed, line, runs)
        elif line.kind == "Span" or (line.kind == "TD" and place < log and not re.search(r"[A-Za-z]", line.words)):
            label = printed.lines[place - 1].words
            runs = [run for run in runs if re.search(r"\d", run.words)]
            least = LARGE_PT if label in large else KEYED_PT
        elif line.kind == "P":
            said = [f"{printed.word(code)} " for code in SMALL] + [each for each in touched if each]
            keyed = re.compile(rf"(?:^|\W)(?:{'|'.join(map(re.escape, said))})\d")
            runs = [run for run in runs if keyed.search(run.words)]
        else:
            continue
        for run in runs:
            if run.size_pt < least - 0.05:
                yield at(f"size {line.kind}", run, f"{run.size_pt:.1f} pt, {least:.0f} wanted: {run.words[:90]!r}")


def _measured(printed: Printed, line: Line, runs: list[Run]) -> list[Run]:
    """The numbers in a picture that are measured or keyed in: all of section and blank."""
    starts = [printed.word(f"alt.{code}").split("{")[0] for code in ("section", "blank")]
    if not any(line.said_of.startswith(start) for start in starts):
        return []
    return [run for run in runs if re.search(r"\d", run.words) and not HOLE.fullmatch(run.words)]


def told_otherwise(printed: Printed, plan: dict[str, Any], turns_deg: list[float]) -> Iterator[Defect]:
    """Where the job read out is not the plan, or the pages are not in the order of the work."""
    yield from in_order(printed)
    job = Reader(told_words(printed), printed.lang, printed.units).job()
    yield from (Defect("read out", 1, each) for each in differences(job, plan, turns_deg))


def in_order(printed: Printed) -> Iterator[Defect]:
    """Pages that are not read one after the other."""
    pages = [line.page for line in printed.lines]
    if pages != sorted(pages):
        yield Defect("order", 1, f"pages are read {pages}")


def told_words(printed: Printed) -> list[str]:
    """The words of a sheet without those in pictures; a long name is broken behind its hyphens."""
    return [
        line.words.replace("- ", "-") if line.kind == "H1" else line.words
        for line in printed.lines
        if line.kind != "Figure"
    ]
