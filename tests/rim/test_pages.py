"""The pages of the printed sheet: how many, how white at their feet, nothing cut off, figures large enough."""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

import pypdf
import pytest
import yaml

from flangewise import jobs
from flangewise.drawing import text_width_mm
from flangewise.jobs.printed import printed
from flangewise.part import read_parts
from flangewise.sheet import PAPERS, TEMPLATES, Identity, Printing, SheetData, sheet_bytes
from flangewise.shop import PaperName, load_shop

from ..how_many import WHOLE
from .read_back import EXAMPLES, sheet_html, step_pieces

CORPUS = Path(__file__).parents[1] / "parts"
TOY = Path(__file__).parents[1] / "rooms" / "shop" / "toy_shop"
POINT_MM = 25.4 / 72
Matrix = tuple[float, float, float, float, float, float]
# Strings, and what stands between the signs of arrays: numbers, names and operators.
STRING = re.compile(rb"<<.*?>>|<[^>]*>|\((?:[^()\\]|\\.)*\)", re.DOTALL)
TOKEN = re.compile(rb"[^\s\[\]]+")
OPERATORS = (b"f*", b"W*", b"B*", b"b*", b"T*", b"d0", b"d1")
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
IDENTITY = Identity("a1b2c3d4e5f6", "0.1.0")


OF_THE_CORPUS = ("hemmed-edge", "lipped-channel", "offset-step")
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
    """What is printed in a language: in German all examples, in English one of each length and some of the corpus."""
    examples = {yaml.safe_load(file.read_text(encoding="utf-8"))["part"]: file for file in EXAMPLES.glob("*.yaml")}
    assert set(examples) == set(PAGES)
    if lang == "de" or WHOLE:
        return [*examples.values(), *(sorted(CORPUS.glob("*/part.yaml")) if WHOLE else ())]
    return [*(examples[name] for name in ONE_OF_EACH), *(CORPUS / name / "part.yaml" for name in OF_THE_CORPUS)]


def pdf(sheet: SheetData, lang: str, paper: PaperName, units: str) -> pypdf.PdfReader:
    """The PDF of one sheet."""
    return pypdf.PdfReader(io.BytesIO(sheet_bytes(sheet, IDENTITY, Printing(lang, units, paper))))


def marks_mm(page: pypdf.PageObject) -> list[tuple[float, float]]:
    """Where on a page text and the ends of strokes stand, in mm from the lower left corner."""
    contents = page.get_contents()
    assert contents is not None
    return list(marked(contents.get_data(), page["/Resources"], (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)))


def marked(data: bytes, resources: Any, matrix: Matrix) -> Iterator[tuple[float, float]]:
    """The marks of a stream of operators and of the forms drawn in it: where letters and corners stand on the paper."""
    kept: list[Matrix] = []
    text = matrix
    stack: list[float | bytes] = []
    for token in TOKEN.findall(STRING.sub(b" 0 ", data)):
        if not token.isalpha() and token not in OPERATORS:
            stack.append(token if token.startswith(b"/") else float(token))
            continue
        numbers = [each for each in stack if isinstance(each, float)]
        if token == b"q":
            kept.append(matrix)
        elif token == b"Q":
            matrix = kept.pop()
        elif token == b"cm":
            matrix = times(matrix, *numbers)
        elif token == b"Tm":
            text = times(matrix, *numbers)
        elif token == b"Do":
            form = resources["/XObject"][stack[-1].decode()].get_object()  # type: ignore[union-attr]
            if form["/Subtype"] == "/Form":
                inside = times(matrix, *(float(each) for each in form.get("/Matrix", (1, 0, 0, 1, 0, 0))))
                yield from marked(form.get_data(), form.get("/Resources", resources), inside)
        elif token in (b"Tj", b"TJ"):
            yield text[4] * POINT_MM, text[5] * POINT_MM
        elif token in (b"m", b"l", b"re"):
            x, y, wide, high = (*numbers, 0.0, 0.0)[:4]
            for a, b in {(x, y), (x + wide, y + high)}:
                _, _, _, _, across, up = times(matrix, 1.0, 0.0, 0.0, 1.0, a, b)
                yield across * POINT_MM, up * POINT_MM
        stack.clear()


def times(outer: Matrix, a: float, b: float, c: float, d: float, e: float, f: float) -> Matrix:
    """A matrix within another, both in the order of the standard (ISO 32000-1, 8.3.4)."""
    p, q, r, s, t, u = outer
    return a * p + b * r, a * q + b * s, c * p + d * r, c * q + d * s, e * p + f * r + t, e * q + f * s + u


@pytest.mark.parametrize(("lang", "paper", "units"), PRINTED)
def test_pages_are_few_hardly_white_at_their_feet_and_keep_their_margins(
    lang: str, paper: PaperName, units: str
) -> None:
    """The examples in the longest words; of each number of pages one, and of the corpus, in English."""
    count, white_mm, high_mm = {}, 0.0, 0.0
    margins = PAPERS[paper]
    for file in files_in(lang):
        sheet = sheet_of(file)
        if sheet is None:
            continue
        reader = pdf(sheet, lang, paper, units)
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
    examples = {part: pages for (part, folder), pages in count.items() if folder == EXAMPLES}
    assert len(examples) == (len(PAGES) if lang == "de" or WHOLE else len(ONE_OF_EACH))
    assert examples == {part: PAGES[part] for part in examples}
    assert len(count) >= 6
    assert sum(count.values()) <= MOST_PAGES * len(count) / 34
    assert white_mm / high_mm < MOST_WHITE


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
