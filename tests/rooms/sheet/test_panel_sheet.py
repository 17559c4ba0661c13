"""The sheet of a panel: what the setter keys in, where rows stand, how the part lies and turns, read back as text."""

from __future__ import annotations

import html
import re
from functools import cache
from pathlib import Path

import pytest

from flangewise.jobs.panel_plan import PanelPlan, planned_panel
from flangewise.jobs.panel_sheet import printed_panel
from flangewise.part import PanelPart
from flangewise.part.file import part_of
from flangewise.reading import read_yaml
from flangewise.setup import panel_step
from flangewise.sheet import Identity, Printing, Wording, panel_sheet_bytes
from flangewise.sheet.panel_leaf import panel_html
from flangewise.words import LANGUAGES

from ...laws.sections import shop

PAN = Path(__file__).parents[3] / "examples" / "panels" / "collector-pan.yaml"


@cache
def plan() -> PanelPlan:
    part = part_of(read_yaml(PAN.read_text(encoding="utf-8"), str(PAN)), str(PAN), shop())
    assert isinstance(part, PanelPart)
    return planned_panel(part, shop())


@cache
def page(lang: str = "en", units: str | None = None) -> str:
    sheet = printed_panel(plan(), shop())
    wording = Wording(sheet.machine, lang, units or "mm")
    return panel_html(sheet, Identity("abc", "1"), Printing(lang=lang, units=units), wording, record=None)


def steps_of(text: str) -> list[str]:
    """The text of each step, tags taken out."""
    return [
        re.sub(r"\s+", " ", html.unescape(re.sub(r"<[^>]+>", " ", each)))
        for each in re.findall(
            r'<article class="step">(.*?)</article>', re.sub(r"<svg.*?</svg>", "", text, flags=re.S), re.S
        )
    ]


def test_every_step_has_its_figures_its_rows_and_its_side() -> None:
    setup = plan().setup
    assert setup is not None and len(setup.steps) == 4
    told = steps_of(page())
    assert len(told) == 4
    for keyed, text in zip(setup.steps, told, strict=True):
        hit = panel_step(keyed.planned)
        assert f"{keyed.ram.depth_mm:.2f}" in text and f"{keyed.stops.x_mm:.2f}" in text
        assert " / ".join(f"{z_mm:.0f}" for z_mm in keyed.stops.z_mm) in text
        # The line's left end lies as far right of the row's as the row begins left of the line.
        line_mm = keyed.station.from_mm - hit.punch.from_mm
        assert f"Bed: line from {line_mm:.1f}; row from {keyed.station.from_mm:.1f}" in text
        assert "MARKED FACE UP" in text
        # Boxes to write in, beside the figures.
        assert [label in text for label in ("depth used", "angle read", "X used", "leg read")] == [True] * 4


def test_the_side_that_looks_to_the_operator_lies_across_from_what_is_at_the_stops() -> None:
    """With a flange behind, its own edge at the stops, the one across from it is at the operator."""
    across = {"near": "far", "far": "near", "left": "right", "right": "left"}
    found = [
        re.search(r"MARKED FACE UP, (\w+) to the operator edge of (\w+) at the stops", each)
        for each in steps_of(page())
    ]
    assert len(found) == 4
    assert all(each is not None and across[each[1]] == each[2] for each in found)


def test_a_turn_in_the_plane_has_its_angle_in_words_and_in_its_sign() -> None:
    turned = [text for text in steps_of(page()) if re.search(r"TURN 90° (counter)?clockwise", text)]
    assert len(turned) == 1
    assert ">90°</text>" in page()


def test_every_hit_is_drawn_before_and_bent_and_once_more_in_the_order() -> None:
    titles = re.findall(r"<title>([^<]*)</title>", page())
    assert sum(title.startswith("How the part lies for step") for title in titles) == 8
    assert sum(title.endswith("lower right.") and "bent, in space" in title for title in titles) == 4
    assert sum("finished, seen from above" in title for title in titles) == 1


def test_the_pictures_name_operator_and_bed() -> None:
    # Of four hits each stands once in the order and bent at its step, both in space, and once as seen from above.
    assert page().count(">OPERATOR</text>") == 12
    assert page().count(">BED →</text>") == 8
    assert page().count(">BACKGAUGE</text>") == 4


def test_angles_and_sizes_are_measured_on_the_first_piece() -> None:
    text = re.sub(r"<[^>]+>", " ", page()[page().index('<table class="measures">') :])
    for what in ("near/far, outside", "right/left, outside", "near, outside", "left, outside"):
        assert what in text
    assert text.count("bevel protractor") == 4
    # A flange too long is put right at the step that gauges it, by its own stop.
    steps = {each.correction.leg: each.step for each in plan().setup.steps if each.correction}  # type: ignore[union-attr]
    assert len(steps) == 4
    assert all(f"X − ({step})" in text for step in steps.values())


@pytest.mark.parametrize("lang", LANGUAGES)
def test_it_is_printed_in_every_language(lang: str) -> None:
    assert len(steps_of(page(lang))) == 4
    assert "{" not in "".join(steps_of(page(lang)))


def test_in_inch_lengths_are_in_inch() -> None:
    keyed = plan().setup.steps[0]  # type: ignore[union-attr]
    assert keyed.stops.x_mm is not None
    assert f"{keyed.stops.x_mm / 25.4:.3f}" in steps_of(page(units="inch"))[0]


def test_nothing_is_fetched_and_the_same_comes_out_twice() -> None:
    assert not re.search(r'(?:src|href)="(?!data:)', page())
    settings = Printing(html=True)
    made = [panel_sheet_bytes(printed_panel(plan(), shop()), Identity("abc", "1"), settings) for _ in range(2)]
    assert made[0] == made[1]
