"""The pages of the printed sheet: how many, how white at their feet, nothing cut off, figures large enough."""

from __future__ import annotations

import io
import re
from dataclasses import replace
from functools import cache
from pathlib import Path

import pypdf
import pytest
import yaml

from flangewise import jobs
from flangewise.drawing import text_width_mm
from flangewise.jobs.printed import printed
from flangewise.part import read_parts
from flangewise.sheet import PAPERS, TEMPLATES, Identity, Printing, SheetData, sheet_bytes
from flangewise.shop import PaperName, load_shop
from flangewise.words import catalogue

from ..how_many import WHOLE, one_in
from .job_read_out import Job, Reader, differences
from .read_back import EXAMPLES, plans, sheet_html, signed_turns_deg, step_pieces
from .reading_order import Line, lines_of
from .written import marks_mm

CORPUS = Path(__file__).parents[1] / "parts"
TOY = Path(__file__).parents[1] / "rooms" / "shop" / "toy_shop"
POINT_MM = 25.4 / 72
PAGES = {
    "cable-clip": 2,
    "drip-shield": 2,
    "lap-plate": 1,
    "logger-lid": 2,
    "mast-angle": 1,
    "rain-gauge-foot": 2,
    "rain-gauge-gutter": 2,
    "sensor-rail": 3,
    "tray-16ga": 2,
    "wind-vane-bracket": 1,
}
"""One hit stands on a page, two or three on a leaf of two, four on three pages."""
MOST_PAGES, MOST_WHITE = 75, 0.10
ONE_OF_EACH = ("lap-plate", "cable-clip", "sensor-rail")
PRINTED = [("en", "a4", "mm"), ("de", "letter", "inch")]
# One of each length is read out in German, in English the longest, and in Spanish another.
OF_A_LANGUAGE = {"de": ONE_OF_EACH, "en": ONE_OF_EACH[-1:], "es": ONE_OF_EACH[1:2]}
READ_OUT = [
    (name, *each)
    for each in (*PRINTED, ("es", "a4", "mm"))
    for name in PAGES
    if WHOLE or name in OF_A_LANGUAGE[each[0]]
]
IDENTITY = Identity("a1b2c3d4e5f6", "0.1.0")


OF_THE_CORPUS = ("hemmed-edge", "lipped-channel", "offset-step")[:: one_in(3)]
"""Parts of the corpus of whose kind no example is, or that have the most hits."""


@cache
def sheet_of(file: Path) -> SheetData | None:
    """The sheet of a part file; none where it cannot be bent."""
    shop = load_shop(TOY if "material: toy" in file.read_text(encoding="utf-8") else None)
    (read,) = read_parts([str(file)], shop)
    assert read.part is not None
    job = jobs.work_out(read.part, shop)
    return printed(job) if job.feasible else None


def files_in(lang: str) -> list[Path]:
    """What is printed in a language: half of the examples in German, the others and some of the corpus in English."""
    if WHOLE:
        return [*examples().values(), *sorted(CORPUS.glob("*/part.yaml"))]
    corpus = () if lang == "de" else OF_THE_CORPUS
    return [*(examples()[name] for name in halves(lang)), *(CORPUS / name / "part.yaml" for name in corpus)]


def halves(lang: str) -> list[str]:
    """The examples whose pages are counted in a language: each in one of them, one of each length in German."""
    german = [*ONE_OF_EACH, *(name for name in PAGES if name not in ONE_OF_EACH)][:5]
    return german if lang == "de" else [name for name in PAGES if name not in german]


@cache
def examples() -> dict[str, Path]:
    """The files of the examples, by the names of their parts."""
    found = {yaml.safe_load(file.read_text(encoding="utf-8"))["part"]: file for file in EXAMPLES.glob("*.yaml")}
    assert set(found) == set(PAGES)
    return found


@cache
def pdf(file: Path, lang: str, paper: PaperName, units: str) -> pypdf.PdfReader:
    """The PDF of one part's sheet."""
    sheet = sheet_of(file)
    assert sheet is not None
    return pypdf.PdfReader(io.BytesIO(sheet_bytes(sheet, IDENTITY, Printing(lang, units, paper))))


@cache
def read_out(name: str, lang: str, paper: PaperName, units: str) -> list[Line]:
    """The lines of an example's sheet in reading order."""
    return lines_of(pdf(examples()[name], lang, paper, units))


def rebuilt(lines: list[Line], lang: str, units: str) -> Job:
    """The job of a sheet from its text alone: what stands in pictures has no order, and is passed over."""
    return Reader([line.words for line in lines if line.kind != "Figure"], lang, units).job()


@pytest.mark.parametrize(("lang", "paper", "units"), PRINTED)
def test_pages_are_few_hardly_white_at_their_feet_and_keep_their_margins(
    lang: str, paper: PaperName, units: str
) -> None:
    """Half of the examples in the longest words, the others and some of the corpus in English."""
    count, white_mm, high_mm = {}, 0.0, 0.0
    margins = PAPERS[paper]
    for file in files_in(lang):
        sheet = sheet_of(file)
        if sheet is None:
            continue
        reader = pdf(file, lang, paper, units)
        count[sheet.part.name, file.parent] = len(reader.pages)
        for number, page in enumerate(reader.pages, start=1):
            spots = [spot for spot in marks_mm(page) if 0.0 < spot[0] < margins.width_mm]
            assert len(spots) > 20
            inked = [(x, y) for x, y in spots if y > margins.bottom_mm + 0.5]
            white_mm += min(y for _, y in inked) - margins.bottom_mm
            high_mm += margins.printed_mm
            left_mm, right_mm = (20.0, margins.right_mm) if number % 2 else (margins.right_mm, 20.0)
            assert min(x for x, _ in inked) > left_mm - 0.6
            assert max(x for x, _ in inked) < margins.width_mm - right_mm + 0.6
    printed_of = {part: pages for (part, folder), pages in count.items() if folder == EXAMPLES}
    assert len(printed_of) == (len(PAGES) if WHOLE else len(PAGES) // 2)
    assert printed_of == {part: PAGES[part] for part in printed_of}
    assert len(count) >= 5
    assert sum(count.values()) <= MOST_PAGES * len(count) / 34
    assert white_mm / high_mm < MOST_WHITE


@pytest.mark.parametrize(("name", "lang", "paper", "units"), READ_OUT)
def test_a_stranger_rebuilds_the_job_from_the_text_of_the_sheet(
    name: str, lang: str, paper: PaperName, units: str
) -> None:
    """Order, faces, what lies on the stops, moves, figures and tools, read out, are those of the plan's JSON."""
    job = rebuilt(read_out(name, lang, paper, units), lang, units)
    plan = plans()[name]
    assert len(job.hits) == len(plan["steps"]) > 0
    assert differences(job, plan, signed_turns_deg(name)) == []


@pytest.mark.parametrize(
    ("told", "instead", "noticed"),
    [
        ("X", "23.10", "x_mm"),
        ("DEPTH", "3.90", "depth_mm"),
        ("R", "-4.50", "r_mm"),
        ("Z1 / Z2", "375.00 / 535.00", "z1"),
        ("punch · R1/1", "straight-80", "straight-80"),
        ("MARKED FACE DOWN", "MARKED FACE UP", "marked_face"),
        ("on the stops: the end edge", "on the stops: the start edge", "gauged_on"),
        ("1 B 90° away from the marked face", "1 A 90° away from the marked face", "bends"),
    ],
)
def test_a_line_changed_is_another_job(told: str, instead: str, noticed: str) -> None:
    """The value under the first such label, or the line itself."""
    name = "rain-gauge-foot"
    lines = list(read_out(name, "en", "a4", "mm"))
    first = next(at for at, line in enumerate(lines) if line.words == told)
    at = first if len(told) > 12 else first + 1
    lines[at] = replace(lines[at], words=instead)
    assert noticed in " ".join(differences(rebuilt(lines, "en", "mm"), plans()[name], signed_turns_deg(name)))


@pytest.mark.parametrize(("name", "lang", "paper", "units"), READ_OUT)
def test_what_is_read_out_follows_the_work(name: str, lang: str, paper: PaperName, units: str) -> None:
    """Page by page: the job, its section, its blank, the tools, the order with its strip, each step, the record."""
    lines, said = read_out(name, lang, paper, units), catalogue(lang)
    assert [line.page for line in lines] == sorted(line.page for line in lines)
    assert {line.page for line in lines} == set(range(1, PAGES[name] + 1))
    heads = {said[f"sheet.section.{code}"]: code for code in ("tools", "steps", "first-piece", "run")}
    shown = {said[f"sheet.alt.{code}"].split("{")[0]: code for code in ("section", "blank")}
    found = []
    for line in lines:
        if line.kind == "H1":
            found.append("job")
        elif line.kind == "H2":
            found.append(heads[line.words])
        elif line.kind == "H3":
            found.append(f"step {line.words.split()[0]}")
        elif line.kind == "P" and re.fullmatch(r"\d+ [A-Z](, [A-Z])* .+", line.words):
            found.append(f"frame {line.words.split()[0]}")
        elif line.kind == "Figure":
            found += [code for start, code in shown.items() if line.said_of.startswith(start)]
    count = len(plans()[name]["steps"])
    frames = [f"frame {number}" for number in range(1, count + 1)] if count > 3 else []
    steps = [f"step {number}" for number in range(1, count + 1)]
    assert found == ["job", "section", "blank", "tools", "steps", *frames, *steps, "first-piece", "run"]


def sizes_pt(selector: str) -> float:
    """The size of letters that the style sheet gives to a selector."""
    css = (TEMPLATES / "sheet.css").read_text(encoding="utf-8")
    (rule,) = re.findall(rf"(?m)^{re.escape(selector)} \{{([^}}]*)\}}", css)
    return float(re.findall(r"font-size: ([\d.]+)pt", rule)[0])


def test_what_is_keyed_in_or_measured_is_printed_large() -> None:
    assert sizes_pt(".main span") >= 20.0 and sizes_pt(".main .third span") >= 16.0
    for selector in (".grid span", ".read", ".cell span", "td", ".pair .stand"):
        assert sizes_pt(selector) >= 11.0


@pytest.mark.parametrize(("lang", "units"), [("en", "mm"), ("en", "inch"), ("de", "inch"), ("es", "inch")])
@pytest.mark.parametrize("name", PAGES)
def test_the_row_of_figures_never_wraps_nor_meets_its_neighbour(name: str, lang: str, units: str) -> None:
    """Each figure and its label take their place or more, with a gap behind them; a row is narrower than its column."""
    pieces = step_pieces(sheet_html(name, lang, units))
    assert pieces
    for piece in pieces:
        main, grid = piece.split('<div class="main">')[1].split('<div class="grid">')
        large, fine = cells_of(main), cells_of(grid)[:4]
        assert (len(large), len(fine)) == (3, 4)
        assert row_mm(large) <= NUMBERS_MM and row_mm(fine) <= NUMBERS_MM


def test_a_row_of_the_longest_figures_still_stands_beside_the_words_of_its_step() -> None:
    """A hem's depth and a deep stop in inch; a bed of three metres, 60 ton, and the longest labels."""
    large = [("PROFUNDIDAD", "-0,1181"), ("X", "23,622"), ("R", "-0,157")]
    fine = [("Z1 / Z2", "101,20 / 113,75"), ("en reposo", "90,0°"), ("fuerza, ton (kN)", "60,1 (535)")]
    assert row_mm(large) <= NUMBERS_MM
    assert row_mm([*fine, ("abierto", "5,82")]) <= NUMBERS_MM


def row_mm(cells: list[tuple[str, str]]) -> float:
    """How wide a row of figures becomes: in three the large ones, in four the finer ones."""
    keys = (".main div", ".main .second", ".main .third") if len(cells) == 3 else FINE
    sizes = (".main span", ".main span", ".main .third span") if len(cells) == 3 else (".grid span",) * 4
    wide_mm = 0.0
    for (label, value), key, size in zip(cells, keys, sizes, strict=True):
        needed_mm = max(
            text_width_mm(label, 8.0 * POINT_MM), text_width_mm(value, sizes_pt(size) * POINT_MM, bold=True)
        )
        wide_mm += max(needed_mm, millimetres(key, "min-width")) + (0.0 if key == FINE[-1] else GAP_MM)
    return wide_mm


def millimetres(selector: str, what: str) -> float:
    """A size that the style sheet gives to a selector."""
    css = (TEMPLATES / "sheet.css").read_text(encoding="utf-8")
    (rule,) = re.findall(rf"(?m)^{re.escape(selector)} \{{([^}}]*)\}}", css)
    return float(re.findall(rf"(?:^|[ ;]){what}: ([\d.]+)mm", rule)[0])


FINE = (".grid .twin", ".grid div", ".grid .load", ".grid .end")
"""The places of Z, the angle at rest, the force and the opening."""
NUMBERS_MM = millimetres(".numbers", "width")
GAP_MM = millimetres(".main div, .grid div", "padding-right")


def cells_of(piece: str) -> list[tuple[str, str]]:
    """Labels and values in their order."""
    return re.findall(r"<b>([^<]*)</b><span>([^<]*)</span>", piece)
