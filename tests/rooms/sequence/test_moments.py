"""The part and the nose at moments of a stroke, held by plane geometry done by hand."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import pytest

from flangewise.clearance import Body, ToolStack
from flangewise.geometry import Chain
from flangewise.sequence import Hit, Operation, SectionProblem, StrokeMoment, ToolOption, solve, stroke_moment

HALF = math.pi / 2 * 2.63
PLATE = ((-20, 0), (20, 0), (20, 30), (-20, 30))


def moments_of(problem: SectionProblem, *, hit: int = 0, shares=(0.0, 0.5, 1.0)) -> list[StrokeMoment]:
    (step,) = solve(problem).steps
    return [stroke_moment(problem, step, share=share, hit=hit) for share in shares]


@pytest.fixture(scope="module")
def angle(bend_all, stack):
    return bend_all(Chain((30.0, 50.0), (HALF,), (90.0,), (2.0,), 1.5), [stack()])


def test_the_legs_rise_by_half_the_turn_on_each_side(angle):
    loaded_deg = angle.operations[0].options[0].hits[0].loaded_turn_deg
    for share, found in zip((0.0, 0.5, 1.0), moments_of(angle), strict=True):
        assert found.turned_deg == pytest.approx(share * loaded_deg)
        sides = pairwise((*found.outline_mm, found.outline_mm[0]))
        slopes = [math.degrees(math.atan2(b[1] - a[1], b[0] - a[0])) for a, b in sides if math.dist(a, b) > 20.0]
        # Both faces of both legs, as lines without a direction.
        assert len(slopes) >= 2
        assert {round(abs(math.remainder(slope, 180.0)), 6) for slope in slopes} == {round(share * loaded_deg / 2, 6)}


def test_the_nose_touches_the_sheet_and_goes_down_with_it(angle):
    touch, between, bottom = moments_of(angle)
    assert touch.nose_mm == pytest.approx(1.5)
    assert touch.nose_mm > between.nose_mm > bottom.nose_mm
    for found in (between, bottom):
        # Under the nose the sheet is as thick as it is: its lower face is one thickness below.
        assert min(up for _, up in found.outline_mm) == pytest.approx(found.nose_mm - 1.5, abs=0.02)


def hem() -> SectionProblem:
    chain = Chain((10.0, 60.0), (1.6,), (180.0,), (0.0,), 1.0)
    lower = tuple((across, up - 30) for across, up in PLATE)
    bodies = (Body("die", lower, False), Body("punch", PLATE, True))
    flattener = ToolStack("plates", "upper", "lower", 0.0, 0.0, bodies)
    vee = replace(flattener, name="acute", opening_mm=8.0, shoulder_radius_mm=1.0, bodies=())
    hits = (Hit(vee, 150.0, 0.8), Hit(flattener, 180.0, 0.0, "press"))
    return SectionProblem(chain, (Operation("1", (0,), (ToolOption(hits),)),), check_self=False)


def test_a_hem_is_closed_from_what_the_first_hit_left():
    begun, between, closed = moments_of(hem(), hit=1)
    # Two layers of 1 mm when it is closed; before, the leg of some 10 mm stands 30 degrees off, the plate on its end.
    assert closed.nose_mm == pytest.approx(2.0, abs=0.01)
    assert begun.nose_mm == pytest.approx(10 * math.sin(math.radians(30)) + 1.5, abs=0.6)
    assert begun.nose_mm > between.nose_mm > closed.nose_mm
    assert {found.turned_deg for found in (begun, between, closed)} == {None}
    for found in (begun, between, closed):
        assert found.nose_mm == pytest.approx(max(up for _, up in found.outline_mm))
        assert min(up for _, up in found.outline_mm) == pytest.approx(0.0, abs=1e-6)


def test_an_offset_is_pressed_by_its_height():
    chain = Chain((30.0, 1.0, 60.0), (2.5, 2.5), (90.0, -90.0), (1.0, 1.0), 1.5)
    pair = ToolStack("offset", "upper", "lower", 0.0, 0.0, (), levels_mm=(0.0, -4.0))
    operation = Operation("1", (0, 1), (ToolOption((Hit(pair, 0.0, 0.0, "offset"),)),))
    found = moments_of(SectionProblem(chain, (operation,), check_self=False))
    # The nose starts on the sheet and ends as much lower as the lands stand apart.
    assert [each.nose_mm for each in found] == pytest.approx([1.5, -0.5, -2.5])
