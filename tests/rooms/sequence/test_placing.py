"""The part in the machine."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from flangewise.clearance import Body, ToolStack
from flangewise.geometry import Chain
from flangewise.sequence import Hit, Operation, SectionProblem, ToolOption
from flangewise.sequence.candidates import Candidate
from flangewise.sequence.moves import END, START
from flangewise.sequence.placing import FLAT, FULL, done_zones, part_path

from ..geometry.by_hand import from_the_end

LAND = Body("die", ((-1, 0), (-14, 0), (-14, -76), (14, -76), (14, -4), (-1, -4)), False)


@pytest.fixture(scope="module")
def channel(bend_all, stack):
    zone = np.pi / 2 * (2 + 0.42 * 1.5)
    return bend_all(Chain((30.0, 50.0, 20.0), (zone, zone), (90.0, 90.0), (2.0, 2.0), 1.5), [stack()])


def sheet(problem, way, done, **more) -> shapely.Polygon:
    return shapely.Polygon(part_path(problem, way, done, **more).outline_mm(problem.chain.thickness_mm))


@pytest.mark.parametrize("behind", [START, END])
def test_a_flat_blank_lies_on_the_die(channel, behind):
    way = Candidate(1, 0, True, behind)
    box = sheet(channel, way, 0).bounds
    assert box[1::2] == pytest.approx((0.0, 1.5))
    zone = channel.chain.zones_mm[0]
    rear = 30 + zone + 50 + zone / 2 if behind == START else zone / 2 + 20
    assert box[0] == pytest.approx(-rear) and box[2] - box[0] == pytest.approx(channel.chain.developed_mm)


def test_at_the_bottom_both_shoulders_are_touched(channel):
    outline = sheet(channel, Candidate(1, 0, True, START), 1, share=FULL)
    for across in (-6.0, 6.0):
        assert shapely.distance(outline.exterior, shapely.Point(across, 0.0)) == pytest.approx(0.0, abs=1e-6)


def test_thickness_is_kept_through_the_stroke(channel):
    area = channel.chain.developed_mm * 1.5
    for share in (FLAT, 0.4, FULL):
        assert sheet(channel, Candidate(0, 0, True, START), 0, share=share).area == pytest.approx(area, rel=0.01)


def test_turning_the_part_round_mirrors_the_picture(bend_all, stack, channel):
    whole = channel.chain
    other = bend_all(from_the_end(whole), [stack()])
    one = sheet(channel, Candidate(1, 0, True, START), 1, share=FULL)
    same = sheet(other, Candidate(0, 0, True, END), 2, share=FULL)
    assert one.symmetric_difference(same).area < 1e-6


def test_zones_of_a_set(channel):
    assert done_zones(channel, 0b10) == {1} and done_zones(channel, 0) == set()


def offset_problem() -> SectionProblem:
    zone = np.pi / 2 * (1 + 0.45 * 1.5)
    chain = Chain((27.5, 0.5, 57.5), (zone, zone), (90.0, -90.0), (1.0, 1.0), 1.5)
    stack = ToolStack("step", "p", "d", 0.0, 0.0, (LAND,), levels_mm=(0.0, -4.0))
    return SectionProblem(chain, (Operation("1", (0, 1), (ToolOption((Hit(stack, 0.0, 1.0, "offset"),)),)),))


@pytest.mark.parametrize(("up", "behind"), [(True, END), (False, START)])
def test_an_offset_ends_on_both_lands(up, behind):
    problem = offset_problem()
    flat = part_path(problem, Candidate(0, 0, up, behind), 0, share=FLAT)
    done = part_path(problem, Candidate(0, 0, up, behind), 0, share=FULL)
    assert flat.points_mm[:, 1] == pytest.approx(0.75)
    assert done.points_mm[0, 1] == pytest.approx(0.75) and done.points_mm[-1, 1] == pytest.approx(-3.25)
    assert done.points_mm[:, 1].max() == pytest.approx(0.75)


def test_a_flattened_hem_lies_with_its_leg_on_top():
    chain = Chain((12.0, 80.0), (2.4,), (180.0,), (0.0,), 1.5)
    stack = ToolStack("flat", "p", "d", 0.0, 0.0, ())
    problem = SectionProblem(chain, (Operation("1", (0,), (ToolOption((Hit(stack, 180.0, 0.0, "press"),)),)),))
    for behind in (START, END):
        path = part_path(problem, Candidate(0, 0, True, behind), 0, share=FULL)
        leg = path.points_mm[path.spans == 0]
        body = path.points_mm[path.spans == 2]
        assert body[:, 1] == pytest.approx(0.75) and leg[:, 1] == pytest.approx(2.25)
        assert abs(leg[:, 0].mean()) < 1.0, "the middle of the leg lies under the plates"
        assert bool(body[:, 0].mean() > 0) is (behind == START)
