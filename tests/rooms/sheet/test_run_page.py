"""The page of a robot's run: its tables and lines, no cautions for hands, and a box at its foot that fills the page."""

from __future__ import annotations

import re
from dataclasses import replace
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest

from flangewise.jobs import work_out
from flangewise.jobs.printed import printed
from flangewise.part import read_part
from flangewise.sheet import PAPERS, Identity, Printing, SheetData
from flangewise.sheet.render import html_of, wording_of
from flangewise.sheet.run_page import RunPage, run_page, stack_picture
from flangewise.shop import load_shop
from flangewise.words import LANGUAGES, catalogue

from ..commands.cell_shop import RAIL, cell_shop

IDENTITY = Identity("a1b2c3d4e5f6", "0.1.0")


@cache
def sheet(*, entered: bool = True, part: str = RAIL) -> SheetData:
    with TemporaryDirectory() as folder:
        shop = load_shop(cell_shop(Path(folder) / "shop", entered=entered))
        return printed(work_out(read_part(part, "rail.yaml", shop), shop))


def page(lang: str = "en", **asked: bool) -> RunPage:
    data = sheet(**asked)  # type: ignore[arg-type]
    return run_page(data, wording_of(data, Printing(lang)))


def text_of(html: str) -> str:
    return " ".join(re.sub(r"<style>.*?</style>|<[^>]+>", " ", html, flags=re.S).split())


def test_a_robots_sheet_has_the_page_and_a_hand_fed_one_has_none() -> None:
    by_hand = sheet(entered=False, part=RAIL.replace("handler: robot\n", ""))
    assert 'class="run-page' in html_of(sheet(), IDENTITY, Printing(), record=None)
    assert by_hand.run is None
    assert "run-page" not in html_of(by_hand, IDENTITY, Printing(), record=None)


def test_the_page_says_what_the_plan_of_the_run_says() -> None:
    told = page()
    assert told.opening[0].startswith("Start: both programs on step 1")
    assert [row[0] for _, rows in told.phases for row in rows][:3] == ["in", "seated", "pinched"]
    assert [row[:2] for row in told.hits] == [("1", "A"), ("2", "B")]
    assert ("a person walks in (2010)", "1860 mm") in [row[:2] for row in told.distances]
    assert told.label == "Label: rail B, 23 pieces, 11.7 kg gross, lot by hand"
    assert told.not_computed == "" and "stop_time_s 0.3" in told.entered


def test_in_inch_a_distance_stands_beside_the_mm_that_its_formula_counts_in() -> None:
    data = sheet()
    told = run_page(data, wording_of(data, Printing(units="inch"))).distances[0]
    assert told[1] == "73.228 in" and told[2].startswith("1860 mm: S = 1600 T")


def test_without_a_cell_one_line_says_which_block_is_missing() -> None:
    told = page(entered=False)
    assert told.distances == () and told.entered == ""
    assert told.not_computed == "Cannot be computed: no `cell:` block under the handler robot."
    assert not any("Enter what is missing" in line or "stop_time" in line for line in told.layout)


@pytest.mark.parametrize("lang", LANGUAGES)
def test_its_foot_has_the_notice_and_no_cautions_for_hands(lang: str) -> None:
    """The first piece is bent by hand: the pages in front of it keep them."""
    html = html_of(sheet(), IDENTITY, Printing(lang), record=None)
    front, run = html.split('<section class="run-page', 1)
    words = catalogue(lang)
    assert words["sheet.usual"] in text_of(front) and words["sheet.usual"] not in text_of(run)
    assert " ".join(words["sheet.notice"].split()) in text_of(run)
    assert words["sheet.caution.robot"] in text_of(run) and words["sheet.caution.robot"] not in text_of(front)


@pytest.mark.parametrize("lang", LANGUAGES)
def test_docking_and_the_test_strip_are_boxes_to_tick_and_to_write_in(lang: str) -> None:
    html = html_of(sheet(), IDENTITY, Printing(lang), record=None)
    run = html.split('<section class="run-page', 1)[1]
    words = catalogue(lang)
    docks = [code for code in words if code.startswith("sheet.run-page.dock.")]
    assert len(docks) == 8
    assert [code for code in docks if words[code] not in run] == []
    assert run.count('class="tick"') == len(docks)
    assert words["sheet.run-page.strip"] in run and run.count('<div class="box ') == 4


@pytest.mark.parametrize("lang", LANGUAGES)
def test_what_one_page_does_not_hold_goes_on_a_second(lang: str) -> None:
    lines = page(lang)
    long = replace(lines, findings=lines.findings + ("Something to know of this run, told at some length.",) * 12)
    assert lines.high_mm < long.high_mm - 40
    assert page(lang, entered=False).high_mm < PAPERS["letter"].printed_mm


def test_parts_are_drawn_as_they_lie_in_the_stack_or_in_pairs() -> None:
    data = sheet()
    stacked = stack_picture(data, wording_of(data, Printing()))
    pairs = sheet(part=RAIL.replace("{box: box-600, count: 40}", "{box: pallet-1200, way: pairs}"))
    paired = stack_picture(pairs, wording_of(pairs, Printing()))
    assert (len(stacked.items), len(paired.items)) == (3, 4)
    heights = [{round(y, 3) for _, y in item.points_mm} for item in stacked.items]  # type: ignore[union-attr]
    assert max(map(max, heights)) <= 24.0 and min(map(min, heights)) >= 0.0
