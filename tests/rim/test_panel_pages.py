"""The pages of a panel's printed sheet: how many, what is keyed in large and in one row, each step's pictures."""

from __future__ import annotations

import io
import re
from functools import cache
from pathlib import Path
from typing import Any

import pypdf
import pytest

from flangewise.commands.plan_panel import panel_plan_record
from flangewise.drawing import text_width_mm
from flangewise.jobs.panel_plan import planned_panel
from flangewise.jobs.panel_sheet import printed_panel
from flangewise.part import read_parts
from flangewise.sheet import Identity, PanelSheet, Printing, panel_sheet_bytes
from flangewise.shop import PaperName, load_shop

from ..how_many import WHOLE, one_in
from .panel_read_out import PanelReader, panel_differences
from .reading_order import lines_of
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
    "relay-cover": 3,
    "sun-shield-arm": 3,
    "terminal-cover": 3,
}
"""Four to six hits stand on three pages, eight on four."""
FEW = ("logger-housing",)
SHORT = "collector-pan"
READ_OUT = [
    (name, *each)
    for each in (("de", "mm", "letter"), ("en", "mm", "a4"), ("es", "inch", "letter"))
    for name in PAGES
    if WHOLE or name == {"de": FEW[0], "en": SHORT}.get(each[0])
]
PRINTED = [
    (name, *each)
    for each in (("de", "letter"), ("en", "a4"), ("es", "letter"))
    for name in PAGES
    if WHOLE or (name in FEW and each[0] == "de")
]
WIDE_MM = 180.0


@cache
def planned(name: str) -> tuple[PanelSheet, dict[str, Any]]:
    """The sheet of an example, and its plan in JSON."""
    shop = load_shop(None)
    (found,) = read_parts([str(PANELS / f"{name}.yaml")], shop)
    assert found.panel is not None
    plan = planned_panel(found.panel, shop)
    return printed_panel(plan, shop), panel_plan_record(plan, {})


def sheet_of(name: str) -> PanelSheet:
    return planned(name)[0]


@cache
def pdf(name: str, lang: str, units: str, paper: PaperName) -> pypdf.PdfReader:
    made = panel_sheet_bytes(sheet_of(name), IDENTITY, Printing(lang, units, paper))
    return pypdf.PdfReader(io.BytesIO(made))


@cache
def read_out(name: str, lang: str, units: str, paper: PaperName) -> tuple[str, ...]:
    """The words of a sheet in reading order, but those in pictures; a long name is broken behind its hyphens."""
    lines = [line for line in lines_of(pdf(name, lang, units, paper)) if line.kind != "Figure"]
    return tuple(line.words.replace("- ", "-") if line.kind == "H1" else line.words for line in lines)


def test_every_example_is_counted() -> None:
    assert set(PAGES) == {path.stem for path in PANELS.glob("*.yaml")}


@pytest.mark.parametrize(("name", "lang", "paper"), PRINTED)
def test_pages_are_few(name: str, lang: str, paper: PaperName) -> None:
    sheet = sheet_of(name)
    assert len(pdf(name, lang, sheet.part.units, paper).pages) == PAGES[name]
    hits = len(sheet.steps)
    assert PAGES[name] <= (1 if hits == 1 else 2 if hits <= 3 else 3 if hits <= 6 else 4)


@pytest.mark.parametrize(("name", "lang", "units", "paper"), READ_OUT)
def test_a_stranger_rebuilds_the_job_from_the_text_of_the_sheet(
    name: str, lang: str, units: str, paper: PaperName
) -> None:
    """Order, faces, what is at the stops, moves, figures, tools and their rows, read out, are those of the plan."""
    job, plan = PanelReader(list(read_out(name, lang, units, paper)), lang, units).job(), planned(name)[1]
    assert len(job.hits) == len(plan["steps"]) == len(job.strip) > 3
    assert panel_differences(job, plan) == []


@pytest.mark.parametrize(
    ("told", "instead", "noticed"),
    [
        ("X", "38.60", "x_mm"),
        ("DEPTH", "1.90", "depth_mm"),
        ("R", "-4.50", "r_mm"),
        ("punch · R1/1", "straight-80", "straight-80"),
        ("edge of right at the stops", "edge of left at the stops", "gauged_on"),
        ("MARKED FACE UP, left to the operator", "MARKED FACE DOWN, left to the operator", "marked_face"),
        ("1 B right: 90° toward the marked face", "1 B left: 90° toward the marked face", "faces"),
        ("TURN 90° clockwise, same face up", "TURN 90° counterclockwise, same face up", "moves"),
        ("Bed: line from 354.5; row from 305.0", "Bed: line from 355.5; row from 305.0", "line"),
    ],
)
def test_a_line_changed_is_another_job(told: str, instead: str, noticed: str) -> None:
    """The value under the first such label, or every such line."""
    lines = list(read_out(SHORT, "en", "mm", "a4"))
    at = lines.index(told)
    lines[at + (len(told) <= len("punch · R1/1"))] = instead
    if told.startswith("TURN"):
        lines = [instead if line == told else line for line in lines]
    job = PanelReader(lines, "en", "mm").job()
    assert noticed in " ".join(panel_differences(job, planned(SHORT)[1]))


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
