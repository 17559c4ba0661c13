"""All pictures on a random corpus: no text on a line, on another text or outside its frame; nothing left unsaid.

The pictures are read back from their SVG text and measured with the font's own glyphs.
"""

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from flangewise.drawing import Drawing, svg
from flangewise.sheet import SheetData, SheetStep, Wording
from flangewise.sheet.bed_picture import bed_picture
from flangewise.sheet.blank_picture import blank_picture
from flangewise.sheet.finish_picture import drawn_sizes_mm, finish_picture
from flangewise.sheet.step_picture import step_picture

from .demo import channel, random_sheet, wording as wording_of
from .measured import faults, seen

CORPUS = range(200)
MM, INCH = wording_of(), wording_of("en", "inch")
pytestmark = pytest.mark.skipif(
    not Path("/usr/share/fonts/truetype/dejavu/DejaVuSans.ttf").exists(), reason="the font is not installed here"
)


def page_blank(sheet: SheetData, wording: Wording) -> Drawing:
    return blank_picture(sheet, sheet.steps[0], wording, width_mm=124.0, height_mm=62.0)


def loading(sheet: SheetData, step: SheetStep, wording: Wording) -> Drawing:
    return blank_picture(sheet, step, wording, width_mm=116.0, height_mm=54.0, sized=False)


def bed(sheet: SheetData, wording: Wording) -> Drawing:
    return bed_picture(sheet, wording)


def finish(sheet: SheetData, wording: Wording) -> Drawing:
    return finish_picture(sheet, wording)


def pictures(sheet: SheetData, wording: Wording) -> Iterator[Drawing]:
    """One of each kind, and those of the last step, where the part is most formed."""
    step = sheet.steps[-1]
    yield from (page_blank(sheet, wording), bed(sheet, wording), finish(sheet, wording))
    yield from (step_picture(step, wording), loading(sheet, step, wording))


@pytest.mark.parametrize("seed", CORPUS)
def test_no_text_overlaps_anything_or_leaves_its_frame(seed: int) -> None:
    wording = INCH if seed % 4 == 3 else MM
    looked_at = list(pictures(random_sheet(seed), wording))
    assert looked_at
    for drawing in looked_at:
        assert faults(svg(drawing)) == []


@pytest.mark.parametrize("seed", range(0, 200, 8))
def test_everything_that_must_be_said_is_said(seed: int) -> None:
    sheet = random_sheet(seed)
    step = sheet.steps[0]
    stop = f"X {MM.stop(step.keyed.stops.x_mm)}"
    words = {words for words, _ in seen(svg(page_blank(sheet, MM))).texts}
    face = "MARKED FACE UP" if step.keyed.marked_face == "up" else "MARKED FACE DOWN"
    assert {
        "BACKGAUGE",
        "OPERATOR",
        face,
        "GRAIN",
        "datum",
        f"X {MM.stop(step.keyed.stops.x_mm)}",
        step.labels[0],
    } <= words
    words = {words for words, _ in seen(svg(step_picture(step, MM))).texts}
    assert {"BACKGAUGE", "OPERATOR", stop, "open", "86"} <= words
    words = {words for words, _ in seen(svg(finish(sheet, MM))).texts}
    assert {MM.size(size) for size in drawn_sizes_mm(sheet.part, sheet.pattern)} <= words
    assert {f"{zone.label}: {MM.angle(180 - zone.turn_deg)}" for zone in sheet.pattern.zones} <= words


@pytest.mark.parametrize("seed", [7, 13, 116, 158])
def test_longer_words_leave_out_no_bend(seed: int) -> None:
    """Crowded pictures of small flanges: as many formed bends are named in German and Spanish as in English."""
    sheet = random_sheet(seed)
    looked_at = sheet.steps
    assert looked_at
    for step in looked_at:
        named = [
            {text.words.split()[0] for text in loading(sheet, step, wording_of(lang)).texts() if formed in text.words}
            for lang, formed in (("en", " formed, "), ("de", " fertig, "), ("es", " hecho, "))
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
    first, second = (list(pictures(random_sheet(17), MM)) for _ in range(2))
    assert first == second
