"""The finished part: isometric, dimensions as long as the legs drawn, holes only where they can be seen."""

import pytest

from flangewise.drawing import Line
from flangewise.drawing.view import Piece, Ruler
from flangewise.pattern import FlatHole
from flangewise.sheet.finish_picture import Iso, _mould_ends, drawn_sizes_mm, finish_picture

from .demo import blanked, channel, hole, wording

WORDING = wording()


def lines_of(*holes: FlatHole, along_mm: float = 180.0) -> tuple[Line, ...]:
    return finish_picture(blanked(channel(), holes=holes, along_bends_mm=along_mm), WORDING).lines()


def test_the_three_directions_are_isometric() -> None:
    eye = Iso(1.0, (0.0, 0.0), Ruler(1.0, (Piece(0.0, 100.0, 0.0),)))
    across, behind, up = eye.at_depth((1.0, 0.0), 0.0), eye.at_depth((0.0, 0.0), 1.0), eye.at_depth((0.0, 1.0), 0.0)
    assert across == pytest.approx((3**0.5 / 2, 0.5))
    assert behind == pytest.approx((3**0.5 / 2, -0.5))
    assert up == pytest.approx((0.0, -1.0))


def test_a_leg_size_spans_the_size_the_drawing_gives() -> None:
    sheet = channel()
    flats, sizes = sheet.finished.flats, drawn_sizes_mm(sheet.part, sheet.pattern)
    looked_at = list(enumerate(zip(flats, sizes, strict=True)))
    assert looked_at
    for place, (flat, size) in looked_at:
        start, end = _mould_ends(flat, size, first=place == 0, last=place == len(flats) - 1)
        assert ((start[0] - end[0]) ** 2 + (start[1] - end[1]) ** 2) ** 0.5 == pytest.approx(size)


def test_a_free_edge_is_not_moved() -> None:
    flat = channel().finished.flats[0]
    start, _ = _mould_ends(flat, 25.0, first=True, last=False)
    assert start == pytest.approx(flat.start_mm)


def test_a_hole_that_can_be_seen_is_drawn_and_one_behind_a_flange_is_not() -> None:
    web = hole(1, 2, (90.0, 21.0 + 4.461 + 26.0), 10.0)
    bare = len(lines_of())
    assert len(lines_of(web)) > bare
    near = hole(1, 3, (90.0, 21.0 + 52.0 + 2 * 4.461 + 10.0), 8.0)
    far = hole(1, 1, (90.0, 10.0), 8.0)
    drawn = [len(lines_of(hole)) - bare for hole in (near, far)]
    assert max(drawn) > 0


def test_a_long_part_is_broken_and_still_says_its_length() -> None:
    drawing = finish_picture(blanked(channel(), holes=(), along_bends_mm=2400.0), WORDING)
    assert "2400" in {text.words for text in drawing.texts()}
    assert any(len(line.points_mm) == 6 for line in drawing.lines())


def test_every_leg_and_angle_is_said() -> None:
    words = [text.words for text in finish_picture(channel(), WORDING).texts()]
    assert sorted(words) == sorted(["25", "60", "25", "180", "1: 90.0°", "2: 90.0°"])
