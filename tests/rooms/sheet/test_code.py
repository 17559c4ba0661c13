"""The square code: its modules are those of the symbol, drawn in few paths, with a clear border."""

import segno
import shapely

from flangewise.drawing import svg
from flangewise.sheet.code import CODE_MM, code_picture, identity_text

from .measured import runs

WORDS = identity_text("rain-gauge-foot", "B", "a1b2c3d4e5f6")


def test_it_says_part_revision_and_hash_and_no_more() -> None:
    assert WORDS == "rain-gauge-foot|B|a1b2c3d4e5f6"


def test_the_dark_area_is_that_of_the_symbol() -> None:
    matrix = segno.make_qr(WORDS, error="m", boost_error=False).matrix
    module = CODE_MM / (len(matrix) + 8)
    dark = sum(sum(row) for row in matrix)
    drawn = shapely.union_all([shapely.Polygon(line.points_mm) for line in code_picture(WORDS, "code").lines()])
    assert abs(drawn.area - dark * module**2) < 1e-6


def test_every_module_is_dark_or_light_as_in_the_symbol() -> None:
    matrix = segno.make_qr(WORDS, error="m", boost_error=False).matrix
    module = CODE_MM / (len(matrix) + 8)
    drawn = shapely.union_all([shapely.Polygon(line.points_mm) for line in code_picture(WORDS, "code").lines()])
    looked_at = list(enumerate(matrix))
    assert looked_at
    for row, values in looked_at:
        for column, dark in enumerate(values):
            spot = shapely.Point((column + 4.5) * module, (row + 4.5) * module)
            assert drawn.contains(spot) is bool(dark)


def test_it_is_large_enough_for_a_phone_and_has_a_clear_border() -> None:
    matrix = segno.make_qr(WORDS, error="m", boost_error=False).matrix
    module = CODE_MM / (len(matrix) + 8)
    assert 20.0 <= CODE_MM <= 25.0
    assert module >= 0.4
    left = min(x for line in code_picture(WORDS, "code").lines() for x, _ in line.points_mm)
    assert left >= 4 * module - 1e-9


def test_it_is_one_path() -> None:
    text = svg(code_picture(WORDS, "code"))
    assert text.count("<path") == 1
    assert runs(text.split(' d="')[1].split('"')[0])
