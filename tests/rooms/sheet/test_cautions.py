"""Cautions: each under its condition and under no other."""

from dataclasses import replace
from html import unescape

import pytest

from flangewise.findings import note, place
from flangewise.punch_die import Mounting
from flangewise.setup import Load
from flangewise.sheet import Identity, Printing, SheetData
from flangewise.sheet.page_words import cautions
from flangewise.sheet.render import html_of
from flangewise.words import LANGUAGES, catalogue, phrase, say

from .demo import blanked, channel, pair, shop, station, with_tools


def codes(sheet: SheetData) -> set[str]:
    return {each.code.removeprefix("sheet.caution.") for each in cautions(sheet)}


@pytest.mark.parametrize("lang", LANGUAGES)
def test_what_always_holds_stands_in_the_notice_and_not_among_the_cautions(lang: str) -> None:
    told = html_of(channel(), Identity("a1b2c3d4e5f6", "0.1.0"), Printing(html=True, lang=lang), record=None)
    foot, body = map(unescape, told.split("<h1>", 1))
    usual = say(phrase("sheet.usual"), lang)
    assert usual in foot and usual not in body
    assert not {"hands", "burr", "small"} & codes(channel())


@pytest.mark.parametrize(("share", "warned"), [(0.79, False), (0.81, True)])
def test_a_load_near_its_rating_is_warned_of(share: float, warned: bool) -> None:
    load = Load(phrase("sheet.named", words="die"), 500.0 * share, 500.0, "kn_per_m", 1)
    assert ("overload" in codes(replace(channel(), loads=(load,)))) is warned


def test_other_conditions_bring_their_own() -> None:
    sheet = channel()
    assert "robot" in codes(replace(sheet, handler=shop().handlers["robot"]))
    standing = replace(sheet.steps[0].before, outline_mm=((0.0, 0.0), (-30.0, 0.0), (-30.0, 4.1)))
    assert "trap" in codes(replace(sheet, steps=(replace(sheet.steps[0], before=standing),)))
    assert "heavy" in codes(blanked(sheet, mass_kg=10.1))
    assert "heavy" in codes(blanked(sheet, along_bends_mm=1501.0))
    assert "clamps" in codes(sheet)
    assert {"cracking", "robot", "neck", "heavy", "overload"}.isdisjoint(codes(sheet))


def test_long_segments_need_no_look_at_each_clamp() -> None:
    sheet = channel()
    long = station(350.0, 570.0, (220.0,), (220.0,))
    assert "clamps" not in codes(replace(sheet, setup=replace(sheet.setup, stations=(long,))))


@pytest.mark.parametrize(
    ("hard", "told", "warned"),
    [
        (True, "nose-sharp", True),
        (True, "nose-too-sharp", True),
        (True, "radius-under-least-any", True),
        (True, "leg-near-least", False),
        (True, None, False),
        (False, "nose-sharp", False),
    ],
)
def test_hard_sheet_may_crack_over_a_small_radius_and_not_over_a_round_nose(
    hard: bool, told: str | None, warned: bool
) -> None:
    findings = () if told is None else (note(told, place("bend", 1)),)
    material = channel().material.model_copy(update={"tensile_mpa": 600.0 if hard else 599.0})
    assert ("cracking" in codes(replace(channel(), material=material, findings=findings))) is warned


@pytest.mark.parametrize("turned", [True, False])
def test_turned_is_said_of_a_punch_that_is_set_turned_only(turned: bool) -> None:
    sheet = channel()
    assert ("turned" in codes(with_tools(sheet, *[Mounting(pair(), turned)] * 2))) is turned
    assert "turned" not in say(phrase("sheet.caution.neck")).lower()


@pytest.mark.parametrize(
    ("neck", "share", "told"), [(True, 0.81, True), (True, 0.79, False), (False, 0.81, False), (True, None, False)]
)
def test_a_neck_is_told_of_where_its_punch_is_loaded_high(neck: bool, share: float | None, told: bool) -> None:
    necked = {"outline_mm": shop().punches["neck-deep"].outline_mm} if neck else {}
    mounting = Mounting(pair(**necked), False)
    punch = phrase("sheet.limit.body.punch", name=str(mounting.pair.tools.punch_name))
    others = Load(phrase("sheet.limit.body.die", name="other"), 99.0, 100.0, "kn_per_m", 1)
    own = () if share is None else (Load(punch, share * 100.0, 100.0, "kn_per_m", 1),)
    sheet = replace(with_tools(channel(), mounting, mounting), loads=(others, *own))
    assert ("neck" in codes(sheet)) is told


@pytest.mark.parametrize("lang", LANGUAGES)
def test_every_caution_has_its_words(lang: str) -> None:
    sheet = replace(channel(), handler=shop().handlers["robot"])
    assert all(each.code in catalogue(lang) for each in cautions(sheet))
