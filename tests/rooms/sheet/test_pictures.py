"""All pictures on a random corpus: no text on a line, on another text or outside its frame; nothing left unsaid.

The pictures are read back from their SVG text and measured with the font's own glyphs.
"""

import math
import re
from collections.abc import Callable, Iterator
from functools import cache
from pathlib import Path

import pytest

from flangewise.drawing import Box, Drawing, svg
from flangewise.sheet import SheetData, SheetStep, Wording
from flangewise.sheet.bed_picture import bed_picture
from flangewise.sheet.blank_picture import blank_picture
from flangewise.sheet.finish_picture import finish_picture
from flangewise.sheet.lie_picture import lie_picture
from flangewise.sheet.marks import bend_mark
from flangewise.sheet.section_picture import drawn_sizes_mm, section_picture
from flangewise.sheet.signs import move_sign, zero_picture
from flangewise.sheet.step_picture import step_picture
from flangewise.sheet.strip_picture import FREE_MM, frame_picture, laid_out
from flangewise.units import trimmed

from ...each import of_each
from ...how_many import one_in
from .demo import channel, random_sheet, wording as wording_of
from .measured import faults, seen

CROWDED = (7, 13, 116, 158)
CORPUS = sorted({*range(0, 200, one_in(36)), *CROWDED})
MM, INCH = wording_of(), wording_of("en", "inch")
pytestmark = pytest.mark.skipif(
    not Path("/usr/share/fonts/truetype/dejavu/DejaVuSans.ttf").exists(), reason="the font is not installed here"
)


def page_blank(sheet: SheetData, wording: Wording) -> Drawing:
    return blank_picture(sheet, sheet.steps[0], wording, width_mm=124.0, height_mm=62.0)


def loading(sheet: SheetData, step: SheetStep, wording: Wording) -> Drawing:
    return blank_picture(sheet, step, wording, width_mm=116.0, height_mm=130.0, sized=False)


def bed(sheet: SheetData, wording: Wording) -> Drawing:
    return bed_picture(sheet, wording, width_mm=180.0, height_mm=34.0)


def finish(sheet: SheetData, wording: Wording) -> Drawing:
    return finish_picture(sheet, wording, width_mm=38.0, height_mm=23.0)


def section(sheet: SheetData, wording: Wording) -> Drawing:
    return section_picture(sheet, wording, width_mm=110.0, height_mm=84.0)


def frame(step: SheetStep, wording: Wording) -> Drawing:
    return frame_picture(step, wording, width_mm=55.0, height_mm=28.0)


def whole(drawing: Drawing) -> str:
    """The words of a picture in the order they were placed: a label in two lines reads as one."""
    return " ".join(text.words for text in drawing.texts())


@cache
def drawn(seed: int, *, inch: bool) -> tuple[Drawing, Drawing]:
    """The section and the blank of a random sheet: they take the longest of all, and are drawn once for all laws."""
    sheet, wording = random_sheet(seed), INCH if inch else MM
    return section(sheet, wording), page_blank(sheet, wording)


def others(sheet: SheetData, wording: Wording) -> Iterator[Drawing]:
    """One of each other kind, and those of the last step, where the part is most formed."""
    step = sheet.steps[-1]
    yield from (bed(sheet, wording), finish(sheet, wording))
    yield from (step_picture(step, wording), loading(sheet, step, wording))
    yield from (lie_picture(sheet, step, wording, width_mm=42.0, height_mm=12.0), zero_picture(wording))


@of_each(CORPUS)
def test_no_text_overlaps_anything_or_leaves_its_frame(seed: int) -> None:
    wording = INCH if seed % 4 == 3 else MM
    looked_at = [*drawn(seed, inch=wording is INCH), *others(random_sheet(seed), wording)]
    assert looked_at
    for drawing in looked_at:
        assert faults(svg(drawing)) == []


@of_each(CORPUS)
def test_everything_that_must_be_said_is_said(seed: int) -> None:
    sheet = random_sheet(seed)
    step = sheet.steps[0]
    shown, blank = drawn(seed, inch=False)
    stop = f"X {MM.stop(step.keyed.stops.x_mm)}"
    words = {words for words, _ in seen(svg(blank)).texts}
    assert f"MARKED FACE {step.keyed.marked_face.upper()}" in whole(blank)
    assert {
        "BACKGAUGE",
        "OPERATOR",
        "GRAIN",
        "datum",
        f"X {MM.stop(step.keyed.stops.x_mm)}",
        bend_mark(step.labels[0]),
    } <= words
    words = {words for words, _ in seen(svg(step_picture(step, MM))).texts}
    assert {"BACKGAUGE", "OPERATOR", stop, "open", "86"} <= words
    told = whole(shown)
    sizes = list(enumerate(drawn_sizes_mm(sheet.part, sheet.pattern), start=1))
    assert sizes and all(f"L{leg} {MM.size(size)} ±0.2" in told for leg, size in sizes)
    angles = [(bend_mark(zone.label), trimmed(180 - zone.turn_deg, 1)) for zone in sheet.pattern.zones]
    assert angles and all(f"{mark} {angle}° ±0°30′" in told for mark, angle in angles)


@of_each(range(0, 200, 4 * one_in(4)))
def test_a_frame_shows_the_whole_section_with_every_flat_in_its_own_direction(seed: int) -> None:
    """However small the frame: nothing beyond its edge, each flat as long as it is or shortened, none turned."""
    looked_at = random_sheet(seed).steps
    assert looked_at
    for step in looked_at:
        window = Box(0.0, 0.0, 55.0, 24.0)
        laid = laid_out(step, window)
        spots = [laid.spot(spot) for spot in laid.before.spots]
        assert len(laid.before.flats) == len(step.before.flats) > 1
        assert all(-0.01 <= x <= 55.01 and -0.01 <= y <= 24.01 for x, y in spots)
        assert len(step.before.flats) > 1
        for flat, (start, end) in zip(step.before.flats, laid.before.flats, strict=True):
            true_mm, drawn_mm = math.dist(flat.start_mm, flat.end_mm) * laid.scale, math.dist(start, end)
            assert drawn_mm <= true_mm + 1e-6 and drawn_mm >= min(true_mm, FREE_MM) - 1e-6
            along = [(flat.end_mm[i] - flat.start_mm[i]) / true_mm * laid.scale for i in (0, 1)]
            drawn = [(end[i] - start[i]) / drawn_mm for i in (0, 1)]
            assert along == pytest.approx(drawn, abs=1e-6)


@of_each(range(0, 200, 4 * one_in(4)))
def test_the_stop_of_a_frame_touches_what_lies_on_it(seed: int) -> None:
    """The place that the stop touches is at its X on the part itself, and on the frame the stop is moved with it."""
    looked_at = random_sheet(seed).steps
    assert looked_at
    for step in looked_at:
        laid = laid_out(step, Box(0.0, 0.0, 55.0, 24.0))
        assert laid.touched is not None and step.keyed.stops.x_mm is not None
        face = -step.keyed.stops.x_mm * laid.scale + laid.stop_shift[0]
        assert abs(face - laid.touched[0]) <= 8.0 * laid.scale + 0.01


def test_a_frame_has_its_words_free_of_lines_but_for_the_letter_on_white() -> None:
    drawing = frame(channel().steps[0], MM)
    assert [text.words for text in drawing.texts()][-2:] == ["← BACKGAUGE", "OPERATOR →"]
    assert "A" in {text.words for text in drawing.texts()}


@pytest.mark.parametrize("code", ["turn-over-bed", "turn-over-front", "turn-in-plane", "to-stop-nearer", "side-exit"])
def test_signs_of_moves_differ_and_stay_in_their_frame(code: str) -> None:
    drawing = move_sign(f"move.{code}", MM)
    assert drawing.lines() != move_sign("", MM).lines()
    spots = [spot for line in drawing.lines() for spot in line.points_mm]
    assert all(drawing.frame.holds(Box(x, y, x, y)) for x, y in spots)


@of_each(CROWDED)
def test_longer_words_leave_out_no_bend(seed: int) -> None:
    """Crowded pictures of small flanges: as many formed bends are named in German and Spanish as in English."""
    sheet = random_sheet(seed)
    looked_at = sheet.steps
    assert looked_at
    for step in looked_at:
        named = [
            set(re.findall(rf"(\w+) {formed}, ", whole(loading(sheet, step, wording_of(lang)))))
            for lang, formed in (("en", "formed"), ("de", "fertig"), ("es", "hecho"))
        ]
        assert named[0] == named[1] == named[2]


@pytest.mark.parametrize("kind", [page_blank, bed, finish])
def test_a_picture_is_few_paths_and_described_in_words(kind: Callable[[SheetData, Wording], Drawing]) -> None:
    text = svg(kind(channel(), MM))
    assert text.count("<path") <= 40
    assert text.count("<title>") == 1


def test_backgauge_is_above_and_operator_below_in_every_loading_picture() -> None:
    sheet = channel()
    looked_at = sheet.steps
    assert looked_at
    for step in looked_at:
        places = {text.words: text.at_mm[1] for text in loading(sheet, step, MM).texts()}
        assert places["BACKGAUGE"] < places["OPERATOR"]


def test_operator_is_right_and_backgauge_left_seen_from_the_left_end() -> None:
    places = {text.words: text.box.centre_mm[0] for text in step_picture(channel().steps[0], MM).texts()}
    assert places["BACKGAUGE"] < places["OPERATOR"]


def test_the_same_sheet_draws_the_same_pictures() -> None:
    sheet = random_sheet(18)
    first = [*drawn(18, inch=False), *others(sheet, MM)]
    assert first == [section(sheet, MM), page_blank(sheet, MM), *others(sheet, MM)]
    assert len(first) == 8
