"""The pages of the printed sheet: how many, how white at their feet, nothing cut off, figures large enough."""

from __future__ import annotations

import io
import re
from functools import cache
from pathlib import Path

import pypdf
import pytest

from flangewise import jobs
from flangewise.drawing import text_width_mm
from flangewise.jobs.printed import printed
from flangewise.part import read_parts
from flangewise.sheet import PAPERS, TEMPLATES, Identity, Printing, SheetData, sheet_bytes
from flangewise.shop import PaperName, load_shop

from .read_back import EXAMPLES, sheet_html, step_pieces

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
PRINTED = [("en", "a4", "mm"), ("de", "letter", "inch")]
IDENTITY = Identity("a1b2c3d4e5f6", "0.1.0")


@cache
def sheets(*, corpus: bool) -> dict[str, SheetData]:
    """The sheets of the examples, and of the corpus, by file."""
    found = {}
    for file in (*sorted(EXAMPLES.glob("*.yaml")), *(sorted(CORPUS.glob("*/part.yaml")) if corpus else ())):
        shop = load_shop(TOY if "material: toy" in file.read_text(encoding="utf-8") else None)
        (read,) = read_parts([str(file)], shop)
        assert read.part is not None
        job = jobs.work_out(read.part, shop)
        if job.feasible:
            found[str(file)] = printed(job)
    assert len(found) > 15 if corpus else len(found) == len(PAGES)
    return found


def pdf(sheet: SheetData, lang: str, paper: PaperName, units: str) -> pypdf.PdfReader:
    """The PDF of one sheet."""
    return pypdf.PdfReader(io.BytesIO(sheet_bytes(sheet, IDENTITY, Printing(lang, units, paper))))


def marks_mm(page: pypdf.PageObject) -> list[tuple[float, float]]:
    """Where on a page text and the ends of strokes stand, in mm from the lower left corner."""
    found: list[tuple[float, float]] = []

    def seen(operator: bytes, operands: list[float], matrix: list[float], inner: list[float]) -> None:
        corners: list[tuple[float, float]] = []
        # The words of pictures come without their matrix; that they stay in their frames is tested with the pictures.
        if operator in (b"Tj", b"TJ") and matrix[3] < 0:
            corners = [(inner[4], inner[5])]
        elif operator in (b"re", b"l", b"m"):
            x, y, *size = (float(each) for each in operands)
            corners = [(x, y), (x + size[0], y + size[1])] if len(size) == 2 else [(x, y)]
        for a, b in corners:
            across, up = matrix[0] * a + matrix[2] * b + matrix[4], matrix[1] * a + matrix[3] * b + matrix[5]
            found.append((across * POINT_MM, up * POINT_MM))

    page.extract_text(visitor_operand_before=seen)
    return found


@pytest.mark.parametrize(("lang", "paper", "units"), PRINTED)
def test_pages_are_few_hardly_white_at_their_feet_and_keep_their_margins(
    lang: str, paper: PaperName, units: str
) -> None:
    """All parts in English, the examples in the longest words as well."""
    count, white_mm, high_mm = {}, 0.0, 0.0
    margins = PAPERS[paper]
    for name, sheet in sheets(corpus=lang == "en").items():
        reader = pdf(sheet, lang, paper, units)
        count[sheet.part.name, name] = len(reader.pages)
        for number, page in enumerate(reader.pages, start=1):
            spots = [spot for spot in marks_mm(page) if 0.0 < spot[0] < margins.width_mm]
            assert len(spots) > 20
            inked = [(x, y) for x, y in spots if y > margins.bottom_mm + 0.5]
            white_mm += min(y for _, y in inked) - margins.bottom_mm
            high_mm += margins.printed_mm
            left_mm, right_mm = (20.0, margins.right_mm) if number % 2 else (margins.right_mm, 20.0)
            assert min(x for x, _ in inked) > left_mm - 0.6
            assert max(x for x, _ in inked) < margins.width_mm - right_mm + 0.6
    examples = {part: pages for (part, name), pages in count.items() if Path(name).parent == EXAMPLES}
    assert examples == PAGES
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
