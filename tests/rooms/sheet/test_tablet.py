"""What the page for a tablet adds: which readings are asked when, in whose units, and the moments of a stroke."""

import json
import re
from dataclasses import replace
from html import unescape
from itertools import pairwise
from typing import Any

import pytest

from flangewise.findings import place
from flangewise.sheet import Identity, Measure, Printing, SheetData, sheet_bytes
from flangewise.sheet.stroke_picture import stroke_picture
from flangewise.sheet.tablet import (
    Reading,
    other_readings,
    piece_readings,
    read_after,
    step_readings,
    step_settings,
    stroke_pictures,
    tablet_data,
)
from flangewise.words import catalogue, phrase

from .demo import channel, with_step, wording

IDENTITY = Identity("a1b2c3d4e5f6", "0.1.0")
CALIPER = phrase("sheet.instrument.caliper")


def page(sheet: SheetData, **settings: str) -> str:
    return sheet_bytes(sheet, IDENTITY, Printing(html=True, **settings)).decode()  # type: ignore[arg-type]


def data_of(sheet: SheetData, units: str = "mm") -> dict[str, Any]:
    """What the script is given."""
    words = wording(units=units)
    return tablet_data(sheet, IDENTITY, words, stroke_pictures(sheet, words))


def by_name(readings: tuple[Reading, ...]) -> dict[str, Reading]:
    return {reading.name: reading for reading in readings}


def measured(sheet: SheetData) -> SheetData:
    """The channel with both angles and its three legs to be measured."""
    angles = (Measure(place("bend", number), 90.0, 0.5, "deg", CALIPER) for number in (1, 2))
    legs = (
        Measure(phrase("sheet.measure.leg-outside", number=leg), size_mm, 0.2, "mm", CALIPER, leg=leg)
        for leg, size_mm in ((1, 25.0), (2, 60.0), (3, 25.0))
    )
    return replace(sheet, measures=(*angles, *legs))


def test_a_leg_is_asked_once_both_its_ends_are_bent() -> None:
    sheet = measured(channel())
    sheet = with_step(with_step(sheet, 0, correction=None), 1, correction=None)
    # Bend 1 then bend 2: leg 1 ends at bend 1, legs 2 and 3 need bend 2.
    assert [read_after(sheet, leg) for leg in (1, 2, 3)] == [1, 2, 2]
    first, second = (by_name(step_readings(sheet, step, wording())) for step in sheet.steps)
    assert set(first) == {"included_deg-1", "legs_mm-1"}
    assert set(second) == {"included_deg-2", "legs_mm-2", "legs_mm-3"}
    assert (first["included_deg-1"].option, first["included_deg-1"].nominal) == ("--included", 90.0)
    assert first["legs_mm-1"].shown == "25 ± 0.2"


def test_the_correction_says_when_its_leg_is_read() -> None:
    sheet = measured(channel())
    later = replace(sheet.steps[0].keyed.correction, read_after=2)  # type: ignore[type-var]
    assert later.leg == 1  # type: ignore[union-attr]
    sheet = with_step(sheet, 0, correction=later)
    assert read_after(sheet, 1) == 2


def test_nominal_sizes_are_in_the_units_of_the_page() -> None:
    sheet = measured(channel())
    found = by_name(step_readings(sheet, sheet.steps[0], wording(units="inch")))["legs_mm-1"]
    assert found.nominal == pytest.approx(25 / 25.4) and found.allowed == pytest.approx(0.2 / 25.4)
    data = data_of(sheet, units="inch")
    assert (data["unit"], data["mm"]) == ("in", pytest.approx(1 / 25.4))


def test_of_a_hem_depth_and_stop_are_asked_at_its_first_hit_and_no_angle_at_all() -> None:
    folded = Measure(phrase("sheet.measure.hem", number=1), 4.0, 0.1, "mm", CALIPER)
    sheet = measured(channel())
    sheet = replace(sheet, measures=(folded, *sheet.measures[1:]))
    first = with_step(sheet, 0, hit="pre-bend")
    second = with_step(sheet, 0, hit="flatten")
    assert [each.option for each in step_settings(first.steps[0], wording())] == ["--depth", "--stop"]
    assert step_settings(second.steps[0], wording()) == ()
    for shown in (first, second):
        assert all(each.option != "--included" for each in step_readings(shown, shown.steps[0], wording()))
    assert other_readings(first, first.steps[0], wording()) == ()
    (over,) = other_readings(second, second.steps[0], wording())
    assert (over.option, over.name, over.nominal, over.allowed) == ("", "over_mm-1", 4.0, 0.1)
    assert "4 ± 0.1" in over.shown
    # No file takes it, so the page says where it is written; of a plain bend there is nothing of the kind.
    where = catalogue("en")["sheet.tablet.on-paper"]
    assert [page(each).count(where) for each in (sheet, second)] == [0, 1]


@pytest.mark.parametrize(
    ("file", "named"),
    [("drawings/foot 2.yaml", "foot 2.yaml"), ("-", "rain-gauge-foot.yaml"), ("", "rain-gauge-foot.yaml")],
)
def test_the_command_names_the_part_file(file: str, named: str) -> None:
    sheet = replace(channel(), part=replace(channel().part, file=file))
    assert by_name(piece_readings(sheet, wording()))["file"].filled == named


def test_what_is_kept_is_kept_by_job_or_part_and_by_plan() -> None:
    sheet = channel()
    with_job = replace(sheet, part=replace(sheet.part, job="2241"))
    without = replace(sheet, part=replace(sheet.part, job=""))
    assert data_of(with_job)["kept"] == "flangewise|2241|a1b2c3d4e5f6"
    assert data_of(without)["kept"] == f"flangewise|{sheet.part.name}|a1b2c3d4e5f6"


def test_a_picture_moves_from_the_open_height_to_the_depth() -> None:
    step = channel().steps[0]
    shown = stroke_picture(step, wording()).moments
    opened_mm, depth_mm = step.keyed.ram.opening.open_height_mm, step.keyed.ram.depth_mm
    assert depth_mm is not None
    assert shown[0].lift_mm == pytest.approx(opened_mm + depth_mm, abs=0.01)
    assert shown[-1].lift_mm == 0.0
    assert shown[0].part == shown[1].part != shown[2].part
    assert [each.words for each in shown[1:]] == ["Under load 180.0°", "Under load 90.0°"]
    assert shown[0].words == f"Punch {opened_mm:.1f} over the die"


def test_the_finger_goes_back_once_the_part_is_pinched() -> None:
    step = with_step(channel(), 0, retract_mm=9.5).steps[0]
    shown = stroke_picture(step, wording())
    assert shown.finger is not None and "finger" not in dict(shown.standing)
    assert [each.back_mm for each in shown.moments] == [0.0, 0.0, 9.5]


def test_the_view_holds_the_part_at_every_moment() -> None:
    step = channel().steps[0]
    left, top, wide, high = map(float, stroke_picture(step, wording()).whole.split())
    spots = [(across, -up) for moment in step.moments for across, up in moment.outline_mm]
    assert spots
    assert all(left <= x <= left + wide and top <= y <= top + high for x, y in spots)


def test_without_moments_there_is_no_moving_picture() -> None:
    with pytest.raises(ValueError, match="no moments"):
        stroke_picture(replace(channel().steps[0], moments=()), wording())


@pytest.mark.parametrize("lang", ["en", "de", "es"])
def test_every_page_has_its_heading_and_the_leaf_stands_below(lang: str) -> None:
    text = page(channel(), lang=lang)
    pages = re.findall(r'<section class="t-page" data-page="(\d)"', text)
    assert pages == ["0", "1", "2", "3"]
    assert text.index('class="tablet"') < text.index('<article class="step">')


def test_words_of_a_part_stay_words() -> None:
    nasty = "</script><script>alert(1)</script>\"'"
    sheet = channel()
    text = page(replace(sheet, part=replace(sheet.part, title=nasty, job=nasty, file=nasty)))
    assert text.count("<script") == 2 and "<script>alert" not in text
    (data,) = re.findall(r'<script type="application/json">(.*?)</script>', text, re.S)
    assert json.loads(data)["kept"].split("|")[1] == nasty
    assert nasty in unescape(text)


def test_the_moments_come_one_after_the_other() -> None:
    strokes = data_of(channel())["strokes"]
    assert set(strokes) == {1, 2}
    for moments in strokes.values():
        assert all(one[1] > other[1] for one, other in pairwise(moments))
