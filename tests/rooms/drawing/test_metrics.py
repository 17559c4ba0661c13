"""Letter widths: against the font file itself, and against widths read off the font's own table."""

from pathlib import Path

import pytest
from fontTools.ttLib import TTFont

from flangewise.drawing.items import UNITS_PER_EM, text_width_mm, top_of_text

FOLDER = Path("/usr/share/fonts/truetype/dejavu")
FILES = {False: FOLDER / "DejaVuSans.ttf", True: FOLDER / "DejaVuSans-Bold.ttf"}
needs_font = pytest.mark.skipif(not FILES[False].exists(), reason="the font is not installed here")
SAMPLES = ("X 79.69", "MARKED FACE UP", "Größe", "± 0.5°", "Ø 6.5", "RÜCKANSCHLAG", "MESA ¿señal?", "1:2.5", "αβγ ≤ →")


def font_width(words: str, *, bold: bool) -> float:
    """Width in em, straight from the font's horizontal metrics."""
    font = TTFont(FILES[bold])
    names, advances = font.getBestCmap(), font["hmtx"]
    return sum(advances[names[ord(letter)]][0] for letter in words) / font["head"].unitsPerEm


@needs_font
@pytest.mark.parametrize("words", SAMPLES)
@pytest.mark.parametrize("bold", [False, True])
def test_width_is_that_of_the_font(words: str, bold: bool) -> None:
    assert text_width_mm(words, 1.0, bold=bold) == pytest.approx(font_width(words, bold=bold), abs=1e-9)


@needs_font
def test_the_shipped_table_is_what_the_script_derives() -> None:
    from runpy import run_path

    script = run_path(str(Path(__file__).with_name("derive_widths.py")))
    shipped = Path(__file__).parents[3] / "src" / "flangewise" / "drawing" / "widths.txt"
    assert shipped.read_text("ascii") == script["table"]()


def test_width_grows_with_size_and_weight() -> None:
    assert text_width_mm("open", 7.0) == pytest.approx(2 * text_width_mm("open", 3.5))
    assert text_width_mm("open", 3.5, bold=True) > text_width_mm("open", 3.5)


def test_nothing_has_no_width() -> None:
    assert text_width_mm("", 3.5) == 0.0


def test_a_letter_the_table_lacks_counts_a_whole_em() -> None:
    assert text_width_mm("語", 2.0) == 2.0
    assert UNITS_PER_EM == 2048


@needs_font
def test_no_plain_letter_rises_above_the_top_said_for_it() -> None:
    from fontTools.pens.boundsPen import BoundsPen

    font = TTFont(FILES[True])
    glyphs, names = font.getGlyphSet(), font.getBestCmap()
    for letter in "ABCXYZabdfhklt0123456789()/[]ÄÖÜÑÉäöüßñé±°×Ø":
        pen = BoundsPen(glyphs)
        glyphs[names[ord(letter)]].draw(pen)
        assert pen.bounds[3] / 2048 <= top_of_text(letter) + 0.005, letter
        assert pen.bounds[1] / 2048 >= -0.245, letter


def test_an_accented_capital_stands_higher() -> None:
    assert top_of_text("RÜCK") > top_of_text("rück") == top_of_text("RUCK")
