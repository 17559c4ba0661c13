"""How a part is laid on paper: one scale both ways, and breaks that cut nothing off."""

from dataclasses import replace

import pytest

from flangewise.drawing import Box
from flangewise.sheet.loading_view import flipped, loading_view, rim_of

from ...each import of_each
from .demo import changed, channel, hole, random_sheet

ROOM = Box(27.0, 0.0, 97.0, 62.0)


def test_both_rulers_have_one_scale() -> None:
    for seed in range(40):
        sheet = random_sheet(seed)
        lay = loading_view(sheet.pattern, sheet.steps[0], ROOM, growth_mm=0.0, sized=True)
        assert lay.along.scale == lay.across.scale


@of_each(range(60))
def test_a_part_fits_its_room_whole_or_broken(seed: int) -> None:
    sheet = random_sheet(seed)
    lay = loading_view(sheet.pattern, sheet.steps[0], ROOM, growth_mm=0.0, sized=True)
    assert lay.along.length_mm <= ROOM.width_mm + 1e-6
    assert lay.across.length_mm <= ROOM.height_mm


def test_a_long_strip_is_broken_along_and_its_holes_stay_round() -> None:
    sheet = channel()
    blank = replace(sheet.pattern, along_bends_mm=2400.0, holes=(hole(1, 2, (1800.0, 50.0), 6.5),))
    step = changed(sheet.steps[0], z_mm=(700.0, 2300.0), part_from_mm=0.0)
    lay = loading_view(blank, step, ROOM, growth_mm=0.0, sized=True)
    assert lay.along.breaks_mm()
    rim = [lay.spot(along, 0.0)[0] for along, _ in rim_of(blank.holes[0])]
    assert max(rim) - min(rim) == pytest.approx(6.5 * lay.along.scale, rel=0.02)


def test_a_part_that_is_broad_enough_is_never_broken() -> None:
    sheet = channel()
    lay = loading_view(sheet.pattern, sheet.steps[0], ROOM, growth_mm=0.0, sized=True)
    assert lay.along.breaks_mm() == lay.across.breaks_mm() == ()


def test_a_mirrored_part_runs_from_right_to_left() -> None:
    sheet = channel()
    lay = loading_view(sheet.pattern, sheet.steps[1], ROOM, growth_mm=0.0, sized=False)
    assert flipped(lay.step)
    assert lay.spot(0.0, 0.0)[0] > lay.spot(180.0, 0.0)[0]
    assert lay.bed_x(0.0) < lay.bed_x(180.0)


def test_a_rectangular_hole_has_four_corners_and_its_size() -> None:
    rim = rim_of(hole(1, 1, (90.0, 10.0), None, (20.0, 8.0)))
    assert set(rim) == {(80.0, 6.0), (100.0, 6.0), (100.0, 14.0), (80.0, 14.0)}


def test_stretches_are_the_pieces_on_paper() -> None:
    sheet = channel()
    lay = loading_view(sheet.pattern, sheet.steps[0], ROOM, growth_mm=0.0, sized=True)
    ((left, right),) = lay.along.stretches_mm
    assert right - left == pytest.approx(180.0 * lay.along.scale)
