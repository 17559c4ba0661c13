"""Cautions: each under its condition and under no other."""

from dataclasses import replace

import pytest

from flangewise.sheet import Load, SheetData
from flangewise.sheet.cautions import cautions
from flangewise.words import LANGUAGES, catalogue, phrase

from .demo import channel


def codes(sheet: SheetData) -> set[str]:
    return {each.code.removeprefix("sheet.caution.") for each in cautions(sheet)}


def step(sheet: SheetData, **changed: object) -> SheetData:
    return replace(sheet, steps=(replace(sheet.steps[0], **changed), *sheet.steps[1:]))  # type: ignore[arg-type]


def test_every_sheet_warns_of_hands_and_edges() -> None:
    assert {"hands", "burr"} <= codes(channel())


@pytest.mark.parametrize(("share", "warned"), [(0.79, False), (0.81, True)])
def test_a_load_near_its_rating_is_warned_of(share: float, warned: bool) -> None:
    load = Load(phrase("sheet.named", words="die"), 500.0 * share, 500.0, "kn_per_m", 1)
    assert ("overload" in codes(replace(channel(), loads=(load,)))) is warned


def test_other_conditions_bring_their_own() -> None:
    sheet = channel()
    assert "cracking" in codes(replace(sheet, high_tensile=True))
    assert "robot" in codes(replace(sheet, handler_kind="robot"))
    assert "neck" in codes(replace(sheet, tools=(replace(sheet.tools[0], punch_turned=True),)))
    assert "trap" in codes(step(sheet, trapped_behind=True))
    assert "heavy" in codes(replace(sheet, blank=replace(sheet.blank, mass_kg=10.1)))
    assert "heavy" in codes(replace(sheet, blank=replace(sheet.blank, along_mm=1501.0)))
    assert "clamps" in codes(sheet)
    assert {"cracking", "robot", "neck", "trap", "heavy", "overload"}.isdisjoint(codes(sheet))


def test_long_segments_need_no_look_at_each_clamp() -> None:
    sheet = channel()
    station = replace(sheet.tools[0].stations[0], punch_segments_mm=(220.0,))
    assert "clamps" not in codes(replace(sheet, tools=(replace(sheet.tools[0], stations=(station,)),)))


@pytest.mark.parametrize("lang", LANGUAGES)
def test_every_caution_has_its_words(lang: str) -> None:
    sheet = replace(channel(), high_tensile=True, handler_kind="robot")
    assert all(each.code in catalogue(lang) for each in cautions(sheet))
