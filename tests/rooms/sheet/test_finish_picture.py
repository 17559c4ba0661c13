"""The finished part: isometric, dimensions as long as the legs drawn, holes only where they can be seen."""

import cmath
import math
from dataclasses import replace
from typing import Any

import pytest

from flangewise.drawing import Line
from flangewise.drawing.view import Ruler, RulerPiece
from flangewise.pattern import FlatHole
from flangewise.sheet import Profile
from flangewise.sheet.finish_picture import Iso, finish_picture, never_edge_on
from flangewise.sheet.section_picture import drawn_sizes_mm, mould_ends, section_picture

from .demo import blanked, channel, hole, wording

WORDING = wording()
SMALL: dict[str, Any] = {"width_mm": 84.0, "height_mm": 62.0}


def lines_of(*holes: FlatHole, along_mm: float = 180.0) -> tuple[Line, ...]:
    return finish_picture(blanked(channel(), holes=holes, along_bends_mm=along_mm), WORDING, **SMALL).lines()


def test_the_three_directions_are_isometric() -> None:
    eye = Iso(1.0, (0.0, 0.0), Ruler(1.0, (RulerPiece(0.0, 100.0, 0.0),)))
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
        start, end = mould_ends(flat, size, first=place == 0, last=place == len(flats) - 1)
        assert ((start[0] - end[0]) ** 2 + (start[1] - end[1]) ** 2) ** 0.5 == pytest.approx(size)


def test_a_free_edge_is_not_moved() -> None:
    flat = channel().finished.flats[0]
    start, _ = mould_ends(flat, 25.0, first=True, last=False)
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
    drawing = finish_picture(blanked(channel(), holes=(), along_bends_mm=2400.0), WORDING, **SMALL)
    assert "2400" in {text.words for text in drawing.texts()}
    assert any(len(line.points_mm) == 6 for line in drawing.lines())


def test_every_leg_and_angle_is_said() -> None:
    words = [text.words for text in section_picture(channel(), WORDING, width_mm=88.0, height_mm=50.0).texts()]
    told = ["L1 25 ±0.2", "L2 60 ±0.2", "L3 25 ±0.2", "A 90° ±0°30′", "B 90° ±0°30′", "up", "up", "marked face"]
    assert sorted(words) == sorted(told)
    assert [text.words for text in finish_picture(channel(), WORDING, **SMALL).texts()] == ["180"]


@pytest.mark.parametrize("turn_deg", [0.0, 30.0, 45.0, 60.0, 90.0, 135.0])
def test_no_leg_is_seen_edge_on(turn_deg: float) -> None:
    """The eye looks along (1, 1) of the section: no leg lies near that direction, whatever way the section stands."""
    profile = never_edge_on(turned(channel().finished, turn_deg))
    slopes = [math.degrees(math.atan2(f.end_mm[1] - f.start_mm[1], f.end_mm[0] - f.start_mm[0])) for f in profile.flats]
    assert len(slopes) == 3
    assert all(abs((slope - 45.0 + 90.0) % 180.0 - 90.0) > 9.0 for slope in slopes)


def turned(profile: Profile, turn_deg: float) -> Profile:
    """A profile turned in its plane."""
    way = cmath.rect(1.0, math.radians(turn_deg))

    def turn(spot: tuple[float, float]) -> tuple[float, float]:
        at = complex(*spot) * way
        return at.real, at.imag

    flats = tuple(replace(f, start_mm=turn(f.start_mm), end_mm=turn(f.end_mm)) for f in profile.flats)
    return Profile(tuple(map(turn, profile.outline_mm)), flats)
