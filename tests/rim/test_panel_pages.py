"""The pages of a panel's printed sheet: how many, what is keyed in large and in one row, each step's pictures."""

from __future__ import annotations

import io
import re
from functools import cache
from pathlib import Path

import pypdf
import pytest

from flangewise.drawing import text_width_mm
from flangewise.jobs.panel_plan import planned_panel
from flangewise.jobs.panel_sheet import printed_panel
from flangewise.part import read_parts
from flangewise.sheet import Identity, PanelSheet, Printing, panel_sheet_bytes
from flangewise.shop import PaperName, load_shop

from ..how_many import WHOLE, one_in
from .test_pages import cells_of, row_mm

PANELS = Path(__file__).parents[2] / "examples" / "panels"
IDENTITY = Identity("a1b2c3d4e5f6", "0.1.0")
PAGES = {
    "battery-tray": 3,
    "cable-tongue": 3,
    "collector-pan": 3,
    "corner-plate": 3,
    "dust-hopper": 3,
    "filter-tray": 3,
    "lap-cover": 3,
    "logger-housing": 4,
    "mast-bracket": 3,
    "sun-shield-arm": 3,
    "terminal-cover": 3,
}
"""Four to six hits stand on three pages, eight on four."""
FEW = ("logger-housing",)
PRINTED = [
    (name, *each)
    for each in (("de", "letter"), ("en", "a4"), ("es", "letter"))
    for name in PAGES
    if WHOLE or (name in FEW and each[0] == "de")
]
WIDE_MM = 180.0


@cache
def sheet_of(name: str) -> PanelSheet:
    shop = load_shop(None)
    (found,) = read_parts([str(PANELS / f"{name}.yaml")], shop)
    assert found.panel is not None
    return printed_panel(planned_panel(found.panel, shop), shop)


def test_every_example_is_counted() -> None:
    assert set(PAGES) == {path.stem for path in PANELS.glob("*.yaml")}


@pytest.mark.parametrize(("name", "lang", "paper"), PRINTED)
def test_pages_are_few(name: str, lang: str, paper: PaperName) -> None:
    sheet = sheet_of(name)
    made = panel_sheet_bytes(sheet, IDENTITY, Printing(lang=lang, paper=paper))
    assert len(pypdf.PdfReader(io.BytesIO(made)).pages) == PAGES[name]
    hits = len(sheet.steps)
    assert PAGES[name] <= (1 if hits == 1 else 2 if hits <= 3 else 3 if hits <= 6 else 4)


@pytest.mark.parametrize(("lang", "units"), [("de", "inch"), ("es", "mm")][:: one_in(2)])
def test_the_row_of_figures_of_a_step_never_wraps(lang: str, units: str) -> None:
    """Large figures and small ones stand below each other beside pictures, else in one row of the page's width."""
    page = panel_sheet_bytes(sheet_of("collector-pan"), IDENTITY, Printing(lang=lang, units=units, html=True)).decode()
    steps = re.findall(r'<article class="step">(.*?)</article>', page, re.S)
    assert len(steps) == 4
    for step in steps:
        main, grid = step.split('<div class="main">')[1].split('<div class="grid">')
        large, fine = cells_of(main), cells_of(grid)[:4]
        assert (len(large), len(fine)) == (3, 4)
        assert row_mm(large) + row_mm(fine) < WIDE_MM
        place = re.findall(r'<p class="read">([^<]*)</p>', step)[0]
        assert text_width_mm(place, 11 * 25.4 / 72, bold=True) < WIDE_MM
